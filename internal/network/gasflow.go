package network

import "math"

// IsothermalFlow is the molar flow, mol/s, of a gas through a line of
// resistance n = f L/D + ΣK at constant temperature:
//
//	q = A √((p1² − p2²) / (M Z R T (n + 2 ln(p1/p2))))
//
// limited at the pressure ratio where this has its maximum (outlet Mach number
// 1/√κ). p1 ≥ p2 > 0 are absolute pressures in Pa, area in m², n > 0. Outside:
// a [*BadInputError].
//
// Source: White, "Fluid Mechanics", compressible duct flow with friction,
// isothermal case (equation number from memory, so not given).
func IsothermalFlow(p1, p2, area, n float64, gas Fluid) (float64, error) {
	if err := checkPressures(p1, p2); err != nil {
		return 0, err
	}
	if !(area > 0) || !(n > 0) || math.IsInf(n, 0) || math.IsInf(area, 0) {
		return 0, &BadInputError{What: "area and resistance", Value: math.Min(area, n), Want: "finite numbers above 0"}
	}
	if err := gas.check(Gas); err != nil {
		return 0, err
	}
	w, _ := isothermal(p2/p1, n)
	return area * p1 * math.Sqrt(w/(n*gas.MolarMass*gas.molarEnergy())), nil
}

// IsentropicFlow is the molar flow, mol/s, of a gas through an orifice:
//
//	q = Cd A p1 √(2/(M Z R T) · κ/(κ−1) · (r^(2/κ) − r^((κ+1)/κ))), r = p2/p1,
//
// with r not below the critical ratio (2/(κ+1))^(κ/(κ−1)). p1 ≥ p2 > 0 in Pa
// absolute, cdArea = Cd A in m². Outside: a [*BadInputError].
//
// Source: White, "Fluid Mechanics", isentropic nozzle flow (equation number
// from memory, so not given).
func IsentropicFlow(p1, p2, cdArea float64, gas Fluid) (float64, error) {
	if err := checkPressures(p1, p2); err != nil {
		return 0, err
	}
	if !(cdArea > 0) || math.IsInf(cdArea, 0) {
		return 0, &BadInputError{What: "area", Value: cdArea, Want: "a finite number above 0"}
	}
	if err := gas.check(Gas); err != nil {
		return 0, err
	}
	if !(gas.HeatRatio > 1 && gas.HeatRatio <= 2) {
		return 0, &BadInputError{What: "heat ratio", Value: gas.HeatRatio, Want: "above 1, at most 2"}
	}
	h, _ := isentropic(p2/p1, newIsentropic(gas.HeatRatio))
	return cdArea * p1 * math.Sqrt(2*h/(gas.MolarMass*gas.molarEnergy())), nil
}

// HomogeneousDensity is the density, kg/m³, of liquid and gas that move at one
// velocity: 1/ρ = x/ρg + (1−x)/ρl, x the mass fraction of gas (0 to 1), with
// densities in kg/m³, > 0. Outside: a [*BadInputError].
//
// Source: homogeneous flow model, Collier and Thome, "Convective Boiling and
// Condensation", chapter 2 (from memory).
func HomogeneousDensity(gasMassFraction, gasDensity, liquidDensity float64) (float64, error) {
	if !(gasMassFraction >= 0 && gasMassFraction <= 1) {
		return 0, &BadInputError{What: "gas mass fraction", Value: gasMassFraction, Want: "0 to 1"}
	}
	if !(gasDensity > 0) || !(liquidDensity > 0) {
		return 0, &BadInputError{What: "density", Value: math.Min(gasDensity, liquidDensity), Want: "above 0 kg/m³"}
	}
	return 1 / (gasMassFraction/gasDensity + (1-gasMassFraction)/liquidDensity), nil
}

func checkPressures(p1, p2 float64) error {
	if !(p2 > 0) || !(p1 >= p2) || math.IsInf(p1, 0) {
		return &BadInputError{What: "downstream pressure", Value: p2, Want: "above 0 and at most the upstream pressure"}
	}
	return nil
}

// residualSlope keeps a trace of dependence on the downstream pressure in
// choked flow, so that a network behind it has a regular matrix. It changes
// the squared flow by at most this fraction.
const residualSlope = 1e-9

// isothermal gives w(r) = (1 − r²)/(1 + (2/n) ln(1/r)), constant below its
// maximum, and dw/dr.
func isothermal(r, n float64) (w, dw float64) {
	if r*r*(1+n) < 1 { // necessary for choking
		// At the maximum exp(2L) = 1 + n + 2L with L = ln(1/r).
		l := 0.5 * math.Log(1+n)
		if n < 0.1 {
			l = 0.5 * math.Sqrt(2*n) // expansion for small n
		}
		for range 30 {
			e := math.Exp(2 * l)
			d := (e - 1 - n - 2*l) / (2*e - 2)
			l -= d
			if math.Abs(d) < 1e-12 {
				break
			}
		}
		if rc := math.Exp(-l); r < rc {
			return (1-rc*rc)/(1+2/n*l) + residualSlope*(rc-r), -residualSlope
		}
	}
	b := 1 - 2/n*math.Log(r)
	w = (1 - r*r) / b
	dw = (-2*r + w*2/(n*r)) / b
	return w, dw - residualSlope
}

// isentropicGas holds the exponents of one heat ratio.
type isentropicGas struct{ k, rc, hc float64 }

func newIsentropic(k float64) isentropicGas {
	g := isentropicGas{k: k, rc: math.Pow(2/(k+1), k/(k-1))}
	g.hc, _ = isentropicOpen(g.rc, k)
	return g
}

// isentropic gives h(r) = κ/(κ−1)·(r^(2/κ) − r^((κ+1)/κ)), constant below its
// maximum, and dh/dr.
func isentropic(r float64, g isentropicGas) (h, dh float64) {
	if r <= g.rc {
		return g.hc + residualSlope*(g.rc-r), -residualSlope
	}
	h, dh = isentropicOpen(r, g.k)
	return h, dh - residualSlope
}

func isentropicOpen(r, k float64) (h, dh float64) {
	a := math.Pow(r, 1/k) // r^(1/κ)
	h = k / (k - 1) * a * (a - r)
	dh = k / (k - 1) * (2/k*a*a/r - (k+1)/k*a)
	return h, dh
}

// expansion gives h(x) = x Y², Y = 1 − x/(3 xc), of IEC 60534-2-1 as a function
// of r = 1 − x, constant beyond x = xc, and dh/dr.
func expansion(r, xc float64) (h, dh float64) {
	x := 1 - r
	if x >= xc {
		return 4.0/9*xc + residualSlope*(x-xc), -residualSlope
	}
	y := 1 - x/(3*xc)
	return x * y * y, -y*(1-x/xc) - residualSlope
}
