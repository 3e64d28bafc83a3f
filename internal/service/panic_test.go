package service

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"testing"

	"github.com/stretchr/testify/assert"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
)

// A handler that panics, and an error that the map does not know, end as INTERNAL. What they say stays in the log.
func TestInternalTextStaysInside(t *testing.T) {
	for name, handler := range map[string]grpc.UnaryHandler{
		"panic": func(context.Context, any) (any, error) { panic("secret: table at 0xdead") },
		"error": func(context.Context, any) (any, error) { return nil, errors.New("secret: open /etc/key") },
	} {
		var log bytes.Buffer
		info := &grpc.UnaryServerInfo{FullMethod: "/skidrule.v1.CheckService/CheckDesign"}
		c := &calls{log: slog.New(slog.NewTextHandler(&log, nil)), limits: DefaultLimits()}
		_, err := c.unary(context.Background(), nil, info, handler)
		assert.Equal(t, codes.Internal, status.Code(err), name)
		assert.NotContains(t, err.Error(), "secret", name)
		assert.Contains(t, log.String(), "secret", name)
		assert.Contains(t, log.String(), "level=ERROR", name)
	}
}

// A panic before the handler is caught as well: here of tokens that nobody read.
func TestOutermostRecovery(t *testing.T) {
	c := &calls{log: slog.New(slog.DiscardHandler), tokens: &Tokens{}}
	_, err := c.unary(context.Background(), nil, &grpc.UnaryServerInfo{}, func(context.Context, any) (any, error) { return nil, nil })
	assert.Equal(t, codes.Internal, status.Code(err))
}

func TestCancelledCalls(t *testing.T) {
	assert.Equal(t, codes.Canceled, statusOf(context.Canceled).Code())
	assert.Equal(t, codes.DeadlineExceeded, statusOf(context.DeadlineExceeded).Code())
}

func TestCutKeepsCharactersWhole(t *testing.T) {
	assert.Equal(t, "short", cut("short", 10))
	assert.Equal(t, "ä…", cut("ääää", 3))
}
