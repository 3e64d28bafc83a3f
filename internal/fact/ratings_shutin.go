package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
)

// shutIns are the zones of liquid that valves can close on all sides.
type shutIns struct {
	head     []bool  // of lines: the first line of such a zone
	cushion  []Truth // of lines: gas in the zone takes the expansion up
	relieved []bool  // of lines: a relief device lets it out
	valve    []int32 // of lines: a valve that closes the zone
}

var shutInFacts = []Definition{
	truthFact("heads_shut_in_liquid", "It is the first line of a stretch of liquid that valves can close on all sides.",
		func(w *World, at At) Truth { return Is(w.shutIns().head[at.Index]) }).on(OnLine),
	truthFact("expansion_taken_up", "Gas in the stretch takes up what the liquid grows by, or a relief device lets it out.",
		func(w *World, at At) Truth {
			s := w.shutIns()
			return Is(s.relieved[at.Index]).Or(s.cushion[at.Index])
		}).on(OnLine),
	textFact("shut_in_by", "A valve that closes the stretch.", func(w *World, at At) Text {
		return w.tagOf(w.shutIns().valve[at.Index])
	}).on(OnLine),
}

func (w *World) shutIns() *shutIns { return w.ratings.shutIns.get(w.findShutIns) }

// stretch is what is known of one zone between parts that close.
type stretch struct {
	valve   int32 // a part that closes it
	taken   bool  // a line speaks for it already
	cushion Truth
}

func (w *World) findShutIns() *shutIns {
	p, graph := w.Plant, w.Graph()
	open, cost := make([]bool, graph.NumArcs()), make([]uint8, graph.NumArcs())
	for i := range p.Ways {
		q := &p.Ways[i]
		if q.IsPipe() || !w.closesLiquid(q.Component) {
			open[2*i] = true
			continue
		}
		cost[2*i+1] = flowpath.Blocked
		if p.Components[q.Component].Kind != plant.KindCheckValve {
			cost[2*i] = flowpath.Blocked // a check valve lets out what grows before it
		}
	}
	ways, err := flowpath.NewWays(graph, cost)
	must(err)
	var zones flowpath.Zones
	must(zones.Sweep(graph, open))
	list := make([]stretch, zones.Count())
	for i := range list {
		list[i].valve = -1
	}
	var free, reliefs []int32
	for i := range p.Ports {
		q, z := &p.Ports[i], &list[zones.Zone(int32(i))]
		if q.Joints == 0 {
			continue
		}
		switch kind := p.Components[q.Component].Kind; {
		case kind == plant.KindReliefValve || kind == plant.KindRuptureDisc:
			reliefs = append(reliefs, int32(i))
			continue
		case w.closesLiquid(q.Component):
			if z.valve < 0 {
				z.valve = q.Component
			}
			continue
		}
		cushion := w.gasCushion(q.Component)
		z.cushion = z.cushion.Or(cushion)
		if cushion.Value == True || w.takesLiquidUp(int32(i)) {
			free = append(free, int32(i))
		}
	}
	var getsFree, getsRelief flowpath.Reach
	must(getsFree.Sweep(ways, flowpath.Backward, free, flowpath.Avoid{}))
	must(getsRelief.Sweep(ways, flowpath.Backward, reliefs, flowpath.Avoid{}))
	s := &shutIns{head: make([]bool, len(p.Lines)), cushion: make([]Truth, len(p.Lines)), relieved: make([]bool, len(p.Lines)), valve: make([]int32, len(p.Lines))}
	for i := range p.Lines {
		s.valve[i] = -1
		line := &p.Lines[i]
		if gas, known := isGas(line.Data.GetService()); gas || !known {
			continue
		}
		for way := line.FirstWay; way < line.FirstWay+line.NumWays; way++ {
			port := p.Ways[way].From
			z := &list[zones.Zone(port)]
			if z.taken || z.valve < 0 || getsFree.Reached(port) {
				continue
			}
			z.taken = true
			relieved, cushion := getsRelief.Reached(port), z.cushion
			if s.head[i] {
				// A line may pass several stretches; the worst of them speaks for it.
				relieved, cushion = relieved && s.relieved[i], cushion.And(s.cushion[i])
			}
			if !s.head[i] || !relieved {
				s.valve[i] = z.valve
			}
			s.head[i], s.relieved[i], s.cushion[i] = true, relieved, cushion
		}
	}
	return s
}

// closesLiquid tells whether a part can keep liquid from leaving a stretch.
func (w *World) closesLiquid(component int32) bool {
	switch w.Plant.Components[component].Kind {
	case plant.KindCheckValve, plant.KindFloatVentValve, plant.KindFloatDrain, plant.KindReliefValve, plant.KindRuptureDisc:
		return true
	}
	return w.canBeShut(component)
}

// takesLiquidUp tells whether liquid can leave or gather at a part without limit: the edge of the drawing, what stands open,
// parts that hold gas.
func (w *World) takesLiquidUp(port int32) bool {
	if w.jacketPort(port) {
		return false
	}
	switch w.Plant.Components[w.Plant.Ports[port].Component].Kind {
	case plant.KindBoundary, plant.KindOpenTank, plant.KindDrainPoint, plant.KindAtmosphereVent, plant.KindWaterSeal, plant.KindSamplePoint,
		plant.KindKnockOutPot, plant.KindLiquidTrap, plant.KindOzoneDestruct, plant.KindDemister, plant.KindGasReceiver, plant.KindOzoneGenerator,
		plant.KindGasSupply, plant.KindCompressor, plant.KindOxygenConcentrator, plant.KindBlower, plant.KindOther, plant.KindNone:
		return true
	}
	return false
}

// gasCushion tells whether a part holds gas over its water.
func (w *World) gasCushion(component int32) Truth {
	data := w.data(component)
	switch w.Plant.Components[component].Kind {
	case plant.KindContactVessel:
		v := data.GetContactVessel()
		if v.Pressurised != nil && !*v.Pressurised {
			return Truth{Value: True}
		}
		return w.number(v.GasCapVolumeM3, specRef(component, "gas_cap_volume")).MoreThan(Exactly(0))
	case plant.KindDegassingVessel:
		return Truth{Value: True}
	}
	return Truth{}
}
