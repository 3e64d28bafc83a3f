package fact

import (
	"cmp"
	"slices"

	"github.com/skidrule/skidrule/internal/plant"
)

// RefKind says what a Ref is about.
type RefKind uint8

// The kinds of datum.
const (
	RefComponent RefKind = iota // a common datum of a component
	RefSpec                     // a datum of a component's spec
	RefLine                     // a datum of a line
	RefBasis                    // a datum of the basis
	RefPort                     // a datum of a port
	RefElement                  // something about a component that no single field states
	RefCase                     // a computed result that the solver could not give; Field is its key
)

// Ref names one datum compactly; Path spells it out.
type Ref struct {
	Kind  RefKind
	Index int32  // component, line or port; in a lot, ^index of one of the whole plant
	Field string // key of the field as design files spell it
}

func (r Ref) compare(s Ref) int {
	return cmp.Or(cmp.Compare(r.Kind, s.Kind), cmp.Compare(r.Index, s.Index), cmp.Compare(r.Field, s.Field))
}

// Path is the element path of the datum, as components.CV-2.check_valve.opening_pressure.
func (r Ref) Path(p *plant.Plant) string {
	switch r.Kind {
	case RefComponent:
		return "components." + p.Components[r.Index].Tag + "." + r.Field
	case RefSpec:
		c := &p.Components[r.Index]
		return "components." + c.Tag + "." + c.Kind.Info().Name + "." + r.Field
	case RefLine:
		return "lines." + p.Lines[r.Index].Tag + "." + r.Field
	case RefPort:
		return "components." + p.Components[p.Ports[r.Index].Component].Tag + ".ports." + p.PortName(r.Index) + "." + r.Field
	case RefElement:
		return "components." + p.Components[r.Index].Tag
	case RefCase:
		return "cases." + r.Field
	}
	return "basis." + r.Field
}

// inWhole names the datum of a lot as it is named in the whole plant.
func (r Ref) inWhole(lot *plant.Lot) Ref {
	switch r.Kind {
	case RefComponent, RefSpec, RefElement:
		r.Index = lot.WholeComponent(r.Index)
	case RefLine:
		r.Index = lot.WholeLine(r.Index)
	case RefPort:
		r.Index = lot.WholePort(r.Index)
	}
	return r
}

// RefsInWhole names data of a lot as they are named in the whole plant.
func RefsInWhole(refs []Ref, lot *plant.Lot) []Ref {
	if len(refs) == 0 {
		return refs
	}
	out := make([]Ref, len(refs))
	for i, r := range refs {
		if out[i] = r; r.Index < 0 {
			out[i].Index = ^r.Index
		} else {
			out[i] = r.inWhole(lot)
		}
	}
	// Those of the whole stood before the others.
	slices.SortFunc(out, Ref.compare)
	return slices.Compact(out)
}

// fromWhole marks data of the whole plant, so that they are not taken for those of a lot.
func (w *World) fromWhole(refs []Ref) []Ref {
	if w.whole == nil || len(refs) == 0 {
		return refs
	}
	out := make([]Ref, len(refs))
	for i, r := range refs {
		if out[i] = r; r.Kind != RefBasis && r.Kind != RefCase {
			out[i].Index = ^r.Index
		}
	}
	slices.SortFunc(out, Ref.compare)
	return out
}
