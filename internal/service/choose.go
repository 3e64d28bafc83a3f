package service

import (
	"context"

	"github.com/skidrule/skidrule/internal/choose"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// chooseService chooses parts.
type chooseService struct {
	skidrulev1.UnimplementedChooseServiceServer
	engine *engine.Engine
	limits Limits
}

// ChooseParts chooses the parts of one design.
func (s *chooseService) ChooseParts(ctx context.Context, r *skidrulev1.ChoosePartsRequest) (*skidrulev1.ChoosePartsResponse, error) {
	if err := s.limits.admit(ctx, &skidrulev1.CheckDesignRequest{Design: r.GetDesign(), Options: r.GetOptions()}); err != nil {
		return nil, err
	}
	return ChooseParts(ctx, s.engine, r)
}

// ChooseParts answers as the service does, in this process and without its limits.
func ChooseParts(ctx context.Context, e *engine.Engine, r *skidrulev1.ChoosePartsRequest) (*skidrulev1.ChoosePartsResponse, error) {
	choices, err := choose.Parts(ctx, e, r)
	if err != nil {
		return nil, err
	}
	return &skidrulev1.ChoosePartsResponse{Choices: choices}, nil
}
