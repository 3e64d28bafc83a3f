package service

import (
	"context"

	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// CompareDesigns checks two revisions of a design, each within the limits of a single check but for the time, which both
// share.
func (s *checkService) CompareDesigns(ctx context.Context, r *skidrulev1.CompareDesignsRequest) (*skidrulev1.CompareDesignsResponse, error) {
	comparison, err := engine.Compare(ctx, r, func(ctx context.Context, one *skidrulev1.CheckDesignRequest) (*skidrulev1.Report, error) {
		return s.check(ctx, one, nil)
	})
	if err != nil {
		return nil, err
	}
	return &skidrulev1.CompareDesignsResponse{Comparison: comparison}, nil
}
