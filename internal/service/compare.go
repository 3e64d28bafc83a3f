package service

import (
	"context"
	"errors"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// CompareDesigns checks two revisions of a design, each within the limits of a single check but for the time, which both
// share.
func (s *checkService) CompareDesigns(ctx context.Context, r *skidrulev1.CompareDesignsRequest) (*skidrulev1.CompareDesignsResponse, error) {
	comparison, err := engine.Compare(ctx, r, func(ctx context.Context, one *skidrulev1.CheckDesignRequest) (*skidrulev1.Report, error) {
		report, err := s.check(ctx, one, nil)
		return report, placed(err)
	})
	if err != nil {
		return nil, err
	}
	return &skidrulev1.CompareDesignsResponse{Comparison: comparison}, nil
}

// placed makes violations of the problems of a design, so that the comparison can say which design they are in.
func placed(err error) error {
	var problems *designfile.Problems
	if errors.As(err, &problems) {
		return &engine.RequestError{Violations: fromProblems(problems)}
	}
	return err
}
