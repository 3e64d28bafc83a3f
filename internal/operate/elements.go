package operate

import (
	"math"

	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// valveRatio is the pressure drop ratio at which gas in a valve chokes. Source: IEC 60534-2-1 (2011), typical values of xT, verified
// in a transcription: 0.68 to 0.75 for open globe valves, less for ball valves; it matters only near choking.
const valveRatio = 0.7

// rangeability of a valve between nearly closed and open: common practice, 30 to 50.
const rangeability = 50

// ventCoefficient is the coefficient of discharge of a float vent's orifice. Source: Perry's curve, 0.60 to 0.8414 in vacuum,
// verified in a transcription. In steady flow a vent passes what arrives, so that it counts only for a vent that cannot.
const ventCoefficient = 0.84

// placeholder is the law of a link through which nothing flows whatever its law is.
var placeholder = network.Valve{Kv: 1, PressureRatioFactor: valveRatio}

// ref names a datum of a component's spec.
func ref(component int32, field string) Datum { return Datum{DatumSpec, component, field} }

// between starts a link between two ports of a component.
func (w *wiring) between(component, from, to int32) link {
	l := link{from: w.knotOf[from], to: w.knotOf[to], component: component, suction: -1, way: -1}
	for _, id := range w.p.WaysAt(from) {
		if q := &w.p.Ways[id]; !q.IsPipe() && q.From == from && q.To == to {
			l.way = id
		}
	}
	return l
}

// valveLaw is the law of a valve by its flow coefficient.
func (w *wiring) valveLaw(component int32, kv *float64) network.Valve {
	return network.Valve{Kv: w.number(kv, ref(component, "flow_coefficient")), PressureRatioFactor: valveRatio}
}

// valve is a link by its flow coefficient.
func (w *wiring) valve(component, from, to int32, kv *float64) {
	l := w.between(component, from, to)
	l.law = w.valveLaw(component, kv)
	w.add(l)
}

// fitting is a link by a loss coefficient on the bore of the line beside it.
func (w *wiring) fitting(component, from, to int32, k *float64) {
	l := w.between(component, from, to)
	f := network.Fitting{K: w.number(k, ref(component, "loss_coefficient")), Diameter: w.lineBoreAt(from, to)}
	l.law = f
	if len(w.missing) == 0 && (f.K <= 0 || f.Diameter <= 0) {
		// Nothing is lost that could be counted: as a pipe of no length would be.
		l.law = network.Fitting{K: 1e-3, Diameter: math.Max(f.Diameter, 1e-3)}
	}
	w.add(l)
}

// rated is a link by the pressure drop at a rated flow, quadratic in the flow.
func (w *wiring) rated(component, from, to int32, drop, flow *float64, flowField string) {
	w.lost(component, from, to, drop, "pressure_drop", flow, flowField)
}

// lost is a link by a pressure drop at a flow, quadratic in the flow; the fields name what is not stated.
func (w *wiring) lost(component, from, to int32, drop *float64, dropField string, flow *float64, flowField string) {
	l := w.between(component, from, to)
	dp := w.number(drop, ref(component, dropField))
	if drop == nil || dp > 0 {
		q := w.number(flow, ref(component, flowField))
		l.law = w.ratedLaw(w.knots[l.from].phase, dp, q)
		if l.law == nil && len(w.missing) == 0 && !(dp > 0 && q > 0) {
			w.lack(ref(component, dropField))
		}
	}
	if l.law == nil {
		l.law = network.Valve{Kv: 1e4, PressureRatioFactor: valveRatio} // stated to lose nothing
	}
	w.add(l)
}

// ratedLaw turns a pressure drop at a flow, stated for gas at atmospheric outlet pressure, into a loss coefficient.
func (w *wiring) ratedLaw(ph network.Phase, dp, q float64) network.Law {
	const d = 0.01
	area := math.Pi / 4 * d * d
	if !(dp > 0 && q > 0) {
		return nil
	}
	if ph == network.Liquid {
		f := &w.fluids[fluidWater]
		if f.Density == 0 {
			return nil
		}
		return network.Fitting{K: 2 * dp * area * area / (f.Density * q * q), Diameter: d}
	}
	f := &w.fluids[fluidGas]
	if f.MolarMass == 0 || w.atmosphere == 0 {
		return nil
	}
	p1, p2 := w.atmosphere+dp, w.atmosphere
	return network.Fitting{K: (p1*p1 - p2*p2) * area * area / (q * q * f.MolarMass * network.GasConstant * f.Temperature), Diameter: d}
}

// fix holds a knot at a gauge pressure.
func (w *wiring) fix(k int32, gauge float64) {
	n := &w.knots[k]
	n.fixed, n.needsZ, n.pressure = true, true, w.atmosphere+gauge
	n.missing = joinData(n.missing, w.take())
	n.used = joinData(n.used, joinData(w.airUsed, w.takeUsed()))
	if n.pressure <= 0 && len(n.missing) == 0 && n.own >= 0 {
		n.missing = []Datum{{DatumElement, n.own, ""}}
	}
}

// component makes the links of one component.
func (w *wiring) component(at int32) {
	c := &w.p.Components[at]
	first := c.FirstPort
	used := false
	for k := first; k < first+c.NumPorts; k++ {
		used = used || w.p.Ports[k].Joints > 0
	}
	if !used {
		return
	}
	d := c.Data
	gas := w.m.phase[first] == network.Gas
	switch c.Kind {
	case plant.KindBoundary:
		w.boundary(at)
	case plant.KindAtmosphereVent:
		w.fix(w.knotOf[first], 0)
	case plant.KindDrainPoint:
		w.drainPoint(at)
	case plant.KindJunction:
		if q := d.GetJunction().DemandM3PerS; q != nil {
			w.knots[w.knotOf[first]].inflow -= *q * w.fluids[fluidWater].Density
		}
	case plant.KindTee:
		l := w.between(at, first, first+2)
		k := w.number(d.GetTee().LossCoefficientRatio, ref(at, "loss_coefficient"))
		l.law = network.Fitting{K: math.Max(k, 1e-3), Diameter: math.Max(w.lineBoreAt(first+2, first, first+1), 1e-3)}
		w.add(l)
	case plant.KindAdapter:
		w.fitting(at, first, first+1, d.GetAdapter().LossCoefficientRatio)
	case plant.KindStaticMixer:
		w.fitting(at, first, first+1, d.GetStaticMixer().LossCoefficientRatio)
	case plant.KindStrainer:
		if s := d.GetStrainer(); s.FlowCoefficientKvM3PerH == nil && s.LossCoefficientRatio != nil {
			w.fitting(at, first, first+1, s.LossCoefficientRatio)
		} else {
			w.valve(at, first, first+1, s.FlowCoefficientKvM3PerH)
		}
	case plant.KindLiquidFilter:
		w.rated(at, first, first+1, d.GetLiquidFilter().PressureDropPa, d.GetLiquidFilter().RatedFlowM3PerS, "rated_flow")
	case plant.KindGasFilter:
		w.rated(at, first, first+1, d.GetGasFilter().PressureDropPa, d.GetGasFilter().RatedFlowMolPerS, "rated_flow")
	case plant.KindGasDryer:
		w.rated(at, first, first+1, d.GetGasDryer().PressureDropPa, d.GetGasDryer().RatedFlowMolPerS, "rated_flow")
	case plant.KindOzoneDestruct:
		w.rated(at, first, first+1, d.GetOzoneDestruct().PressureDropPa, d.GetOzoneDestruct().RatedFlowMolPerS, "rated_flow")
	case plant.KindOzoneGenerator:
		w.rated(at, first, first+1, d.GetOzoneGenerator().PressureDropPa, d.GetOzoneGenerator().RatedFlowMolPerS, "rated_flow")
		if w.p.Ports[first+2].Joints > 0 || w.p.Ports[first+3].Joints > 0 {
			w.lost(at, first+2, first+3, d.GetOzoneGenerator().CoolingPressureDropPa, "cooling_pressure_drop", d.GetOzoneGenerator().CoolingFlowM3PerS, "cooling_flow")
		}
	case plant.KindFlowSwitch:
		w.valve(at, first, first+1, d.GetFlowSwitch().FlowCoefficientKvM3PerH)
	case plant.KindFlowMeter:
		w.flowMeter(at, first, gas)
	case plant.KindRestrictionOrifice:
		o := d.GetRestrictionOrifice()
		l := w.between(at, first, first+1)
		l.law = network.Orifice{Diameter: w.number(o.BoreM, ref(at, "bore")), Coefficient: w.number(o.DischargeCoefficientRatio, ref(at, "discharge_coefficient"))}
		w.add(l)
	case plant.KindHandValve, plant.KindActuatedValve:
		w.shutOff(at, gas)
	case plant.KindThreeWayValve:
		w.threeWay(at)
	case plant.KindCheckValve:
		w.checkValve(at)
	case plant.KindPressureRegulator, plant.KindBackPressureValve, plant.KindReliefValve:
		w.selfActing(at)
	case plant.KindSamplePoint: // shut in operation
		l := w.between(at, first, first+1)
		l.law, l.blocked = placeholder, true
		w.add(l)
	case plant.KindRuptureDisc, plant.KindWaterSeal, plant.KindVacuumBreaker:
		w.inReserve(at)
	case plant.KindFloatDrain:
		w.sealed(at, first, first+1, d.GetFloatDrain().GasSeal)
	case plant.KindLiquidTrap:
		w.sealed(at, first, first+2, d.GetLiquidTrap().GasSeal)
	case plant.KindKnockOutPot:
		w.sealed(at, first, first+2, d.GetKnockOutPot().GasSeal)
	case plant.KindFloatVentValve:
		w.floatVent(at, first)
	case plant.KindContactVessel, plant.KindDegassingVessel, plant.KindReactionVessel, plant.KindOpenTank:
		w.vessel(at)
	case plant.KindDemister:
		w.rated(at, first, first+1, d.GetDemister().PressureDropPa, d.GetDemister().RatedFlowMolPerS, "rated_flow")
	case plant.KindHeatExchanger:
		w.heatExchanger(at, first, gas)
	case plant.KindPump, plant.KindBlower, plant.KindCompressor, plant.KindOxygenConcentrator, plant.KindGasSupply:
		w.machine(at)
	case plant.KindVenturiInjector:
		w.injector(at)
	case plant.KindOther, plant.KindNone:
		for k := first; k < first+c.NumPorts; k++ {
			n := &w.knots[w.knotOf[k]]
			n.missing = joinData(n.missing, []Datum{{DatumElement, at, ""}})
		}
	}
	w.take()
}

// heatExchanger is both sides of a heat exchanger; the service side where a line meets it.
func (w *wiring) heatExchanger(at, first int32, gas bool) {
	x := w.p.Components[at].Data.GetHeatExchanger()
	if gas {
		w.rated(at, first, first+1, x.PressureDropPa, x.RatedGasFlowMolPerS, "rated_gas_flow")
	} else {
		w.rated(at, first, first+1, x.PressureDropPa, x.RatedFlowM3PerS, "rated_flow")
	}
	switch {
	case w.p.Ports[first+2].Joints == 0 && w.p.Ports[first+3].Joints == 0:
	case w.m.phase[first+2] == network.Gas: // no field states what a service side of gas loses
		l := w.between(at, first+2, first+3)
		w.lack(Datum{DatumElement, at, ""})
		l.law = placeholder
		w.add(l)
	default:
		w.lost(at, first+2, first+3, x.ServicePressureDropPa, "service_pressure_drop", x.ServiceFlowM3PerS, "service_flow")
	}
}

// flowMeter is a meter by its flow coefficient, or by what it loses at the end of its range.
func (w *wiring) flowMeter(at, first int32, gas bool) {
	switch m := w.p.Components[at].Data.GetFlowMeter(); {
	case m.FlowCoefficientKvM3PerH != nil || m.PressureDropPa == nil:
		w.valve(at, first, first+1, m.FlowCoefficientKvM3PerH)
	case gas:
		w.rated(at, first, first+1, m.PressureDropPa, m.GasRangeHighMolPerS, "gas_range_high")
	default:
		w.rated(at, first, first+1, m.PressureDropPa, m.LiquidRangeHighM3PerS, "liquid_range_high")
	}
}

// floatVent is a vent valve, which opens up to a pressure difference.
func (w *wiring) floatVent(at, first int32) {
	v := w.p.Components[at].Data.GetFloatVentValve()
	l := w.between(at, first, first+1)
	law := network.FloatVent{Orifice: network.Orifice{Diameter: w.number(v.OrificeDiameterM, ref(at, "orifice_diameter")), Coefficient: ventCoefficient}}
	if v.MaxOpeningDifferencePa != nil {
		law.MaxDifference = *v.MaxOpeningDifferencePa
	}
	l.law = law
	w.add(l)
}

// boundary fixes the pressure or the flow at a boundary.
func (w *wiring) boundary(at int32) {
	b := w.p.Components[at].Data.GetBoundary()
	k := w.knotOf[w.p.Components[at].FirstPort]
	n := &w.knots[k]
	n.own = at
	liquid := n.phase == network.Liquid
	st := w.s.c.Stated(at)
	if liquid && w.s.c.Standard == OutletBlocked && b.GetRole() == skidrulev1.BoundaryRole_BOUNDARY_ROLE_SINK && (st == nil || st.PressurePaGauge == nil) {
		return
	}
	flow := b.LiquidFlowM3PerS
	if st != nil && st.LiquidFlowM3PerS != nil {
		flow = st.LiquidFlowM3PerS
	}
	if !liquid {
		flow = b.GasFlowMolPerS
		if st != nil && st.GasFlowMolPerS != nil {
			flow = st.GasFlowMolPerS
		}
	}
	if flow != nil && b.PressurePaGauge == nil && (st == nil || st.PressurePaGauge == nil) {
		n.inflow += *flow
		if liquid {
			n.inflow += *flow * (w.fluids[fluidWater].Density - 1)
		}
		return
	}
	w.fix(k, w.s.boundaryPressure(&w.reader, at))
}

// drainPoint holds a drain at the atmosphere, or at what its closed system may bring.
func (w *wiring) drainPoint(at int32) {
	d := w.p.Components[at].Data.GetDrainPoint()
	k := w.knotOf[w.p.Components[at].FirstPort]
	gauge := 0.0
	switch d.GetLeadsTo() {
	case skidrulev1.DrainDestination_DRAIN_DESTINATION_UNSPECIFIED:
		w.lack(ref(at, "leads_to"))
	case skidrulev1.DrainDestination_DRAIN_DESTINATION_CLOSED_SYSTEM, skidrulev1.DrainDestination_DRAIN_DESTINATION_PROCESS:
		high := w.number(d.MaxBackPressurePaGauge, ref(at, "max_back_pressure"))
		gauge = w.spread(0, 0, high, ref(at, "max_back_pressure"))
	}
	w.fix(k, gauge)
}

// shutOff is a hand or actuated valve.
func (w *wiring) shutOff(at int32, gas bool) {
	c := &w.p.Components[at]
	l := w.between(at, c.FirstPort, c.FirstPort+1)
	pos, lacks := w.s.position(w.p, at, gas)
	l.missing = lacks
	if pos == skidrulev1.ValvePosition_VALVE_POSITION_CLOSED {
		l.blocked, l.law = true, placeholder
		w.add(l)
		return
	}
	full := w.openCoefficient(at)
	valve := network.Valve{Kv: full, PressureRatioFactor: valveRatio}
	l.law = valve
	if h := c.Data.GetHandValve(); h != nil && (pos == skidrulev1.ValvePosition_VALVE_POSITION_THROTTLED || !gas && h.OpeningRatio != nil && *h.OpeningRatio < 1) {
		set, ok := w.m.throttle[at]
		design := w.designFlow(at)
		switch {
		case gas && ok:
			valve.Kv = set
			l.law = valve
		case gas && w.m.throttle == nil && design > 0 && full > 0:
			// It is set on site until the flow is right.
			l.law, l.switches = network.FlowControl{Valve: valve, Set: design}, true
		default:
			opening := w.number(h.OpeningRatio, ref(at, "opening"))
			low := full * math.Pow(rangeability, opening-1)
			valve.Kv = w.spread(low, math.Sqrt(low*full*opening), full*opening, ref(at, "opening"))
			l.law = valve
		}
	}
	w.add(l)
}

// designFlow is the rated flow of the generators that a gas valve feeds, or else draws from; 0 where there is none.
func (w *wiring) designFlow(at int32) float64 {
	c := &w.p.Components[at]
	for _, down := range []bool{true, false} {
		sum, seen := 0.0, map[int32]bool{}
		start := c.FirstPort
		if down {
			start++
		}
		stack := []int32{start}
		for len(stack) > 0 {
			port := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			if seen[port] || w.m.phase[port] != network.Gas {
				continue
			}
			seen[port] = true
			owner := w.p.Ports[port].Component
			if owner == at && port != start {
				continue
			}
			if g := w.p.Components[owner].Data.GetOzoneGenerator(); g != nil {
				if g.RatedFlowMolPerS != nil && !w.p.Components[owner].Data.GetOutOfUse() {
					sum += *g.RatedFlowMolPerS
				}
				continue
			}
			for _, id := range w.p.WaysAt(port) {
				q := &w.p.Ways[id]
				if down && q.From == port {
					stack = append(stack, q.To)
				}
				if !down && q.To == port {
					stack = append(stack, q.From)
				}
			}
		}
		if sum > 0 {
			return sum
		}
	}
	return 0
}

// threeWay opens the passage of a three-way valve that its position names.
func (w *wiring) threeWay(at int32) {
	c := &w.p.Components[at]
	v := c.Data.GetThreeWayValve()
	for i := int32(1); i <= 2; i++ {
		l := w.between(at, c.FirstPort, c.FirstPort+i)
		l.law = w.valveLaw(at, v.FlowCoefficientKvM3PerH)
		switch v.GetPosition() {
		case skidrulev1.ThreeWayPosition_THREE_WAY_POSITION_TO_A:
			l.blocked = i == 2
		case skidrulev1.ThreeWayPosition_THREE_WAY_POSITION_TO_B:
			l.blocked = i == 1
		default:
			w.lack(ref(at, "position"))
		}
		w.add(l)
	}
}

// checkValve is a check valve; failed it is an open valve.
func (w *wiring) checkValve(at int32) {
	c := &w.p.Components[at]
	v := c.Data.GetCheckValve()
	l := w.between(at, c.FirstPort, c.FirstPort+1)
	valve := w.valveLaw(at, v.FlowCoefficientKvM3PerH)
	l.law = valve
	if !w.s.isFailed(at) {
		l.law, l.switches = network.CheckValve{Valve: valve, Opening: math.Max(0, w.number(v.OpeningPressurePa, ref(at, "opening_pressure")))}, true
	}
	w.add(l)
}

// selfActing is a regulator, a back-pressure valve or a relief valve.
func (w *wiring) selfActing(at int32) {
	c := &w.p.Components[at]
	l := w.between(at, c.FirstPort, c.FirstPort+1)
	l.switches = true
	switch s := c.Data.GetSpec().(type) {
	case *skidrulev1.Component_PressureRegulator:
		v := w.valveLaw(at, s.PressureRegulator.FlowCoefficientKvM3PerH)
		l.law = v
		if !w.s.isFailed(at) {
			l.law = network.Regulator{Valve: v, Set: w.atmosphere + w.number(s.PressureRegulator.SetPressurePaGauge, ref(at, "set_pressure"))}
		}
	case *skidrulev1.Component_BackPressureValve:
		v := w.valveLaw(at, s.BackPressureValve.FlowCoefficientKvM3PerH)
		l.law = v
		if !w.s.isFailed(at) {
			l.law = network.BackPressure{Valve: v, Set: w.atmosphere + w.number(s.BackPressureValve.SetPressurePaGauge, ref(at, "set_pressure"))}
		}
	case *skidrulev1.Component_ReliefValve:
		// Flow coefficient of an orifice: q = Cd A √(2 Δp/ρ) at 1 bar with the water of IEC 60534-2-1.
		r := s.ReliefValve
		set := w.number(r.SetPressurePaGauge, ref(at, "set_pressure"))
		area := w.number(r.OrificeAreaM2, ref(at, "orifice_area")) * w.number(r.DischargeCoefficientRatio, ref(at, "discharge_coefficient"))
		l.law = network.BackPressure{Valve: network.Valve{Kv: 3600 * area * math.Sqrt(2e5/999.1), PressureRatioFactor: valveRatio}, Set: w.atmosphere + set}
	}
	w.add(l)
}

// sealed is a drain that holds gas back while no liquid arrives, as in steady operation.
func (w *wiring) sealed(at, from, to int32, seal *bool) {
	l := w.between(at, from, to)
	l.law, l.blocked = placeholder, true
	switch {
	case seal == nil:
		l.blocked = false
		w.lack(ref(at, "gas_seal"))
	case !*seal:
		l.blocked = false
		w.lack(Datum{DatumElement, at, ""}) // what gas passes an open drain is not stated
	}
	w.add(l)
}
