package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// offGasLines tells which lines carry gas to a destruct that no separator dries any more, and where drains are drawn.
type offGasLines struct {
	toDestruct []bool // of lines
	drained    *flowpath.Reach
	runs       flowpath.Zones // between separators, vents and vessels
	contents   []Number       // of runs that end at a pot
}

func (w *World) offGasLines() *offGasLines { return w.offGas.lines.get(w.sortOffGasLines) }

// parts tells the components that divide the off-gas into runs.
func parts(k plant.Kind) bool {
	switch k {
	case plant.KindKnockOutPot, plant.KindFloatVentValve, plant.KindOzoneDestruct, plant.KindReliefValve, plant.KindRuptureDisc:
		return true
	}
	return isGasVessel(k)
}

// runWays are the ways within the runs of off-gas.
func (w *World) runWays() *flowpath.Ways {
	return w.offGas.runs.get(func() *flowpath.Ways {
		return w.arcCosts(func(way int32, _ bool, h holding) uint8 {
			if h == noWay || h == holds || parts(w.kindOfWay(way)) {
				return flowpath.Blocked
			}
			return flowpath.Open
		})
	})
}

func (w *World) sortOffGasLines() *offGasLines {
	p := w.Plant
	x := &offGasLines{toDestruct: make([]bool, len(p.Lines))}
	ways := w.runWays()
	must(x.runs.SweepOpen(ways))
	ends := w.portsOf(plant.KindOzoneDestruct, "inlet")
	reach := reachOver(ways, flowpath.Backward, ends)
	legs := w.instrumentLegs(ways, reach)
	for i := range p.Ways {
		q := &p.Ways[i]
		if q.IsPipe() && reach.Reached(q.From) && reach.Reached(q.To) && !legs.Dead(q.From) && !legs.Dead(q.To) {
			x.toDestruct[q.Line] = true
		}
	}
	x.drained = w.drainReach()
	x.contents = w.runContents(&x.runs)
	return x
}

// instrumentLegs finds what hangs on the ways to a destruct and leads nowhere, such as a tap of an instrument.
func (w *World) instrumentLegs(ways *flowpath.Ways, reach *flowpath.Reach) *flowpath.DeadEnds {
	p := w.Plant
	open := make([]bool, w.Graph().NumArcs())
	for _, port := range reach.Nodes() {
		for _, way := range p.WaysAt(port) {
			if q := &p.Ways[way]; reach.Reached(q.From) && reach.Reached(q.To) {
				open[2*way], open[2*way+1] = ways.Cost(2*way) == flowpath.Open, ways.Cost(2*way+1) == flowpath.Open
			}
		}
	}
	terminals := flowpath.NewSet(len(p.Ports))
	for i := range p.Ports {
		if !reach.Reached(int32(i)) {
			terminals.Add(int32(i)) // nobody asks of it
			continue
		}
		switch k := p.Components[p.Ports[i].Component].Kind; {
		case parts(k), k == plant.KindBoundary, k == plant.KindOzoneGenerator, k == plant.KindVenturiInjector, k == plant.KindOther, k == plant.KindCheckValve:
			terminals.Add(int32(i))
		}
	}
	d := &flowpath.DeadEnds{}
	must(d.Sweep(w.Graph(), open, terminals))
	return d
}

// drainReach marks from where liquid runs to a drain that is drawn.
func (w *World) drainReach() *flowpath.Reach {
	p := w.Plant
	ends := w.portsOf(plant.KindDrainPoint, "inlet")
	for _, c := range w.OfKind(plant.KindBoundary) {
		if w.data(c).GetBoundary().GetService() == skidrulev1.Service_SERVICE_DRAIN_WATER {
			ends = append(ends, p.Components[c].FirstPort)
		}
	}
	return w.spread(flowpath.Backward, ends, func(way int32, forward bool) bool {
		switch k := w.kindOfWay(way); {
		case parts(k), k == plant.KindLiquidTrap, k == plant.KindOzoneGenerator, k == plant.KindVenturiInjector, k == plant.KindPump:
			return false
		case k == plant.KindCheckValve:
			return forward
		}
		return true
	})
}

// liquidCanStand tells whether liquid can stand in a line: what it states, and for a drained low point whether a drain is drawn.
func (w *World) liquidCanStand(line int32) Truth {
	l := &w.Plant.Lines[line]
	switch l.Data.GetLiquidPocket() {
	case skidrulev1.LiquidPocket_LIQUID_POCKET_NONE:
		return Truth{}
	case skidrulev1.LiquidPocket_LIQUID_POCKET_PRESENT:
		return Truth{Value: True}
	case skidrulev1.LiquidPocket_LIQUID_POCKET_DRAINED:
		drained := w.offGasLines().drained
		for i := l.FirstWay; i < l.FirstWay+l.NumWays; i++ {
			if q := &w.Plant.Ways[i]; drained.Reached(q.From) || drained.Reached(q.To) {
				return Truth{}
			}
		}
		return Truth{Value: True}
	}
	return Open(lineRef(line, "liquid_pocket"))
}

// condensateDrains tells whether what condenses behind a destruct runs off: by its own drain or one that is drawn in the line.
func (w *World) condensateDrains(destruct int32) Truth {
	drained := w.offGasLines().drained
	for _, port := range w.portsNamed(destruct, "outlet", "drain") {
		if drained.Reached(port) {
			return Truth{Value: True}
		}
	}
	return Truth{}
}

// runContents sums the volumes of the lines of each run that ends at a pot; a line counts where any part of it belongs to the
// run.
func (w *World) runContents(runs *flowpath.Zones) []Number {
	p := w.Plant
	out := make([]Number, runs.Count())
	last := make([]int32, runs.Count())
	for _, port := range w.portsOf(plant.KindKnockOutPot, "inlet") {
		last[runs.Zone(port)] = -1
	}
	for i := range p.Ways {
		q := &p.Ways[i]
		if !q.IsPipe() {
			continue
		}
		// The pipes of a line stand together, so the last line that was added to a run tells whether this one was.
		run := runs.Zone(q.To)
		if last[run] == 0 || last[run] == q.Line+1 {
			continue
		}
		last[run] = q.Line + 1
		out[run] = out[run].Add(w.lineVolume(q.Line))
	}
	return out
}

// potSlug is what the lines before a pot hold: the water that a float vent lets out when it closes late, or that stands in
// them, comes to the pot at once.
func (w *World) potSlug(pot int32) Number {
	x := w.offGasLines()
	return x.contents[x.runs.Zone(w.Plant.PortByTrait(pot, 0))]
}
