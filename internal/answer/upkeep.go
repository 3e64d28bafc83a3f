package answer

import (
	"context"
	"errors"
	"fmt"

	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/upkeep"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// PlanUpkeep says what of a design wears when, and how its modules are taken out.
func PlanUpkeep(ctx context.Context, e *engine.Engine, r *skidrulev1.PlanUpkeepRequest) (_ *skidrulev1.PlanUpkeepResponse, err error) {
	defer fact.Contain(&err)
	w, err := e.World(ctx, CheckOf(r))
	if err != nil {
		return nil, err
	}
	plan, err := upkeep.Plan(ctx, w, r.GetModuleTags())
	var wrong *upkeep.ModuleError
	if errors.As(err, &wrong) {
		path := "module_tags"
		if wrong.Index >= 0 {
			path = fmt.Sprintf("module_tags[%d]", wrong.Index)
		}
		return nil, engine.Refuse(path, wrong.Suggestion, "%s", wrong.Message)
	}
	if err != nil {
		return nil, err
	}
	return &skidrulev1.PlanUpkeepResponse{Plan: plan}, nil
}
