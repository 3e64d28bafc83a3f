package service

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// panicError is what a handler panicked with. Its text goes to the log only.
type panicError struct {
	value any
	stack []byte
}

// Error is the panic, for the log alone.
func (e *panicError) Error() string { return fmt.Sprintf("panic: %v", e.value) }

// recovered turns a panic of the handler into an error.
func recovered(ctx context.Context, request any, info *grpc.UnaryServerInfo, handler grpc.UnaryHandler) (answer any, err error) {
	defer contain(&err)
	return handler(ctx, request)
}

// mapped gives callers statuses in place of errors. It catches panics of the interceptors inside as well.
func mapped(ctx context.Context, request any, info *grpc.UnaryServerInfo, handler grpc.UnaryHandler) (any, error) {
	answer, err := recovered(ctx, request, info, handler)
	if err == nil {
		return answer, nil
	}
	return nil, statusError(err)
}

// statusError gives the error for a caller. Statuses of grpc's own services, health and reflection, are for callers already.
func statusError(err error) error {
	if s, ok := status.FromError(err); ok {
		return s.Err()
	}
	return Status(err).Err()
}

// recoveredStream, mappedStream and loggedStream are the same for streams.
func recoveredStream(server any, stream grpc.ServerStream, _ *grpc.StreamServerInfo, handler grpc.StreamHandler) (err error) {
	defer contain(&err)
	return handler(server, stream)
}

func mappedStream(server any, stream grpc.ServerStream, info *grpc.StreamServerInfo, handler grpc.StreamHandler) error {
	if err := recoveredStream(server, stream, info, handler); err != nil {
		return statusError(err)
	}
	return nil
}

func loggedStream(log *slog.Logger) grpc.StreamServerInterceptor {
	return func(server any, stream grpc.ServerStream, info *grpc.StreamServerInfo, handler grpc.StreamHandler) error {
		start := time.Now()
		err := handler(server, stream)
		logCall(stream.Context(), log, "stream", info.FullMethod, start, err)
		return err
	}
}

// bounded refuses messages that are too long and stops work that takes too long.
func (l Limits) bounded(ctx context.Context, request any, _ *grpc.UnaryServerInfo, handler grpc.UnaryHandler) (any, error) {
	if m, ok := request.(proto.Message); ok {
		if err := l.size(m); err != nil {
			return nil, err
		}
	}
	ctx, cancel := l.timed(ctx)
	defer cancel()
	return handler(ctx, request)
}

// logged writes one line for each call: what was asked, how large it was, how it ended; nothing of the design itself.
func logged(log *slog.Logger) grpc.UnaryServerInterceptor {
	return func(ctx context.Context, request any, info *grpc.UnaryServerInfo, handler grpc.UnaryHandler) (any, error) {
		start := time.Now()
		answer, err := handler(ctx, request)
		var more []slog.Attr
		if r, ok := request.(*skidrulev1.CheckDesignRequest); ok {
			more = append(more, slog.Int("components", len(r.GetDesign().GetComponents())), slog.Int("lines", len(r.GetDesign().GetLines())))
		}
		if r, ok := answer.(*skidrulev1.CheckDesignResponse); ok && err == nil {
			more = append(more, slog.Int("findings", len(r.GetReport().GetFindings())))
		}
		logCall(ctx, log, "call", info.FullMethod, start, err, more...)
		return answer, err
	}
}

// logCall writes one line about a call: what was asked and how it ended, and the text of an error only where the server itself
// went wrong.
func logCall(ctx context.Context, log *slog.Logger, what, method string, begin time.Time, err error, more ...slog.Attr) {
	code := codes.OK
	if err != nil {
		code = status.Code(statusError(err))
	}
	attributes := append([]slog.Attr{slog.String("method", method), slog.String("code", code.String()), slog.Duration("took", time.Since(begin))}, more...)
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
