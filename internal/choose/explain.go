package choose

import (
	"context"
	"slices"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// choiceOf describes a combination that was found: its margins, and for each slot why the next smaller part does not do.
func (c *chooser) choiceOf(ctx context.Context, s *search, r *checked, first bool) (*skidrulev1.PartChoice, error) {
	out := &skidrulev1.PartChoice{Met: r.met}
	out.Value, out.Dimension = c.value(r.cost)
	margins := r.margins
	report, measured, err := c.engine.CheckMeasured(ctx, c.check(r.assignment, true, nil, nil, nil))
	if err != nil {
		return nil, err
	}
	if margins == nil {
		margins = measured
	}
	for _, m := range margins {
		if c.counts(m) {
			out.Margins = append(out.Margins, m)
		}
	}
	if first {
		c.told(report)
	}
	for i := range c.slots {
		chosen := c.chosen(i, r.assignment[i])
		smaller := c.smaller(i, r.assignment[i])
		if smaller >= 0 {
			if chosen.NextSmaller, err = c.whyNot(ctx, r.assignment, i, smaller); err != nil {
				return nil, err
			}
		}
		if before := s.before(i, r.assignment[i]); before >= 0 && before != smaller && !c.byMargin() {
			if chosen.NextByMeasure, err = c.whyNot(ctx, r.assignment, i, before); err != nil {
				return nil, err
			}
		}
		out.Parts = append(out.Parts, chosen)
	}
	return out, nil
}

// told takes over what a whole check says beside the choice: what stands whatever is chosen, and what was accepted.
func (c *chooser) told(report *skidrulev1.Report) {
	for _, f := range report.GetFindings() {
		if c.standing[pair{f.GetRuleId(), f.GetSubject()}] {
			c.answer.Standing = append(c.answer.Standing, f)
		}
	}
	for _, o := range report.GetOutcomes() {
		if o.GetStatus() == skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE && len(o.GetMissing()) > 0 && c.accepts(o.GetMissing()) {
			for _, path := range o.GetMissing() {
				c.accepted[path] = true
			}
		}
	}
}

// smaller gives the part of a slot with the next smaller place by size among those whose ends fit the lines, and among all where
// none of those is smaller; -1 where there is none. Of several of one size the last by id is taken.
func (c *chooser) smaller(i, at int) int {
	if k := c.smallerOf(i, at, true); k >= 0 {
		return k
	}
	return c.smallerOf(i, at, false)
}

func (c *chooser) smallerOf(i, at int, fitting bool) int {
	best, parts := -1, c.slots[i].parts
	for k, p := range parts {
		if p.place >= parts[at].place || p.size == nil {
			continue
		}
		if v := p.alone; fitting && v != nil && (v.why != "" || v.failures[0].rule == endsMatch || v.failures[0].rule == "") {
			continue
		}
		if best < 0 || p.place > parts[best].place || p.place == parts[best].place && p.id > parts[best].id {
			best = k
		}
	}
	return best
}

// before gives the part of a slot that comes right before by the measure; -1 where there is none. One that the design or the measure
// cannot take is passed over.
func (s *search) before(i, at int) int {
	parts := s.c.slots[i].parts
	best := -1
	for k, p := range parts {
		if p.alone != nil && p.alone.why != "" {
			continue
		}
		if p.cost(s.c.measure).compare(parts[at].cost(s.c.measure)) < 0 && (best < 0 || p.cost(s.c.measure).compare(parts[best].cost(s.c.measure)) > 0) {
			best = k
		}
	}
	return best
}

// whyNot checks a choice with another part in one slot and tells what rejects it.
func (c *chooser) whyNot(ctx context.Context, assignment []int, i, at int) (*skidrulev1.RejectedPart, error) {
	p := c.slots[i].parts[at]
	other := slices.Clone(assignment)
	other[i] = at
	if p.alone != nil && p.alone.why != "" {
		return p.rejectedAs(p.alone), nil
	}
	_, failures, err := c.wholly(ctx, other)
	if err != nil {
		return nil, err
	}
	out := p.rejectedAs(&verdict{failures: failures})
	out.Alone, out.MeetsAll = p.alone != nil, len(failures) == 0
	return out, nil
}

// nearestMiss tells of the combination that misses the fewest rules among those that were looked at. Where a slot has no part left
// it takes the one of it that fails the fewest rules alone, and checks the whole.
func (c *chooser) nearestMiss(ctx context.Context, s *search) error {
	assignment := c.allOpen()
	if s.near != nil {
		assignment = s.near.assignment
	}
	for i, q := range c.slots {
		if assignment[i] != open {
			continue
		}
		best := -1
		count := func(k int) int {
			v := q.parts[k].alone
			switch {
			case v == nil:
				return 0
			case v.why != "":
				return 1 << 20
			}
			return len(v.failures)
		}
		for k := range q.parts {
			// Of parts that fail as many rules the largest is nearest: what is too small fails more as it gets smaller.
			if best < 0 || count(k) < count(best) || count(k) == count(best) && q.parts[k].place > q.parts[best].place {
				best = k
			}
		}
		assignment[i] = best
	}
	failures := []*failure(nil)
	if s.near != nil {
		failures = s.near.failures
	} else {
		report, list, err := c.wholly(ctx, assignment)
		if err != nil {
			return err
		}
		failures = list
		if report != nil {
			c.told(report)
		}
	}
	miss := &skidrulev1.NearestMiss{}
	for i := range c.slots {
		miss.Parts = append(miss.Parts, c.chosen(i, assignment[i]))
	}
	miss.Reasons = reasons(failures)
	c.answer.NearestMiss = miss
	return nil
}
