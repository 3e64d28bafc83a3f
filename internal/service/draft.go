package service

import (
	"context"

	"github.com/skidrule/skidrule/internal/draft"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// draftService writes first designs.
type draftService struct {
	skidrulev1.UnimplementedDraftServiceServer
	core
}

// DraftDesign drafts one design.
func (s *draftService) DraftDesign(ctx context.Context, r *skidrulev1.DraftDesignRequest) (*skidrulev1.DraftDesignResponse, error) {
	return admitted(ctx, s.core, &skidrulev1.CheckDesignRequest{Options: &skidrulev1.CheckOptions{Catalogue: r.GetCatalogue()}}, r, DraftDesign)
}

// DraftDesign answers as the service does, in this process and without its limits.
func DraftDesign(ctx context.Context, e *engine.Engine, r *skidrulev1.DraftDesignRequest) (*skidrulev1.DraftDesignResponse, error) {
	if err := soundPart(ctx, "demand.", r.GetDemand()); err != nil {
		return nil, err
	}
	d, err := draft.Draft(ctx, e, r)
	if err != nil {
		return nil, err
	}
	return &skidrulev1.DraftDesignResponse{Draft: d}, nil
}
