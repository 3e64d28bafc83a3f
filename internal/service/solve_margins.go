package service

import (
	"cmp"
	"context"
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// marginsOf tells how far outcomes are from turning: for each outcome that is decided the evidence nearest to its limit, the nearest
// outcome first; then what is not verifiable with the data that would decide it. Evidence without a number and a limit has no
// distance and is left out.
func marginsOf(ctx context.Context, e *engine.Engine, w *fact.World, asked []int) ([]*skidrulev1.OutcomeMargin, error) {
	var cases []int32
	for _, i := range asked {
		if w.Cases[i].Excluded == "" {
			cases = append(cases, int32(i))
		}
	}
	var near, open []*skidrulev1.OutcomeMargin
	for _, rule := range e.Book().Rules() {
		answer, err := rule.Evaluate(ctx, w, cases, true)
		if err != nil {
			return nil, err
		}
		for i := range answer.Outcomes {
			o := &answer.Outcomes[i]
			m := &skidrulev1.OutcomeMargin{RuleId: rule.Rule.GetId(), Subject: rule.SubjectPath(w, o.Subject)}
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
			if measureMargin(m, rule.EvidenceOf(ctx, w, at)); m.Ratio != nil {
				near = append(near, m)
			}
		}
	}
	slices.SortStableFunc(near, func(a, b *skidrulev1.OutcomeMargin) int {
		return cmp.Compare(math.Abs(a.GetRatio()), math.Abs(b.GetRatio()))
	})
	return append(near, open...), nil
}

// measureMargin takes the evidence that is nearest to its limit.
func measureMargin(m *skidrulev1.OutcomeMargin, list []*skidrulev1.Evidence) {
	for _, e := range list {
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
