package fact

import (
	"cmp"
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/plant"
)

// Terms are what sums over the design are made of, by case. Those of a large plant are taken from its lots, so that what each rests on
// is computed once.
type Terms struct{ byCase []caseTerms }

// caseTerms are those of one case, in order of components. Ozone flows are in kg/s.
type caseTerms struct {
	taken       bool
	output      []term // by generator in use
	transferred []term // by vessel
	lost        []term // by generator: what dissolves beyond its injectors is not known
}

type term struct {
	component int32
	amount    Number
}

// TermsInWhole gives the terms of a lot's world as those of the whole plant, of the cases in which the plant runs. The error is the
// context's.
func (w *World) TermsInWhole(lot *plant.Lot, cases []int32) (t *Terms, err error) {
	defer Contain(&err)
	t = &Terms{make([]caseTerms, len(w.Cases))}
	for _, at := range cases {
		if !w.runs(at) {
			continue
		}
		c := w.findTerms(at)
		for _, list := range [][]term{c.output, c.transferred, c.lost} {
			for i := range list {
				x := &list[i]
				x.component = lot.WholeComponent(x.component)
				x.amount.Missing, x.amount.Assumed = RefsInWhole(x.amount.Missing, lot), RefsInWhole(x.amount.Assumed, lot)
			}
		}
		t.byCase[at] = c
	}
	return t, nil
}

// Take lets sums over the design rest on the terms of all lots. It comes before the first question.
func (w *World) Take(lots []*Terms) {
	all := make([]caseTerms, len(w.Cases))
	for at := range all {
		c := &all[at]
		for _, lot := range lots {
			l := &lot.byCase[at]
			c.taken = l.taken
			c.output, c.transferred, c.lost = append(c.output, l.output...), append(c.transferred, l.transferred...), append(c.lost, l.lost...)
		}
		for _, list := range [][]term{c.output, c.transferred, c.lost} {
			slices.SortStableFunc(list, func(a, b term) int { return cmp.Compare(a.component, b.component) })
		}
	}
	w.sizing.terms = all
}

// termsOf gives the terms of a case: those taken from lots, or its own.
func (w *World) termsOf(at int32) caseTerms {
	if at >= 0 && w.sizing.terms != nil && w.sizing.terms[at].taken {
		return w.sizing.terms[at]
	}
	return w.findTerms(at)
}

func (w *World) findTerms(at int32) caseTerms {
	t := caseTerms{taken: true}
	for _, d := range w.doseCase(at).vessel.list {
		t.transferred = append(t.transferred, term{d.component, d.transferred})
	}
	for _, g := range w.gasNet().generators {
		t.output = append(t.output, term{g, w.lowestOutput(g, at)})
		gas := w.gasNet().of.of(g)
		for _, j := range gas.injectors {
			if w.operatingAt(j, at).contact < 0 {
				t.lost = append(t.lost, term{g, Number{Low: 0, High: math.Inf(1), Missing: []Ref{elementRef(j)}}})
			}
		}
		if len(gas.injectors) == 0 {
			t.lost = append(t.lost, term{g, Number{Low: 0, High: math.Inf(1), Missing: []Ref{elementRef(g)}}})
		}
	}
	return t
}

// totalOutput is the least ozone in kg/s that all generators in use make in a case.
func (w *World) totalOutput(at int32) Number { return sumOf(w.termsOf(at).output) }

// totalTransferred is the least ozone in kg/s that dissolves of what all generators make in a case.
func (w *World) totalTransferred(at int32) Number {
	t := w.termsOf(at)
	return sumOf(t.transferred, t.lost)
}

func sumOf(lists ...[]term) Number {
	sum := Exactly(0)
	for _, list := range lists {
		for i := range list {
			sum = addNaming(sum, list[i].amount)
		}
	}
	return sum
}
