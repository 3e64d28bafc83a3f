package network

import "math"

// toggle changes the state of an edge that its own pressures and flow
// contradict.
func (s *solver) toggle(e *edge) {
	next, q := s.wanted(e)
	if next != e.state {
		s.change(e, next, q)
	}
}

func (s *solver) change(e *edge, next State, q float64) {
	e.state, e.q = next, q
	e.flips++
	s.changed = true
}

// toggleSoft sets the states that are left to switch while s.soft is above
// zero: floats. One-way suctions stay open.
func (s *solver) toggleSoft() {
	for i := range s.edges {
		e := &s.edges[i]
		switch e.control {
		case controlVent, controlDrain:
			s.toggle(e)
		case controlSuction:
			if e.state != Open && !e.blocked {
				s.change(e, Open, 0)
			}
		}
	}
}

// toggleWorst changes the state of the one edge that is most at odds with it,
// the first among equals; edges that have changed often count for less, so
// that two cannot go on for ever undoing each other.
func (s *solver) toggleWorst() {
	best, most := -1, 0.0
	for i := range s.edges {
		e := &s.edges[i]
		if next, _ := s.wanted(e); next != e.state {
			v := s.oddness(e) / float64(1+e.flips)
			if v > most || best < 0 {
				best, most = i, v
			}
		}
	}
	if best >= 0 {
		e := &s.edges[best]
		next, q := s.wanted(e)
		s.change(e, next, q)
	}
}

// oddness measures how far an edge is from its present state, dimensionless.
func (s *solver) oddness(e *edge) float64 {
	if e.state == Shut {
		if e.form == formSuction {
			return 1
		}
		return math.Abs(s.pressure[e.a]-s.pressure[e.b]) / 1e5
	}
	return math.Abs(e.q) / s.scale[e.phase()]
}

// slack is how much more pressure difference a shut edge has than it needs to
// open, Pa.
func (s *solver) slack(e *edge) float64 {
	pa, pb := s.pressure[e.a], s.pressure[e.b]
	d := pa - pb
	if !e.gas {
		d -= e.density * e.static
	}
	if e.control == controlCheck {
		d -= e.set
	}
	return d
}

// wanted is the state that an edge's pressures and flow ask for, and the flow
// to go on with.
func (s *solver) wanted(e *edge) (State, float64) {
	if e.blocked || e.control == controlNone {
		return e.state, e.q
	}
	switch e.control {
	case controlVent, controlDrain:
		return s.wantedFloat(e)
	case controlSuction:
		if e.state == Shut {
			if v := s.suction(e); v > s.flowTolerance(e) {
				return Open, v
			}
			return Shut, 0
		}
		if e.q < -s.flowTolerance(e) {
			return Shut, 0
		}
		return e.state, e.q
	}
	room := s.slack(e)
	want, next := room, Open
	pa, pb := s.pressure[e.a], s.pressure[e.b]
	switch e.control {
	case controlReduce:
		if c := e.set - pb; c < want {
			want, next = c, Controlling
		}
	case controlBack:
		if c := pa - e.set; c < want {
			want, next = c, Controlling
		}
	}
	tolerance := s.tol * math.Max(math.Abs(pa), math.Abs(pb))
	if e.state == Shut {
		if want > tolerance {
			if next == Controlling {
				return next, 0
			}
			return Open, s.opening(e, room)
		}
		return Shut, e.q
	}
	if e.q < -s.flowTolerance(e) {
		return Shut, 0
	}
	switch e.control {
	case controlCheck:
		return Open, e.q
	case controlLimit:
		if e.state == Open && e.q > e.set*(1+1e-9) {
			return Controlling, e.set
		}
		if e.state == Controlling {
			if l := s.evaluate(e, pa, pb, e.set); l.pascal() < -tolerance {
				return Open, e.set
			}
		}
		return e.state, e.q
	}
	rest := s.evaluate(e, pa, pb, e.q)
	open := rest.pascal()
	hold := e.set - pb
	if e.control == controlBack {
		hold = pa - e.set
	}
	if e.state == Open && hold < open-tolerance {
		return Controlling, e.q
	}
	if e.state == Controlling && open < hold-tolerance {
		return Open, e.q
	}
	return e.state, e.q
}

// opening is the flow that the present excess of pressure would drive, limited
// so that a far-off pressure does not ask for an absurd one.
func (s *solver) opening(e *edge, room float64) float64 {
	room = math.Min(room, 1e5)
	if e.gas {
		room *= math.Max(s.pressure[e.a], 1e4)
	}
	return quadraticInverse(e.r, e.q1, room)
}

func (s *solver) flowTolerance(e *edge) float64 { return 1e-9 * s.scale[e.phase()] }

// suction is what the function of an injector says of its suction edge at the present pressures.
func (s *solver) suction(e *edge) float64 {
	in := &s.injectors[int(e.set)]
	return in.draw(math.Max(s.pressure[e.in], lowestPressure), math.Max(s.pressure[e.out], lowestPressure),
		math.Max(s.pressure[e.a], lowestPressure))
}

// arriving is what a float device finds to pass: what comes to its vessel, less
// what the floats before it on the same vessel have taken.
func (s *solver) arriving(e *edge) float64 {
	v := &s.vessels[e.vessel]
	var in float64
	if e.control == controlVent {
		in = v.gasOut
	} else {
		in = s.p.Nodes[e.a].Inflow
		for i := range s.edges {
			o := &s.edges[i]
			if o.gas || o.control == controlDrain && o.vessel == e.vessel {
				continue
			}
			if o.b == e.a {
				in += o.q
			} else if o.a == e.a {
				in -= o.q
			}
		}
	}
	for i := range s.edges {
		o := &s.edges[i]
		if o == e {
			break
		}
		if o.vessel == e.vessel && o.control == e.control {
			in -= o.q
		}
	}
	return math.Max(in, 0)
}

// wantedFloat: shut with nothing to pass, held shut by too high a difference,
// controlling while the orifice could pass more than arrives, else open.
func (s *solver) wantedFloat(e *edge) (State, float64) {
	in := s.arriving(e)
	if in <= s.flowTolerance(e) {
		return Shut, 0
	}
	room := s.slack(e)
	if e.set > 0 && room > e.set {
		return HeldShut, 0
	}
	pa, pb := s.pressure[e.a], s.pressure[e.b]
	if e.state == Open && e.q >= -s.flowTolerance(e) && room > -s.tol*math.Abs(pa) {
		// What is behind it may be closed and as high as the vessel.
	} else if room <= 0 && e.state == Controlling {
		return Open, in // the orifice decides
	} else if room <= 0 {
		return Shut, 0
	}
	l := s.evaluate(e, pa, pb, in)
	if l.rest >= 0 {
		return Controlling, in
	}
	if e.state == Open {
		return Open, e.q
	}
	return Open, in
}
