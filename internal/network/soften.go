package network

import "math"

// While s.soft is above zero, elements that switch follow smooth laws instead
// of states: a shut element leaks s.soft of its flow coefficient, a set point
// is held with a droop. Each such law is monotone, so Newton's method finds
// its way without states; letting s.soft go towards zero leads to the states
// of the ideal elements.

// soften linearises a switching edge for the present s.soft. The flow is
// max(leak, min(open law, set point)).
func (s *solver) soften(e *edge, pa, pb float64) {
	raised := pa
	if e.control == controlCheck {
		raised -= e.set
	}
	w, wa, wb := raised-pb-e.density*e.static, 1.0, 1.0
	if e.gas {
		w, wa, wb = e.gasDrive(raised, pb)
	}
	// φ with the coefficient of the leak for reverse flow, and its mean slope
	// from q to the flow that W drives.
	k := 1 / s.soft
	phi, slope := quadratic(e.r, e.q1, e.q)
	if e.q < 0 {
		phi, slope = quadratic(e.r*k*k, e.q1/k, e.q)
	}
	aim := quadraticInverse(e.r, e.q1, w)
	if w < 0 {
		aim = quadraticInverse(e.r*k*k, e.q1/k, w)
	}
	if d := aim - e.q; math.Abs(d) > 1e-6*math.Abs(aim) {
		slope = (w - phi) / d
	}
	l := law{w - phi, wa, wb, slope}
	inv := 1 / l.dphi
	e.ga, e.gb, e.c, e.residual = l.wa*inv, l.wb*inv, l.rest*inv, l.pascal()
	if e.state = Open; w < 0 {
		e.state = Shut
		return
	}
	g := s.stiff(e) * 1e-3 / s.soft
	var hold float64
	switch e.control {
	case controlReduce:
		hold = (e.set - pb) * g
	case controlBack:
		hold = (pa - e.set) * g
	case controlLimit:
		hold = e.set
	default:
		return
	}
	if hold >= e.q+e.c {
		return
	}
	e.residual, e.ga, e.gb = 0, 0, 0
	if hold < 0 {
		hold = 0 // shut by its set point; the leak keeps the matrix regular
		e.ga, e.gb = s.soft*1e-3*g, s.soft*1e-3*g
		e.c = -e.q
		e.state = Shut
		return
	}
	e.state = Controlling
	e.c = hold - e.q
	switch e.control {
	case controlReduce:
		e.gb = g
	case controlBack:
		e.ga = g
	default:
		e.ga, e.gb = 1e-3*g, 1e-3*g
	}
}

// harden leaves every switching edge in the state that the smooth laws found.
func (s *solver) harden() {
	s.soft = 0
	for i := range s.edges {
		e := &s.edges[i]
		e.flips = 0
		if e.state == Shut && e.control != controlVent && e.control != controlDrain {
			e.q = 0
		}
		if e.q < 0 && e.control != controlNone {
			e.q = 0
			e.state = Shut
		}
	}
	s.part.stale = true
}

func (e *edge) switches() bool {
	switch e.control {
	case controlCheck, controlReduce, controlBack, controlLimit:
		return !e.blocked
	}
	return false
}

// smallSuction is the part of a negative suction flow that passes while soft.
func (s *solver) smallSuction(e *edge, v float64) float64 {
	if s.soft == 0 || e.control == controlNone || v >= 0 {
		return v
	}
	k := math.Min(s.soft, 1)
	e.ga, e.gi, e.go_ = k*e.ga, k*e.gi, k*e.go_
	return k * v
}

// relaxation is the part of the way that motive pressures and draw of an
// injector move in one iteration while s.slow holds. It keeps liquid and gas
// from throwing each other about before either is near its solution.
const relaxation = 0.25

// relax moves the relaxed values and returns the largest change that is left,
// relative to the pressures and to the largest gas flow.
func (s *solver) relax(part float64) (left float64) {
	for i := range s.injectors {
		in := &s.injectors[i]
		g := &s.edges[in.suction]
		pi, po, n := s.pressure[g.in], s.pressure[g.out], math.Max(g.q, 0)
		left = math.Max(left, math.Abs(pi-in.pIn)/math.Max(math.Abs(pi), 1e3))
		left = math.Max(left, math.Abs(po-in.pOut)/math.Max(math.Abs(po), 1e3))
		left = math.Max(left, math.Abs(n-in.drawn)/s.scale[Gas])
		in.pIn += part * (pi - in.pIn)
		in.pOut += part * (po - in.pOut)
		in.drawn += part * (n - in.drawn)
	}
	return left
}

// draw is what the injector of suction edge g adds to the liquid.
func (s *solver) draw(in *injection) float64 {
	if s.slow {
		return in.drawn
	}
	return math.Max(s.edges[in.suction].q, 0)
}
