package engine

import (
	"context"

	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// CheckLots checks a design on stated data in lots of about so many components, and tells how many there were; a size of 0 checks it
// whole.
func (e *Engine) CheckLots(ctx context.Context, design *skidrulev1.Design, size int) (*skidrulev1.Report, int, error) {
	request := &skidrulev1.CheckDesignRequest{Design: design, Options: &skidrulev1.CheckOptions{StatedOnly: true, View: skidrulev1.ReportView_REPORT_VIEW_FULL}}
	w, err := e.World(ctx, request)
	if err != nil {
		return nil, 0, err
	}
	book := e.book.Rules()
	named, err := NamedCases(w, "")
	if err != nil {
		return nil, 0, err
	}
	asked := possible(w.Cases, named)
	q, lots := &question{ctx, asked, true}, w.Plant.Lots(size)
	var answers []*rulebook.Answer
	if size > 0 {
		answers, err = q.byLot(w, lots, book, 2)
	} else {
		answers, err = q.byRule(w, book, 1)
	}
	if err != nil {
		return nil, 0, err
	}
	report, err := (&reporter{until: ctx, world: w, answers: answers, options: request.GetOptions(), asked: asked, rules: book}).report()
	return report, lots.Len(), err
}
