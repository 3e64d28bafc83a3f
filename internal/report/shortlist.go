package report

import (
	"slices"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// missingList is a short list of data with the number of outcomes that can be decided once all of it is stated.
type missingList struct {
	Data    []string
	Decided int
}

// shortListMost bounds the list.
const shortListMost = 12

// shortList chooses the data that makes the most outcomes verifiable for the fewest statements. An outcome needs all of its
// missing data, so the data is chosen by whole outcomes: each time those of the outcome for which the most outcomes become
// decidable for one datum stated, errors counting before the rest. That is a greedy choice, not proven shortest.
func shortList(r *skidrulev1.Report) missingList {
	type need struct {
		missing []string
		weight  int
	}
	var needs []need
	for _, o := range r.GetOutcomes() {
		if o.GetStatus() != skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE || len(o.GetMissing()) == 0 {
			continue
		}
		n := need{slices.Compact(slices.Sorted(slices.Values(o.GetMissing()))), 1}
		if o.GetSeverity() == skidrulev1.Severity_SEVERITY_ERROR {
			n.weight = 1000
		}
		needs = append(needs, n)
	}
	var l missingList
	stated := map[string]bool{}
	lacks := func(n need) int {
		k := 0
		for _, m := range n.missing {
			if !stated[m] {
				k++
			}
		}
		return k
	}
	const considered = 200 // outcomes of a choice; the rest waits for the next one
	for {
		var best need
		bestGain, bestCost := 0, 1
		left := slices.DeleteFunc(slices.Clone(needs), func(n need) bool { return lacks(n) == 0 })
		for _, n := range left[:min(len(left), considered)] {
			cost := lacks(n)
			if len(l.Data)+cost > shortListMost {
				continue
			}
			gain := 0
			for _, o := range left {
				if !slices.ContainsFunc(o.missing, func(m string) bool { return !stated[m] && !slices.Contains(n.missing, m) }) {
					gain += o.weight
				}
			}
			if gain*bestCost > bestGain*cost {
				best, bestGain, bestCost = n, gain, cost
			}
		}
		if bestGain == 0 {
			break
		}
		for _, m := range best.missing {
			if !stated[m] {
				stated[m] = true
				l.Data = append(l.Data, m)
			}
		}
	}
	for _, n := range needs {
		if lacks(n) == 0 {
			l.Decided++
		}
	}
	return l
}
