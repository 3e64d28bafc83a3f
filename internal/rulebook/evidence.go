package rulebook

import (
	"context"

	"github.com/skidrule/skidrule/internal/fact"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

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
	var o Outcome
	c.describe(ctx, s, &o)
	return o.Evidence
}
