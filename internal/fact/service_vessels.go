package fact

import (
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// AskedWhetherParted tells the kinds of which the rule of vessels is asked.
func AskedWhetherParted(k plant.Kind) bool { return slices.Contains(wetModuleKinds, k) }

// PartedFromVessels tells whether valves part a component of any kind from the water of every vessel, be it easy to empty or not.
func (w *World) PartedFromVessels(component int32) Truth {
	t, _ := w.partedFrom(w.vesselReach(), component)
	return t
}

// PartedFromFullVessels is the fact parted_from_full_vessels of a component, whatever its kind.
func (w *World) PartedFromFullVessels(component int32) Truth {
	t, _ := w.partedFrom(w.fullVesselReach(), component)
	return t
}

// FullVesselBefore is the nearest vessel that stays full, or may, and that no valve parts from a component; -1 where there is none.
func (w *World) FullVesselBefore(component int32) int32 {
	t, port := w.partedFrom(w.fullVesselReach(), component)
	if t.Value == True {
		return -1
	}
	arcs, _ := w.fullVesselReach().sure.Path(port)
	return w.Plant.Ports[w.begins(arcs, port)].Component
}

func (w *World) vesselPath(component int32) Path {
	t, port := w.partedFrom(w.fullVesselReach(), component)
	if t.Value == True {
		return nil
	}
	return w.reachedPath(w.fullVesselReach().sure, port)
}

// partedFrom tells whether valves part a component from the vessels of a search, and the port nearest to one where they do not.
func (w *World) partedFrom(x *liveReach, component int32) (Truth, int32) {
	ports := w.waterPortsOf(component)
	slices.SortStableFunc(ports, func(a, b int32) int {
		near, _ := x.sure.Path(a)
		far, _ := x.sure.Path(b)
		return len(near) - len(far)
	})
	return w.keptOff(x, component, ports, func(way int32, forward bool) bool { return w.vesselRuns(way, forward, true) })
}

// vesselReach tells where the water of all vessels runs with every isolating valve shut: sure takes valves that are not known to
// close as open.
func (w *World) vesselReach() *liveReach {
	return w.service.vessels.get(func() *liveReach {
		from := w.vesselOutlets()
		return w.spreadVessels(from, from)
	})
}

// fullVesselReach is vesselReach from the vessels that stay full; sure takes those that may stay full as well.
func (w *World) fullVesselReach() *liveReach {
	return w.service.full.get(func() *liveReach {
		drained := w.drainedVessels()
		begins := map[int32][]Ref{}
		var may, will []int32
		for _, port := range w.vesselOutlets() {
			switch t := w.staysFull(w.Plant.Ports[port].Component, drained); t.Value {
			case True:
				may, will = append(may, port), append(will, port)
			case Undecided:
				may = append(may, port)
				begins[port] = t.Missing
			}
		}
		x := w.spreadVessels(may, will)
		x.begins = begins
		return x
	})
}

// spreadVessels searches from vessels that may stay full; will are those of them that surely do, in the same order.
func (w *World) spreadVessels(may, will []int32) *liveReach {
	x := &liveReach{}
	if x.sure, x.hoped = w.spreadBoth(flowpath.Forward, may, w.vesselWaterGets); len(will) < len(may) {
		x.hoped = w.spread(flowpath.Forward, will, func(way int32, forward bool) bool { return w.vesselWaterGets(way, forward) == True })
	}
	return x
}

// staysFull tells whether a vessel cannot be emptied before a joint is opened: it has no drain of its own, and a main or supply
// comes to it past every valve. What is shut off holds no more than its content and no pressure once it is let down.
func (w *World) staysFull(vessel int32, drained map[int32]bool) Truth {
	if drained[vessel] {
		return Truth{}
	}
	x := w.liveReach()
	var all Truth
	for _, port := range w.joinedPortsOf(vessel) {
		switch {
		case x.hoped.Reached(port):
			return Truth{Value: True}
		case x.sure.Reached(port):
			arcs, _ := x.sure.Path(port)
			all = all.Or(Open(w.unstatedOn(arcs, func(way int32, forward bool) bool { return w.pressurePasses(way, forward, true) })...))
		}
	}
	return all
}

// drainedVessels are the vessels that have a drain of their own: from their drain port a line leads to a drain point, or to an edge
// of the drawing for waste water, by valves that open. One search from all ends. What leads into a tank does not count, since it
// may be the loop of the tank itself, nor a sample point, which is too small.
func (w *World) drainedVessels() map[int32]bool {
	ends := w.portsOf(plant.KindDrainPoint, "inlet")
	for _, c := range w.OfKind(plant.KindBoundary) {
		if w.data(c).GetBoundary().GetService() == skidrulev1.Service_SERVICE_DRAIN_WATER {
			ends = append(ends, w.Plant.Components[c].FirstPort)
		}
	}
	from := w.spread(flowpath.Backward, ends, w.drainsAlong)
	out := map[int32]bool{}
	for _, k := range waterVesselKinds {
		for _, port := range w.portsOf(k, "drain") {
			if w.Plant.Ports[port].Joints > 0 && from.Reached(port) {
				out[w.Plant.Ports[port].Component] = true
			}
		}
	}
	return out
}

// drainsAlong tells whether water drains along a way with the valves opened for it. It does not turn back through a vessel.
func (w *World) drainsAlong(way int32, forward bool) bool {
	q := &w.Plant.Ways[way]
	if q.IsPipe() {
		return true
	}
	k := w.kindOfWay(way)
	switch k {
	case plant.KindReliefValve, plant.KindRuptureDisc, plant.KindVacuumBreaker, plant.KindFloatVentValve, plant.KindSamplePoint:
		return false
	case plant.KindCheckValve, plant.KindFloatDrain, plant.KindWaterSeal, plant.KindPump:
		return forward
	}
	gas := w.Plant.Ports[q.From].Phase == skidrulev1.Phase_PHASE_GAS || w.Plant.Ports[q.To].Phase == skidrulev1.Phase_PHASE_GAS
	return !gas && !slices.Contains(waterVesselKinds[:], k)
}
