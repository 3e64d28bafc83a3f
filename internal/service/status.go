package service

import (
	"context"
	"errors"
	"strconv"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/protoadapt"

	"github.com/skidrule/skidrule/internal/calc"
	"github.com/skidrule/skidrule/internal/engine"
)

// Domain is the domain of every ErrorInfo.
const Domain = "skidrule"

// Reasons of every ErrorInfo.
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

// NotFoundError tells that there is no rule of an id.
type NotFoundError struct {
	ID         string
	Suggestion string
}

// Error names the id and the nearest one.
func (e *NotFoundError) Error() string {
	s := "there is no rule " + strconv.Quote(e.ID)
	if e.Suggestion != "" {
		s += "; " + e.Suggestion
	}
	return s
}

// Status maps an error to the status that a caller gets. It is the only such map; an error that it does not know becomes
// INTERNAL without its text.
func Status(err error) *status.Status {
	var (
		request *engine.RequestError
		limit   *LimitError
		missing *NotFoundError
		name    *calc.UnknownNameError
	)
	switch {
	case errors.As(err, &request):
		return invalid(request)
	case errors.As(err, &limit):
		return withInfo(codes.ResourceExhausted, limit.Error(), ReasonLimitExceeded, map[string]string{
			"limit": limit.What, "given": strconv.Itoa(limit.Given), "allowed": strconv.Itoa(limit.Allowed),
		})
	case errors.As(err, &missing):
		return withInfo(codes.NotFound, missing.Error(), ReasonRuleNotFound, nil)
	case errors.As(err, &name):
		return withInfo(codes.NotFound, cut(name.Error(), maxDetailBytes), ReasonNameNotFound, nil)
	case errors.Is(err, context.DeadlineExceeded):
		return withInfo(codes.DeadlineExceeded, "the check took longer than allowed", ReasonTooSlow, nil)
	case errors.Is(err, errNoToken):
		return withInfo(codes.Unauthenticated, "the server wants a valid bearer token", ReasonNoToken, nil)
	case errors.Is(err, errStopping):
		return withInfo(codes.Unavailable, "the server stops; ask another, or again later", ReasonStopping, nil)
	case errors.Is(err, context.Canceled):
		return withInfo(codes.Canceled, "the caller went away", ReasonCancelled, nil)
	}
	return withInfo(codes.Internal, "the server went wrong; its log says more", ReasonInternal, nil)
}

// invalid lists what is wrong with a request as far as the trailers of a call can hold it, and counts the rest.
func invalid(request *engine.RequestError) *status.Status {
	reason, more := ReasonInvalidRequest, request.More
	detail := &errdetails.BadRequest{}
	size := 0
	for i, v := range request.Violations {
		if v.InDesign {
			reason = ReasonInvalidDesign
		}
		item := fieldViolation(v)
		if size += proto.Size(item); size > maxDetailBytes && i > 0 {
			more += len(request.Violations) - i
			break
		}
		detail.FieldViolations = append(detail.FieldViolations, item)
	}
	message := "the request cannot be answered"
	if len(detail.GetFieldViolations()) > 0 {
		first := detail.GetFieldViolations()[0]
		message = first.GetField() + ": " + first.GetDescription()
	}
	metadata := map[string]string{}
	if more > 0 {
		metadata["more"] = strconv.Itoa(more)
	}
	return withInfo(codes.InvalidArgument, message, reason, metadata, detail)
}

// fieldViolation is a violation with its path as a field of the request. Long values of the caller are cut.
func fieldViolation(v engine.Violation) *errdetails.BadRequest_FieldViolation {
	field, description := v.Path, v.Message
	if v.InDesign {
		field = "design." + field
	}
	if v.Suggestion != "" {
		description += "; " + v.Suggestion
	}
	return &errdetails.BadRequest_FieldViolation{Field: cut(field, 300), Description: cut(description, 1000)}
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

// withInfo builds a status with an ErrorInfo and other details.
func withInfo(code codes.Code, message, reason string, metadata map[string]string, details ...protoadapt.MessageV1) *status.Status {
	s := status.New(code, message)
	all := append([]protoadapt.MessageV1{&errdetails.ErrorInfo{Reason: reason, Domain: Domain, Metadata: metadata}}, details...)
	full, err := s.WithDetails(all...)
	if err != nil {
		return s
	}
	return full
}
