package service

import (
	"errors"
	"strconv"

	"connectrpc.com/connect"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/protoadapt"
)

// Domain is the domain of every ErrorInfo.
const Domain = "skidrule"

// statusOf is what the caller of a single call is told of an error, with an ErrorInfo and, of an invalid request, a BadRequest.
func statusOf(err error) *status.Status {
	code, r := refusalOf(err)
	info := &errdetails.ErrorInfo{Reason: r.GetReason(), Domain: Domain, Metadata: map[string]string{}}
	details := []protoadapt.MessageV1{info}
	switch code {
	case codes.ResourceExhausted:
		info.Metadata["limit"], info.Metadata["given"], info.Metadata["allowed"] = r.GetLimit(), strconv.FormatInt(r.GetGiven(), 10), strconv.FormatInt(r.GetAllowed(), 10)
	case codes.InvalidArgument:
		if r.GetMoreViolations() > 0 {
			info.Metadata["more"] = strconv.Itoa(int(r.GetMoreViolations()))
		}
		request := &errdetails.BadRequest{}
		for _, v := range r.GetViolations() {
			request.FieldViolations = append(request.FieldViolations, &errdetails.BadRequest_FieldViolation{Field: v.GetField(), Description: v.GetDescription()})
		}
		details = append(details, request)
	}
	plain := status.New(code, r.GetMessage())
	if full, err := plain.WithDetails(details...); err == nil {
		return full
	}
	return plain
}

// statusError gives an error for a caller over gRPC. Statuses of grpc's own services, health and reflection, are for callers already.
func statusError(err error) error {
	if s, ok := status.FromError(err); ok {
		return s.Err()
	}
	return statusOf(err).Err()
}

// webError gives an error for a caller over HTTP, with the code and details that gRPC gives.
func webError(err error) error {
	var known *connect.Error
	if errors.As(err, &known) {
		return known
	}
	s := status.Convert(statusError(err))
	out := connect.NewError(connect.Code(s.Code()), errors.New(s.Message()))
	for _, d := range s.Details() {
		if m, ok := d.(proto.Message); ok {
			if detail, err := connect.NewErrorDetail(m); err == nil {
				out.AddDetail(detail)
			}
		}
	}
	return out
}

// codeOf is the code that a caller gets.
func codeOf(err error) codes.Code {
	var known *connect.Error
	switch {
	case err == nil:
		return codes.OK
	case errors.As(err, &known):
		return codes.Code(known.Code())
	}
	return status.Code(statusError(err))
}
