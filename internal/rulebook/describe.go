package rulebook

import (
	"context"
	"fmt"
	"strings"

	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"

	"github.com/skidrule/skidrule/internal/fact"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// describe fills message, evidence and path of a broken outcome.
func (c *Compiled) describe(ctx context.Context, s *scope, o *Outcome) {
	o.Message, o.Evidence = c.say(ctx, s), c.measure(ctx, s)
	if c.path != nil {
		if value, err := c.eval(ctx, c.path, s); err == nil {
			if p, ok := value.(*pathValue); ok {
				o.Path = p.Path
			}
		}
	}
}

// say writes the message. Where a template fails the rule's title stands in, so that a finding is never lost to its wording.
func (c *Compiled) say(ctx context.Context, s *scope) string {
	var b strings.Builder
	b.WriteString(c.message.texts[0])
	for i, part := range c.message.parts {
		value, err := c.eval(ctx, part, s)
		if err != nil {
			return c.Rule.GetTitle() + " does not hold"
		}
		b.WriteString(show(value))
		b.WriteString(c.message.texts[i+1])
	}
	return b.String()
}

// measure evaluates what the rule offers as evidence.
func (c *Compiled) measure(ctx context.Context, s *scope) (list []*skidrulev1.Evidence) {
	for _, e := range c.evidence {
		item := &skidrulev1.Evidence{Label: e.label}
		if value, err := c.eval(ctx, e.value, s); err == nil {
			fillEvidence(item, value)
		}
		if e.limit != nil {
			if limit, err := c.eval(ctx, e.limit, s); err == nil {
				fillLimit(item, limit)
			}
		}
		list = append(list, item)
	}
	return list
}

// EvidenceOf gives the evidence of the rule about one thing in one case, whatever its outcome is: how far a met rule is from turning
// can be read from it. None where the rule states none or a fact cannot be told.
func (c *Compiled) EvidenceOf(ctx context.Context, w *fact.World, at fact.At) (list []*skidrulev1.Evidence) {
	if len(c.evidence) == 0 {
		return nil
	}
	defer func() {
		if recover() != nil {
			list = nil
		}
	}()
	s := c.newScope(w)
	s.at = at
	return c.measure(ctx, s)
}

// show prints a value inside a message.
func show(v ref.Val) string {
	switch x := v.(type) {
	case *number:
		return formatNumber(x.dimension, x.Number)
	case types.String:
		return string(x)
	case types.Bool:
		if x {
			return "yes"
		}
		return "no"
	case *types.Unknown:
		return "not known"
	}
	return fmt.Sprint(v.Value())
}

func fillEvidence(e *skidrulev1.Evidence, v ref.Val) {
	x, ok := v.(*number)
	if !ok {
		e.Dimension, e.Text = "text", show(v)
		return
	}
	e.Dimension = x.Type().TypeName()
	if isFinite(x.Low) {
		e.Value = &x.Low
	}
	if x.High != x.Low && isFinite(x.High) {
		e.ValueHigh = &x.High
	}
	if !isFinite(x.Low) || !isFinite(x.High) {
		// A range open at one end must not read as a single value.
		e.Text = formatNumber(x.dimension, x.Number)
	}
}

func fillLimit(e *skidrulev1.Evidence, v ref.Val) {
	if x, ok := asNumber(v); ok && x.Known() && isFinite(x.Low) {
		e.Limit = &x.Low
		if e.Dimension == "" || e.Dimension == "text" {
			e.Dimension = "count"
		}
		return
	}
	e.LimitText = show(v)
}
