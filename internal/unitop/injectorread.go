package unitop

import (
	"fmt"
	"math"
	"sort"

	"github.com/skidrule/skidrule/internal/fluid"
)

// SuctionGas is the gas that the injector draws in service.
type SuctionGas struct {
	MolarMass   float64 // kg/mol, 0.002 to 0.3
	Temperature float64 // K at the suction port, 200 to 500
}

// SuctionState is what an injector draws at three pressures, with the slopes
// that a network solver needs. Where a row of the table is met the slope is the
// one towards higher pressure, at the upper end the one before it.
type SuctionState struct {
	Flow        float64 // mol/s
	PerInlet    float64 // mol/(s Pa)
	PerOutlet   float64 // mol/(s Pa)
	PerSuction  float64 // mol/(s Pa)
	Error       float64 // mol/s, estimate of the reading and interpolation error, either way
	Interpolate float64 // mol/s, the part of Error that is interpolation
}

// Suction returns the suction flow of the table's own gas at inlet, outlet and
// suction pressure (Pa absolute).
//
// Method: the two curves that enclose the inlet pressure are read at the same
// relative position between their lowest and highest outlet pressure, linearly
// between rows, and the results are joined linearly in the inlet pressure. So
// the flow is continuous, plateaus stay flat, nothing overshoots a row, and the
// edge of what is known runs straight from curve to curve. The result is
// multiplied by the suction curve's ratio of the flow at the suction pressure
// to that at the table's own. Outside the table: [InjectorRangeError], which
// names the side.
//
// The error estimate is the stated reading error, plus half the largest
// leave-one-out residual of the rows around the point and half that of the
// curves around it (for a smooth table about twice the true error), plus the
// difference to reading the two curves at the same pressure ratio instead. Two
// rows on a curve, or two curves, show no residual: then the estimate is a low
// one.
func (in *Injector) Suction(inlet, outlet, suction float64) (SuctionState, error) {
	a, b, w, err := in.between(inlet)
	if err != nil {
		return SuctionState{}, err
	}
	low, high := outletSpan(a, b, w)
	if !(outlet >= low && outlet <= high) {
		return SuctionState{}, newInjectorRange(AxisOutlet, outlet, low, high)
	}
	ratio, perSuction, err := in.suctionRatio(suction)
	if err != nil {
		return SuctionState{}, err
	}
	s := in.read(a, b, w, outlet, low, high)
	flow := s.Flow
	s.Flow *= ratio
	s.PerInlet *= ratio
	s.PerOutlet *= ratio
	s.PerSuction = flow * perSuction
	s.Interpolate *= ratio
	s.Error = s.Interpolate + in.table.ReadingError*s.Flow
	return s, nil
}

// suctionRatio returns the ratio of the flow at a suction pressure to that at
// the table's own, and its slope in 1/Pa.
func (in *Injector) suctionRatio(suction float64) (ratio, slope float64, err error) {
	own := in.table.SuctionPressure
	if len(in.curve) == 0 && math.Abs(suction-own) <= suctionTolerance*own {
		return 1, 0, nil
	}
	at, slope, err := in.curveFlow(suction)
	if err != nil {
		return 0, 0, err
	}
	base, _, err := in.curveFlow(own)
	if err != nil {
		return 0, 0, err
	}
	return at / base, slope / base, nil
}

// read joins two curves at an outlet pressure inside their common span.
func (in *Injector) read(a, b *injectorCurve, w, outlet, low, high float64) SuctionState {
	u := (outlet - low) / (high - low)
	fa, sa, ra := a.at(a.position(u), a.suction)
	if a == b {
		s := SuctionState{Flow: fa, PerOutlet: sa, Interpolate: ra / 2}
		s.PerInlet = in.inletSlope(a, u, s)
		return s
	}
	fb, sb, rb := b.at(b.position(u), b.suction)
	curvature := math.Max(in.inletResidual(a, u), in.inletResidual(b, u))
	s := SuctionState{Flow: lerp(fa, fb, w), Interpolate: (math.Max(ra, rb) + curvature) / 2}
	in.slopes(&s, a, b, w, u, fa, fb, sa, sb)
	s.Interpolate += math.Abs(in.readAtRatio(a, b, w, outlet) - s.Flow)
	return s
}

// inletResidual is how far a curve lies, at a relative position, from the line
// between the curves beside it; zero for an end curve.
func (in *Injector) inletResidual(c *injectorCurve, u float64) float64 {
	i := sort.Search(len(in.curves), func(i int) bool { return in.curves[i].inlet >= c.inlet })
	if i == 0 || i+1 == len(in.curves) {
		return 0
	}
	a, b := &in.curves[i-1], &in.curves[i+1]
	fa, _, _ := a.at(a.position(u), a.suction)
	fb, _, _ := b.at(b.position(u), b.suction)
	fc, _, _ := c.at(c.position(u), c.suction)
	return math.Abs(fc - lerp(fa, fb, (c.inlet-a.inlet)/(b.inlet-a.inlet)))
}

// slopes fills the derivatives of the joined reading. With u the relative
// position, both curves are read at their own outlet pressure for u, so a move
// of the outlet pressure moves u, and a move of the inlet pressure moves the
// weight and, through the span, u.
func (in *Injector) slopes(s *SuctionState, a, b *injectorCurve, w, u, fa, fb, sa, sb float64) {
	spanA := a.outlet[len(a.outlet)-1] - a.outlet[0]
	spanB := b.outlet[len(b.outlet)-1] - b.outlet[0]
	span := lerp(spanA, spanB, w)
	perU := lerp(sa*spanA, sb*spanB, w)
	s.PerOutlet = perU / span
	perW := fb - fa + perU*(-((b.outlet[0]-a.outlet[0])+u*(spanB-spanA))/span)
	s.PerInlet = perW / (b.inlet - a.inlet)
}

// inletSlope is the slope with inlet pressure on a curve: towards the next
// curve, or from the one before when there is none; zero for a table of one
// inlet pressure.
func (in *Injector) inletSlope(c *injectorCurve, u float64, s SuctionState) float64 {
	i := sort.Search(len(in.curves), func(i int) bool { return in.curves[i].inlet >= c.inlet })
	var a, b *injectorCurve
	w := 0.0
	switch {
	case i+1 < len(in.curves):
		a, b = &in.curves[i], &in.curves[i+1]
	case i > 0:
		a, b, w = &in.curves[i-1], &in.curves[i], 1
	default:
		return 0
	}
	fa, sa, _ := a.at(a.position(u), a.suction)
	fb, sb, _ := b.at(b.position(u), b.suction)
	in.slopes(&s, a, b, w, u, fa, fb, sa, sb)
	return s.PerInlet
}

// readAtRatio is the other way to join two curves: at the same ratio of
// (outlet - suction) to (inlet - suction) pressure, the similarity of jet
// pumps. Where a curve does not reach that ratio its end is taken; the result
// serves the error estimate only.
func (in *Injector) readAtRatio(a, b *injectorCurve, w, outlet float64) float64 {
	ps := in.table.SuctionPressure
	inlet := lerp(a.inlet, b.inlet, w)
	if inlet-ps <= 0 || a.inlet-ps <= 0 {
		// The similarity needs an inlet above suction; without it the two curves
		// are compared at the same outlet pressure.
		fa, _, _ := a.at(a.hold(outlet), a.suction)
		fb, _, _ := b.at(b.hold(outlet), b.suction)
		return lerp(fa, fb, w)
	}
	ratio := (outlet - ps) / (inlet - ps)
	fa, _, _ := a.at(a.hold(ps+ratio*(a.inlet-ps)), a.suction)
	fb, _, _ := b.at(b.hold(ps+ratio*(b.inlet-ps)), b.suction)
	return lerp(fa, fb, w)
}

// position returns the outlet pressure at a relative position on the curve.
func (c *injectorCurve) position(u float64) float64 {
	return c.hold(lerp(c.outlet[0], c.outlet[len(c.outlet)-1], u))
}

// hold brings an outlet pressure to the nearest one on the curve.
func (c *injectorCurve) hold(p float64) float64 {
	return math.Min(c.outlet[len(c.outlet)-1], math.Max(c.outlet[0], p))
}

// at reads a column of the curve at an outlet pressure inside it: value, slope
// and the larger leave-one-out residual of the two rows around it.
func (c *injectorCurve) at(p float64, column []float64) (value, slope, residual float64) {
	n := len(c.outlet)
	i := sort.Search(n, func(i int) bool { return c.outlet[i] > p })
	i = min(max(i, 1), n-1)
	slope = (column[i] - column[i-1]) / (c.outlet[i] - c.outlet[i-1])
	return column[i-1] + slope*(p-c.outlet[i-1]), slope, math.Max(c.residual[i-1], c.residual[i])
}

// SuctionHeld is [Injector.Suction] with each pressure brought to the nearest
// one that the table holds, and what was outside. It is for the iterates of a
// solver only: a solved state with anything outside is not a result.
func (in *Injector) SuctionHeld(inlet, outlet, suction float64) (SuctionState, []*InjectorRangeError, error) {
	for _, p := range []float64{inlet, outlet, suction} {
		if math.IsNaN(p) || math.IsInf(p, 0) {
			return SuctionState{}, nil, fmt.Errorf("injector pressure %g Pa: %w", p, fluid.ErrNotFinite)
		}
	}
	var outside []*InjectorRangeError
	clamp := func(axis InjectorAxis, x, low, high float64) float64 {
		if x >= low && x <= high {
			return x
		}
		outside = append(outside, newInjectorRange(axis, x, low, high))
		return math.Min(high, math.Max(low, x))
	}
	low, high := in.InletSpan()
	inlet = clamp(AxisInlet, inlet, low, high)
	low, high, err := in.OutletSpan(inlet)
	if err != nil {
		return SuctionState{}, nil, err
	}
	outlet = clamp(AxisOutlet, outlet, low, high)
	low, high = in.SuctionSpan()
	suction = clamp(AxisSuction, suction, low, high)
	s, err := in.Suction(inlet, outlet, suction)
	for _, o := range outside {
		switch o.Axis {
		case AxisInlet:
			s.PerInlet = 0
		case AxisOutlet:
			s.PerOutlet = 0
		case AxisSuction:
			s.PerSuction = 0
		}
	}
	return s, outside, err
}

// Motive returns the motive flow in m3/s at inlet and outlet pressure (Pa
// absolute), read like the suction flow. A table without motive flow: an error
// that wraps [ErrNoTable].
func (in *Injector) Motive(inlet, outlet float64) (float64, error) {
	if !in.table.MotiveStated {
		return 0, fmt.Errorf("injector motive flow: %w: the table does not state it", ErrNoTable)
	}
	a, b, w, err := in.between(inlet)
	if err != nil {
		return 0, err
	}
	low, high := outletSpan(a, b, w)
	if !(outlet >= low && outlet <= high) {
		return 0, newInjectorRange(AxisOutlet, outlet, low, high)
	}
	u := (outlet - low) / (high - low)
	fa, _, _ := a.at(a.position(u), a.motive)
	fb, _, _ := b.at(b.position(u), b.motive)
	return lerp(fa, fb, w), nil
}

// Drawn is the suction flow in service, corrected for the gas drawn.
type Drawn struct {
	Flow         fluid.Range // mol/s
	TableFlow    SuctionState
	RestrictLaw  float64 // ratio by the restriction law, which is the best value
	VolumeLaw    float64 // ratio by the volume law, the other end of the spread
	ReadingShare float64 // relative error of the table reading inside the spread
}

// Draw returns the molar flow of a gas other than the table's at inlet, outlet
// and suction pressure (Pa absolute). Two laws bound the correction:
//
//	restriction (square root, and sonic for like k)  n = nt sqrt(Mt Tt/(M T))
//	entrained volume (the jet takes volumes)         n = nt Tt/T
//
// Best is the restriction law, since suction ports and their check valves
// govern at useful flows; the volume law is the other end, and the error of the
// reading is added to both. A flow cannot be negative, so low stops at zero.
//
// Source: incompressible restriction and sonic nozzle at equal pressure; the
// choice of the best value is common practice.
func (in *Injector) Draw(inlet, outlet, suction float64, gas SuctionGas) (Drawn, error) {
	if err := within(
		limit{"molar mass of the gas drawn", gas.MolarMass, 0.002, 0.3, "kg/mol"},
		limit{"temperature of the gas drawn", gas.Temperature, 200, 500, "K"},
	); err != nil {
		return Drawn{}, err
	}
	s, err := in.Suction(inlet, outlet, suction)
	if err != nil {
		return Drawn{}, err
	}
	restrict := math.Sqrt(in.table.GasMolarMass * in.table.GasTemperature / (gas.MolarMass * gas.Temperature))
	volume := in.table.GasTemperature / gas.Temperature
	d := Drawn{TableFlow: s, RestrictLaw: restrict, VolumeLaw: volume}
	if s.Flow > 0 {
		d.ReadingShare = s.Error / s.Flow
	}
	low, high := math.Min(restrict, volume), math.Max(restrict, volume)
	d.Flow = fluid.Range{
		Low:  math.Max(0, (s.Flow-s.Error)*low),
		Best: s.Flow * restrict,
		High: (s.Flow + s.Error) * high,
	}
	return d, nil
}
