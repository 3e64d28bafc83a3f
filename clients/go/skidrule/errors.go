package skidrule

import (
	"fmt"
	"strconv"
	"strings"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
)

// Violation is one thing wrong with a request.
type Violation struct {
	// Path is the field of the request, as "options.only", or the element path inside the design, as
	// "components.CV-2.part".
	Path string
	// InDesign tells that Path is an element path of the design.
	InDesign bool
	// Message says what is wrong and what would be right.
	Message string
}

// InvalidError is everything wrong with a request that cannot be answered.
type InvalidError struct {
	Violations []Violation
	// More is how many violations the server counted beyond those that it listed.
	More int
	err  error
}

// Error joins the violations, one a line.
func (e *InvalidError) Error() string {
	lines := make([]string, len(e.Violations), len(e.Violations)+1)
	for i, v := range e.Violations {
		lines[i] = v.Path + ": " + v.Message
	}
	if e.More > 0 {
		lines = append(lines, fmt.Sprintf("and %d more", e.More))
	}
	return strings.Join(lines, "\n")
}

// Unwrap gives the gRPC status.
func (e *InvalidError) Unwrap() error { return e.err }

// LimitError tells that a request is larger than the server allows.
type LimitError struct {
	// What is limited, as "components"; empty where the server did not say.
	What string
	// Given and Allowed are both 0 where the server did not say.
	Given, Allowed int64
	err            error
}

// Error names what was given and what is allowed.
func (e *LimitError) Error() string {
	if e.What == "" {
		return "the request is too large: " + status.Convert(e.err).Message()
	}
	return fmt.Sprintf("%d %s are given; the server allows %d", e.Given, strings.ReplaceAll(e.What, "_", " "), e.Allowed)
}

// Unwrap gives the gRPC status.
func (e *LimitError) Unwrap() error { return e.err }

// NotFoundError tells that the server has no such rule.
type NotFoundError struct {
	// Message names the nearest id where there is one.
	Message string
	err     error
}

// Error gives the message.
func (e *NotFoundError) Error() string { return e.Message }

// Unwrap gives the gRPC status.
func (e *NotFoundError) Unwrap() error { return e.err }

// explain makes an error that says what is wrong out of a gRPC status; nil of nil.
func explain(err error) error {
	s, ok := status.FromError(err)
	if !ok {
		return err
	}
	info := map[string]string{}
	var request *errdetails.BadRequest
	for _, d := range s.Details() {
		switch d := d.(type) {
		case *errdetails.ErrorInfo:
			info = d.GetMetadata()
		case *errdetails.BadRequest:
			request = d
		}
	}
	switch s.Code() {
	case codes.InvalidArgument:
		return invalid(err, s, request, info)
	case codes.ResourceExhausted:
		e := &LimitError{What: info["limit"], err: err}
		e.Given, _ = strconv.ParseInt(info["given"], 10, 64)
		e.Allowed, _ = strconv.ParseInt(info["allowed"], 10, 64)
		return e
	case codes.NotFound:
		return &NotFoundError{Message: s.Message(), err: err}
	}
	return err
}

func invalid(err error, s *status.Status, request *errdetails.BadRequest, info map[string]string) error {
	e := &InvalidError{err: err}
	for _, v := range request.GetFieldViolations() {
		path, inDesign := strings.CutPrefix(v.GetField(), "design.")
		e.Violations = append(e.Violations, Violation{Path: path, InDesign: inDesign, Message: v.GetDescription()})
	}
	if len(e.Violations) == 0 {
		e.Violations = []Violation{{Path: "request", Message: s.Message()}}
	}
	e.More, _ = strconv.Atoi(info["more"])
	return e
}
