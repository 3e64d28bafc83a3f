package service

import (
	"context"

	"github.com/skidrule/skidrule/internal/answer"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// calcService runs calculations.
type calcService struct {
	skidrulev1.UnimplementedCalcServiceServer
}

// ListCalculations describes calculations.
func (calcService) ListCalculations(_ context.Context, r *skidrulev1.ListCalculationsRequest) (*skidrulev1.ListCalculationsResponse, error) {
	return answer.ListCalculations(r)
}

// Calculate runs one calculation.
func (calcService) Calculate(ctx context.Context, r *skidrulev1.CalculateRequest) (*skidrulev1.CalculateResponse, error) {
	return answer.Calculate(ctx, r)
}
