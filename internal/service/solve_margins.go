package service

import (
	"context"

	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/fact"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// marginsOf tells how far outcomes are from turning in the cases that are asked about and can occur.
func marginsOf(ctx context.Context, e *engine.Engine, w *fact.World, asked []int) ([]*skidrulev1.OutcomeMargin, error) {
	var cases []int32
	for _, i := range asked {
		if w.Cases[i].Excluded == "" {
			cases = append(cases, int32(i))
		}
	}
	return e.Margins(ctx, w, cases)
}
