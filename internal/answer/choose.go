package answer

import (
	"context"

	"github.com/skidrule/skidrule/internal/choose"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// ChooseParts chooses the parts of the open slots of a design.
func ChooseParts(ctx context.Context, e *engine.Engine, r *skidrulev1.ChoosePartsRequest) (*skidrulev1.ChoosePartsResponse, error) {
	choices, err := choose.Parts(ctx, e, r)
	if err != nil {
		return nil, err
	}
	return &skidrulev1.ChoosePartsResponse{Choices: choices}, nil
}
