package engine

import (
	"context"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// CheckOpen checks a design some of whose components have no data yet, because their parts are still to be chosen. Its answer is
// that of Check but for one thing: no fact rests on a state that the drawing states where the whole design would be solved. A
// rule that it finds broken of a thing that has its data stays broken whatever parts are chosen for the others, since a missing
// datum only ever widens a fact.
//
// Measured, it tells as well how far met and broken outcomes are from turning by numbers that are known to be one value: those
// stay as they are whatever parts are chosen, so that no choice brings an outcome further from turning than its margin here.
// Errors are those of Check.
func (e *Engine) CheckOpen(ctx context.Context, request *skidrulev1.CheckDesignRequest, measured bool) (*skidrulev1.Report, []*skidrulev1.OutcomeMargin, error) {
	return e.checkChosen(ctx, request, true, measured, marginMode{everyCase: true, exact: true})
}

// CheckMeasured checks a design and tells beside the report how far each outcome is from turning in the worst of its cases, the
// nearest first, and last what is not verifiable. Errors are those of Check.
func (e *Engine) CheckMeasured(ctx context.Context, request *skidrulev1.CheckDesignRequest) (*skidrulev1.Report, []*skidrulev1.OutcomeMargin, error) {
	return e.checkChosen(ctx, request, false, true, marginMode{everyCase: true})
}

func (e *Engine) checkChosen(ctx context.Context, request *skidrulev1.CheckDesignRequest, open, measured bool, mode marginMode) (*skidrulev1.Report, []*skidrulev1.OutcomeMargin, error) {
	w, err := e.World(ctx, request)
	if err != nil {
		return nil, nil, err
	}
	if open {
		w.KeepOpen()
	}
	o := request.GetOptions()
	r, err := e.ask(ctx, w, o, measured || o.GetView() == skidrulev1.ReportView_REPORT_VIEW_FULL)
	if err != nil {
		return nil, nil, err
	}
	report, err := r.report()
	if err != nil || !measured {
		return report, nil, err
	}
	margins := marginsOf(ctx, w, r.answers, mode)
	return report, margins, ctx.Err()
}
