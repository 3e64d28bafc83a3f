package fact

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// lossLaw says how the pressure drop of an element follows from the flow.
type lossLaw uint8

const (
	lossNone    lossLaw = iota
	lossPipe            // x length, y bore, k sum of loss coefficients, r roughness
	lossKv              // x flow coefficient
	lossFitting         // k loss coefficient, y bore of the line before it
	lossRated           // x pressure drop at the flow y
	lossOrifice         // x bore, k coefficient of discharge
	lossOpening         // x pressure difference that opens it, whatever the flow
	lossHolds           // x gauge pressure that it lets pass at most: a regulator
)

// resistance is one element that a stream passes, with what is stated about it. The low end of a drop takes the kind end of
// each datum, the high end the adverse one.
type resistance struct {
	law        lossLaw
	arc        int32
	x, y, k, r Number
}

// drop is a resistance for computing: the ends of its data without what they rest on.
type drop struct {
	law        lossLaw
	arc        int32
	x, y, k, r bounds
}

// bounds is the two ends of a number.
type bounds struct{ low, high float64 }

func (n *Number) bounds() bounds { return bounds{n.Low, n.High} }

// end is one of them.
func (s *bounds) end(high bool) float64 {
	if high {
		return s.high
	}
	return s.low
}

func (s *resistance) drop() drop {
	return drop{s.law, s.arc, s.x.bounds(), s.y.bounds(), s.k.bounds(), s.r.bounds()}
}

// refs gathers the data that a resistance lacks and rests on.
func (s *resistance) refs() Number {
	n := Exactly(0)
	for _, m := range [4]*Number{&s.x, &s.y, &s.k, &s.r} {
		if math.IsInf(m.Low, 0) || math.IsInf(m.High, 0) {
			n.Missing = joinRefs(n.Missing, m.Missing)
		}
		n.Assumed = joinRefs(n.Assumed, m.Assumed)
	}
	return n
}

// resistances lists what resists a stream along arcs, in their order. gas chooses between the two meanings of a flow meter.
// known lacks the data that is missing.
func (w *World) resistances(arcs []int32, gas bool) (list []drop, known Number) {
	return w.resistancesInto(nil, arcs, gas)
}

// resistancesInto is resistances with room for the list.
func (w *World) resistancesInto(room []drop, arcs []int32, gas bool) (list []drop, known Number) {
	list = slices.Grow(room, len(arcs)/2+1) // about every second arc is a pipe's or the second in a part
	p := w.Plant
	bore := Exactly(0)
	lastLine, lastComponent := int32(-1), int32(-1)
	var few [2]resistance
	losses := few[:0]
	for _, arc := range arcs {
		q := &p.Ways[arc/2]
		if q.IsPipe() {
			bore = w.LineBore(q.Line)
			if q.Line == lastLine {
				continue
			}
			lastLine = q.Line
			data := p.Lines[q.Line].Data
			s := resistance{law: lossPipe, arc: arc, y: bore,
				x: w.number(data.LengthM, lineRef(q.Line, "length")),
				k: w.number(data.LossCoefficientRatio, lineRef(q.Line, "loss_coefficient")),
				r: w.number(data.RoughnessM, lineRef(q.Line, "roughness"))}
			if s.x.High == 0 {
				s.r = Exactly(0)
				if s.k.High == 0 {
					continue
				}
			}
			list = append(list, s.drop())
			s.note(&known)
			continue
		}
		if q.Component == lastComponent {
			continue
		}
		lastComponent = q.Component
		losses = w.componentLosses(losses[:0], q.Component, bore, gas)
		for i := range losses {
			losses[i].arc = arc
			list = append(list, losses[i].drop())
			losses[i].note(&known)
		}
	}
	return list, known
}

// note adds what a resistance lacks and rests on to what is known of a way.
func (s *resistance) note(known *Number) {
	n := s.refs()
	known.Missing, known.Assumed = joinRefs(known.Missing, n.Missing), joinRefs(known.Assumed, n.Assumed)
}

// componentLosses adds to a list what a component puts in the way of the main stream.
func (w *World) componentLosses(list []resistance, component int32, bore Number, gas bool) []resistance {
	data := w.data(component)
	kv := func(x *float64) []resistance {
		return append(list, resistance{law: lossKv, x: w.number(x, specRef(component, "flow_coefficient"))})
	}
	fitting := func(x *float64) []resistance {
		return append(list, resistance{law: lossFitting, y: bore, k: w.number(x, specRef(component, "loss_coefficient"))})
	}
	rated := func(drop *float64, flow *float64, flowField string) []resistance {
		if drop != nil && *drop == 0 {
			return list
		}
		return append(list, resistance{law: lossRated, x: w.number(drop, specRef(component, "pressure_drop")), y: w.number(flow, specRef(component, flowField))})
	}
	switch s := data.GetSpec().(type) {
	case *skidrulev1.Component_HandValve:
		return w.positionKnown(component, append(list, w.handValveLoss(component, s.HandValve, gas)))
	case *skidrulev1.Component_ActuatedValve:
		return w.positionKnown(component, kv(s.ActuatedValve.FlowCoefficientKvM3PerH))
	case *skidrulev1.Component_ThreeWayValve:
		return kv(s.ThreeWayValve.FlowCoefficientKvM3PerH)
	case *skidrulev1.Component_BackPressureValve:
		return kv(s.BackPressureValve.FlowCoefficientKvM3PerH)
	case *skidrulev1.Component_PressureRegulator:
		return append(kv(s.PressureRegulator.FlowCoefficientKvM3PerH),
			resistance{law: lossHolds, x: w.number(s.PressureRegulator.SetPressurePaGauge, specRef(component, "set_pressure"))})
	case *skidrulev1.Component_CheckValve:
		return append(kv(s.CheckValve.FlowCoefficientKvM3PerH),
			resistance{law: lossOpening, x: w.number(s.CheckValve.OpeningPressurePa, specRef(component, "opening_pressure"))})
	case *skidrulev1.Component_FlowSwitch:
		return kv(s.FlowSwitch.FlowCoefficientKvM3PerH)
	case *skidrulev1.Component_FlowMeter:
		if s.FlowMeter.FlowCoefficientKvM3PerH == nil && s.FlowMeter.PressureDropPa != nil {
			if gas {
				return rated(s.FlowMeter.PressureDropPa, s.FlowMeter.GasRangeHighMolPerS, "gas_range_high")
			}
			return rated(s.FlowMeter.PressureDropPa, s.FlowMeter.LiquidRangeHighM3PerS, "liquid_range_high")
		}
		return kv(s.FlowMeter.FlowCoefficientKvM3PerH)
	case *skidrulev1.Component_GasFilter:
		return rated(s.GasFilter.PressureDropPa, s.GasFilter.RatedFlowMolPerS, "rated_flow")
	case *skidrulev1.Component_GasDryer:
		return rated(s.GasDryer.PressureDropPa, s.GasDryer.RatedFlowMolPerS, "rated_flow")
	case *skidrulev1.Component_LiquidFilter:
		return rated(s.LiquidFilter.PressureDropPa, s.LiquidFilter.RatedFlowM3PerS, "rated_flow")
	case *skidrulev1.Component_OzoneGenerator:
		return rated(s.OzoneGenerator.PressureDropPa, s.OzoneGenerator.RatedFlowMolPerS, "rated_flow")
	case *skidrulev1.Component_Strainer:
		if s.Strainer.FlowCoefficientKvM3PerH == nil && s.Strainer.LossCoefficientRatio != nil {
			return fitting(s.Strainer.LossCoefficientRatio)
		}
		return kv(s.Strainer.FlowCoefficientKvM3PerH)
	case *skidrulev1.Component_StaticMixer:
		return fitting(s.StaticMixer.LossCoefficientRatio)
	case *skidrulev1.Component_ReactionVessel:
		return fitting(s.ReactionVessel.LossCoefficientRatio)
	case *skidrulev1.Component_Adapter:
		return fitting(s.Adapter.LossCoefficientRatio)
	case *skidrulev1.Component_HeatExchanger:
		return append(list, resistance{law: lossOpening, x: w.number(s.HeatExchanger.PressureDropPa, specRef(component, "pressure_drop"))})
	case *skidrulev1.Component_RestrictionOrifice:
		return append(list, resistance{law: lossOrifice, x: w.number(s.RestrictionOrifice.BoreM, specRef(component, "bore")),
			k: w.number(s.RestrictionOrifice.DischargeCoefficientRatio, specRef(component, "discharge_coefficient"))})
	case *skidrulev1.Component_Other, nil:
		return append(list, resistance{law: lossOpening, x: Missing(elementRef(component))})
	}
	return list
}

// positionKnown asks that the design states whether a valve in the stream stands open.
func (w *World) positionKnown(component int32, losses []resistance) []resistance {
	if w.data(component).GetNormalPosition() == skidrulev1.ValvePosition_VALVE_POSITION_UNSPECIFIED {
		losses = append(losses, resistance{law: lossOpening, x: Missing(componentRef(component, "normal_position"))})
	}
	return losses
}

// handValveLoss is the flow coefficient of a hand valve. Wide open it is the stated one. A throttled valve in a gas line is set
// on site until the flow is right, so it counts as wide open where the question is whether enough pressure is left; in water
// its coefficient at a stated opening lies between those of an equal-percentage and a linear valve.
//
// Source of the two characteristics: IEC 60534-2-4, in a transcription; a rangeability of 50 is common practice, no source.
func (w *World) handValveLoss(component int32, v *skidrulev1.HandValve, gas bool) resistance {
	full := w.number(v.FlowCoefficientKvM3PerH, specRef(component, "flow_coefficient"))
	throttled := w.data(component).GetNormalPosition() == skidrulev1.ValvePosition_VALVE_POSITION_THROTTLED
	if !gas && (throttled || v.OpeningRatio != nil && *v.OpeningRatio < 1) {
		opening := w.number(v.OpeningRatio, specRef(component, "opening"))
		if math.IsInf(opening.Low, 0) {
			return resistance{law: lossKv, x: opening}
		}
		const rangeability = 50
		share := opening.with(opening, math.Pow(rangeability, opening.Low-1), opening.High)
		return resistance{law: lossKv, x: full.Mul(share)}
	}
	return resistance{law: lossKv, x: full}
}

// throttles tells whether a component in a gas stream can be set so that the flow, or the pressure before it, is right.
func (w *World) throttles(component int32) bool {
	c := &w.Plant.Components[component]
	return c.Kind == plant.KindBackPressureValve ||
		c.Kind == plant.KindHandValve && c.Data.GetNormalPosition() == skidrulev1.ValvePosition_VALVE_POSITION_THROTTLED
}

// stream is what flows where a drop is computed.
type stream struct {
	density   float64 // kg/m3 of a liquid
	viscosity float64 // Pa s
	adverse   bool    // take the adverse end of every datum
	twoPhase  float64 // factor on friction where gas runs along; 1 without
	molarMass float64 // kg/mol of a gas
	heat      float64 // R·T of a gas in J/mol
}

// liquidDrop is the pressure drop in Pa of a water flow in m3/s; infinite where nothing can pass.
//
// Source: Darcy and Weisbach with [network.FrictionFactor]; IEC 60534-2-1, definition of the flow coefficient.
func (s *drop) liquidDrop(q float64, f *stream) float64 {
	if drop := s.waterDrop(q, f); !math.IsNaN(drop) {
		return drop
	}
	return math.Inf(1)
}

func (s *drop) waterDrop(q float64, f *stream) float64 {
	more, less := f.adverse, !f.adverse // length, roughness and coefficients are more at the adverse end, bore and flow coefficient less
	if q <= 0 {
		if s.law == lossOpening {
			return s.x.end(more)
		}
		return 0
	}
	switch s.law {
	case lossPipe:
		d := s.y.end(less)
		v := q / (math.Pi / 4 * d * d)
		return f.twoPhase * s.pipeCoefficient(v*f.density*d/f.viscosity, more, d) * f.density * v * v / 2
	case lossKv:
		n := q * 3600 / s.x.end(less)
		return f.twoPhase * n * n * 1e5 * f.density / kvDensity
	case lossFitting:
		d := s.y.end(less)
		v := q / (math.Pi / 4 * d * d)
		return f.twoPhase * s.k.end(more) * f.density * v * v / 2
	case lossRated:
		n := q / s.y.end(less)
		return f.twoPhase * s.x.end(more) * n * n
	case lossOrifice:
		d := s.x.end(less)
		v := q / (s.k.end(less) * math.Pi / 4 * d * d)
		return f.twoPhase * f.density * v * v / 2
	case lossOpening:
		return s.x.end(more)
	}
	return 0
}

// kvDensity is the density in kg/m3 of the water that a flow coefficient refers to. Source: IEC 60534-2-1, water at 15 degC.
const kvDensity = 999.1

// pipeCoefficient is the loss coefficient of a line, friction and fittings together. Outside the range of the friction factor
// nothing passes.
func (s *drop) pipeCoefficient(reynolds float64, more bool, bore float64) float64 {
	length := s.x.end(more)
	if length == 0 {
		return s.k.end(more)
	}
	friction, err := network.FrictionFactor(reynolds, s.r.end(more)/bore)
	if err != nil {
		return math.Inf(1)
	}
	return friction*length/bore + s.k.end(more)
}

// gasOutlet is the absolute pressure in Pa behind a resistance that a gas flow in mol/s enters at p; zero where the flow
// cannot pass.
//
// Source: isothermal flow with p1² - p2² = coefficient (G² R T/M); IEC 60534-2-1 (2011), compressible fluid equations, for
// valves.
func (s *drop) gasOutlet(p, n float64, f *stream, atmosphere float64) float64 {
	if out := s.gasBehind(p, n, f, atmosphere); out > 0 {
		return out
	}
	return 0
}

func (s *drop) gasBehind(p, n float64, f *stream, atmosphere float64) float64 {
	more, less := f.adverse, !f.adverse
	mass := n * f.molarMass
	square := func(coefficient, area float64) float64 {
		g := mass / area
		rest := p*p - coefficient*g*g*f.heat/f.molarMass
		if !(rest > 0) {
			return 0
		}
		return math.Sqrt(rest)
	}
	switch s.law {
	case lossHolds:
		return math.Min(p, atmosphere+s.x.end(less))
	case lossOpening:
		return math.Max(0, p-s.x.end(more))
	}
	if n <= 0 || p <= 0 {
		return p
	}
	switch s.law {
	case lossPipe:
		d := s.y.end(less)
		area := math.Pi / 4 * d * d
		return square(s.pipeCoefficient(mass*d/(area*f.viscosity), more, d), area)
	case lossFitting:
		d := s.y.end(less)
		return square(s.k.end(more), math.Pi/4*d*d)
	case lossOrifice:
		d := s.x.end(less)
		return square(1, s.k.end(less)*math.Pi/4*d*d)
	case lossRated:
		r := n / s.y.end(less)
		return math.Max(0, p-s.x.end(more)*r*r)
	case lossKv:
		return valveGasOutlet(p, mass, s.x.end(less), f)
	}
	return p
}

// valveRatio is the pressure drop ratio at which gas in a valve chokes. Source: IEC 60534-2-1 (2011), typical values of xT,
// verified in a transcription: 0.68 to 0.75 for open globe valves, less for ball valves; it matters only near choking.
const valveRatio = 0.7

// valveGasOutlet solves x (1 - x/(3 xT))² = wanted for the pressure drop ratio x of a valve.
func valveGasOutlet(p, mass, kv float64, f *stream) float64 {
	density := p * f.molarMass / f.heat
	m := mass * 3600 / kv
	wanted := m * m * 1e5 / (kvDensity * density * p)
	if wanted >= valveRatio*4/9 {
		return 0
	}
	x := wanted
	for range 30 {
		y := 1 - x/(3*valveRatio)
		next := wanted / (y * y)
		if math.Abs(next-x) < 1e-12 {
			break
		}
		x = next
	}
	return p * (1 - math.Min(x, valveRatio))
}

// findWaterStream finds one end of the water of the plant. Where the basis states no temperature the whole range that process water
// can have stands in.
func (w *World) findWaterStream(adverse bool) stream {
	t := 333.15
	if b := w.Plant.Basis.MaxWaterTemperatureK; b != nil {
		t = *b
	}
	if adverse {
		t = 273.15
		if b := w.Plant.Basis.MinWaterTemperatureK; b != nil {
			t = *b
		}
	}
	t = math.Min(math.Max(t, fluid.WaterTemperatureLow), fluid.WaterTemperatureHigh-5)
	mu, err := fluid.WaterViscosity(t, 2e5)
	must(err)
	return stream{density: coldWaterDensity, viscosity: mu, adverse: adverse, twoPhase: 1}
}
