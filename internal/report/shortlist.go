package report

import (
	"fmt"
	"slices"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// missingList is a short list of data with the number of outcomes that can be decided once all of it is stated, of those that are
// open.
type missingList struct {
	Data          []string
	Decided, Open int
}

// shortListMost bounds the list: more is none that somebody would work through at once; common practice, no source.
const shortListMost = 24

// shortList chooses data whose statement makes most of the open outcomes verifiable, more than half, with few statements. An outcome
// needs all of its missing data, so the data is chosen by whole outcomes: each time those of the outcome for which the most
// outcomes become decidable for one datum stated, errors counting before the rest. To find the shortest list is a problem of the
// kind of set cover, which nobody solves exactly in reasonable time; this choice is greedy and not proven shortest. No datum of it
// can be left out without an outcome staying open.
func shortList(r *skidrulev1.Report) missingList {
	type need struct {
		missing []string
		weight  int
	}
	var needs []need
	var l missingList
	for _, o := range r.GetOutcomes() {
		if o.GetStatus() != skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE {
			continue
		}
		if l.Open++; len(o.GetMissing()) == 0 {
			continue
		}
		n := need{slices.Compact(slices.Sorted(slices.Values(o.GetMissing()))), 1}
		if o.GetSeverity() == skidrulev1.Severity_SEVERITY_ERROR {
			n.weight = 1000
		}
		needs = append(needs, n)
	}
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
	decided := func() (n int) {
		for _, o := range needs {
			if lacks(o) == 0 {
				n++
			}
		}
		return n
	}
	const considered = 200 // outcomes of a choice; the rest waits for the next one
	for 2*l.Decided <= l.Open {
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
		l.Decided = decided()
	}
	return l
}

// naming says what the list decides, and the list.
func (l missingList) naming() string { return l.text() + ": " + things(l.Data) }

// text says what the list decides.
func (l missingList) text() string {
	return fmt.Sprintf("stating %s decides %d of %d open outcomes (a short list, chosen greedily)", count(len(l.Data), "datum", "data"), l.Decided, l.Open)
}
