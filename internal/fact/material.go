package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Kinds that rules about materials are asked of: what has a body, a closing part, seals.
var (
	bodyKinds = []plant.Kind{
		plant.KindBlower, plant.KindGasFilter, plant.KindPressureRegulator, plant.KindBackPressureValve, plant.KindGasHeater,
		plant.KindOzoneGenerator, plant.KindActuatedValve, plant.KindThreeWayValve, plant.KindCheckValve, plant.KindLiquidTrap,
		plant.KindVenturiInjector, plant.KindPump, plant.KindStrainer, plant.KindLiquidFilter, plant.KindStaticMixer,
		plant.KindReactionVessel, plant.KindContactVessel, plant.KindDegassingVessel, plant.KindOpenTank, plant.KindHeatExchanger,
		plant.KindFloatVentValve, plant.KindKnockOutPot, plant.KindDemister, plant.KindOzoneDestruct, plant.KindWaterSeal,
		plant.KindFloatDrain, plant.KindReliefValve, plant.KindRuptureDisc, plant.KindVacuumBreaker, plant.KindHandValve,
		plant.KindRestrictionOrifice, plant.KindPressureGauge, plant.KindPressureSwitch, plant.KindFlowSwitch, plant.KindFlowMeter,
		plant.KindOzoneProbe, plant.KindOrpProbe, plant.KindGasAnalyser, plant.KindSamplePoint, plant.KindAdapter, plant.KindTee,
		plant.KindHeader, plant.KindUnion,
	}
	seatKinds = []plant.Kind{
		plant.KindBackPressureValve, plant.KindActuatedValve, plant.KindThreeWayValve, plant.KindCheckValve, plant.KindLiquidTrap,
		plant.KindFloatVentValve, plant.KindFloatDrain, plant.KindReliefValve, plant.KindVacuumBreaker, plant.KindHandValve,
	}
	sealKinds = []plant.Kind{
		plant.KindOzoneGenerator, plant.KindBackPressureValve, plant.KindActuatedValve, plant.KindThreeWayValve, plant.KindCheckValve,
		plant.KindLiquidTrap, plant.KindVenturiInjector, plant.KindPump, plant.KindReactionVessel, plant.KindContactVessel,
		plant.KindDegassingVessel, plant.KindFloatVentValve, plant.KindKnockOutPot, plant.KindFloatDrain, plant.KindReliefValve,
		plant.KindVacuumBreaker, plant.KindHandValve, plant.KindPressureSwitch, plant.KindFlowSwitch, plant.KindFlowMeter,
		plant.KindOzoneProbe, plant.KindGasAnalyser, plant.KindUnion,
	}
)

var materialFacts = []Definition{
	truthFact("bears_ozone", "Ozone comes to it, in gas or in water.",
		func(w *World, at At) Truth { return Is(w.bearsOzone(at.Index)) }, bodyKinds...),
	textFact("ozone_service", "In what ozone comes to it: gas or water.",
		func(w *World, at At) Text { return ozoneService(w.ozoneExposure().parts[at.Index]) }, bodyKinds...),
	truthFact("body_resists", "Its body resists ozone as it comes there; not decided for materials that tables praise and strong ozone gas is known to attack.",
		func(w *World, at At) Truth {
			return w.resists(w.parts()[at.Index].body, at.Index, "body_material")
		}, bodyKinds...),
	truthFact("seat_resists", "Its seat resists ozone as it comes there.",
		func(w *World, at At) Truth {
			return w.resists(w.parts()[at.Index].seat, at.Index, "seat_material")
		}, seatKinds...),
	truthFact("float_resists", "Its float resists ozone as it comes there.", func(w *World, at At) Truth {
		return resistsOzone(w.data(at.Index).GetFloatVentValve().GetFloatMaterial(), w.meetsOzoneGas(at.Index), specRef(at.Index, "float_material"))
	}, plant.KindFloatVentValve),
	truthFact("seal_resists", "Its seals resist ozone as it comes there.",
		func(w *World, at At) Truth {
			return w.resists(w.parts()[at.Index].seal, at.Index, "seal_material")
		}, sealKinds...),
	textFact("body_rating", "What a widely reproduced resistance table says of its body in ozone: A excellent, B good, C fair, D severe effect, or no row.",
		func(w *World, at At) Text { return ozoneLetter(w.data(at.Index).GetBodyMaterial()) }, bodyKinds...),
	textFact("seat_rating", "The same of its seat.",
		func(w *World, at At) Text { return ozoneLetter(w.data(at.Index).GetSeatMaterial()) }, seatKinds...),
	textFact("seal_rating", "The same of its seals.",
		func(w *World, at At) Text { return ozoneLetter(w.parts()[at.Index].seal) }, sealKinds...),
	textFact("material_rating", "The same of its material.",
		func(w *World, at At) Text { return ozoneLetter(w.Plant.Lines[at.Index].Data.GetMaterial()) }).on(OnLine),
	truthFact("bears_ozone", "Ozone comes through it, in gas or in water.",
		func(w *World, at At) Truth { return Is(w.ozoneExposure().lines[at.Index] != 0) }).on(OnLine),
	textFact("ozone_service", "In what ozone comes through it: gas or water.", func(w *World, at At) Text {
		return ozoneService(w.ozoneExposure().lines[at.Index])
	}).on(OnLine),
	truthFact("material_resists", "Its material resists ozone as it comes through it.", func(w *World, at At) Truth {
		gas := w.ozoneExposure().lines[at.Index]&toGas != 0
		return resistsOzone(w.lines()[at.Index].material, gas, lineRef(at.Index, "material"))
	}).on(OnLine),
}

// ozoneIn says in what ozone comes to something.
type ozoneIn uint8

const (
	toGas   ozoneIn = 1 << iota // as gas, before the water and in off-gas
	toWater                     // dissolved or as bubbles in water
)

// ozoneExposure tells it of all components and lines, by index.
type ozoneExposure struct{ parts, lines []ozoneIn }

func (w *World) ozoneExposure() *ozoneExposure { return w.feed.exposed.get(w.spreadExposure) }

func (w *World) spreadExposure() *ozoneExposure {
	p := w.Plant
	// Gas stands in every branch, with or against normal flow, as far as it is not destroyed, dissolved or kept back.
	gasPasses := func(way int32, forward bool) bool {
		q := &p.Ways[way]
		if q.IsPipe() {
			return true
		}
		switch k := w.kindOfWay(way); {
		case k == plant.KindOzoneGenerator, k == plant.KindVenturiInjector, k == plant.KindOzoneDestruct, isGasVessel(k):
			return false
		case k == plant.KindCheckValve, k == plant.KindReliefValve, k == plant.KindRuptureDisc, k == plant.KindVacuumBreaker,
			k == plant.KindCompressor, k == plant.KindOxygenConcentrator:
			return forward && !w.touchesLiquid(q)
		}
		return !w.touchesLiquid(q) && !w.shutForGood(way)
	}
	gas := w.portsOf(plant.KindOzoneGenerator, "ozone_gas")
	for _, k := range gasVessels {
		for _, port := range w.portsOf(k, "vent") {
			if k != plant.KindOpenTank || w.ozone().may.Reached(port) {
				gas = append(gas, port)
			}
		}
	}
	for _, c := range w.OfKind(plant.KindBoundary) {
		switch w.data(c).GetBoundary().GetService() {
		case skidrulev1.Service_SERVICE_OZONE_GAS, skidrulev1.Service_SERVICE_OFF_GAS:
			gas = append(gas, p.Components[c].FirstPort)
		}
	}
	inGas := w.spread(flowpath.Forward, gas, gasPasses)
	water := w.portsOf(plant.KindVenturiInjector, "outlet")
	for _, k := range gasVessels {
		if k != plant.KindOpenTank {
			water = append(water, w.portsOf(k, "inlet")...)
		}
	}
	for i := range p.Ways {
		// What gathers in ozone gas and drains from it bears ozone too.
		if q := &p.Ways[i]; !q.IsPipe() && inGas.Reached(q.From) && w.touchesLiquid(q) && w.kindOfWay(int32(i)) != plant.KindOzoneDestruct {
			water = append(water, q.To)
		}
	}
	// Water carries it in normal flow.
	inWater := w.spread(flowpath.Forward, water, func(way int32, forward bool) bool {
		if !forward {
			return false
		}
		k := w.kindOfWay(way)
		return k != plant.KindOzoneDestruct && k != plant.KindOzoneGenerator && !w.shutForGood(way)
	})
	return w.exposeAll(inGas, inWater)
}

// exposeAll turns what reaches ports into what components and lines are exposed to: a component by any port that a line meets, a line
// by any of its pipes.
func (w *World) exposeAll(gas, water *flowpath.Reach) *ozoneExposure {
	p := w.Plant
	x := &ozoneExposure{parts: make([]ozoneIn, len(p.Components)), lines: make([]ozoneIn, len(p.Lines))}
	for i := range p.Components {
		c := &p.Components[i]
		for port := c.FirstPort; port < c.FirstPort+c.NumPorts; port++ {
			q := &p.Ports[port]
			if q.Joints == 0 || c.Kind == plant.KindOzoneDestruct && q.Direction == skidrulev1.FlowDirection_FLOW_DIRECTION_OUT {
				continue
			}
			if gas.Reached(port) && !isGasVessel(c.Kind) {
				// The wall of a vessel is wetted by water as far as it matters.
				x.parts[i] |= toGas
			}
			if water.Reached(port) {
				x.parts[i] |= toWater
			}
		}
	}
	for i := range p.Ways {
		q := &p.Ways[i]
		if !q.IsPipe() {
			continue
		}
		if gas.Reached(q.From) && gas.Reached(q.To) {
			x.lines[q.Line] |= toGas
		}
		if water.Reached(q.From) && water.Reached(q.To) {
			x.lines[q.Line] |= toWater
		}
	}
	return x
}

// bearsOzone tells whether ozone comes to any port of a component.
func (w *World) bearsOzone(component int32) bool { return w.ozoneExposure().parts[component] != 0 }

// meetsOzoneGas tells whether ozone comes to a component as gas.
func (w *World) meetsOzoneGas(component int32) bool {
	return w.ozoneExposure().parts[component]&toGas != 0
}

// ozoneService says in what ozone comes to something.
func ozoneService(e ozoneIn) Text {
	if e&toGas != 0 {
		return Text{Value: "gas"}
	}
	return Text{Value: "water"}
}

func (w *World) resists(m skidrulev1.Material, component int32, field string) Truth {
	return resistsOzone(m, w.meetsOzoneGas(component), componentRef(component, field))
}
