package fact

import (
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// number reads an optional datum: what is stated, else what is assumed about it with both ends, else missing by name.
func (w *World) number(x *float64, ref Ref) Number {
	if x != nil {
		return Exactly(*x)
	}
	if w.Plant.HasAssumptions() {
		if a := w.Plant.Assumed(ref.Path(w.Plant)); a != nil {
			return Number{Low: a.GetLow(), High: a.GetHigh(), Assumed: []Ref{ref}}
		}
	}
	return Missing(ref)
}

// truth reads an optional yes or no.
func (w *World) truth(x *bool, ref Ref) Truth {
	if x == nil {
		return Open(ref)
	}
	return Is(*x)
}

// componentRef names a common datum of a component.
func componentRef(component int32, field string) Ref {
	return Ref{Kind: RefComponent, Index: component, Field: field}
}

// specRef names a datum of a component's spec.
func specRef(component int32, field string) Ref {
	return Ref{Kind: RefSpec, Index: component, Field: field}
}

// lineRef names a datum of a line.
func lineRef(line int32, field string) Ref { return Ref{Kind: RefLine, Index: line, Field: field} }

// portRef names a datum of a port.
func portRef(port int32, field string) Ref { return Ref{Kind: RefPort, Index: port, Field: field} }

// elementRef names something about a component that no single field states.
func elementRef(component int32) Ref { return Ref{Kind: RefElement, Index: component} }

// basisRef names a datum of the basis.
func basisRef(field string) Ref { return Ref{Kind: RefBasis, Field: field} }

// data is what holds for a component.
func (w *World) data(component int32) *skidrulev1.Component {
	return w.Plant.Components[component].Data
}

// tagOf names a component; empty for none, -1.
func (w *World) tagOf(component int32) Text {
	if component < 0 {
		return Text{}
	}
	return Text{Value: w.Plant.Components[component].Tag}
}

// Unstated answers for a number that the design does not state: what is assumed about it, else missing by name.
func (w *World) Unstated(ref Ref) Number { return w.number(nil, ref) }
