package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// openWays makes the ways of a search from a yes or no for each way and direction.
func (w *World) openWays(open func(way int32, forward bool) bool) *flowpath.Ways {
	w.pause()
	costs := make([]uint8, w.Graph().NumArcs())
	for i := range w.Plant.Ways {
		for d := range 2 {
			if !open(int32(i), d == 0) {
				costs[2*i+d] = flowpath.Blocked
			}
		}
	}
	ways, err := flowpath.NewWays(w.Graph(), costs)
	must(err)
	return ways
}

// kindOfWay is the kind of the component that a passage lies in; KindNone for a pipe.
func (w *World) kindOfWay(way int32) plant.Kind { return (*w.wayKinds.get(w.findWayKinds))[way] }

// findWayKinds lists the kinds of all ways once: every search asks for them, in both directions.
func (w *World) findWayKinds() *[]plant.Kind {
	kinds := make([]plant.Kind, len(w.Plant.Ways))
	for i := range kinds {
		if c := w.Plant.Ways[i].Component; c >= 0 {
			kinds[i] = w.Plant.Components[c].Kind
		}
	}
	return &kinds
}

// shutForGood tells a valve that is locked in its closed position.
func (w *World) shutForGood(way int32) bool {
	c := w.Plant.Ways[way].Component
	return c >= 0 && w.drawing.shut.get(w.findShut).Has(c)
}

// findShut looks into the hand valves once: every search over the drawing asks for them, in both directions.
func (w *World) findShut() *flowpath.Set {
	shut := flowpath.NewSet(len(w.Plant.Components))
	for _, v := range w.OfKind(plant.KindHandValve) {
		if data := w.data(v); data.GetNormalPosition() == skidrulev1.ValvePosition_VALVE_POSITION_CLOSED && data.GetLocked() {
			shut.Add(v)
		}
	}
	return shut
}

// reachedPath is the way by which a search came to a port; nil where it did not.
func (w *World) reachedPath(r *flowpath.Reach, port int32) Path {
	arcs, ok := r.Path(port)
	if !ok {
		return nil
	}
	start := port
	if len(arcs) > 0 {
		start = w.Graph().From(arcs[0])
	}
	return w.wayPath(start, arcs, nil)
}
