package operate

import (
	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// phases says for each port whether gas or liquid stands there; 0 where the drawing does not tell. A two-phase port counts as
// liquid: the gas goes along with the water. The drains of gas vessels count as gas: while nothing arrives they are dry.
func phases(p *plant.Plant) []network.Phase {
	out := make([]network.Phase, len(p.Ports))
	var queue []int32
	set := func(port int32, ph network.Phase) {
		if ph != 0 && out[port] == 0 {
			out[port] = ph
			queue = append(queue, port)
		}
	}
	for i := range p.Components {
		c := &p.Components[i]
		for k := c.FirstPort; k < c.FirstPort+c.NumPorts; k++ {
			set(k, ownPhase(p, c, k))
		}
	}
	spread := func() {
		for len(queue) > 0 {
			port := queue[0]
			queue = queue[1:]
			for _, id := range p.WaysAt(port) {
				w := &p.Ways[id]
				other := w.From + w.To - port
				if w.IsPipe() || carries(p, w) {
					set(other, out[port])
				}
			}
		}
	}
	spread()
	// What no component decides, the service of the line does.
	for i := range p.Lines {
		l := &p.Lines[i]
		ph := servicePhase(l.Data.GetService())
		for k := l.FirstWay; k < l.FirstWay+l.NumWays; k++ {
			set(p.Ways[k].From, ph)
			set(p.Ways[k].To, ph)
		}
		spread()
	}
	return out
}

// carries tells whether a passage inside a component keeps the phase.
func carries(p *plant.Plant, w *plant.Way) bool {
	switch p.Components[w.Component].Kind {
	case plant.KindContactVessel, plant.KindDegassingVessel, plant.KindReactionVessel, plant.KindOpenTank, plant.KindFloatVentValve, plant.KindVenturiInjector,
		plant.KindOzoneGenerator, plant.KindOther, plant.KindNone:
		return false
	}
	return true
}

// ownPhase is the phase that a port has by its kind.
func ownPhase(p *plant.Plant, c *plant.Component, port int32) network.Phase {
	name := ""
	if t := p.Ports[port].Trait; t >= 0 {
		name = c.Kind.Info().Ports[t].Name
	}
	switch c.Kind {
	case plant.KindContactVessel, plant.KindDegassingVessel, plant.KindReactionVessel, plant.KindOpenTank:
		if name == "vent" || name == "relief" {
			return network.Gas
		}
		return network.Liquid
	case plant.KindFloatVentValve, plant.KindKnockOutPot, plant.KindDemister, plant.KindOzoneDestruct, plant.KindLiquidTrap, plant.KindGasFilter,
		plant.KindGasDryer, plant.KindGasReceiver, plant.KindCompressor:
		return network.Gas
	case plant.KindWaterSeal, plant.KindFloatDrain, plant.KindDrainPoint:
		return 0
	case plant.KindBoundary:
		return servicePhase(c.Data.GetBoundary().GetService())
	}
	switch p.Ports[port].Phase {
	case skidrulev1.Phase_PHASE_GAS:
		return network.Gas
	case skidrulev1.Phase_PHASE_LIQUID, skidrulev1.Phase_PHASE_TWO_PHASE:
		return network.Liquid
	}
	return 0
}

// servicePhase is the phase of what a service names; 0 where none is stated.
func servicePhase(s skidrulev1.Service) network.Phase {
	switch s {
	case skidrulev1.Service_SERVICE_UNSPECIFIED:
		return 0
	case skidrulev1.Service_SERVICE_PROCESS_WATER, skidrulev1.Service_SERVICE_OZONATED_WATER, skidrulev1.Service_SERVICE_COOLING_WATER,
		skidrulev1.Service_SERVICE_DRAIN_WATER:
		return network.Liquid
	}
	return network.Gas
}
