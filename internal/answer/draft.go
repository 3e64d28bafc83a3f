package answer

import (
	"context"

	"github.com/skidrule/skidrule/internal/draft"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// DraftDesign writes the first design of a demand.
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
