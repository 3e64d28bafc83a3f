package fact

import (
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

var coolingBypassFacts = []Definition{
	truthFact("cooling_bypassed", "Cooling water can run from its source to its sink without passing the jacket of a generator or a heat exchanger.",
		func(w *World, at At) Truth { return w.coolingBypassed(at.Index) }, plant.KindOzoneGenerator),
	pathFact("cooling_bypass", "The way of that water.",
		func(w *World, at At) Path {
			if sink := w.coolingSink(at.Index); sink >= 0 {
				return w.reachedPath(w.coolingAstray(), sink)
			}
			return nil
		}, plant.KindOzoneGenerator),
}

// coolingAstray is what cooling water reaches from the sources of all cooled generators without passing anything that it cools.
// Valves that stand closed hold it, and a three-way valve is meant to divide it.
func (w *World) coolingAstray() *flowpath.Reach {
	return w.sizing.coolingAstray.get(func() *flowpath.Reach {
		p := w.Plant
		var sources []int32
		for _, g := range w.OfKind(plant.KindOzoneGenerator) {
			if c := w.coolant(g); c.source >= 0 && len(c.arcs) > 0 {
				sources = append(sources, w.Graph().From(c.arcs[0]))
			}
		}
		slices.Sort(sources)
		sources = slices.Compact(sources)
		return w.spread(flowpath.Forward, sources, func(way int32, forward bool) bool {
			q := &p.Ways[way]
			if q.IsPipe() {
				s := p.Lines[q.Line].Data.GetService()
				return forward && (s == skidrulev1.Service_SERVICE_COOLING_WATER || s == skidrulev1.Service_SERVICE_UNSPECIFIED)
			}
			switch k := p.Components[q.Component].Kind; k {
			case plant.KindOzoneGenerator, plant.KindHeatExchanger, plant.KindThreeWayValve, plant.KindReliefValve, plant.KindRuptureDisc:
				return false
			case plant.KindHandValve, plant.KindActuatedValve:
				return w.data(q.Component).GetNormalPosition() != skidrulev1.ValvePosition_VALVE_POSITION_CLOSED
			default:
				return forward || bothWays(k)
			}
		})
	})
}

// coolingSink is the port at which the cooling water of a generator leaves the drawing; -1 where it does not.
func (w *World) coolingSink(g int32) int32 {
	c := w.coolant(g)
	if c.sink < 0 || len(c.arcs) == 0 {
		return -1
	}
	return w.Graph().To(c.arcs[len(c.arcs)-1])
}

func (w *World) coolingBypassed(g int32) Truth {
	sink := w.coolingSink(g)
	if sink < 0 {
		return Truth{}
	}
	astray := w.coolingAstray()
	arcs, ok := astray.Path(sink)
	if !ok {
		return Truth{}
	}
	// A line that does not say what it carries may be one of cooling water, or none.
	bypassed := Truth{Value: True}
	for _, arc := range arcs {
		if q := &w.Plant.Ways[arc/2]; q.IsPipe() && w.Plant.Lines[q.Line].Data.GetService() == skidrulev1.Service_SERVICE_UNSPECIFIED {
			bypassed = bypassed.And(Open(lineRef(q.Line, "service")))
		}
	}
	return bypassed
}
