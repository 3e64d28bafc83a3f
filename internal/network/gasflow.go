package network

import "math"

// residualSlope keeps a trace of dependence on the downstream pressure in
// choked flow, so that a network behind it has a regular matrix. It changes
// the squared flow by at most this fraction.
const residualSlope = 1e-9

// isothermal is the law of a gas line of resistance n = f L/D + ΣK at constant
// temperature: the molar flow, mol/s, from p1 to p2 = r p1, Pa absolute, is
//
//	q = A √((p1² − p2²) / (M Z R T (n + 2 ln(p1/p2)))) = A p1 √(w(r) / (n M Z R T))
//
// limited at the pressure ratio where this has its maximum (outlet Mach number
// 1/√κ). It gives w(r) = (1 − r²)/(1 + (2/n) ln(1/r)), constant below that
// ratio, and dw/dr.
//
// Source: White, "Fluid Mechanics", compressible duct flow with friction,
// isothermal case (equation number from memory, so not given).
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

// isentropic is the law of gas through an orifice: the molar flow, mol/s, from
// p1 to p2 = r p1, Pa absolute, is
//
//	q = Cd A p1 √(2 h(r) / (M Z R T))
//
// with r not below the critical ratio (2/(κ+1))^(κ/(κ−1)). It gives h(r) =
// κ/(κ−1)·(r^(2/κ) − r^((κ+1)/κ)), constant below that ratio, and dh/dr.
//
// Source: White, "Fluid Mechanics", isentropic nozzle flow (equation number
// from memory, so not given).
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
