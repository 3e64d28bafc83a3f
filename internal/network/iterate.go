package network

import (
	"context"
	"math"
)

// manner is how cautious an attempt is.
type manner struct {
	damped   bool    // shorten steps that do not reduce the residuals
	pace     float64 // > 0: steps as of a transient; the first in units of the states' own size
	together bool    // gas in the liquid always moves together with the pressures
	careful  bool    // change one state at a time, only when the flows have settled
}

// iterate runs Newton's method from the present state. It reports the number of
// iterations and whether all residuals are within the tolerance.
func (s *solver) iterate(ctx context.Context, most int, how manner) (int, bool, error) {
	s.part.stale = true
	settled, quiet := true, 0
	last, apart := math.Inf(1), 0
	s.coupled = false
	s.pace = how.pace
	for it := 0; it < most; it++ {
		if err := ctx.Err(); err != nil {
			return it, false, err
		}
		if s.broken != nil {
			return it, false, s.broken
		}
		gas := s.carriers.carry(s)
		frozen := how.careful || it > 25
		s.changed = false
		settled = settled || s.part.pushing
		judged := s.soft > 0 || !frozen || settled // every state has been looked at
		relaxed := 0.0
		if s.slow {
			relaxed = s.relax(relaxation)
		}
		if s.soft > 0 {
			s.toggleSoft()
		} else if !frozen {
			for i := range s.edges {
				s.toggle(&s.edges[i])
			}
		} else if settled {
			s.toggleWorst()
		}
		if s.changed || s.part.stale {
			s.part.find(s)
			s.part.level(s)
		}
		worst := s.linearise()
		bad := s.assemble()
		err := max(worst, bad, gas)
		if s.coupled = err < couple || how.together; err > 10*last && !how.together {
			s.coupled, apart = false, 4
		}
		if apart > 0 {
			apart--
			s.coupled = false
		}
		if how.pace > 0 {
			if !math.IsInf(last, 1) {
				s.pace *= math.Max(0.3, math.Min(2, last/err))
			}
			s.pace = math.Max(s.pace, 1e-3)
		}
		last = err
		// A part that fixed flows push into does not settle before
		// something opens, so waiting has an end.
		if quiet++; s.changed {
			quiet = 0
		}
		settled = worst <= 10*s.tol && bad <= 10*s.tol || quiet > 8
		if max(worst, bad, relaxed, gas) <= s.tol && judged && !s.changed && it > 0 {
			return it, true, nil
		}
		s.step(how, it)
	}
	return most, false, nil
}

// smallestScale is the flow, by phase, below which balances and states are
// judged absolutely: 1 g/s and 10 µmol/s.
var smallestScale = [3]float64{Liquid: 1e-3, Gas: 1e-5}

// linearise evaluates every edge and returns the worst residual relative to the
// pressures at its ends.
func (s *solver) linearise() (worst float64) {
	s.scale = smallestScale
	for i := range s.edges {
		e := &s.edges[i]
		e.c, e.ga, e.gb, e.residual, e.da, e.db = 0, 0, 0, 0, 0, 0
		if e.form == formSuction {
			e.gi, e.go_ = 0, 0
			if e.state == Shut {
				e.q = 0
				continue
			}
			v := s.smallSuction(e, s.evaluateSuction(e))
			e.c = v - e.q
			s.scale[Gas] = math.Max(s.scale[Gas], math.Max(math.Abs(e.q), math.Abs(v)))
			worst = math.Max(worst, math.Abs(e.c)/s.scale[Gas])
			continue
		}
		pa, pb := s.pressure[e.a], s.pressure[e.b]
		size := math.Max(math.Max(math.Abs(pa), math.Abs(pb)), 1e3)
		s.lineariseOne(e, pa, pb)
		worst = math.Max(worst, math.Abs(e.residual)/size)
		ph := e.phase()
		s.scale[ph] = math.Max(s.scale[ph], math.Abs(e.q))
	}
	for i := range s.p.Nodes {
		n := &s.p.Nodes[i]
		s.scale[n.Phase] = math.Max(s.scale[n.Phase], math.Abs(n.Inflow))
	}
	return worst
}

func (s *solver) lineariseOne(e *edge, pa, pb float64) {
	switch {
	case e.blocked:
		e.q = 0
		return
	case e.form == formFixed:
		e.c = e.set - e.q
		return
	case s.soft > 0 && e.switches():
		s.soften(e, pa, pb)
		return
	case e.state == Shut || e.state == HeldShut:
		if e.control == controlCheck && e.r2 > 0 {
			s.leak(e, pa, pb)
			return
		}
		e.c = -e.q
		return
	case e.state == Controlling:
		switch e.control {
		case controlReduce:
			e.gb = s.stiff(e)
			e.residual = e.set - pb
			e.c = e.residual * e.gb
		case controlBack:
			e.ga = s.stiff(e)
			e.residual = pa - e.set
			e.c = e.residual * e.ga
		case controlLimit:
			e.c = e.set - e.q
		case controlVent: // at once: what follows from it is in the matrix
			e.q = s.arriving(e)
		case controlDrain:
			e.c = s.arriving(e) - e.q
		}
		return
	}
	if e.control == controlCheck {
		pa -= e.set
	}
	l := s.evaluate(e, pa, pb, e.q)
	if s.pace > 0 {
		l.dphi *= 1 + 1/s.pace
	}
	inv := 1 / l.dphi
	e.ga, e.gb, e.c = l.wa*inv, l.wb*inv, l.rest*inv
	if !e.gas && s.coupled {
		e.da, e.db = s.thin*e.ra*inv, s.thin*e.rb*inv
	}
	e.residual = l.pascal()
}

// leak is the law of a closed check valve that leaks.
func (s *solver) leak(e *edge, pa, pb float64) {
	phi, dphi := quadratic(e.r2, e.q2, e.q)
	l := law{pa - pb - e.density*e.static - phi, 1, 1, dphi}
	if e.gas {
		w, wa, wb := e.gasDrive(pa, pb)
		l = law{w - phi, wa, wb, dphi}
	}
	inv := 1 / l.dphi
	e.ga, e.gb, e.c = l.wa*inv, l.wb*inv, l.rest*inv
	e.residual = l.pascal()
}

// stiff is the conductance that stands for an ideal set point: a flow as large
// as the valve passes at 1 bar moves the pressure by 0.1 Pa within one step,
// and by nothing in the solution.
func (s *solver) stiff(e *edge) float64 {
	if e.gas {
		return 1e6 * math.Sqrt(1/e.r)
	}
	return 1e4 * math.Sqrt(1/e.r)
}

// balances sums the flow into each node less the flow out.
func (s *solver) balances() {
	for i := range s.p.Nodes {
		s.balance[i] = s.p.Nodes[i].Inflow
	}
	for i := range s.vessels {
		if v := &s.vessels[i]; v.sets == GasSets {
			s.balance[v.gas] += v.gasOut
		}
	}
	for i := range s.edges {
		e := &s.edges[i]
		s.balance[e.a] -= e.q
		if e.b >= 0 {
			s.balance[e.b] += e.q
		}
	}
}

// assemble fills matrix and right side and returns the worst balance relative
// to the largest flow of the phase.
func (s *solver) assemble() (worst float64) {
	m := s.matrix
	m.clear()
	s.balances()
	val := m.val
	rhs := s.rhs[:s.nvar]
	clear(rhs)
	for i := range s.edges {
		e := &s.edges[i]
		if r := s.row[e.a]; r >= 0 {
			rhs[r] -= e.c
		}
		if e.b < 0 {
			if e.ga != 0 {
				if p := e.pos[0]; p >= 0 {
					val[p] += e.ga
				}
				if p := e.extra[0]; p >= 0 {
					val[p] += e.gi
				}
				if p := e.extra[1]; p >= 0 {
					val[p] += e.go_
				}
			}
			continue
		}
		if r := s.row[e.b]; r >= 0 {
			rhs[r] += e.c
		}
		if p := e.pos[0]; p >= 0 {
			val[p] += e.ga
		}
		if p := e.pos[1]; p >= 0 {
			val[p] -= e.gb
		}
		if p := e.pos[2]; p >= 0 {
			val[p] -= e.ga
		}
		if p := e.pos[3]; p >= 0 {
			val[p] += e.gb
		}
	}
	s.carriers.assemble(s, rhs)
	for i, r := range s.row {
		if r < 0 {
			continue
		}
		rhs[r] += s.balance[i]
		worst = math.Max(worst, math.Abs(s.balance[i])/s.scale[s.p.Nodes[i].Phase])
	}
	if s.pace > 0 {
		for i, r := range s.row {
			if r >= 0 {
				val[m.place[r]] += s.scale[s.p.Nodes[i].Phase] / (math.Max(math.Abs(s.pressure[i]), 1e4) * s.pace)
			}
		}
	}
	for _, i := range s.part.roots {
		if r := s.row[i]; r >= 0 {
			d := m.place[r]
			val[d] += 1e3 * math.Max(s.scale[s.p.Nodes[i].Phase], 1e-5)
		}
	}
	return worst
}

// step solves the linear system and moves pressures and flows.
func (s *solver) step(how manner, it int) {
	m := s.matrix
	m.factorise(1e-25)
	x := s.rhs[:s.nvar]
	m.solve(x)
	for i := range x {
		if math.IsNaN(x[i]) || math.IsInf(x[i], 0) {
			x[i] = 0
		}
	}
	theta := 1.0
	if how.damped && it > 3 {
		theta = 0.7
		if it > 60 {
			theta = 0.4
		}
	}
	change := func(i int32) float64 {
		if c := s.col[i]; c >= 0 {
			return x[c]
		}
		return 0
	}
	for i := range s.edges {
		e := &s.edges[i]
		dq := e.c + e.ga*change(e.a)
		if e.b >= 0 {
			dq -= e.gb * change(e.b)
			if e.da != 0 || e.db != 0 {
				dq += s.carriers.part(e, x)
			}
		} else {
			dq += e.gi*change(e.in) + e.go_*change(e.out)
		}
		if dq != 0 {
			e.q += theta * dq
		}
	}
	s.carriers.step(x, theta)
	const most = 1e9
	for i := range s.pressure {
		c := s.col[i]
		if c < 0 || s.tied[i] >= 0 {
			continue
		}
		p := s.pressure[i]
		d := theta * x[c]
		if s.p.Nodes[i].Phase == Gas {
			d = math.Max(d, -0.7*p)
			d = math.Min(d, 2*p+1e5)
		}
		s.pressure[i] = math.Max(-most, math.Min(most, p+d))
	}
	s.follow()
	if len(s.part.roots) > 0 {
		s.part.level(s)
	}
}
