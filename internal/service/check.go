package service

import (
	"context"
	"log/slog"

	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// checkService answers designs. Its methods know nothing of the protocol that brought the request.
type checkService struct {
	skidrulev1.UnimplementedCheckServiceServer
	// ask answers a request within the limits; the engine's Check.
	ask    func(context.Context, *skidrulev1.CheckDesignRequest) (*skidrulev1.Report, error)
	limits Limits
	log    *slog.Logger
	// telemetry may be nil.
	telemetry *Telemetry
	// stopping is closed when the server stops; streams end then.
	stopping <-chan struct{}
	// sessions has a place for each editing session that may be open.
	sessions chan struct{}
}

func newCheckService(e *engine.Engine, o Options, log *slog.Logger, stopping <-chan struct{}) *checkService {
	return &checkService{ask: e.Check, limits: o.Limits, log: log, telemetry: o.Telemetry, stopping: stopping, sessions: make(chan struct{}, max(0, o.Limits.Sessions))}
}

// CheckDesign checks one design.
func (s *checkService) CheckDesign(ctx context.Context, r *skidrulev1.CheckDesignRequest) (*skidrulev1.CheckDesignResponse, error) {
	report, err := s.check(ctx, r, nil)
	if err != nil {
		return nil, err
	}
	return &skidrulev1.CheckDesignResponse{Report: report}, nil
}

// check answers one request within the limits. Of a design whose form was looked at before, touched is the part that has
// changed since then.
func (s *checkService) check(ctx context.Context, r *skidrulev1.CheckDesignRequest, touched *skidrulev1.Design) (*skidrulev1.Report, error) {
	look := r
	if touched != nil {
		look = &skidrulev1.CheckDesignRequest{Design: touched}
	}
	if err := s.limits.admit(ctx, r, look); err != nil {
		return nil, err
	}
	report, err := s.ask(ctx, r)
	if err == nil {
		s.telemetry.checked(ctx, report)
	}
	return report, err
}

// checkOne answers one request of a stream: within the time of a single call, and with panics contained.
func (s *checkService) checkOne(ctx context.Context, r *skidrulev1.CheckDesignRequest, touched *skidrulev1.Design) (report *skidrulev1.Report, err error) {
	defer contain(&err)
	ctx, cancel := s.limits.timed(ctx)
	defer cancel()
	return s.check(ctx, r, touched)
}
