package service

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"
	"time"

	"connectrpc.com/connect"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/metadata"
	"google.golang.org/protobuf/proto"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// calls does for every call, by whatever way it comes, what is not its work: tokens, limits, panics, and a line in the log.
type calls struct {
	limits Limits
	log    *slog.Logger
	tokens *Tokens
	// telemetry measures calls where the library of the way in does not; it may be nil.
	telemetry *Telemetry
}

// do answers a call; of a stream the request is nil, since its messages are bounded one by one. The answer is nil with an error.
func (c *calls) do(ctx context.Context, what, method, authorization string, request any, work func(context.Context) (any, error)) (any, error) {
	begin := time.Now()
	answer, err := c.within(ctx, method, authorization, request, work)
	code := codeOf(err)
	// What was asked, how large it was, how it ended; nothing of the design itself.
	more := []slog.Attr{slog.Duration("took", time.Since(begin))}
	if r, ok := request.(*skidrulev1.CheckDesignRequest); ok {
		more = append(more, slog.Int("components", len(r.GetDesign().GetComponents())), slog.Int("lines", len(r.GetDesign().GetLines())))
	}
	if r, ok := answer.(*skidrulev1.CheckDesignResponse); ok && err == nil {
		more = append(more, slog.Int("findings", len(r.GetReport().GetFindings())))
	}
	logEnd(ctx, c.log, what, method, code, err, more...)
	c.telemetry.called(ctx, method, begin, code)
	return answer, err
}

// within does the work for a known caller, within the limits where there is one request, and turns a panic into an error.
func (c *calls) within(ctx context.Context, method, authorization string, request any, work func(context.Context) (any, error)) (answer any, err error) {
	defer contain(&err)
	if err := c.tokens.allow(method, authorization); err != nil {
		return nil, err
	}
	if m, ok := request.(proto.Message); ok {
		if err := c.limits.size(m); err != nil {
			return nil, err
		}
		var cancel context.CancelFunc
		ctx, cancel = c.limits.timed(ctx)
		defer cancel()
	}
	return work(ctx)
}

// unary is for single calls over gRPC.
func (c *calls) unary(ctx context.Context, request any, info *grpc.UnaryServerInfo, handler grpc.UnaryHandler) (any, error) {
	answer, err := c.do(ctx, "call", info.FullMethod, authorization(ctx), request, func(ctx context.Context) (any, error) { return handler(ctx, request) })
	if err != nil {
		return nil, statusError(err)
	}
	return answer, nil
}

// stream is for streams over gRPC.
func (c *calls) stream(server any, stream grpc.ServerStream, info *grpc.StreamServerInfo, handler grpc.StreamHandler) error {
	ctx := stream.Context()
	_, err := c.do(ctx, "stream", info.FullMethod, authorization(ctx), nil, func(context.Context) (any, error) { return nil, handler(server, stream) })
	if err != nil {
		return statusError(err)
	}
	return nil
}

// authorization is the header of a call over gRPC that holds its token; a call with two of them has none.
func authorization(ctx context.Context) string {
	if values := metadata.ValueFromIncomingContext(ctx, "authorization"); len(values) == 1 {
		return values[0]
	}
	return ""
}

// WrapUnary is for single calls over HTTP.
func (c *calls) WrapUnary(next connect.UnaryFunc) connect.UnaryFunc {
	return func(ctx context.Context, r connect.AnyRequest) (answer connect.AnyResponse, _ error) {
		_, err := c.do(ctx, "call", r.Spec().Procedure, r.Header().Get("Authorization"), r.Any(), func(ctx context.Context) (_ any, err error) {
			if answer, err = next(ctx, r); err != nil {
				return nil, err
			}
			return answer.Any(), nil
		})
		if err != nil {
			return nil, webError(err)
		}
		return answer, nil
	}
}

// WrapStreamingHandler is for streams over HTTP.
func (c *calls) WrapStreamingHandler(next connect.StreamingHandlerFunc) connect.StreamingHandlerFunc {
	return func(ctx context.Context, conn connect.StreamingHandlerConn) error {
		_, err := c.do(ctx, "stream", conn.Spec().Procedure, conn.RequestHeader().Get("Authorization"), nil, func(ctx context.Context) (any, error) { return nil, next(ctx, conn) })
		if err != nil {
			return webError(err)
		}
		return nil
	}
}

// WrapStreamingClient is for clients, of which there are none here.
func (c *calls) WrapStreamingClient(next connect.StreamingClientFunc) connect.StreamingClientFunc {
	return next
}

// panicError is what a handler panicked with. Its text goes to the log only.
type panicError struct {
	value any
	stack []byte
}

// Error is the panic, for the log alone.
func (e *panicError) Error() string { return fmt.Sprintf("panic: %v", e.value) }

// contain turns a panic into an error.
func contain(err *error) {
	if r := recover(); r != nil {
		*err = &panicError{r, debug.Stack()}
	}
}

// logEnd writes one line about how a call or a request of a stream ended, with the text of an error only where the server itself went
// wrong.
func logEnd(ctx context.Context, log *slog.Logger, what, method string, code codes.Code, err error, more ...slog.Attr) {
	attributes := append([]slog.Attr{slog.String("method", method), slog.String("code", code.String())}, more...)
	level := slog.LevelInfo
	if code == codes.Internal {
		level = slog.LevelError
		attributes = append(attributes, slog.String("error", err.Error()))
		var p *panicError
		if errors.As(err, &p) {
			attributes = append(attributes, slog.String("stack", string(p.stack)))
		}
	}
	log.LogAttrs(ctx, level, what, attributes...)
}
