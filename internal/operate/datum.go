package operate

import (
	"cmp"
	"slices"

	"github.com/skidrule/skidrule/internal/plant"
)

// DatumKind says what a Datum is about.
type DatumKind uint8

// The kinds of datum.
const (
	DatumComponent DatumKind = iota // a common datum of a component
	DatumSpec                       // a datum of a component's spec
	DatumLine                       // a datum of a line
	DatumBasis                      // a datum of the basis
	DatumElement                    // something about a component that no single field states
	DatumModel                      // the stated spread of a model; no datum of the design
)

// Datum names one datum that a result lacks or rests on.
type Datum struct {
	Kind  DatumKind
	Index int32  // component or line
	Field string // key of the field as design files spell it
}

// Path is the element path of the datum, as lines.W-1.length.
func (d Datum) Path(p *plant.Plant) string {
	switch d.Kind {
	case DatumComponent:
		return "components." + p.Components[d.Index].Tag + "." + d.Field
	case DatumSpec:
		c := &p.Components[d.Index]
		return "components." + c.Tag + "." + c.Kind.Info().Name + "." + d.Field
	case DatumLine:
		return "lines." + p.Lines[d.Index].Tag + "." + d.Field
	case DatumBasis:
		return "basis." + d.Field
	case DatumElement:
		return "components." + p.Components[d.Index].Tag
	}
	return d.Field
}

func (d Datum) compare(e Datum) int {
	return cmp.Or(cmp.Compare(d.Kind, e.Kind), cmp.Compare(d.Index, e.Index), cmp.Compare(d.Field, e.Field))
}

// joinData merges two lists in order, each datum once.
func joinData(a, b []Datum) []Datum {
	if len(b) == 0 {
		return a
	}
	if len(a) == 0 {
		return b
	}
	out := slices.Concat(a, b)
	slices.SortFunc(out, Datum.compare)
	return slices.Compact(out)
}

// variant says which uncertain datum stands at which end; the others stand at their best value.
type variant struct {
	datum Datum
	end   int8 // -1 low, +1 high, 0 where all are at their best
}

// reader reads the numbers of a design for one variant. It gathers what is missing and what is uncertain.
type reader struct {
	p         *plant.Plant
	v         variant
	missing   []Datum // since the last take
	used      []Datum // uncertain, since the last take
	uncertain []Datum // all of them
	assumed   []Datum // those of them that the design assumes
}

// number reads a stated number: at its best or the wanted end where it is assumed. What is missing is noted and read as NaN-free
// zero, which nothing may be computed with.
func (r *reader) number(x *float64, d Datum) float64 {
	if x != nil {
		return *x
	}
	if a := r.p.Assumed(d.Path(r.p)); a != nil {
		r.assumed = joinData(r.assumed, []Datum{d})
		return r.spread(a.GetLow(), (a.GetLow()+a.GetHigh())/2, a.GetHigh(), d)
	}
	r.lack(d)
	return 0
}

// lack notes a missing datum.
func (r *reader) lack(d Datum) { r.missing = joinData(r.missing, []Datum{d}) }

// spread reads a value that is only known to lie between two ends.
func (r *reader) spread(low, best, high float64, d Datum) float64 {
	if low == high {
		return low
	}
	r.uncertain = joinData(r.uncertain, []Datum{d})
	r.used = joinData(r.used, []Datum{d})
	if r.v.datum == d {
		switch r.v.end {
		case -1:
			return low
		case 1:
			return high
		}
	}
	return best
}

// take gives what was missing since the last take.
func (r *reader) take() []Datum {
	m := r.missing
	r.missing = nil
	return m
}

// takeUsed gives the uncertain data that was read since the last takeUsed.
func (r *reader) takeUsed() []Datum {
	u := r.used
	r.used = nil
	return u
}
