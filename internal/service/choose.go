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
	core
}

// ChooseParts chooses the parts of one design.
func (s *chooseService) ChooseParts(ctx context.Context, r *skidrulev1.ChoosePartsRequest) (*skidrulev1.ChoosePartsResponse, error) {
	return admitted(ctx, s.core, &skidrulev1.CheckDesignRequest{Design: r.GetDesign(), Options: r.GetOptions()}, r, ChooseParts)
}

// ChooseParts answers as the service does, in this process and without its limits.
func ChooseParts(ctx context.Context, e *engine.Engine, r *skidrulev1.ChoosePartsRequest) (*skidrulev1.ChoosePartsResponse, error) {
	choices, err := choose.Parts(ctx, e, r)
	if err != nil {
		return nil, err
	}
	return &skidrulev1.ChoosePartsResponse{Choices: choices}, nil
}
