package choose

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/crew"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// verdict is what is known of a part alone.
type verdict struct {
	failures []*failure
	why      string // a reason that is no rule
	margin   float64
	err      error
}

// screen asks every part alone, with all other slots open, by what needs no solving: demands of the design, then the rules on
// stated data. Parts that fail are taken out and counted.
func (c *chooser) screen(ctx context.Context) error {
	type job struct{ slot, at int }
	var jobs []job
	for i, s := range c.slots {
		for k := range s.parts {
			jobs = append(jobs, job{i, k})
		}
	}
	verdicts := make([]verdict, len(jobs))
	err := crew.Each(len(jobs), func(n int) error {
		verdicts[n] = c.alone(ctx, jobs[n].slot, jobs[n].at)
		return ctx.Err()
	})
	if err != nil {
		return err
	}
	for n, j := range jobs {
		v := &verdicts[n]
		if v.err != nil {
			return v.err
		}
		p := c.slots[j.slot].parts[j.at]
		p.margin = v.margin
		if v.why != "" || len(v.failures) > 0 {
			c.reject(j.slot, p, v)
		}
	}
	return nil
}

// alone judges one part with all other slots open.
func (c *chooser) alone(ctx context.Context, i, at int) (v verdict) {
	defer func() {
		// The search may run beside others in one process: a defect must cost this part, not all of them.
		if r := recover(); r != nil {
			v = verdict{err: fmt.Errorf("part %s for %s: internal error: %v", c.slots[i].parts[at].id, c.slots[i].tag, r)}
		}
	}()
	p := c.slots[i].parts[at]
	v.margin = noMargin
	if p.demand != "" {
		v.why = p.demand
		return v
	}
	if c.measure == skidrulev1.ChoiceMeasure_CHOICE_MEASURE_POWER && powerFields[c.slots[i].kind] != "" && p.power == nil {
		v.why = "it does not state its electric power, which the measure counts"
		return v
	}
	assignment := c.allOpen()
	assignment[i] = at
	// Most parts of a long catalogue have other ends than the lines; that is the cheapest to ask.
	if slices.Contains(c.rules, endsMatch) {
		if v.failures, _, v.err = c.partly(ctx, assignment, true, []string{endsMatch}, c.oneCase, nil); len(v.failures) > 0 || v.err != nil {
			return v
		}
	}
	var margins []*skidrulev1.OutcomeMargin
	v.failures, margins, v.err = c.partly(ctx, assignment, true, c.rules, nil, nil)
	v.margin = c.least(margins)
	return v
}

// endsMatch is the rule that tells parts whose ends do not fit the lines.
const endsMatch = "ratings/ends-match"

// noMargin is the margin of a part that no number bounds.
const noMargin = 1e9

// least is the smallest of the margins that the measure is about.
func (c *chooser) least(margins []*skidrulev1.OutcomeMargin) float64 {
	least := float64(noMargin)
	for _, m := range margins {
		if c.counts(m) {
			least = min(least, math.Abs(m.GetRatio()))
		}
	}
	return least
}

// counts tells margins that the measure is about: those of met rules that concern the slots. Whole numbers are left out, since one
// that is just right has no distance, and temperatures, whose distance over the limit hangs on where the scale begins.
func (c *chooser) counts(m *skidrulev1.OutcomeMargin) bool {
	if m.Ratio == nil || m.GetStatus() != "met" || m.GetDimension() == "count" || m.GetDimension() == "temperature" {
		return false
	}
	_, about := c.about(m.GetSubject())
	return about || c.concerned[pair{m.GetRuleId(), m.GetSubject()}]
}

// reject counts a part that does not do alone.
func (c *chooser) reject(i int, p *part, v *verdict) {
	rule, why := "", v.why
	if len(v.failures) > 0 {
		f := v.failures[0]
		rule = f.rule
		if len(f.missing) > 0 {
			c.checked.missing.Add(1)
			why = "cannot be verified with it"
		} else if rule == "" {
			why = "its ports do not fit the lines"
		}
	}
	p.alone = v
	key := rule + "\x00" + why
	r := c.rejected[i][key]
	if r == nil {
		r = &skidrulev1.PartRejections{RuleId: rule, Reason: why}
		c.rejected[i][key] = r
	}
	r.Parts++
	if r.Example == nil || r.Example.GetSize().GetValue() < p.size.GetValue() {
		r.Example = p.rejectedAs(v)
	}
}

// rejectedAs describes a part with its reasons.
func (p *part) rejectedAs(v *verdict) *skidrulev1.RejectedPart {
	out := &skidrulev1.RejectedPart{Part: p.id, Title: p.title, Size: p.size, Alone: true}
	if v.why != "" {
		out.Reasons = append(out.Reasons, &skidrulev1.RejectReason{Message: v.why})
	}
	out.Reasons = append(out.Reasons, reasons(v.failures)...)
	return out
}

// reasons tells what rejects. What cannot be verified is told only where nothing is broken: it mostly follows from what is.
func reasons(list []*failure) []*skidrulev1.RejectReason {
	broken := slices.ContainsFunc(list, func(f *failure) bool { return len(f.missing) == 0 })
	var out []*skidrulev1.RejectReason
	for _, f := range list {
		if !broken || len(f.missing) == 0 {
			out = append(out, f.reason())
		}
	}
	return out
}
