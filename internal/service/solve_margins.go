package service

import (
	"cmp"
	"math"
	"slices"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// marginsOf tells how far outcomes are from turning: for each outcome that was decided the evidence nearest to its limit, the nearest
// outcome first; then what is not verifiable with the data that would decide it. Evidence without a number and a limit has no
// distance and is left out.
func marginsOf(r *skidrulev1.Report) []*skidrulev1.OutcomeMargin {
	var near, open []*skidrulev1.OutcomeMargin
	for _, o := range r.GetOutcomes() {
		m := &skidrulev1.OutcomeMargin{RuleId: o.GetRuleId(), Subject: o.GetSubject(), CaseIds: o.GetCaseIds()}
		switch o.GetStatus() {
		case skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET:
			m.Status = "met"
		case skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN:
			m.Status = "broken"
		case skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE:
			m.Status, m.DecidedBy = "not verifiable", o.GetMissing()
			open = append(open, m)
			continue
		default:
			continue
		}
		for _, e := range o.GetEvidence() {
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
		if m.Ratio != nil {
			near = append(near, m)
		}
	}
	slices.SortStableFunc(near, func(a, b *skidrulev1.OutcomeMargin) int {
		return cmp.Compare(math.Abs(a.GetRatio()), math.Abs(b.GetRatio()))
	})
	return append(near, open...)
}
