package answer

import (
	"context"
	"errors"
	"fmt"

	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/schedule"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// ListDesign lists what a design is made of.
func ListDesign(ctx context.Context, e *engine.Engine, r *skidrulev1.ListDesignRequest) (_ *skidrulev1.ListDesignResponse, err error) {
	defer fact.Contain(&err)
	w, err := e.World(ctx, CheckOf(r))
	if err != nil {
		return nil, err
	}
	var states *operate.States
	if !r.GetSkipSolving() && solvesFor(r.GetLists()) {
		all, err := engine.NamedCases(w, "")
		if err != nil {
			return nil, err
		}
		if states, err = w.States(all); err != nil {
			return nil, err
		}
	}
	book, err := schedule.Book(ctx, w, states, r.GetLists())
	var wrong *schedule.NameError
	if errors.As(err, &wrong) {
		return nil, engine.Refuse(fmt.Sprintf("lists[%d]", wrong.Index), "", "%s", wrong)
	}
	if err != nil {
		return nil, err
	}
	return &skidrulev1.ListDesignResponse{Book: book}, nil
}

// solvesFor tells whether one of the lists has computed cells: the line list alone has.
func solvesFor(lists []string) bool {
	for _, name := range lists {
		if name == "lines" {
			return true
		}
	}
	return len(lists) == 0
}
