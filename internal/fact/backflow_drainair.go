package fact

import (
	"github.com/skidrule/skidrule/internal/plant"
)

var drainAirFacts = []Definition{
	truthFact("under_vacuum", "The pressure in it can fall below that of the atmosphere.",
		func(w *World, at At) Truth { return Exactly(0).MoreThan(w.componentVacuum(at.Index)) }, plant.KindLiquidTrap),
	truthFact("drain_keeps_air_out", "On every way of its drain a check valve, or a seal leg that is longer than the vacuum lifts water, stands between it and the open.",
		func(w *World, at At) Truth { return w.drainKeepsAirOut(at.Index) }, plant.KindLiquidTrap),
}

// drainKeepsAirOut tells whether every way of a trap's drain passes something that shuts against air drawn in, besides the float,
// which stands open while it drains.
func (w *World) drainKeepsAirOut(trap int32) Truth {
	p := w.Plant
	port, ok := p.FindPort(trap, "drain")
	if !ok || p.Ports[port].Joints == 0 {
		return Truth{}
	}
	pull := w.componentVacuum(trap).Scale(-1)
	kept := Truth{Value: True}
	seen := map[int32]bool{port: true}
	queue := []int32{port}
	for len(queue) > 0 && kept.Value != False {
		at := queue[0]
		queue = queue[1:]
		onward := false
		for _, way := range p.WaysAt(at) {
			q := &p.Ways[way]
			if q.From != at || q.Component == trap {
				continue
			}
			onward = true
			if seen[q.To] {
				continue
			}
			if q.Component >= 0 {
				switch p.Components[q.Component].Kind {
				case plant.KindCheckValve:
					continue
				case plant.KindWaterSeal:
					depth := w.number(w.data(q.Component).GetWaterSeal().DepthM, specRef(q.Component, "depth"))
					kept = kept.And(depth.Scale(waterWeight).AtLeast(pull))
					continue
				}
			}
			seen[q.To] = true
			queue = append(queue, q.To)
		}
		if !onward {
			kept = Truth{}
		}
	}
	return kept
}
