package engine

import (
	"cmp"
	"context"
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Margins tells how far the outcomes of all built-in rules are from turning in those of the cases that can occur, the nearest first,
// and last what is not verifiable. Errors are those of the context.
func (e *Engine) Margins(ctx context.Context, w *fact.World, cases []int) ([]*skidrulev1.OutcomeMargin, error) {
	ctx, span := Stage(ctx, "margins")
	defer span.End()
	answers, err := askAll(ctx, w, e.book.Rules(), possible(w.Cases, cases), true)
	if err != nil {
		return nil, err
	}
	return marginsOf(ctx, w, answers, marginMode{}), nil
}

// marginMode says which evidence counts.
type marginMode struct {
	// everyCase measures an outcome in each of its cases and not only in the first.
	everyCase bool
	// exact leaves out values that are ranges.
	exact bool
}

// marginsOf tells how far outcomes are from turning: for each outcome that is decided the evidence nearest to its limit, the
// nearest outcome first; then what is not verifiable with the data that would decide it. Evidence without a number and a limit
// has no distance and is left out.
func marginsOf(ctx context.Context, w *fact.World, answers []*rulebook.Answer, mode marginMode) []*skidrulev1.OutcomeMargin {
	var near, open []*skidrulev1.OutcomeMargin
	for _, answer := range answers {
		for i := range answer.Outcomes {
			o := &answer.Outcomes[i]
			m := &skidrulev1.OutcomeMargin{RuleId: o.Rule.Rule.GetId(), Subject: o.Rule.SubjectPath(w, o.Subject)}
			at := fact.At{Index: o.Subject, Case: -1}
			for _, k := range o.Cases {
				m.CaseIds = append(m.CaseIds, w.Cases[k].ID)
				at.Case = o.Cases[0]
			}
			switch o.Status {
			case skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET:
				m.Status = "met"
			case skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN:
				m.Status = "broken"
			case skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE:
				m.Status, m.DecidedBy = "not verifiable", rulebook.Paths(o.Missing, w.Plant)
				open = append(open, m)
				continue
			default:
				continue
			}
			measureMargin(m, o.Rule.EvidenceOf(ctx, w, at), mode.exact)
			for i := 1; i < len(o.Cases) && mode.everyCase; i++ {
				at.Case = o.Cases[i]
				measureMargin(m, o.Rule.EvidenceOf(ctx, w, at), mode.exact)
			}
			if m.Ratio != nil {
				near = append(near, m)
			}
		}
	}
	slices.SortStableFunc(near, func(a, b *skidrulev1.OutcomeMargin) int {
		return cmp.Compare(math.Abs(a.GetRatio()), math.Abs(b.GetRatio()))
	})
	return append(near, open...)
}

// measureMargin takes the evidence that is nearest to its limit.
func measureMargin(m *skidrulev1.OutcomeMargin, list []*skidrulev1.Evidence, exact bool) {
	for _, e := range list {
		if exact && (e.ValueHigh != nil || e.GetText() != "") {
			continue
		}
		value := e.Value
		if e.ValueHigh != nil {
			value = e.ValueHigh
		}
		if value == nil || e.Limit == nil || *e.Limit == 0 {
			continue
		}
		ratio := (*e.Limit - *value) / math.Abs(*e.Limit)
		if m.Ratio == nil || math.Abs(ratio) < math.Abs(*m.Ratio) {
			m.Label, m.Dimension, m.Value, m.Limit, m.Ratio = e.GetLabel(), e.GetDimension(), value, e.Limit, &ratio
		}
	}
}
