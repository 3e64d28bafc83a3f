package network

import "math"

// law is an edge's law at one point: rest = W(pa, pb) − φ(q) in the law's own
// unit (Pa or Pa²), the slopes wa = ∂W/∂pa, wb = −∂W/∂pb, and dphi = dφ/dq.
type law struct{ rest, wa, wb, dphi float64 }

// pascal is the residual in pascal.
func (l *law) pascal() float64 {
	if s := math.Max(l.wa, l.wb); s > 0 {
		return l.rest / s
	}
	return l.rest
}

const (
	lowestPressure = 1.0  // Pa, floor for gas inside laws
	lowestMixture  = 1e4  // Pa, floor for the density of gas in liquid
	voidCap        = 0.99 // void fraction beyond which two-phase losses no longer grow
)

// chord turns the slope dphi of φ at q into about the mean slope from q to the
// flow q* that W would drive: with the pressures held, a step then ends near
// q*, with the flow held it ends at W = φ(q), and near the solution it is
// Newton's step. q of 0 has no slope in a quadratic law; there the mean
// slope, √(r |W|), is all. r is the quadratic coefficient at high flow.
func chord(q, w, phi, dphi, r float64) float64 {
	if n := dphi * q / phi; n > 1 && w*phi > 0 {
		dphi *= 1 + (n-1)*0.5*(math.Sqrt(w/phi)-1)
	}
	return math.Max(dphi, math.Sqrt(r*math.Abs(w)))
}

// evaluate gives the law of an open edge at its own flow q.
func (s *solver) evaluate(e *edge, pa, pb, q float64) law {
	switch e.form {
	case formPipeLiquid, formQuadratic:
		return s.evaluateLiquid(e, pa, pb, q)
	case formPipeGas:
		return evaluatePipeGas(e, pa, pb, q)
	case formValveGas, formOrificeGas:
		return evaluateGasRestriction(e, pa, pb, q)
	case formPower:
		w := pa - pb - e.density*e.static
		m := math.Abs(q)
		if m <= e.q1 { // straight line to zero below 1 Pa
			return law{w - q/e.q1, 1, 1, 1 / e.q1}
		}
		f := e.k1 * math.Pow(m, e.k2)
		return law{w - math.Copysign(f, q), 1, 1, e.k2 * f / m}
	case formPump:
		return s.evaluatePump(e, pa, pb, q)
	case formBlower:
		return s.evaluateBlower(e, pa, pb, q)
	case formMotive:
		return s.evaluateMotive(e, pa, pb, q)
	}
	return law{}
}

func (s *solver) evaluateLiquid(e *edge, pa, pb, q float64) law {
	var phi, dphi float64
	if e.form == formPipeLiquid {
		phi, dphi = e.pipeLoss(q)
	} else {
		phi, dphi = quadratic(e.r, e.q1, q)
	}
	e.ra, e.rb = 0, 0
	if e.ba > 0 || e.bb > 0 {
		return s.evaluateTwoPhase(e, pa, pb, q, phi, dphi)
	}
	w := pa - pb - e.density*e.static
	dphi = e.chord(q, w, phi, dphi)
	if e.k1 > 0 && e.form == formQuadratic { // liquid choking limit FL² (p1 − FF pv)
		p1 := math.Max(pa, pb)
		most := e.k1 * (p1 - e.k2)
		if math.Abs(w) > most && most > 0 {
			over := math.Abs(w) - most
			wf := math.Copysign(most+residualSlope*over, w)
			if w > 0 {
				return law{wf - phi, e.k1, residualSlope, dphi}
			}
			return law{wf - phi, residualSlope, e.k1, dphi}
		}
	}
	return law{w - phi, 1, 1, dphi}
}

// chord is the function of that name with the edge's own coefficient.
func (e *edge) chord(q, w, phi, dphi float64) float64 {
	r := e.r
	if e.form == formPipeLiquid || e.form == formPipeGas {
		r *= 0.02*e.k1 + e.k2 // friction factor of ordinary size
	}
	return chord(q, w, phi, dphi, r)
}

// pipeLoss is the friction and minor loss of a pipe, Pa (liquid) or Pa² (gas),
// and its slope.
func (e *edge) pipeLoss(q float64) (phi, dphi float64) {
	m := math.Abs(q)
	re := m * e.re
	if re < laminarLimit { // f m² = 64 m / e.re
		d := e.r * e.k1 * 64 / e.re
		phi, dphi = d*q, d
	} else {
		f, df := friction(re, e.rough, &e.memo)
		phi = e.r * e.k1 * f * q * m
		dphi = e.r * e.k1 * m * (2*f + df*re)
	}
	if e.k2 > 0 {
		a, b := quadratic(e.r*e.k2, e.q1, q)
		phi, dphi = phi+a, dphi+b
	}
	return phi, dphi
}

// evaluateTwoPhase is the homogeneous mixture of liquid and isothermal gas at
// one velocity with the friction factor of the liquid. The specific volume is
// that of the liquid times (1 + β/p), β = p V̇gas/V̇liquid, so that
//
//	∫ dp/(1 + β/p) = pa − pb − β ln((pa+β)/(pb+β)) = φ(q) (1 + ṁgas/ṁliquid) F
//
// with the loss φ of the liquid alone and the stated factor F. Static head is
// taken off pa at the density of the mean pressure; acceleration is left out.
func (s *solver) evaluateTwoPhase(e *edge, pa, pb, q, phi, dphi float64) law {
	pm, half := 0.5*(pa+pb), 0.5
	if pm < 1e3 {
		pm, half = 1e3, 0
	}
	up, t := e.ba, q/e.still
	if q < 0 {
		up = e.bb
	}
	along := t * t / (1 + t*t)
	b := up * along
	beta, varies := b*e.density, 1.0
	if most := pm * s.thin * voidCap / (1 - s.thin*voidCap); beta > most {
		beta, varies = most, 0
	}
	void := beta / (pm + beta)
	gasShare, heavier := b*e.light, e.light
	if gasShare > 1 {
		gasShare, heavier = 1, 0
	}
	rho := e.density * (1 + gasShare) * (1 - void)
	static := rho * e.static
	// Below lowestMixture the integral goes on in a straight line.
	x, y := math.Max(pa-static, lowestMixture), math.Max(pb, lowestMixture)
	wa, wb := x/(x+beta), y/(y+beta)
	log := math.Log((x + beta) / (y + beta))
	w := x - y - beta*log + (pa-static-x)*wa - (pb-y)*wb
	wbeta := -log - beta*(1/(x+beta)-1/(y+beta)) - (pa-static-x)*wa/(x+beta) + (pb-y)*wb/(y+beta)

	loss := phi * (1 + gasShare) * s.factor
	slope := e.chord(q, w/s.factor, phi, dphi) * (1 + gasShare) * s.factor
	// Through the gas, which also thins the static head.
	through := varies*(wbeta+wa*static/(pm+beta))*e.density - phi*heavier*s.factor
	e.ra, e.rb = along*through, 0
	if q < 0 {
		e.ra, e.rb = 0, e.ra
	}
	slope -= through * up * 2 * t / (e.still * sq(1+t*t))
	slope = math.Max(slope, 0.01*dphi*s.factor)
	// Through the mean pressure, which thickens the head; gas at its cap grows
	// with it.
	tilt := half * wa * static * void / pm
	if varies == 0 {
		tilt = -half * wbeta * beta / pm
	}
	return law{w - loss, math.Max(wa-tilt, 0.1*wa), math.Max(wb+tilt, 0.1*wb), slope}
}

func evaluatePipeGas(e *edge, pa, pb, q float64) law {
	phi, dphi := e.pipeLoss(q)
	pa, pb = math.Max(pa, lowestPressure), math.Max(pb, lowestPressure)
	// Resistance at this flow, for the acceleration term.
	n := e.k2
	if e.k1 > 0 {
		re := math.Max(math.Abs(q)*e.re, 1)
		f, _ := friction(re, e.rough, &e.memo)
		n += e.k1 * f
	}
	// Gas at rest: both pressures are taken to the mid elevation.
	root := e.static
	x, y := pa/root, pb*root
	sign := 1.0
	if y > x {
		x, y, sign = y, x, -1
	}
	h, dh := isothermal(y/x, math.Max(n, 1e-3))
	w := sign * x * x * h
	dphi = e.chord(q, w, phi, dphi)
	wx, wy := 2*x*h-y*dh, -x*dh // slopes on the higher and (negative) the lower
	if sign > 0 {
		return law{w - phi, wx / root, wy * root, dphi}
	}
	return law{w - phi, wy / root, wx * root, dphi}
}

func evaluateGasRestriction(e *edge, pa, pb, q float64) law {
	phi, dphi := quadratic(e.r, e.q1, q)
	w, wa, wb := e.gasDrive(pa, pb)
	dphi = e.chord(q, w, phi, dphi)
	return law{w - phi, wa, wb, dphi}
}

// gasDrive is W of a gas valve or orifice.
func (e *edge) gasDrive(pa, pb float64) (w, wa, wb float64) {
	pa, pb = math.Max(pa, lowestPressure), math.Max(pb, lowestPressure)
	x, y, back := pa, pb, false
	if y > x {
		x, y, back = y, x, true
	}
	var h, dh float64
	if e.form == formValveGas {
		h, dh = expansion(y/x, e.k1)
	} else {
		h, dh = isentropic(y/x, e.isen)
	}
	w = x * x * h
	wx, wy := 2*x*h-y*dh, -x*dh
	if back {
		return -w, wy, wx
	}
	return w, wx, wy
}

// machineSlope keeps Newton's matrix regular where a curve is flat; the
// residual uses the curve as it is.
const machineSlope = 1e-3

// machineRise is speed² · curve(Q/speed) and its slope; a stopped machine keeps
// only the losses of its curve.
func machineRise(c *Curve, speed, q float64) (rise, slope float64) {
	if speed > 1e-6 {
		r, d := c.at(q / speed)
		return speed * speed * r, speed * d
	}
	k := c.Quadratic
	if n := len(c.Points); n > 0 {
		k = (c.Points[0].Rise - c.Points[n-1].Rise) / sq(c.Points[n-1].Flow)
	} else if k == 0 {
		k = sq(c.Linear) / c.ShutOff
	}
	m := math.Abs(q)
	return -k * q * m, -2 * k * m
}

func (s *solver) evaluatePump(e *edge, pa, pb, q float64) law {
	c := &s.curves[e.in]
	unit := e.density * Gravity
	rise, slope := machineRise(c, e.k2, q/e.density)
	floor := machineSlope * c.shutOff() / c.middle()
	d := math.Max(-slope, floor) * Gravity
	return law{pa - pb - e.density*e.static + unit*rise, 1, 1, d}
}

func (s *solver) evaluateBlower(e *edge, pa, pb, q float64) law {
	c := &s.curves[e.in]
	p := math.Max(pa, lowestPressure)
	v := q * e.k1 / p
	rise, slope := machineRise(c, e.k2, v)
	floor := machineSlope * c.shutOff() / c.middle()
	d := math.Max(-slope, floor)
	return law{pa - pb + rise, 1 + math.Max(-slope*v/p, 0), 1, d * e.k1 / p}
}

func (c *Curve) shutOff() float64 {
	if len(c.Points) > 0 {
		return c.Points[0].Rise
	}
	return c.ShutOff
}

// evaluateMotive treats a motive function f(pIn, pOut, pSuction) as a quadratic
// law of resistance Δp/f², which varies with the pressures.
func (s *solver) evaluateMotive(e *edge, pa, pb, q float64) law {
	in := &s.injectors[int(e.set)]
	ps := s.pressure[s.edges[in.suction].a]
	resistance := func(pa, pb float64) float64 {
		x, y := pa, pb
		if y > x {
			x, y = y, x
		}
		if d := x - y; d < 100 { // keep Δp/f² finite near zero
			x, y = x+(100-d)/2, y-(100-d)/2
		}
		f := s.trust(in.push(x, y, ps), int(e.elem), "motive flow")
		if !(f > 1e-9) {
			f = 1e-9
		}
		return (x - y) / (f * f)
	}
	r := resistance(pa, pb)
	q1 := math.Sqrt(1 / r)
	phi, dphi := quadratic(r, q1, q)
	h := 1e-4 * math.Max(math.Abs(pa-pb), 100)
	dra := (resistance(pa+h, pb) - r) / h
	drb := (resistance(pa, pb+h) - r) / h
	w := pa - pb - e.density*e.static
	share := phi / r
	dphi = chord(q, w, phi, dphi, r)
	return law{w - phi, math.Max(1-share*dra, 0), math.Max(1+share*drb, 0), dphi}
}

// evaluateSuction sets the linearisation of an injector's suction side.
func (s *solver) evaluateSuction(e *edge) float64 {
	in := &s.injectors[int(e.set)]
	pi, po, ps := s.pressure[e.in], s.pressure[e.out], s.pressure[e.a]
	if s.slow {
		pi, po = in.pIn, in.pOut
	}
	pi, po, ps = math.Max(pi, lowestPressure), math.Max(po, lowestPressure), math.Max(ps, lowestPressure)
	v := s.trust(in.draw(pi, po, ps), int(e.elem), "suction flow")
	h := 1e-7 * math.Max(ps, 1e3)
	e.ga = math.Max((in.draw(pi, po, ps+h)-v)/h, 1e-6*math.Abs(v)/ps+1e-16)
	if s.slow { // motive pressures are relaxed, not unknown
		e.gi, e.go_ = 0, 0
		return v
	}
	h = 1e-7 * math.Max(pi, 1e3)
	e.gi = (in.draw(pi+h, po, ps) - v) / h
	h = 1e-7 * math.Max(po, 1e3)
	e.go_ = (in.draw(pi, po+h, ps) - v) / h
	return v
}

// trust passes on a value of a caller's function; one that is not a number ends
// the solve.
func (s *solver) trust(v float64, element int, what string) float64 {
	if finite(v) {
		return v
	}
	if s.broken == nil {
		s.broken = &BadInputError{Where: "element " + s.p.elementName(element), What: what + " from its function", Value: v,
			Want: "a finite number for all positive pressures"}
	}
	return 0
}
