package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// openWays makes the ways of a search from a yes or no for each way and direction.
func (w *World) openWays(open func(way int32, forward bool) bool) *flowpath.Ways {
	w.pause()
	ways, err := flowpath.JudgeWays(w.Graph(), func(arc int32) uint8 {
		if open(arc>>1, arc&1 == 0) {
			return flowpath.Open
		}
		return flowpath.Blocked
	})
	must(err)
	return ways
}

// spread searches from ports over the ways that open lets pass. It asks only of those that it comes to: most searches stay in a small
// part of the drawing.
func (w *World) spread(d flowpath.Direction, from []int32, open func(way int32, forward bool) bool) *flowpath.Reach {
	w.pause()
	r := &flowpath.Reach{}
	must(r.Follow(w.Graph(), d, from, func(arc int32) bool { return open(arc>>1, arc&1 == 0) }))
	return r
}

// spreadBoth searches twice over ways of which some may be open or not: wide goes along those too, narrow does not. Where it comes to
// none of them the two are one.
func (w *World) spreadBoth(d flowpath.Direction, from []int32, open func(way int32, forward bool) Verdict) (wide, narrow *flowpath.Reach) {
	doubtful := false
	wide = w.spread(d, from, func(way int32, forward bool) bool {
		verdict := open(way, forward)
		doubtful = doubtful || verdict == Undecided
		return verdict != False
	})
	if !doubtful {
		return wide, wide
	}
	return wide, w.spread(d, from, func(way int32, forward bool) bool { return open(way, forward) == True })
}

// arcOf is the arc of a way in one direction.
func arcOf(way int32, forward bool) int32 {
	if forward {
		return 2 * way
	}
	return 2*way + 1
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
	return w.reachPath(arcs, port, nil)
}
