package network

import "math"

// Reynolds numbers between which laminar and turbulent friction are blended.
// White, "Fluid Mechanics", names 2300 as the accepted onset in pipes; 2000 to
// 4000 as the uncertain range is common practice.
const (
	laminarLimit   = 2000
	turbulentLimit = 4000
)

// FrictionFactor is the Darcy friction factor of a circular pipe.
//
// Re ≤ 2000: f = 64/Re. Re ≥ 4000: Colebrook–White, 1/√f = −2 log10(ε/(3.7 D) +
// 2.51/(Re √f)), solved to rounding. Between: both blended with a cubic step,
// so that f has a continuous slope and the pressure loss rises with flow.
//
// reynolds > 0; relativeRoughness ε/D from 0 to 0.05. Outside: a
// [*BadInputError].
//
// Source: Clamond, Ind. Eng. Chem. Res. 48 (2009) 3665, Eq. 1, for the form and
// constants of Colebrook–White.
func FrictionFactor(reynolds, relativeRoughness float64) (float64, error) {
	if !(reynolds > 0) || math.IsInf(reynolds, 0) {
		return 0, &BadInputError{What: "Reynolds number", Value: reynolds, Want: "a finite number above 0"}
	}
	if !(relativeRoughness >= 0 && relativeRoughness <= maxRelativeRoughness) {
		return 0, &BadInputError{What: "relative roughness", Value: relativeRoughness, Want: "0 to 0.05"}
	}
	x := 0.0
	f, _ := friction(reynolds, relativeRoughness, &x)
	return f, nil
}

const maxRelativeRoughness = 0.05

// friction gives f and df/dRe. memo keeps 1/√f of the last call as a start for
// the next; 0 means none. The result is converged to rounding either way.
func friction(re, rr float64, memo *float64) (f, df float64) {
	if re <= laminarLimit {
		return 64 / re, -64 / (re * re)
	}
	ft, dft := colebrook(re, rr, memo)
	if re >= turbulentLimit {
		return ft, dft
	}
	const width = turbulentLimit - laminarLimit
	t := (re - laminarLimit) / width
	s := t * t * (3 - 2*t)
	ds := 6 * t * (1 - t) / width
	fl, dfl := 64/re, -64/(re*re)
	return fl + s*(ft-fl), dfl + s*(dft-dfl) + ds*(ft-fl)
}

// colebrook solves Colebrook–White for x = 1/√f by Newton's method and gives f
// and df/dRe.
func colebrook(re, rr float64, memo *float64) (f, df float64) {
	const twoOverLn10 = 2 / math.Ln10
	a, b := rr/3.7, 2.51/re
	x := *memo
	if !(x > 2 && x < 100) {
		// Start: one fixed-point step from a mid-range value.
		x = -twoOverLn10 * math.Log(a+b*8)
	}
	var y float64
	for range 8 {
		y = a + b*x
		dx := -(x + twoOverLn10*math.Log(y)) / (1 + twoOverLn10*b/y)
		x += dx
		if math.Abs(dx) < 1e-7*x { // next error is of the order of its square
			break
		}
	}
	*memo = x
	y = a + b*x
	s := twoOverLn10 / y
	dxdre := s * x * b / re / (1 + s*b)
	f = 1 / (x * x)
	return f, -2 * f / x * dxdre
}

// quadratic is φ = r q|q| and its slope, replaced below |q| = q1 by the odd
// cubic of equal value and slope there.
func quadratic(r, q1, q float64) (phi, dphi float64) {
	m := math.Abs(q)
	if m >= q1 {
		return r * q * m, 2 * r * m
	}
	s := q / q1
	return 0.5 * r * q1 * q * (1 + s*s), 0.5 * r * q1 * (1 + 3*s*s)
}

// quadraticInverse is the q at which quadratic gives phi.
func quadraticInverse(r, q1, phi float64) float64 {
	m := math.Abs(phi)
	if m >= r*q1*q1 {
		return math.Copysign(math.Sqrt(m/r), phi)
	}
	// Solve s + s³ = 2 m/(r q1²), 0 ≤ s ≤ 1, by Newton's method.
	c := 2 * m / (r * q1 * q1)
	s := c / 2
	for range 20 {
		ds := (s + s*s*s - c) / (1 + 3*s*s)
		s -= ds
		if math.Abs(ds) < 1e-15 {
			break
		}
	}
	return math.Copysign(s*q1, phi)
}
