package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
)

// pumpInletFacts tell what comes to the inlet of a pump.
var pumpInletFacts = []Definition{
	truthFact("gas_comes_to_pump", "Water that an injector has given gas comes to it before a vessel lets the gas go.",
		func(w *World, at At) Truth {
			return Is(w.gassyWater().Reached(w.Plant.PortByTrait(at.Index, 0)))
		}, plant.KindPump),
	pathFact("gas_to_pump_path", "The way of that water.",
		func(w *World, at At) Path { return w.reachedPath(w.gassyWater(), w.Plant.PortByTrait(at.Index, 0)) }, plant.KindPump),
	quantityFact("standing_suction", quantity.PressureGauge, "Lowest gauge pressure of standing water at its inlet: of what it draws from, and the height between.",
		func(w *World, at At) Number { return w.standingSuction(at.Index, at.Case) }, plant.KindPump).byCase(),
}

// gassyWater is what the water behind injectors reaches before a vessel with a gas space.
func (w *World) gassyWater() *flowpath.Reach {
	return w.sizing.gassy.get(func() *flowpath.Reach {
		return w.spread(flowpath.Forward, w.portsOf(plant.KindVenturiInjector, "outlet"), func(way int32, forward bool) bool {
			switch w.kindOfWay(way) {
			case plant.KindContactVessel, plant.KindDegassingVessel, plant.KindOpenTank:
				return false
			}
			q := &w.Plant.Ways[way]
			if q.IsPipe() {
				return forward
			}
			return w.waterPasses(way, forward)
		})
	})
}

// standingSuction is the lowest pressure of standing water at the inlet of a pump, over the injectors that it drives.
func (w *World) standingSuction(pump, at int32) Number {
	c := w.waterCase(at)
	n, found := Number{}, false
	for _, j := range c.drive.of(pump) {
		walk := c.walks.of(j)
		if len(walk.pumps) == 0 || walk.pumps[0].component != pump {
			continue // another pump before it fills it
		}
		inlet := w.portHeight(w.Plant.PortByTrait(pump, 0))
		p := walk.source.pressure.Add(walk.source.height.Sub(inlet).Scale(waterWeight))
		if !found {
			n, found = p, true
			continue
		}
		n = n.Min(p)
	}
	if !found {
		return Exactly(0)
	}
	return n
}
