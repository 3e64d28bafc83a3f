package rulebook

import (
	"context"
	"fmt"
	"slices"
	"sort"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// verdict is what a condition comes to for one thing in one case.
type verdict struct {
	status         skidrulev1.OutcomeStatus
	applies, holds fact.Truth
	err            error
}

// weigh evaluates the rule once.
func (c *Compiled) weigh(ctx context.Context, s *scope) (v verdict) {
	s.assumed = nil
	v.applies.Value = fact.True
	if c.applies != nil {
		switch v.applies, v.err = c.decide(ctx, c.applies, s); {
		case v.err != nil:
			v.status = skidrulev1.OutcomeStatus_OUTCOME_STATUS_FAILED
			return v
		case v.applies.Value == fact.False:
			v.status = skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_APPLICABLE
			return v
		}
	}
	v.holds, v.err = c.decide(ctx, c.condition, s)
	switch {
	case v.err != nil:
		v.status = skidrulev1.OutcomeStatus_OUTCOME_STATUS_FAILED
	case v.holds.Value == fact.True:
		// Whether the rule applies does not matter where its condition holds anyway.
		v.status = skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET
	case v.holds.Value == fact.Undecided || v.applies.Value == fact.Undecided:
		v.status = skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE
	default:
		v.status = skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN
	}
	return v
}

// outcome says in full what a verdict means.
func (c *Compiled) outcome(ctx context.Context, s *scope, v *verdict) Outcome {
	o := Outcome{Rule: c, Status: v.status}
	switch v.status {
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_FAILED:
		o.Failure = v.err.Error()
		return o
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_APPLICABLE:
		return o
	}
	o.Assumed = s.assumed
	switch v.status {
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE:
		for _, t := range [2]fact.Truth{v.applies, v.holds} {
			if t.Value != fact.Undecided {
				continue
			}
			if len(t.Missing) == 0 {
				// No missing datum leaves it open: an assumed range does, or the model's own uncertainty.
				t.Missing = t.Assumed
			}
			o.Missing = fact.JoinRefs(o.Missing, t.Missing)
		}
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN:
		c.describe(ctx, s, &o)
	}
	return o
}

// decide evaluates a condition, by its functions where it has them.
func (c *Compiled) decide(ctx context.Context, k *condition, s *scope) (fact.Truth, error) {
	if k.direct != nil {
		return k.direct(s), nil
	}
	value, err := c.eval(ctx, k.program, s)
	if err != nil {
		return fact.Truth{}, err
	}
	switch v := value.(type) {
	case types.Bool:
		return fact.Is(bool(v)), nil
	case *types.Unknown:
		return fact.Open(missingOf(v)...), nil
	}
	return fact.Truth{}, fmt.Errorf("the condition gives %s instead of true or false", value.Type().TypeName())
}

// eval runs one program. An unknown that swallowed an error would hide a broken rule, so a condition that comes out unknown
// is told apart from a failed one by its own error value only where no part of it failed; parts cannot fail silently because
// numbers report division by zero as an error of their own.
func (c *Compiled) eval(ctx context.Context, p cel.Program, s *scope) (ref.Val, error) {
	var value ref.Val
	var err error
	if ctx.Done() != nil && c.site {
		value, _, err = p.ContextEval(ctx, s)
	} else {
		value, _, err = p.Eval(s)
	}
	if err != nil {
		return nil, err
	}
	if types.IsError(value) {
		return nil, fmt.Errorf("%v", value)
	}
	return value, nil
}

// missingOf reads the data that an unknown names.
func missingOf(u *types.Unknown) []fact.Ref {
	var out []fact.Ref
	for _, id := range u.IDs() {
		trails, _ := u.GetAttributeTrails(id)
		for _, t := range trails {
			if r, ok := decodeRef(t.Variable()); ok {
				out = fact.JoinRefs(out, []fact.Ref{r})
			}
		}
	}
	return out
}

// Paths spells data by element path, sorted.
func Paths(refs []fact.Ref, p *plant.Plant) []string {
	out := plant.Paths(p, refs)
	sort.Strings(out)
	return slices.Compact(out)
}
