package network

import "math"

// cold sets pressures and flows to start from without knowledge.
func (s *solver) cold() {
	var sum [3]float64
	var count [3]float64
	for i := range s.p.Nodes {
		if n := &s.p.Nodes[i]; n.Pressure != nil {
			sum[n.Phase] += *n.Pressure
			count[n.Phase]++
		}
	}
	mean := func(ph Phase) float64 {
		if count[ph] > 0 {
			return sum[ph] / count[ph]
		}
		if other := 3 - ph; count[other] > 0 {
			return sum[other] / count[other]
		}
		return 1e5
	}
	pl, pg := mean(Liquid), mean(Gas)
	for i := range s.p.Nodes {
		n := &s.p.Nodes[i]
		switch {
		case n.Pressure != nil:
			s.pressure[i] = *n.Pressure
		case n.Phase == Liquid:
			s.pressure[i] = pl
		default:
			s.pressure[i] = pg
		}
	}
	s.follow()
	s.carriers.clean(s)
	for i := range s.edges {
		e := &s.edges[i]
		e.flips, e.memo, e.n, e.m, e.pv, e.ba, e.bb, e.light = 0, 0, 0, 0, 0, 0, 0, 0
		e.state = Open
		e.q = s.firstFlow(e)
		if e.blocked {
			e.state, e.q = Shut, 0
		}
	}
}

// firstFlow is a flow of ordinary size for the edge.
func (s *solver) firstFlow(e *edge) float64 {
	switch e.form {
	case formPipeLiquid: // about 1 m/s
		return e.density * math.Pi / 4 * sq(e.diameter)
	case formPipeGas: // about 5 m/s at 1 bar: q = p V A / (Z R T); A² = M Z R T / r
		f := s.fluid(e)
		return 5e5 * math.Sqrt(f.MolarMass/(e.r*f.molarEnergy()))
	case formQuadratic:
		return quadraticInverse(e.r, e.q1, 1e4)
	case formValveGas, formOrificeGas:
		return quadraticInverse(e.r, e.q1, 2e9)
	case formPower:
		return math.Pow(1e4/e.k1, 1/e.k2)
	case formPump:
		c := &s.curves[e.in]
		return e.density * c.middle() * math.Max(e.k2, 0.1)
	case formBlower:
		c := &s.curves[e.in]
		return 1e5 / e.k1 * c.middle() * math.Max(e.k2, 0.1)
	case formFixed:
		return e.set
	}
	return 0
}

func (s *solver) fluid(e *edge) *Fluid {
	el := &s.p.Elements[e.elem]
	if in, ok := el.Law.(Injector); ok && e.gas {
		return &s.p.Fluids[in.GasFluid]
	}
	return &s.p.Fluids[el.Fluid]
}

// warm starts from an earlier solution.
func (s *solver) warm(from *Solution) {
	s.cold()
	for i := range s.p.Nodes {
		if v := from.Nodes[i].Pressure; s.p.Nodes[i].Pressure == nil && finite(v) && math.Abs(v) < 1e11 {
			s.pressure[i] = v
			if s.p.Nodes[i].Phase == Gas {
				s.pressure[i] = math.Max(v, 100)
			}
		}
	}
	s.follow()
	s.carriers.warm(s, from)
	for i := range s.edges {
		e := &s.edges[i]
		r := &from.Elements[e.elem]
		if e.blocked || e.form == formFixed || !finite(r.Flow) {
			continue
		}
		e.q = r.Flow
		if e.form == formSuction {
			e.q = r.Gas
		}
		if e.control == controlNone {
			continue
		}
		s.warmState(e, r.State)
	}
}

// warmState takes over a state. A one-way element that is reported shut may have
// been open at rest, at the edge of opening: then it starts open again.
func (s *solver) warmState(e *edge, st State) {
	switch e.control {
	case controlSuction:
		if e.q > 0 {
			return
		}
		v := s.suction(e)
		if e.q = 0; math.Abs(v) > 1e-3*smallestScale[Gas] {
			e.state = Shut
		}
		return
	case controlCheck:
		if e.q == 0 && math.Abs(s.slack(e)) < 1e-6*math.Abs(s.pressure[e.a]) {
			return
		}
	}
	switch st {
	case Shut, HeldShut:
		e.state, e.q = Shut, 0
	case Controlling:
		if e.control != controlCheck {
			e.state = Controlling
		}
	}
}

// follow sets the pressures of tied nodes.
func (s *solver) follow() {
	for i, m := range s.tied {
		if m >= 0 {
			s.pressure[i] = s.pressure[m] + s.offset[i]
		}
	}
}
