package network

import (
	"fmt"
	"math"
)

// form is the shape of an edge's law.
type form uint8

const (
	formPipeLiquid form = iota + 1
	formPipeGas
	formQuadratic // liquid: W = pa − pb − static, perhaps choked
	formValveGas
	formOrificeGas
	formPower
	formPump
	formBlower
	formMotive
	formSuction
	formFixed
)

// control is what makes an edge switch.
type control uint8

const (
	controlNone    control = iota
	controlCheck           // one way, opening pressure
	controlReduce          // pressure at b not above set
	controlBack            // pressure at a not above set
	controlLimit           // flow not above set
	controlVent            // gas: what arrives in the vessel
	controlDrain           // liquid: what arrives in the vessel
	controlSuction         // one way
)

// edge is an element, or half an injector, in the form the iteration reads.
type edge struct {
	form    form
	control control
	state   State
	gas     bool
	blocked bool
	a, b    int32
	elem    int32
	flips   int32

	set     float64 // set pressure, flow, opening pressure or highest difference
	static  float64 // liquid: g Δz, to be multiplied by density; gas pipe: √(p(a)/p(b)) at rest
	density float64
	r, q1   float64 // quadratic law
	r2, q2  float64 // leak law of a closed check valve
	k1, k2  float64 // by form
	re      float64 // Reynolds number per flow
	rough   float64
	memo    float64 // 1/√f of the last evaluation
	isen    isentropicGas

	q float64
	// linearisation: dq = c + ga dpa − gb dpb (+ gi dpi + go dpo)
	c, ga, gb, gi, go_ float64
	residual           float64 // Pa
	// gas carried: mol/s, kg/s, and p·V̇ in W
	n, m, pv float64
	ba, bb   float64 // gas in the liquid that leaves its ends, J/kg
	light    float64 // kg of gas for each J
	still    float64 // flow at which the liquid carries gas one way only, kg/s
	// linearisation by ba and bb: of the law in its unit, and of the flow
	ra, rb, da, db float64

	pos      [4]int32 // matrix places (a,a) (a,b) (b,a) (b,b), −1 none
	extra    [2]int32 // suction: (a, in) (a, out)
	in, out  int32    // suction: nodes of the motive side
	vessel   int32    // float devices
	motive   int32    // suction: edge index of the motive side
	diameter float64
}

// phase is what flows in an edge.
func (e *edge) phase() Phase {
	if e.gas {
		return Gas
	}
	return Liquid
}

// vessel is a tie between a liquid and a gas node.
type vessel struct {
	elem        int32
	liquid, gas int32
	offset      float64 // p(liquid) − p(gas)
	released    float64
	sets        Setter
	gasOut      float64 // gas released, mol/s
}

// carriage describes the gas that an injector adds.
type carriage struct{ molarMass, molarEnergy float64 }

func (s *solver) compile(p *Problem) error {
	s.p = p
	s.edges = s.edges[:0]
	s.vessels = s.vessels[:0]
	s.injectors = s.injectors[:0]
	s.curves = s.curves[:0]
	if err := p.check(); err != nil {
		return err
	}
	s.factor = p.TwoPhaseFactor
	if s.factor == 0 {
		s.factor = 1
	}
	n := len(p.Nodes)
	s.tied = grow(s.tied, n)
	s.offset = grow(s.offset, n)
	for i := range s.tied {
		s.tied[i] = -1
		s.offset[i] = 0
	}
	for i := range p.Elements {
		if err := s.compileElement(i); err != nil {
			return at(err, func() string { return "element " + p.elementName(i) })
		}
	}
	return s.linkFloats()
}

func (s *solver) fluidOf(want Phase, index int) (*Fluid, error) {
	if index < 0 || index >= len(s.p.Fluids) {
		return nil, &BadInputError{What: "fluid index", Value: float64(index),
			Want: fmt.Sprintf("0 to %d", len(s.p.Fluids)-1)}
	}
	f := &s.p.Fluids[index]
	if f.Phase != want {
		return nil, &BadInputError{What: "fluid index", Value: float64(index), Want: "a " + want.String() + " as its nodes are"}
	}
	return f, nil
}

func (s *solver) nodeIndex(i int, what string) error {
	if i < 0 || i >= len(s.p.Nodes) {
		return &BadInputError{What: what, Value: float64(i), Want: fmt.Sprintf("a node index, 0 to %d", len(s.p.Nodes)-1)}
	}
	return nil
}

func (s *solver) compileElement(i int) error {
	p := s.p
	el := &p.Elements[i]
	if err := firstError(s.nodeIndex(el.From, "From"), s.nodeIndex(el.To, "To")); err != nil {
		return err
	}
	if el.Law == nil {
		return &BadInputError{What: "law", Value: 0, Want: "one of the laws of this package, by value"}
	}
	if el.From == el.To {
		return &BadInputError{What: "To", Value: float64(el.To), Want: "another node than From"}
	}
	a, b := &p.Nodes[el.From], &p.Nodes[el.To]
	if v, ok := el.Law.(Vessel); ok {
		return s.compileVessel(i, el, v)
	}
	if a.Phase != b.Phase {
		return &BadInputError{What: "phase of To", Value: float64(b.Phase), Want: "that of From: only a vessel joins liquid and gas"}
	}
	f, err := s.fluidOf(a.Phase, el.Fluid)
	if err != nil {
		return err
	}
	e := edge{elem: int32(i), a: int32(el.From), b: int32(el.To), gas: a.Phase == Gas, blocked: el.Blocked,
		vessel: -1, in: -1, out: -1, motive: -1}
	rise := b.Elevation - a.Elevation
	if !e.gas {
		e.static = Gravity * rise
		e.density = f.Density
	}
	if l, ok := el.Law.(Injector); ok {
		return s.compileInjector(el, l, f, e)
	}
	if err := s.setLaw(&e, el.Law, f, rise); err != nil {
		return err
	}
	e.stillFlow()
	s.edges = append(s.edges, e)
	return nil
}

// setLaw gives an edge the law of its element, and checks that. The edge rises by so many metres.
func (s *solver) setLaw(e *edge, law Law, f *Fluid, rise float64) (err error) {
	switch l := law.(type) {
	case Pipe:
		err = l.check()
		e.pipe(l, f, rise)
	case Fitting:
		err = firstError(positive("diameter", l.Diameter, "above 0 m"), positive("loss coefficient K", l.K, "above 0"))
		e.pipe(Pipe{Diameter: l.Diameter, K: l.K}, f, rise)
	case Valve:
		err = l.check(f)
		e.valve(l, f)
	case CheckValve:
		err = firstError(l.Valve.check(f), inRange("opening pressure", l.Opening, 0, 1e8, "0 to 1e8 Pa"),
			inRange("leak coefficient", l.LeakKv, 0, 0.5*l.Kv, "0 (tight) to half of Kv"))
		e.valve(l.Valve, f)
		e.control, e.set = controlCheck, l.Opening
		if l.LeakKv > 0 {
			e.r2, e.q2 = e.r*sq(l.Kv/l.LeakKv), e.q1*l.LeakKv/l.Kv
		}
	case Orifice:
		err = l.check(f)
		e.orifice(l, f)
	case PowerLaw:
		err = firstError(e.mustBe(Liquid, law), positive("resistance", l.Resistance, "above 0"),
			inRange("exponent", l.Exponent, 1, 3, "1 to 3"))
		e.form, e.k1, e.k2 = formPower, f.Density*Gravity*l.Resistance/math.Pow(f.Density, l.Exponent), l.Exponent
		e.q1 = math.Pow(1/e.k1, 1/l.Exponent)
	case Pump:
		err = firstError(e.mustBe(Liquid, law), l.Curve.check(true), inRange("speed ratio", l.Speed, 0, 2, "0 to 2"))
		if err == nil && !l.NPSHRequired.empty() {
			err = l.NPSHRequired.check(false)
		}
		s.machine(e, formPump, l.Speed, l.Curve, f.Density)
	case Blower:
		err = firstError(e.mustBe(Gas, law), l.Curve.check(true), inRange("speed ratio", l.Speed, 0, 2, "0 to 2"))
		s.machine(e, formBlower, l.Speed, l.Curve, f.molarEnergy())
	case Regulator:
		err = firstError(l.Valve.check(f), positive("set pressure", l.Set, "above 0 Pa absolute"))
		e.valve(l.Valve, f)
		e.control, e.set = controlReduce, l.Set
	case BackPressure:
		err = firstError(l.Valve.check(f), positive("set pressure", l.Set, "above 0 Pa absolute"))
		e.valve(l.Valve, f)
		e.control, e.set = controlBack, l.Set
	case FlowControl:
		err = firstError(l.Valve.check(f), positive("set flow", l.Set, "above 0 kg/s or mol/s"))
		e.valve(l.Valve, f)
		e.control, e.set = controlLimit, l.Set
	case FixedFlow:
		if !finite(l.Flow) || math.Abs(l.Flow) > 1e6 {
			err = &BadInputError{What: "flow", Value: l.Flow, Want: "finite, kg/s or mol/s"}
		}
		e.form, e.set = formFixed, l.Flow
	case FloatVent:
		err = firstError(e.mustBe(Gas, law), l.Orifice.check(f), inRange("highest difference", l.MaxDifference, 0, 1e9, "0 (no limit) or a pressure difference in Pa"))
		e.orifice(l.Orifice, f)
		e.control, e.set = controlVent, l.MaxDifference
	case FloatDrain:
		err = firstError(e.mustBe(Liquid, law), l.Orifice.check(f), inRange("highest difference", l.MaxDifference, 0, 1e9, "0 (no limit) or a pressure difference in Pa"))
		e.orifice(l.Orifice, f)
		e.control, e.set = controlDrain, l.MaxDifference
	default:
		err = &BadInputError{What: "law", Value: float64(law.kind()), Want: "one of the laws of this package, by value"}
	}
	return err
}

// stillFlow sets the flow below which a liquid edge does not carry gas one way.
func (e *edge) stillFlow() {
	e.still = 1e-3
	if e.diameter > 0 {
		e.still = slowest * e.density * math.Pi / 4 * sq(e.diameter)
	} else if e.form == formQuadratic { // as where it loses 1 Pa
		e.still = e.q1
	}
}

func (e *edge) mustBe(want Phase, l Law) error {
	if e.gas == (want == Gas) {
		return nil
	}
	return &BadInputError{What: "phase of the nodes of a " + l.kind().String(), Value: float64(3 - want),
		Want: fmt.Sprintf("%d (%s)", want, want)}
}

func sq(x float64) float64 { return x * x }

// gasUnit is the squared-pressure difference, Pa², that 1 Pa makes at 1 bar:
// below it quadratic gas laws are smoothed.
const gasUnit = 2e5

func (e *edge) pipe(l Pipe, f *Fluid, dz float64) {
	area := math.Pi / 4 * l.Diameter * l.Diameter
	e.k1, e.k2, e.rough = l.Length/l.Diameter, l.K, l.Roughness/l.Diameter
	e.diameter = l.Diameter
	if f.Phase == Liquid {
		e.form = formPipeLiquid
		e.r = 1 / (2 * f.Density * area * area)
		e.re = l.Diameter / (area * f.Viscosity)
		if l.Length == 0 {
			e.form, e.r = formQuadratic, e.r*l.K
			e.q1 = math.Sqrt(1 / e.r)
		} else if l.K > 0 {
			e.q1 = math.Sqrt(1 / (e.r * l.K))
		}
		return
	}
	e.form = formPipeGas
	e.r = f.MolarMass * f.molarEnergy() / (area * area)
	e.re = l.Diameter * f.MolarMass / (area * f.Viscosity)
	if l.K > 0 {
		e.q1 = math.Sqrt(gasUnit / (e.r * l.K))
	}
	e.static = 1
	if l.Length > 0 {
		e.static = math.Exp(Gravity * f.MolarMass * dz / (2 * f.molarEnergy()))
	}
}

func (e *edge) valve(l Valve, f *Fluid) {
	e.diameter = l.Diameter
	c2 := sq(l.Kv/3600) * waterDensity * 1e-5 // w² = c2 ρ Δp
	if f.Phase == Liquid {
		e.form = formQuadratic
		e.r = 1 / (c2 * f.Density)
		e.q1 = math.Sqrt(1 / e.r)
		if l.RecoveryFactor > 0 {
			e.k1 = sq(l.RecoveryFactor)
			e.k2 = (0.96 - 0.28*math.Sqrt(f.VapourPressure/f.CriticalPressure)) * f.VapourPressure
		}
		return
	}
	e.form = formValveGas
	e.r = f.MolarMass * f.molarEnergy() / c2
	e.q1 = math.Sqrt(gasUnit / 2 / e.r)
	e.k1 = f.HeatRatio / 1.4 * l.PressureRatioFactor
}

func (e *edge) orifice(l Orifice, f *Fluid) {
	e.diameter = l.Diameter
	cda := l.Coefficient * math.Pi / 4 * sq(l.Diameter)
	if f.Phase == Liquid {
		e.form = formQuadratic
		e.r = 1 / (2 * f.Density * cda * cda)
		e.q1 = math.Sqrt(1 / e.r)
		return
	}
	e.form = formOrificeGas
	e.r = f.MolarMass * f.molarEnergy() / (2 * cda * cda)
	e.q1 = math.Sqrt(gasUnit / 2 / e.r)
	e.isen = newIsentropic(f.HeatRatio)
}

// machine: k1 is density (pump) or Z R T (blower), k2 the speed ratio, in the
// index of the curve.
func (s *solver) machine(e *edge, fm form, speed float64, c Curve, k1 float64) {
	e.form, e.k1, e.k2, e.in = fm, k1, speed, int32(len(s.curves))
	s.curves = append(s.curves, c)
}

func (s *solver) compileInjector(el *Element, l Injector, f *Fluid, e edge) error {
	p := s.p
	if err := firstError(e.mustBe(Liquid, l), s.nodeIndex(l.SuctionNode, "SuctionNode")); err != nil {
		return err
	}
	if p.Nodes[l.SuctionNode].Phase != Gas {
		return &BadInputError{What: "phase of the suction node", Value: float64(p.Nodes[l.SuctionNode].Phase), Want: "2 (gas)"}
	}
	g, err := s.fluidOf(Gas, l.GasFluid)
	if err != nil {
		return err
	}
	if l.Suction == nil {
		return &BadInputError{What: "suction function", Value: 0, Want: "a function: without one no suction can be computed"}
	}
	if len(s.injectors) == maxInjectors {
		return &BadInputError{What: "number of injectors", Value: maxInjectors + 1, Want: fmt.Sprintf("at most %d", maxInjectors)}
	}
	motive := len(s.edges)
	if l.Motive == nil {
		if err := positive("motive flow coefficient", l.MotiveKv, "above 0 m³/h at 1 bar, or a motive function"); err != nil {
			return err
		}
		e.valve(Valve{Kv: l.MotiveKv}, f)
	} else {
		e.form = formMotive
	}
	e.stillFlow()
	s.edges = append(s.edges, e)
	c := edge{form: formSuction, control: controlSuction, elem: e.elem, a: int32(l.SuctionNode), b: -1, gas: true,
		blocked: el.Blocked, in: e.a, out: e.b, motive: int32(motive), vessel: -1}
	if l.ReverseLeak {
		c.control = controlNone
	}
	s.injectors = append(s.injectors, injection{suction: int32(len(s.edges)), motive: int32(motive),
		carriage: carriage{g.MolarMass, g.molarEnergy()}, draw: l.Suction, push: l.Motive})
	c.set = float64(len(s.injectors) - 1)
	s.edges[motive].set, s.edges[motive].motive = c.set, int32(motive)
	s.edges = append(s.edges, c)
	return nil
}

// injection is an injector's functions and the two edges it became.
type injection struct {
	suction, motive int32
	carriage        carriage
	draw            SuctionFunc
	push            MotiveFunc
	// Relaxed motive pressures and draw, in use while solver.slow holds.
	pIn, pOut, drawn float64
}

func (s *solver) compileVessel(i int, el *Element, v Vessel) error {
	p := s.p
	if p.Nodes[el.From].Phase != Liquid || p.Nodes[el.To].Phase != Gas {
		return &BadInputError{What: "phase of From", Value: float64(p.Nodes[el.From].Phase),
			Want: "1 (liquid), with To 2 (gas), for a vessel"}
	}
	if el.Blocked {
		return &BadInputError{What: "blocked", Value: 1, Want: "false for a vessel: block the elements around it"}
	}
	f, err := s.fluidOf(Liquid, el.Fluid)
	if err == nil {
		_, err = s.fluidOf(Gas, v.GasFluid)
	}
	if err == nil {
		err = firstError(inRange("level", v.Level, -1e5, 1e5, "finite, metre"),
			inRange("released fraction", v.Released, 0, 1, "0 to 1"))
	}
	if err != nil {
		return err
	}
	slave, master := el.To, el.From
	offset := f.Density * Gravity * (v.Level - p.Nodes[el.From].Elevation)
	rel := -offset
	if v.Sets == GasSets {
		slave, master, rel = el.From, el.To, offset
	} else if v.Sets != LiquidSets {
		return &BadInputError{What: "side that sets the pressure", Value: float64(v.Sets), Want: "LiquidSets or GasSets"}
	}
	if p.Nodes[slave].Pressure != nil {
		return &BadInputError{What: "fixed pressure of node " + p.nodeName(slave), Value: *p.Nodes[slave].Pressure,
			Want: "none: the other side of the vessel sets it"}
	}
	if s.tied[slave] >= 0 || s.tied[master] >= 0 {
		return &BadInputError{What: "vessel at node " + p.nodeName(slave), Value: float64(slave),
			Want: "one vessel per node, and no chain of vessels"}
	}
	for _, o := range s.vessels {
		if int(o.liquid) == el.From || int(o.gas) == el.To {
			return &BadInputError{What: "second vessel at node " + p.nodeName(el.From), Value: float64(el.From), Want: "one vessel per node"}
		}
	}
	s.tied[slave], s.offset[slave] = int32(master), rel
	s.vessels = append(s.vessels, vessel{elem: int32(i), liquid: int32(el.From), gas: int32(el.To), offset: offset,
		released: v.Released, sets: v.Sets})
	return nil
}

// linkFloats finds the vessel of each float vent and drain.
func (s *solver) linkFloats() error {
	for i := range s.edges {
		e := &s.edges[i]
		if e.control != controlVent && e.control != controlDrain {
			continue
		}
		for j := range s.vessels {
			v := &s.vessels[j]
			if e.control == controlVent && v.sets == LiquidSets && v.gas == e.a ||
				e.control == controlDrain && v.sets == GasSets && v.liquid == e.a {
				e.vessel = int32(j)
			}
		}
		if e.vessel < 0 {
			want := "the gas node of a vessel that has LiquidSets"
			if e.control == controlDrain {
				want = "the liquid node of a vessel that has GasSets"
			}
			return &BadInputError{Where: "element " + s.p.elementName(int(e.elem)), What: "From", Value: float64(e.a), Want: want}
		}
	}
	return nil
}

func grow[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}
