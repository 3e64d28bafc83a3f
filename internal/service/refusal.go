package service

import (
	"context"
	"errors"
	"log/slog"
	"strconv"

	"google.golang.org/genproto/googleapis/rpc/errdetails"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// refusal tells within a stream what the status of a single call would tell.
func refusal(err error) *skidrulev1.Refusal {
	s := Status(err)
	out := &skidrulev1.Refusal{Message: s.Message()}
	for _, d := range s.Details() {
		switch d := d.(type) {
		case *errdetails.ErrorInfo:
			m := d.GetMetadata()
			out.Reason, out.Limit = d.GetReason(), m["limit"]
			out.Given, _ = strconv.ParseInt(m["given"], 10, 64)
			out.Allowed, _ = strconv.ParseInt(m["allowed"], 10, 64)
			more, _ := strconv.ParseInt(m["more"], 10, 32)
			out.MoreViolations = int32(more)
		case *errdetails.BadRequest:
			for _, v := range d.GetFieldViolations() {
				out.Violations = append(out.Violations, &skidrulev1.FieldViolation{Field: v.GetField(), Description: v.GetDescription()})
			}
		}
	}
	return out
}

// logRefusal writes why a request of a stream had no answer: its reason, and the text only of what went wrong in the server.
func (s *checkService) logRefusal(ctx context.Context, method string, err error) {
	code := Status(err)
	attributes := []slog.Attr{slog.String("method", method), slog.String("code", code.Code().String())}
	level := slog.LevelInfo
	if refusal(err).GetReason() == ReasonInternal {
		level = slog.LevelError
		attributes = append(attributes, slog.String("error", err.Error()))
		var p *panicError
		if errors.As(err, &p) {
			attributes = append(attributes, slog.String("stack", string(p.stack)))
		}
	}
	s.log.LogAttrs(ctx, level, "refused", attributes...)
}
