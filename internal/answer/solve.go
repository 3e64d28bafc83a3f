package answer

import (
	"context"

	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/fact"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// SolveDesign computes pressures and flows of a design.
func SolveDesign(ctx context.Context, e *engine.Engine, r *skidrulev1.SolveDesignRequest) (*skidrulev1.SolveDesignResponse, error) {
	w, err := e.World(ctx, CheckOf(r))
	if err != nil {
		return nil, err
	}
	out, err := solveWorld(ctx, e, w, r)
	if err != nil {
		return nil, err
	}
	return &skidrulev1.SolveDesignResponse{Solution: out}, nil
}

// solveWorld answers about a design whose world was prepared with the catalogue of the request.
func solveWorld(ctx context.Context, e *engine.Engine, w *fact.World, r *skidrulev1.SolveDesignRequest) (*skidrulev1.Solution, error) {
	asked, err := engine.NamedCases(w, "case_ids", r.GetCaseIds()...)
	if err != nil {
		return nil, err
	}
	out, err := solveAsked(ctx, w, asked)
	if err == nil && !r.GetSkipMargins() {
		out.Margins, err = e.Margins(ctx, w, asked)
	}
	return out, err
}

// solveAsked solves cases of a plant.
func solveAsked(ctx context.Context, w *fact.World, asked []int) (*skidrulev1.Solution, error) {
	ctx, span := engine.Stage(ctx, "solve")
	defer span.End()
	states, err := w.States(asked)
	if err != nil {
		return nil, err
	}
	solver, err := w.Solver()
	if err != nil {
		return nil, err
	}
	out := solutionOf(states, asked)
	return out, dutyCurves(ctx, solver, states, asked, out)
}
