package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// asker checks: the engine in this process, or a server.
type asker interface {
	Check(ctx context.Context, r *skidrulev1.CheckDesignRequest) (*skidrulev1.Report, error)
	Compare(ctx context.Context, r *skidrulev1.CompareDesignsRequest) (*skidrulev1.Comparison, error)
}

// newAsker gives the engine, or a client where a server is named. close ends the connection.
func newAsker(f *serverFlags) (a asker, close func(), err error) {
	if f.server == "" {
		e, err := engine.New()
		return e, func() {}, err
	}
	c, err := f.dial()
	if err != nil {
		return nil, nil, err
	}
	return c, func() { c.Close() }, nil
}

// askOne asks once, in this process or at the server that the flags name.
func askOne[Q, T any](ctx context.Context, f *serverFlags, request Q, here func(context.Context, Q) (T, error), there func(*skidrule.Client, context.Context, Q) (T, error)) (answer T, err error) {
	if f.server == "" {
		return here(ctx, request)
	}
	c, err := f.dial()
	if err != nil {
		return answer, err
	}
	defer c.Close()
	return there(c, ctx, request)
}

// byEngine answers with the engine of this process; told takes the answer out of what the service gives, as the client does.
func byEngine[Q, A, T any](service func(context.Context, *engine.Engine, Q) (A, error), told func(A) T) func(context.Context, Q) (T, error) {
	return func(ctx context.Context, request Q) (answer T, err error) {
		e, err := engine.New()
		if err != nil {
			return answer, err
		}
		a, err := service(ctx, e, request)
		return told(a), err
	}
}

// violationsOf reads what is wrong with a request out of an error of either asker; false for another error.
func violationsOf(err error) (list []skidrule.Violation, more int, ok bool) {
	var local *engine.RequestError
	var remote *skidrule.InvalidError
	switch {
	case errors.As(err, &local):
		for _, v := range local.Violations {
			list = append(list, skidrule.Violation{Path: v.Path, InDesign: v.InDesign, Message: join(v.Message, v.Suggestion)})
		}
		more = local.More
	case errors.As(err, &remote):
		list, more = remote.Violations, remote.More
	}
	return list, more, len(list) > 0
}

// plainFailure says an error of an asker in words for a person.
func plainFailure(err error, server string) string {
	if s, ok := status.FromError(err); ok && server != "" {
		if s.Code() == codes.Unavailable {
			message := oneLine(s.Message())
			if _, why, ok := strings.Cut(message, "authentication handshake failed: "); ok {
				return fmt.Sprintf("no encrypted connection with %s comes about (%s); --server-ca names the authorities of its certificate, --client-cert and --client-key the certificate of this caller", server, strings.Trim(why, "\" "))
			}
			return fmt.Sprintf("no server answers at %s (%s); `skidrule serve` starts one, and without --server no server is needed", server, strings.Trim(message[strings.LastIndex(message, ": ")+1:], "\" "))
		}
		if s.Code() == codes.Unauthenticated {
			return fmt.Sprintf("the server at %s says: %s; --token-file names the file that holds yours", server, oneLine(s.Message()))
		}
		return fmt.Sprintf("the server at %s says %s: %s", server, strings.ToLower(s.Code().String()), oneLine(s.Message()))
	}
	return oneLine(err.Error())
}
