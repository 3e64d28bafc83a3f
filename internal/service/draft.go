package service

import (
	"context"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/draft"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// draftService writes first designs.
type draftService struct {
	skidrulev1.UnimplementedDraftServiceServer
	engine *engine.Engine
	limits Limits
}

// DraftDesign drafts one design.
func (s *draftService) DraftDesign(ctx context.Context, r *skidrulev1.DraftDesignRequest) (*skidrulev1.DraftDesignResponse, error) {
	if err := s.limits.admit(ctx, checkOf(nil, r.GetCatalogue())); err != nil {
		return nil, err
	}
	return DraftDesign(ctx, s.engine, r)
}

// DraftDesign answers as the service does, in this process and without its limits.
func DraftDesign(ctx context.Context, e *engine.Engine, r *skidrulev1.DraftDesignRequest) (*skidrulev1.DraftDesignResponse, error) {
	if r.GetDemand() != nil {
		err := designfile.Check(r.GetDemand(), nil, designfile.Options{})
		if problems, ok := err.(*designfile.Problems); ok {
			request := &engine.RequestError{Violations: fromProblems(problems)}
			for i := range request.Violations {
				request.Violations[i].Path = "demand." + request.Violations[i].Path
				request.Violations[i].InDesign = false
			}
			return nil, request
		}
		if err != nil {
			return nil, err
		}
	}
	d, err := draft.Draft(ctx, e, r)
	if err != nil {
		return nil, err
	}
	return &skidrulev1.DraftDesignResponse{Draft: d}, nil
}
