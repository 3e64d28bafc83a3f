package fact

import (
	"slices"

	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
)

// What stands beside a highest or lowest pressure in the evidence: whether it is bounded or solved, what solved cases find, and how
// far it is from the rating.
var solvedRatingFacts = slices.Concat(
	boundFacts(func(w *World, at At) []int32 { return w.joinedPortsOf(at.Index) },
		func(w *World, at At) *part { return &w.loads().components[at.Index] },
		func(w *World, at At) Number { return w.componentVacuum(at.Index) },
		func(w *World, at At) Number {
			return w.number(w.data(at.Index).MinPressurePaGauge, componentRef(at.Index, "min_pressure"))
		}, OnComponent),
	boundFacts(func(w *World, at At) []int32 { return w.linePorts(nil, at.Index) },
		func(w *World, at At) *part { return &w.loads().lines[at.Index] },
		func(w *World, at At) Number { return w.lineVacuum(at.Index) },
		func(w *World, at At) Number {
			return w.number(w.Plant.Lines[at.Index].Data.MinPressurePaGauge, lineRef(at.Index, "min_pressure"))
		}, OnLine),
	[]Definition{
		quantityFact("solved_pressure", quantity.PressureGauge, "Highest pressure at the port over the solved cases, as far as they settle it.",
			func(w *World, at At) Number { n, _ := w.solvedHighest([]int32{at.Index}); return n }).on(OnPort),
		quantityFact("solved_lowest_pressure", quantity.PressureGauge, "Lowest pressure at the port over the solved cases, as far as they settle it.",
			func(w *World, at At) Number { n, _ := w.solvedLowest([]int32{at.Index}); return n }).on(OnPort),
		quantityFact("lowest_pressure", quantity.PressureGauge, "Lowest pressure that can come to the port in any case.",
			func(w *World, at At) Number { return w.lowestPressure(at.Index) }).on(OnPort),
		quantityFact("solved_inlet_pressure", quantity.PressureGauge, "Highest pressure at its inlet over the solved cases.",
			func(w *World, at At) Number {
				n, _ := w.solvedHighest([]int32{w.Plant.PortByTrait(at.Index, 0)})
				return n
			}, plant.KindPump),
		textFact("solved_inlet_case", "The case in which that comes about.",
			func(w *World, at At) Text {
				_, set := w.solvedHighest([]int32{w.Plant.PortByTrait(at.Index, 0)})
				return w.caseText(set)
			}, plant.KindPump),
	},
)

// boundFacts are the facts about the bounds of a component or a line.
func boundFacts(ports func(*World, At) []int32, of func(*World, At) *part, lowest, vacuumRating func(*World, At) Number, on On) []Definition {
	list := []Definition{
		textFact("highest_pressure_basis", "What bounds its highest pressure.",
			func(w *World, at At) Text { return w.boundBasis(of(w, at)) }),
		quantityFact("pressure_margin", quantity.PressureDifference, "Its rating less its highest pressure.",
			func(w *World, at At) Number { return of(w, at).rating.Sub(of(w, at).pressure) }),
		quantityFact("solved_pressure", quantity.PressureGauge, "Highest pressure at it over the solved cases, as far as they settle it.",
			func(w *World, at At) Number { n, _ := w.solvedHighest(ports(w, at)); return n }),
		textFact("solved_pressure_case", "The case in which that comes about.",
			func(w *World, at At) Text { _, set := w.solvedHighest(ports(w, at)); return w.caseText(set) }),
		textFact("lowest_pressure_basis", "What bounds its lowest pressure.",
			func(w *World, at At) Text { return w.vacuumBasis(ports(w, at)) }),
		quantityFact("vacuum_margin", quantity.PressureDifference, "Its lowest pressure less the lowest that it bears.",
			func(w *World, at At) Number { return lowest(w, at).Sub(vacuumRating(w, at)) }),
		quantityFact("solved_lowest_pressure", quantity.PressureGauge, "Lowest pressure at it over the solved cases, as far as they settle it.",
			func(w *World, at At) Number { n, _ := w.solvedLowest(ports(w, at)); return n }),
		textFact("solved_lowest_case", "The case in which that comes about.",
			func(w *World, at At) Text { _, set := w.solvedLowest(ports(w, at)); return w.caseText(set) }),
	}
	for i := range list {
		list[i].On = on
	}
	return list
}

// boundBasis says what sets the highest pressure of a part.
func (w *World) boundBasis(p *part) Text {
	x := w.pressures()
	node, _, _ := x.highestOf(p.nodes, 0)
	if node < 0 {
		return Text{}
	}
	f, _, through, ok := x.best(node, 0, highEnd)
	if !ok {
		return Text{Value: "bounded: nothing brings pressure to it"}
	}
	source, _ := f.trace(x, node, 0, through)
	text := "bounded: " + w.Plant.Components[x.sourceComponent(source)].Tag + " against a closed outlet"
	if h := x.heights[0]; h.up == nil && h.wet.Has(node) {
		text += ", heights not stated"
	}
	return Text{Value: text}
}

// vacuumBasis says what sets the lowest pressure at several ports.
func (w *World) vacuumBasis(ports []int32) Text {
	if w.lowestOf(ports).Low < 0 {
		return Text{Value: "bounded: what pulls, with nothing flowing in"}
	}
	return Text{Value: "bounded: nothing pulls"}
}
