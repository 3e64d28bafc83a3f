package network

import "math"

// solution reads the answer out of the workspace.
func (s *solver) solution(iterations int, ok bool) *Solution {
	p := s.p
	out := &Solution{Nodes: make([]NodeResult, len(p.Nodes)), Elements: make([]ElementResult, len(p.Elements)),
		Converged: ok, Iterations: iterations}
	for i := range s.edges {
		// A one-way element at rest may keep a trace of flow within the
		// tolerance; strictly it passes none.
		e := &s.edges[i]
		if ok && e.control != controlNone && e.r2 == 0 && e.q <= s.flowTolerance(e) {
			e.q = 0
			if e.state == Open {
				e.state = Shut
			}
		}
	}
	s.balances()
	for i := range p.Nodes {
		n := &out.Nodes[i]
		n.Pressure = s.pressure[i]
		n.ShutIn = s.part.number[i] >= 0
		b := s.balance[i]
		if p.Nodes[i].Pressure != nil || s.tied[i] >= 0 {
			n.Exchange = -b + 0
			continue
		}
		n.Imbalance = b
		out.MaxImbalance = math.Max(out.MaxImbalance, math.Abs(b)/s.scale[p.Nodes[i].Phase])
	}
	for i := range s.carriers.nodes {
		j := s.carriers.nodes[i]
		out.Nodes[j].CarriedGas = s.carriers.n[j]
		if c := &s.carriers; !c.vess[j] && c.b[j] > mostGas {
			out.Nodes[j].StrandedGas = strand * (c.b[j] - mostGas) * c.count[j]
		}
	}
	for i := range s.vessels {
		v := &s.vessels[i]
		out.Elements[v.elem] = ElementResult{Flow: v.gasOut, State: Open}
		if v.sets == LiquidSets {
			// Gas that the outlets do not take goes back to the liquid.
			x := &out.Nodes[v.gas].Exchange
			*x -= v.gasOut
			if *x > 1e-6*s.scale[Gas] {
				out.Elements[v.elem].Limits |= LimitOverfill
			}
		}
	}
	for i := range s.edges {
		s.report(&s.edges[i], out)
	}
	return out
}

func (s *solver) report(e *edge, out *Solution) {
	r := &out.Elements[e.elem]
	if e.form == formSuction {
		r.Gas = e.q
		r.SuctionResidual = e.c
		return
	}
	pa, pb := s.pressure[e.a], s.pressure[e.b]
	r.Flow, r.State, r.Residual = e.q, e.state, e.residual
	out.MaxResidual = math.Max(out.MaxResidual, math.Abs(e.residual))
	f := s.fluid(e)
	area := math.Pi / 4 * sq(e.diameter)
	if !e.gas {
		r.Gas = e.n
		volume := e.q / f.Density
		if e.n > 0 {
			pm := math.Max(0.5*(pa+pb), 1e3)
			vg := e.pv / pm
			if t := vg + math.Abs(volume); t > 0 {
				r.Void = vg / t
			}
			volume += math.Copysign(vg, volume)
			if r.Void > 0.9 {
				r.Limits |= LimitVoid
			}
		}
		if area > 0 {
			r.Velocity = volume / area
		}
		if math.Min(pa, pb) < f.VapourPressure {
			r.Limits |= LimitBoiling
		}
		if e.form == formQuadratic && e.k1 > 0 && e.q != 0 &&
			math.Abs(pa-pb-e.density*e.static) > e.k1*(math.Max(pa, pb)-e.k2) {
			r.Limits |= LimitChoked
		}
	} else if area > 0 {
		low := math.Max(math.Min(pa, pb), lowestPressure)
		r.Velocity = e.q * f.molarEnergy() / (low * area)
		k := f.HeatRatio
		if k == 0 {
			k = 1
		}
		r.Mach = math.Abs(r.Velocity) / math.Sqrt(k*f.molarEnergy()/f.MolarMass)
		if r.Mach > 0.3 && e.form == formPipeGas {
			r.Limits |= LimitMach
		}
	}
	if e.gas && e.q != 0 && e.state == Open {
		ratio := math.Min(pa, pb) / math.Max(pa, pb)
		if e.form == formValveGas && 1-ratio >= e.k1 || e.form == formOrificeGas && ratio <= e.isen.rc {
			r.Limits |= LimitChoked
		}
	}
	s.reportMachine(e, f, r)
}

func (s *solver) reportMachine(e *edge, f *Fluid, r *ElementResult) {
	if (e.form == formPump || e.form == formBlower || e.injects()) && e.q < 0 {
		r.Limits |= LimitReverse
	}
	var v float64
	switch e.form {
	case formPump:
		v = e.q / f.Density
		pump := s.p.Elements[e.elem].Law.(Pump)
		r.NPSHAvailable = (s.pressure[e.a] - f.VapourPressure) / (f.Density * Gravity)
		if pump.Diameter > 0 {
			r.NPSHAvailable += sq(v/(math.Pi/4*sq(pump.Diameter))) / (2 * Gravity)
		}
		if !pump.NPSHRequired.empty() {
			r.NPSHRequired, _ = pump.NPSHRequired.at(v)
		}
	case formBlower:
		v = e.q * e.k1 / math.Max(s.pressure[e.a], lowestPressure)
	default:
		return
	}
	if lo, hi, stated := s.curves[e.in].ends(); stated && e.k2 > 0 && (v < lo*e.k2*(1-1e-9) || v > hi*e.k2*(1+1e-9)) {
		r.Limits |= LimitCurve
	}
}

// failure names what is worst.
func (s *solver) failure(sol *Solution) error {
	e := &NotConvergedError{Iterations: sol.Iterations, Element: -1, Node: -1}
	for i := range sol.Elements {
		if v := math.Abs(sol.Elements[i].Residual); v > math.Abs(e.Residual) {
			e.Element, e.Residual, e.Name = i, sol.Elements[i].Residual, s.p.elementName(i)
		}
	}
	most := 0.0
	for i := range sol.Nodes {
		if v := math.Abs(sol.Nodes[i].Imbalance) / s.scale[s.p.Nodes[i].Phase]; v > most {
			most = v
			e.Node, e.Imbalance, e.NodeName = i, sol.Nodes[i].Imbalance, s.p.nodeName(i)
		}
	}
	for i := range s.edges {
		if next, _ := s.wanted(&s.edges[i]); next != s.edges[i].state {
			e.Switching++
		}
	}
	return e
}
