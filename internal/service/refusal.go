package service

import (
	"context"
	"errors"
	"strconv"

	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/calc"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Reasons of refusals.
const (
	ReasonInvalidRequest = "INVALID_REQUEST"
	ReasonInvalidDesign  = "INVALID_DESIGN"
	ReasonLimitExceeded  = "LIMIT_EXCEEDED"
	ReasonRuleNotFound   = "RULE_NOT_FOUND"
	ReasonNameNotFound   = "CALCULATION_NOT_FOUND"
	ReasonTooSlow        = "TOO_SLOW"
	ReasonCancelled      = "CANCELLED"
	ReasonStopping       = "STOPPING"
	ReasonNoToken        = "NO_TOKEN"
	ReasonInternal       = "INTERNAL"
)

// maxDetailBytes keeps the details of an error below what proxies let pass as trailers; common practice, no source.
const maxDetailBytes = 5 << 10

// notFoundError tells that there is no rule of an id.
type notFoundError struct {
	ID         string
	Suggestion string
}

// Error names the id and the nearest one.
func (e *notFoundError) Error() string {
	s := "there is no rule " + strconv.Quote(e.ID)
	if e.Suggestion != "" {
		s += "; " + e.Suggestion
	}
	return s
}

// refusalOf maps an error to what a caller is told. It is the only such map; an error that it does not know becomes INTERNAL without
// its text.
func refusalOf(err error) (codes.Code, *skidrulev1.Refusal) {
	var (
		request *engine.RequestError
		limit   *limitError
		missing *notFoundError
		name    *calc.UnknownNameError
	)
	switch {
	case errors.As(err, &request):
		return codes.InvalidArgument, invalid(request)
	case errors.As(err, &limit):
		return codes.ResourceExhausted, &skidrulev1.Refusal{Reason: ReasonLimitExceeded, Message: limit.Error(), Limit: limit.What, Given: int64(limit.Given), Allowed: int64(limit.Allowed)}
	case errors.As(err, &missing):
		return codes.NotFound, &skidrulev1.Refusal{Reason: ReasonRuleNotFound, Message: missing.Error()}
	case errors.As(err, &name):
		return codes.NotFound, &skidrulev1.Refusal{Reason: ReasonNameNotFound, Message: cut(name.Error(), maxDetailBytes)}
	case errors.Is(err, context.DeadlineExceeded):
		return codes.DeadlineExceeded, &skidrulev1.Refusal{Reason: ReasonTooSlow, Message: "the check took longer than allowed"}
	case errors.Is(err, errNoToken):
		return codes.Unauthenticated, &skidrulev1.Refusal{Reason: ReasonNoToken, Message: "the server wants a valid bearer token"}
	case errors.Is(err, errStopping):
		return codes.Unavailable, &skidrulev1.Refusal{Reason: ReasonStopping, Message: "the server stops; ask another, or again later"}
	case errors.Is(err, context.Canceled):
		return codes.Canceled, &skidrulev1.Refusal{Reason: ReasonCancelled, Message: "the caller went away"}
	}
	return codes.Internal, &skidrulev1.Refusal{Reason: ReasonInternal, Message: "the server went wrong; its log says more"}
}

// invalid lists what is wrong with a request as far as the trailers of a call can hold it, and counts the rest.
func invalid(request *engine.RequestError) *skidrulev1.Refusal {
	out := &skidrulev1.Refusal{Reason: ReasonInvalidRequest, Message: "the request cannot be answered", MoreViolations: int32(request.More)}
	size := 0
	for i, v := range request.Violations {
		if v.InDesign {
			out.Reason = ReasonInvalidDesign
		}
		item := fieldViolation(v)
		if size += proto.Size(item); size > maxDetailBytes && i > 0 {
			out.MoreViolations += int32(len(request.Violations) - i)
			break
		}
		out.Violations = append(out.Violations, item)
	}
	if len(out.GetViolations()) > 0 {
		first := out.GetViolations()[0]
		out.Message = first.GetField() + ": " + first.GetDescription()
	}
	return out
}

// fieldViolation is a violation with its path as a field of the request. Long values of the caller are cut.
func fieldViolation(v engine.Violation) *skidrulev1.FieldViolation {
	field, description := v.Path, v.Message
	if v.InDesign {
		field = "design." + field
	}
	if v.Suggestion != "" {
		description += "; " + v.Suggestion
	}
	return &skidrulev1.FieldViolation{Field: cut(field, 300), Description: cut(description, 1000)}
}

// cut shortens text to at most n bytes without breaking a character.
func cut(s string, n int) string {
	if len(s) <= n {
		return s
	}
	for n > 0 && s[n]&0xC0 == 0x80 {
		n--
	}
	return s[:n] + "…"
}

// refused is what the caller of a stream is told of a request that has no answer; the log is told too.
func (s *checkService) refused(ctx context.Context, method string, err error) *skidrulev1.Refusal {
	code, told := refusalOf(err)
	logEnd(ctx, s.log, "refused", method, code, err)
	return told
}
