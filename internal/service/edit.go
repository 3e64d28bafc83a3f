package service

import (
	"context"
	"errors"
	"io"

	"google.golang.org/grpc"

	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/session"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// EditDesign keeps a design while it is drawn.
func (s *checkService) EditDesign(stream grpc.BidiStreamingServer[skidrulev1.EditDesignRequest, skidrulev1.EditDesignResponse]) error {
	return s.editDesign(stream.Context(), stream)
}

// editDesign answers the requests of one editing session in their order.
func (s *checkService) editDesign(ctx context.Context, stream twoWay[skidrulev1.EditDesignRequest, skidrulev1.EditDesignResponse]) error {
	select {
	case s.sessions <- struct{}{}:
		defer func() { <-s.sessions }()
	default:
		return &limitError{"editing_sessions", cap(s.sessions) + 1, cap(s.sessions)}
	}
	defer s.telemetry.session(ctx)()
	ctx, cancel := context.WithCancel(engine.Keeping(ctx))
	defer cancel()
	places := make(chan struct{}, 1)
	requests := received(ctx, stream.Recv, places)
	e := &editing{service: s}
	for {
		r, err := next(ctx, requests, s.stopping)
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		out, err := e.answer(ctx, r)
		if err != nil {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			out.Result = &skidrulev1.EditDesignResponse_Refusal{Refusal: s.refused(ctx, "EditDesign", err)}
		}
		if err := stream.Send(out); err != nil {
			return err
		}
		<-places
	}
}

// editing is one editing session of a caller; its session is nil until a start was taken.
type editing struct {
	service *checkService
	session *session.Session
}

// answer answers one request. The response is never nil.
func (e *editing) answer(ctx context.Context, r *skidrulev1.EditDesignRequest) (out *skidrulev1.EditDesignResponse, err error) {
	out = &skidrulev1.EditDesignResponse{RequestId: cut(r.GetRequestId(), maxRequestID)}
	defer func() { out.DesignVersion = e.session.Version() }()
	defer contain(&err)
	l := e.service.limits
	if err := l.message(r, r.GetRequestId()); err != nil {
		return out, err
	}
	switch a := r.GetAction().(type) {
	case *skidrulev1.EditDesignRequest_Start:
		if e.session != nil {
			return out, engine.Refuse("start", "send edits, or open a session of its own for another design", "the session has a design already")
		}
		started, report, err := session.Start(ctx, e.service.checkOne, a.Start.GetDesign(), a.Start.GetOptions())
		if err != nil {
			return out, err
		}
		e.session, out.Result = started, &skidrulev1.EditDesignResponse_Report{Report: report}
		return out, nil
	case *skidrulev1.EditDesignRequest_Edits:
		edits := a.Edits.GetEdits()
		switch {
		case e.session == nil:
			return out, engine.Refuse("edits", "send the design first, as start", "the session has no design yet")
		case len(edits) == 0:
			return out, engine.Refuse("edits", "send at least one", "there are no edits")
		case len(edits) > l.Edits:
			return out, &limitError{"edits", len(edits), l.Edits}
		}
		change, err := e.session.Apply(ctx, edits)
		var bad *session.EditError
		if errors.As(err, &bad) {
			return out, engine.Refuse("edits", "", "%s", bad)
		}
		if err != nil {
			return out, err
		}
		out.Result = &skidrulev1.EditDesignResponse_Change{Change: change}
		return out, nil
	}
	return out, engine.Refuse("action", "state start or edits", "the request asks nothing")
}
