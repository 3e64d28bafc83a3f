package fact

import (
	"cmp"

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
	Index int32  // component, line or port
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

// ElementPath is the path of the component or line that the datum belongs to, or basis.
func (r Ref) ElementPath(p *plant.Plant) string {
	switch r.Kind {
	case RefComponent, RefSpec, RefElement:
		return "components." + p.Components[r.Index].Tag
	case RefLine:
		return "lines." + p.Lines[r.Index].Tag
	case RefPort:
		return "components." + p.Components[p.Ports[r.Index].Component].Tag
	case RefCase:
		return "cases"
	}
	return "basis"
}
