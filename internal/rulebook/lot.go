package rulebook

import (
	"cmp"
	"slices"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/plant"
)

// InWhole tells an answer about a lot of the plant, whose world is given, as one about the whole.
func (a *Answer) InWhole(w *fact.World, lot *plant.Lot) {
	for i := range a.Outcomes {
		o := &a.Outcomes[i]
		o.Subject = o.Rule.inWhole(w, lot, o.Subject)
		o.Missing, o.Assumed, o.Path = fact.RefsInWhole(o.Missing, lot), fact.RefsInWhole(o.Assumed, lot), o.Path.InWhole(lot)
	}
}

// Add adds an answer of the same rule about other things.
func (a *Answer) Add(b *Answer) {
	a.Outcomes = append(a.Outcomes, b.Outcomes...)
	for status, n := range b.Pairs {
		a.Pairs[status] += n
	}
}

// Order puts outcomes that were added lot by lot into the order of their things.
func (a *Answer) Order() {
	slices.SortStableFunc(a.Outcomes, func(x, y Outcome) int { return cmp.Compare(x.Subject, y.Subject) })
}
