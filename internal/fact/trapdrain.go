package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// drainEnd is what the drain of a trap or pot leads to, following normal flow.
type drainEnd struct {
	sealed Truth // gas cannot leave by it, nor air be sucked in
	safe   Truth // what it leads to cannot push back
	path   Path
}

// drainOf follows the drain of a component to its ends.
func (w *World) drainOf(component int32, ownSeal Truth) drainEnd {
	p := w.Plant
	port, ok := p.FindPort(component, "drain")
	if !ok || p.Ports[port].Joints == 0 {
		return drainEnd{}
	}
	end := drainEnd{sealed: ownSeal, safe: Truth{Value: True}}
	seen := map[int32]bool{port: true}
	var arcs []int32
	ends := 0
	var walk func(at int32, back Truth)
	walk = func(at int32, back Truth) {
		onward := false
		for _, way := range p.WaysAt(at) {
			q := &p.Ways[way]
			if q.From != at || q.Component == component || seen[q.To] {
				continue
			}
			onward = true
			seen[q.To] = true
			if len(end.path) == 0 {
				arcs = append(arcs, 2*way)
			}
			b := back
			if q.Component >= 0 {
				end.sealed = end.sealed.Or(w.sealsGas(q.Component))
				b = b.Or(Is(p.Components[q.Component].Kind == plant.KindCheckValve))
			}
			walk(q.To, b)
		}
		if !onward {
			ends++
			end.safe = end.safe.And(back.Or(w.cannotPushBack(p.Ports[at].Component)))
			if len(end.path) == 0 {
				end.path = w.wayPath(port, arcs, nil)
			}
		}
	}
	walk(port, Truth{})
	if ends == 0 {
		// A drain that runs in a circle leads nowhere.
		end.safe = Truth{}
	}
	return end
}

// sealsGas tells whether gas cannot pass the component while no liquid comes.
func (w *World) sealsGas(component int32) Truth {
	data := w.data(component)
	switch s := data.GetSpec().(type) {
	case *skidrulev1.Component_FloatDrain:
		return w.truth(s.FloatDrain.GasSeal, specRef(component, "gas_seal"))
	case *skidrulev1.Component_WaterSeal:
		if s.WaterSeal.GetRefill() == skidrulev1.SealRefill_SEAL_REFILL_UNSPECIFIED {
			return Open(specRef(component, "refill"))
		}
		// A seal filled by hand dries out unseen.
		return Is(s.WaterSeal.GetRefill() != skidrulev1.SealRefill_SEAL_REFILL_MANUAL)
	}
	return Truth{}
}

// cannotPushBack tells whether the end of a drain cannot bring water back.
func (w *World) cannotPushBack(component int32) Truth {
	c := &w.Plant.Components[component]
	switch c.Kind {
	case plant.KindDrainPoint:
		switch c.Data.GetDrainPoint().GetLeadsTo() {
		case skidrulev1.DrainDestination_DRAIN_DESTINATION_UNSPECIFIED:
			return Open(specRef(component, "leads_to"))
		case skidrulev1.DrainDestination_DRAIN_DESTINATION_OPEN_AIR_GAP, skidrulev1.DrainDestination_DRAIN_DESTINATION_TRAPPED:
			return Truth{Value: True}
		}
		return Truth{}
	case plant.KindBoundary:
		b := c.Data.GetBoundary()
		if b.GetService() == skidrulev1.Service_SERVICE_UNSPECIFIED {
			return Open(specRef(component, "service"))
		}
		if b.GetService() != skidrulev1.Service_SERVICE_DRAIN_WATER {
			return Truth{}
		}
		highest := w.number(b.MaxPressurePaGauge, specRef(component, "max_pressure"))
		return Exactly(0).AtLeast(highest)
	}
	return Truth{}
}

// trapSeal is the trap's own gas seal.
func (w *World) trapSeal(trap int32) Truth {
	return w.truth(w.data(trap).GetLiquidTrap().GasSeal, specRef(trap, "gas_seal"))
}

// trapRun gives the lowest point of the gas lines that the trap lies in.
func (w *World) trapRun(trap int32) Number {
	p := w.Plant
	lowest := Number{Low: 1e9, High: 1e9}
	found := false
	for _, name := range [2]string{"inlet", "outlet"} {
		port, ok := p.FindPort(trap, name)
		if !ok {
			continue
		}
		for _, way := range p.WaysAt(port) {
			if line := p.Ways[way].Line; line >= 0 {
				lowest = lowest.Min(w.number(p.Lines[line].Data.LowPointM, lineRef(line, "low_point")))
				found = true
			}
		}
	}
	if !found {
		return Missing(elementRef(trap))
	}
	return lowest
}

// generatorBehind tells whether gas that passes the trap comes from a generator: only such traps guard one.
func (w *World) generatorBehind(trap int32) Truth {
	return Is(w.backflow.fromGenerators.get(w.reachFromGenerators).Reached(w.Plant.PortByTrait(trap, 0)))
}

// reachFromGenerators marks what ozone gas reaches in normal flow.
func (w *World) reachFromGenerators() *flowpath.Reach {
	var sources []int32
	for _, g := range w.OfKind(plant.KindOzoneGenerator) {
		sources = append(sources, w.Plant.PortByTrait(g, 1))
	}
	return w.spread(flowpath.Forward, sources, func(_ int32, forward bool) bool { return forward })
}
