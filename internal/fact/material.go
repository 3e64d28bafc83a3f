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
		func(w *World, at At) Text { return Text{Value: w.ozoneService(at.Index)} }, bodyKinds...),
	truthFact("body_resists", "Its body resists ozone as it comes there; not decided for materials that tables praise and strong ozone gas is known to attack.",
		func(w *World, at At) Truth {
			return w.resists(w.data(at.Index).GetBodyMaterial(), at.Index, "body_material")
		}, bodyKinds...),
	truthFact("seat_resists", "Its seat resists ozone as it comes there.",
		func(w *World, at At) Truth {
			return w.resists(w.data(at.Index).GetSeatMaterial(), at.Index, "seat_material")
		}, seatKinds...),
	truthFact("float_resists", "Its float resists ozone as it comes there.", func(w *World, at At) Truth {
		gas, _ := w.componentExposure(at.Index)
		return resistsOzone(w.data(at.Index).GetFloatVentValve().GetFloatMaterial(), gas, specRef(at.Index, "float_material"))
	}, plant.KindFloatVentValve),
	truthFact("seal_resists", "Its seals resist ozone as it comes there.",
		func(w *World, at At) Truth {
			return w.resists(w.sealMaterial(at.Index), at.Index, "seal_material")
		}, sealKinds...),
	textFact("body_rating", "What a widely reproduced resistance table says of its body in ozone: A excellent, B good, C fair, D severe effect, or no row.",
		func(w *World, at At) Text { return ozoneLetter(w.data(at.Index).GetBodyMaterial()) }, bodyKinds...),
	textFact("seat_rating", "The same of its seat.",
		func(w *World, at At) Text { return ozoneLetter(w.data(at.Index).GetSeatMaterial()) }, seatKinds...),
	textFact("seal_rating", "The same of its seals.",
		func(w *World, at At) Text { return ozoneLetter(w.sealMaterial(at.Index)) }, sealKinds...),
	textFact("material_rating", "The same of its material.",
		func(w *World, at At) Text { return ozoneLetter(w.Plant.Lines[at.Index].Data.GetMaterial()) }).on(OnLine),
	truthFact("bears_ozone", "Ozone comes through it, in gas or in water.",
		func(w *World, at At) Truth { g, l := w.lineExposure(at.Index); return Is(g || l) }).on(OnLine),
	textFact("ozone_service", "In what ozone comes through it: gas or water.", func(w *World, at At) Text {
		if gas, _ := w.lineExposure(at.Index); gas {
			return Text{Value: "gas"}
		}
		return Text{Value: "water"}
	}).on(OnLine),
	truthFact("material_resists", "Its material resists ozone as it comes through it.", func(w *World, at At) Truth {
		gas, _ := w.lineExposure(at.Index)
		return resistsOzone(w.Plant.Lines[at.Index].Data.GetMaterial(), gas, lineRef(at.Index, "material"))
	}).on(OnLine),
}

// ozoneExposure tells where ozone comes: as gas, before the water and in off-gas, and dissolved or as bubbles in water.
type ozoneExposure struct{ gas, water *flowpath.Reach }

func (w *World) ozoneExposure() *ozoneExposure { return w.feed.exposed.get(w.spreadExposure) }

func (w *World) spreadExposure() *ozoneExposure {
	p := w.Plant
	// Gas stands in every branch, with or against normal flow, as far as it is not destroyed, dissolved or kept back.
	gasWays := w.openWays(func(way int32, forward bool) bool {
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
	})
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
	x := &ozoneExposure{gas: reachOver(gasWays, flowpath.Forward, gas)}
	// Water carries it in normal flow.
	waterWays := w.openWays(func(way int32, forward bool) bool {
		if !forward || w.kindOfWay(way) == plant.KindOzoneDestruct || w.kindOfWay(way) == plant.KindOzoneGenerator {
			return false
		}
		return !w.shutForGood(way)
	})
	water := w.portsOf(plant.KindVenturiInjector, "outlet")
	for _, k := range gasVessels {
		if k != plant.KindOpenTank {
			water = append(water, w.portsOf(k, "inlet")...)
		}
	}
	for i := range p.Ways {
		// What gathers in ozone gas and drains from it bears ozone too.
		if q := &p.Ways[i]; !q.IsPipe() && x.gas.Reached(q.From) && w.touchesLiquid(q) && w.kindOfWay(int32(i)) != plant.KindOzoneDestruct {
			water = append(water, q.To)
		}
	}
	x.water = reachOver(waterWays, flowpath.Forward, water)
	return x
}

// bearsOzone tells whether ozone comes to any port of a component.
func (w *World) bearsOzone(component int32) bool {
	gas, water := w.componentExposure(component)
	return gas || water
}

func (w *World) componentExposure(component int32) (gas, water bool) {
	x, c := w.ozoneExposure(), &w.Plant.Components[component]
	for port := c.FirstPort; port < c.FirstPort+c.NumPorts; port++ {
		if c.Kind == plant.KindOzoneDestruct && w.Plant.Ports[port].Direction == skidrulev1.FlowDirection_FLOW_DIRECTION_OUT {
			continue
		}
		if w.Plant.Ports[port].Joints == 0 {
			continue
		}
		gas, water = gas || x.gas.Reached(port), water || x.water.Reached(port)
	}
	if isGasVessel(c.Kind) {
		// The wall of a vessel is wetted by water as far as it matters.
		gas = false
	}
	return gas, water
}

func (w *World) ozoneService(component int32) string {
	if gas, _ := w.componentExposure(component); gas {
		return "gas"
	}
	return "water"
}

func (w *World) lineExposure(line int32) (gas, water bool) {
	x, l := w.ozoneExposure(), &w.Plant.Lines[line]
	for i := l.FirstWay; i < l.FirstWay+l.NumWays; i++ {
		q := &w.Plant.Ways[i]
		gas = gas || x.gas.Reached(q.From) && x.gas.Reached(q.To)
		water = water || x.water.Reached(q.From) && x.water.Reached(q.To)
	}
	return gas, water
}

func (w *World) resists(m skidrulev1.Material, component int32, field string) Truth {
	gas, _ := w.componentExposure(component)
	return resistsOzone(m, gas, componentRef(component, field))
}

// sealMaterial is the material of a component's seals; a pump may state that of its shaft seal beside its own kind's data.
func (w *World) sealMaterial(component int32) skidrulev1.Material {
	data := w.data(component)
	if m := data.GetSealMaterial(); m != skidrulev1.Material_MATERIAL_UNSPECIFIED {
		return m
	}
	return data.GetPump().GetSealMaterial()
}
