package fact

import (
	"math"

	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

var surgeFacts = []Definition{
	truthFact("closes_on_water", "A line of water ends at its inlet.",
		func(w *World, at At) Truth { return w.surge(at.Index).applies }, plant.KindActuatedValve),
	quantityFact("surge_pressure", quantity.PressureGauge, "Highest pressure before it when it closes: what stands there and the rise as the flow stops.",
		func(w *World, at At) Number { return w.surge(at.Index).pressure }, plant.KindActuatedValve),
	quantityFact("surge_rise", quantity.PressureDifference, "Rise of the pressure as the flow stops.",
		func(w *World, at At) Number { return w.surge(at.Index).rise }, plant.KindActuatedValve),
	quantityFact("surge_rating", quantity.PressureGauge, "Lower rating of the valve and of the line before it.",
		func(w *World, at At) Number { return w.surge(at.Index).rating }, plant.KindActuatedValve),
	quantityFact("stopped_velocity", quantity.Velocity, "Velocity of the water that it stops.",
		func(w *World, at At) Number { return w.stoppedVelocity(at.Index) }, plant.KindActuatedValve),
	textFact("stopped_velocity_basis", "Whether that is the stated flow over the bore, what a solved case finds, or a bound where a case lacks data.",
		func(w *World, at At) Text { return w.stoppedBasis(at.Index) }, plant.KindActuatedValve),
	quantityFact("critical_time", quantity.Duration, "Time in which the pressure wave runs up the line and back; a valve that closes faster makes the full rise.",
		func(w *World, at At) Number { return w.surge(at.Index).critical }, plant.KindActuatedValve),
}

// surge is what a closing valve does to the water before it.
type surge struct {
	applies                          Truth
	pressure, rise, rating, critical Number
}

// Properties that bound a pressure wave in water: the bulk modulus at 30 degC (MWH's Water Treatment, 3rd edition, table C-1) over
// the density there gives the speed in a rigid pipe, which none exceeds. Steel has 200 GPa (A36, in a transcription). PVC has at
// least 400 000 psi by its cell class 12454 of ASTM D1784 (Moser, Buried Pipe Design, 2nd edition, chapter 4) and up to 430 000 in
// tables of pipe, with a Poisson's ratio of 0.38 to 0.41, all at 23 degC; in the cold it is stiffer still.
const (
	waterBulkModulus = 2.25e9 // Pa
	waterDensity     = 995.7  // kg/m3 at 30 degC
	steelModulus     = 200e9  // Pa
	softPVC          = 2.76e9 // Pa
	stiffPVC         = 2.96e9 // Pa
	steelPoisson     = 0.3
	pvcPoisson       = 0.41
)

func (w *World) surge(component int32) surge {
	line := w.lineInto(w.Plant.PortByTrait(component, 0))
	if line < 0 {
		return surge{}
	}
	gas, known := w.carriesGas(line)
	if known && gas {
		return surge{}
	}
	s := surge{applies: Truth{Value: True}}
	if !known {
		s.applies = Open(lineRef(line, "service"))
	}
	data := w.Plant.Lines[line].Data
	length := w.number(data.LengthM, lineRef(line, "length"))
	closing := w.number(w.data(component).GetActuatedValve().ResponseTimeS, specRef(component, "response_time"))
	speed, change := w.waveSpeed(line), w.lineVelocity(component, line)
	s.rise, s.critical = surgeRise(speed, change, length, closing)
	s.pressure = w.highestPressure(w.Plant.PortByTrait(component, 0), 0).Add(s.rise)
	s.rating = w.loads().components[component].rating.Min(w.loads().lines[line].rating)
	return s
}

// stoppedVelocity is the velocity in the line before a valve.
func (w *World) stoppedVelocity(component int32) Number {
	line := w.lineInto(w.Plant.PortByTrait(component, 0))
	if line < 0 {
		return Missing(elementRef(component))
	}
	return w.lineVelocity(component, line)
}

// stoppedBasis says where it comes from.
func (w *World) stoppedBasis(component int32) Text {
	line := w.lineInto(w.Plant.PortByTrait(component, 0))
	if line < 0 {
		return Text{}
	}
	v := w.lineVelocity(component, line)
	solved, set, open := w.solvedVelocity(line)
	switch {
	case set >= 0 && solved.High >= v.High:
		return Text{Value: "solved, case " + w.Cases[set].ID}
	case len(open) > 0 && w.freeVelocity(w.Plant.PortByTrait(component, 0)).High >= v.High:
		return Text{Value: "bounded: no loss on its way, for a case that is not solved"}
	}
	return Text{Value: "stated flow over the bore"}
}

// surgeRise is the rise of pressure by the equations of Joukowsky and, for slow closing, of Michaud at an even closing.
func surgeRise(speed, change, length, closing Number) (rise, critical Number) {
	rise = restingOn(0, math.Inf(1), speed, change, length, closing)
	critical = length.Scale(2).Div(speed)
	at := func(a, dv, l, t float64) (float64, bool) {
		r, err := unitop.PressureRise(waterDensity, a, dv, l, t)
		return r.Rise.Best, err == nil
	}
	if high, ok := at(speed.High, change.High, length.High, closing.Low); ok {
		rise.High = high
	}
	if low, ok := at(speed.Low, change.Low, length.Low, closing.High); ok {
		rise.Low = min(low, rise.High)
	}
	return rise, critical
}

// waveSpeed is the speed of a pressure wave in a line: of its wall where that is stated, else anything up to that in a rigid
// pipe.
func (w *World) waveSpeed(line int32) Number {
	data := w.Plant.Lines[line].Data
	rigid := math.Sqrt(waterBulkModulus / waterDensity)
	bore, wall := w.LineBore(line), w.number(data.WallThicknessM, lineRef(line, "wall_thickness"))
	unknown := Number{Low: 0, High: rigid, Missing: joinRefs(bore.Missing, wall.Missing)}
	p := unitop.SurgePipe{BulkModulus: waterBulkModulus, Density: waterDensity, Bore: bore.Low, Wall: wall.High}
	var stiff float64
	switch data.GetMaterial() {
	case skidrulev1.Material_MATERIAL_STAINLESS_316, skidrulev1.Material_MATERIAL_STAINLESS_304, skidrulev1.Material_MATERIAL_CARBON_STEEL:
		p.Modulus, stiff, p.Poisson = steelModulus, steelModulus, steelPoisson
	case skidrulev1.Material_MATERIAL_PVC_U:
		p.Modulus, stiff, p.Poisson = softPVC, stiffPVC, pvcPoisson
	default:
		unknown.Missing = joinRefs(unknown.Missing, []Ref{lineRef(line, "material")})
		return unknown
	}
	if len(unknown.Missing) > 0 {
		return unknown
	}
	p.Anchorage = unitop.ExpansionJoints
	low, errLow := p.WaveSpeed()
	p.Anchorage, p.Modulus = unitop.AnchoredOneEnd, stiff
	high, errHigh := p.WaveSpeed()
	if errLow != nil || errHigh != nil {
		return unknown
	}
	return between(min(low, high), max(low, high))
}

// lineVelocity is the velocity of the water that a closing valve stops: the flow that the source of its highest pressure states,
// over the bore of the line, or that of a solved case where it is higher. Where a case lacks data it may be as high as without losses.
func (w *World) lineVelocity(component, line int32) Number {
	x := w.pressures()
	port := w.Plant.PortByTrait(component, 0)
	flow := Missing(elementRef(component))
	if f, _, through, ok := x.best(port, 0, highEnd); ok {
		source, _ := f.trace(x, port, 0, through)
		from := x.sourceComponent(source)
		data := w.data(from)
		switch w.Plant.Components[from].Kind {
		case plant.KindPump:
			flow = w.number(data.GetPump().RatedFlowM3PerS, specRef(from, "rated_flow"))
		case plant.KindBoundary:
			flow = w.number(data.GetBoundary().LiquidFlowM3PerS, specRef(from, "liquid_flow"))
		}
	}
	bore := w.LineBore(line)
	area := bore.Mul(bore).Scale(math.Pi / 4)
	v := flow.Max(Exactly(0)).Div(area)
	v.Low = max(0, v.Low)
	solved, set, open := w.solvedVelocity(line)
	if set >= 0 {
		v.Low, v.High = max(v.Low, solved.High), max(v.High, solved.High)
	}
	if most := w.freeVelocity(port); len(open) > 0 && most.High > v.High {
		v.High = most.High
		v.Missing, v.Assumed = JoinRefs(v.Missing, most.Missing, open), joinRefs(v.Assumed, most.Assumed)
	}
	return v
}

// freeVelocity is the velocity of water at a port that the whole of its highest pressure drives, without any loss, into a vacuum: more
// than comes about in any case. The air outside is taken as at sea level with its weather, which is the high end.
//
// Source: Bernoulli's equation.
func (w *World) freeVelocity(port int32) Number {
	n := w.highestPressure(port, 0)
	air, err := unitop.StandardAtmosphere(0)
	must(err)
	n.Low, n.High = 0, math.Sqrt(2*max(0, n.High+air.High)/waterDensity)
	return n
}

// solvedVelocity is the highest velocity in the pipes of a line over the solved cases, with the case in which it comes about; -1 where
// no case knows it. open lists data for want of which a case that can occur does not tell it.
func (w *World) solvedVelocity(line int32) (n Number, at int32, open []Ref) {
	n, at = Missing(), -1
	l := &w.Plant.Lines[line]
	for i := range w.Cases {
		st := w.solvedCase(int32(i))
		if st == nil {
			continue
		}
		for way := l.FirstWay; way < l.FirstWay+l.NumWays; way++ {
			f := &st.Ways[way]
			if !f.Known || f.Beyond != "" {
				open = joinRefs(open, statable(datumRefs(f.Missing)))
				continue
			}
			low, high := math.Abs(f.Velocity.Low), math.Abs(f.Velocity.High)
			if low, high = min(low, high), max(low, high); at < 0 || high > n.High {
				n, at = between(low, high), int32(i)
			}
		}
	}
	return n, at, open
}

// lineInto gives the line whose pipe ends at a port; -1 where none does.
func (w *World) lineInto(port int32) int32 {
	for _, way := range w.Plant.WaysAt(port) {
		if q := &w.Plant.Ways[way]; q.IsPipe() && q.To == port {
			return q.Line
		}
	}
	return -1
}
