package fact

import (
	"math"
	"slices"
)

// Number is a quantity or count of which only a range may be known. The true value lies in [Low, High]. Low equals High
// where all that it rests on is known.
type Number struct {
	Low, High float64
	Missing   []Ref // data whose absence widens the range
	Assumed   []Ref // assumed data that it rests on
}

// Exactly is a number that is known.
func Exactly(x float64) Number { return Number{Low: x, High: x} }

// between is a number of which a range is known although no datum is missing.
func between(low, high float64) Number { return Number{Low: low, High: high} }

// Missing is a number of which nothing is known because the data is not stated.
func Missing(refs ...Ref) Number {
	return Number{Low: math.Inf(-1), High: math.Inf(1), Missing: refs}
}

// Known tells whether the value is a single number.
func (n Number) Known() bool { return n.Low == n.High }

// Unknown tells whether nothing is known of it.
func (n Number) Unknown() bool { return math.IsInf(n.Low, -1) && math.IsInf(n.High, 1) }

// Add gives the sum.
func (n Number) Add(m Number) Number { return n.with(m, n.Low+m.Low, n.High+m.High) }

// Sub gives the difference.
func (n Number) Sub(m Number) Number { return n.with(m, n.Low-m.High, n.High-m.Low) }

// Scale gives the product with a known factor.
func (n Number) Scale(f float64) Number {
	if f < 0 {
		n.Low, n.High = n.High*f, n.Low*f
		return n
	}
	if f == 0 {
		return Number{Missing: n.Missing, Assumed: n.Assumed}
	}
	n.Low, n.High = n.Low*f, n.High*f
	return n
}

// Mul gives the product.
func (n Number) Mul(m Number) Number {
	low, high := math.Inf(1), math.Inf(-1)
	for _, x := range [4]float64{times(n.Low, m.Low), times(n.Low, m.High), times(n.High, m.Low), times(n.High, m.High)} {
		low, high = math.Min(low, x), math.Max(high, x)
	}
	return n.with(m, low, high)
}

// Div gives the quotient; where the divisor may be zero nothing is known of it.
func (n Number) Div(m Number) Number {
	if m.Low <= 0 && m.High >= 0 {
		return n.with(m, math.Inf(-1), math.Inf(1))
	}
	return n.Mul(Number{Low: 1 / m.High, High: 1 / m.Low, Missing: m.Missing, Assumed: m.Assumed})
}

// times takes zero times infinity as zero: a bound of an unknown factor.
func times(a, b float64) float64 {
	if a == 0 || b == 0 {
		return 0
	}
	return a * b
}

// Max gives the larger of two.
func (n Number) Max(m Number) Number { return n.with(m, max(n.Low, m.Low), max(n.High, m.High)) }

// Min gives the smaller of two.
func (n Number) Min(m Number) Number { return n.with(m, min(n.Low, m.Low), min(n.High, m.High)) }

// AtLeast says whether n is at least m.
func (n Number) AtLeast(m Number) Truth {
	switch {
	case n.Low >= m.High:
		return Truth{Value: True, Assumed: joinRefs(n.Assumed, m.Assumed)}
	case n.High < m.Low:
		return Truth{Value: False, Assumed: joinRefs(n.Assumed, m.Assumed)}
	}
	return n.undecided(m)
}

// MoreThan says whether n is more than m.
func (n Number) MoreThan(m Number) Truth { return m.AtLeast(n).Not() }

// undecided names what would decide a comparison.
func (n Number) undecided(m Number) Truth {
	return Truth{Value: Undecided, Missing: joinRefs(n.Missing, m.Missing), Assumed: joinRefs(n.Assumed, m.Assumed)}
}

func (n Number) with(m Number, low, high float64) Number {
	if math.IsNaN(low) {
		low = math.Inf(-1)
	}
	if math.IsNaN(high) {
		high = math.Inf(1)
	}
	return Number{Low: low, High: high, Missing: joinRefs(n.Missing, m.Missing), Assumed: joinRefs(n.Assumed, m.Assumed)}
}

// restingOn is a number between two ends that rests on what others rest on and lacks what they lack.
func restingOn(low, high float64, others ...Number) Number {
	n := Number{Low: low, High: high}
	for i := range others {
		n.Missing, n.Assumed = joinRefs(n.Missing, others[i].Missing), joinRefs(n.Assumed, others[i].Assumed)
	}
	return n
}

// Verdict is one of three truth values.
type Verdict int8

// The truth values.
const (
	False Verdict = iota
	True
	Undecided
)

// Truth is a statement that may lack the data to decide it.
type Truth struct {
	Value   Verdict
	Missing []Ref
	Assumed []Ref
}

// Is turns a bool into a decided truth.
func Is(b bool) Truth {
	if b {
		return Truth{Value: True}
	}
	return Truth{}
}

// Open is a truth that the missing data leaves open.
func Open(refs ...Ref) Truth { return Truth{Value: Undecided, Missing: refs} }

// Not gives the opposite.
func (t Truth) Not() Truth {
	switch t.Value {
	case True:
		t.Value = False
	case False:
		t.Value = True
	}
	return t
}

// And is true where both are, and false where either is.
func (t Truth) And(u Truth) Truth {
	switch {
	case t.Value == False:
		return t
	case u.Value == False:
		return u
	case t.Value == True && u.Value == True:
		return Truth{Value: True, Assumed: joinRefs(t.Assumed, u.Assumed)}
	}
	return Truth{Value: Undecided, Missing: joinRefs(t.Missing, u.Missing), Assumed: joinRefs(t.Assumed, u.Assumed)}
}

// Or is true where either is.
func (t Truth) Or(u Truth) Truth { return t.Not().And(u.Not()).Not() }

// Text is a word that the design may state; empty and with a missing datum where it does not.
type Text struct {
	Value   string
	Missing []Ref
}

// joinRefs merges two lists in order, each ref once. It allocates only where both have something.
func joinRefs(a, b []Ref) []Ref {
	if len(b) == 0 {
		return a
	}
	if len(a) == 0 {
		return b
	}
	out := slices.Concat(a, b)
	slices.SortFunc(out, Ref.compare)
	return slices.Compact(out)
}

// JoinRefs merges lists of refs in stable order, each ref once.
func JoinRefs(lists ...[]Ref) []Ref {
	var out []Ref
	for _, l := range lists {
		out = joinRefs(out, l)
	}
	return out
}
