package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// openToAir marks where air of the room comes in that is drawn along the feed side: must through what is known to be open,
// may also through valves whose position is not stated.
type openToAir struct{ must, may *flowpath.Reach }

func (w *World) openToAir() *openToAir { return w.feed.air.get(w.spreadAir) }

func (w *World) spreadAir() *openToAir {
	from := w.portsOf(plant.KindAtmosphereVent, "inlet")
	from = append(from, w.portsOf(plant.KindVacuumBreaker, "atmosphere")...)
	for _, s := range w.OfKind(plant.KindSamplePoint) {
		if outlet, ok := w.Plant.FindPort(s, "outlet"); ok && w.Plant.Ports[outlet].Joints == 0 && w.explained(outlet).Value == False {
			from = append(from, outlet)
		}
	}
	x := &openToAir{}
	x.may, x.must = w.spreadBoth(flowpath.Forward, from, w.airPasses)
	return x
}

// airPasses tells whether air of the room takes a way when the feed side is below atmosphere; it is not decided where the position of a
// valve is not stated.
func (w *World) airPasses(way int32, forward bool) Verdict {
	q := &w.Plant.Ways[way]
	if q.IsPipe() {
		return True
	}
	if !w.feedPasses(way) {
		return False
	}
	switch w.kindOfWay(way) {
	case plant.KindGasDryer, plant.KindOxygenConcentrator, plant.KindReliefValve, plant.KindRuptureDisc:
		return False
	case plant.KindCheckValve, plant.KindCompressor, plant.KindBlower, plant.KindVacuumBreaker:
		return Is(forward).Value
	case plant.KindHandValve, plant.KindActuatedValve, plant.KindSamplePoint:
		switch w.data(q.Component).GetNormalPosition() {
		case skidrulev1.ValvePosition_VALVE_POSITION_CLOSED:
			return False
		case skidrulev1.ValvePosition_VALVE_POSITION_UNSPECIFIED:
			return Undecided
		}
	}
	return True
}

// feedOpenToAir tells whether air of the room can be drawn into the feed of a generator.
func (w *World) feedOpenToAir(generator int32) Truth {
	x, port := w.openToAir(), w.Plant.PortByTrait(generator, 0)
	switch {
	case x.must.Reached(port):
		return Truth{Value: True}
	case x.may.Reached(port):
		var refs []Ref
		arcs, _ := x.may.Path(port)
		for _, arc := range arcs {
			if c := w.Plant.Ways[arc/2].Component; c >= 0 && w.airPasses(arc/2, arc%2 == 0) != True {
				refs = joinRefs(refs, []Ref{componentRef(c, "normal_position")})
			}
		}
		return Open(refs...)
	}
	return Truth{}
}

func (w *World) airPath(generator int32) Path {
	x, port := w.openToAir(), w.Plant.PortByTrait(generator, 0)
	if path := w.reachedPath(x.must, port); path != nil {
		return path
	}
	return w.reachedPath(x.may, port)
}
