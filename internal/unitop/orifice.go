package unitop

import (
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
)

// StandardGravity is the standard acceleration of free fall in m/s2, exact.
// Source: 3rd General Conference on Weights and Measures (1901).
const StandardGravity = 9.80665

// Gas states what the gas flow equations need to know of a gas.
type Gas struct {
	MolarMass       float64 // kg/mol, 0.002 to 0.3
	HeatRatio       float64 // isentropic exponent k = cp/cv, 1.01 to 1.67
	Compressibility float64 // Z = p V/(n R T), 0.2 to 1.5; 1 for an ideal gas
}

// check refuses properties that no gas has.
func (g Gas) check() error {
	return within(
		limit{"molar mass", g.MolarMass, 0.002, 0.3, "kg/mol"},
		limit{"heat capacity ratio", g.HeatRatio, 1.01, 1.67, ""},
		limit{"compressibility factor", g.Compressibility, 0.2, 1.5, ""},
	)
}

// density returns the gas density in kg/m3 at p (Pa) and t (K).
func (g Gas) density(p, t float64) float64 {
	return p * g.MolarMass / (g.Compressibility * fluid.GasConstant * t)
}

// Density returns the gas density in kg/m3: rho = p M/(Z R T). Pressure in Pa
// absolute (above 0 to 1e8), temperature in K (150 to 1500).
//
// Source: equation of state with compressibility factor, definition.
func (g Gas) Density(pressure, temperature float64) (float64, error) {
	if err := g.check(); err != nil {
		return 0, err
	}
	if err := gasState(pressure, temperature); err != nil {
		return 0, err
	}
	return g.density(pressure, temperature), nil
}

// gasState checks an absolute pressure and a temperature of a gas.
func gasState(pressure, temperature float64) error {
	if err := positive("gas pressure", pressure, 1e8, "Pa absolute"); err != nil {
		return err
	}
	return within(limit{"gas temperature", temperature, 150, 1500, "K"})
}

// CriticalPressureRatio returns the ratio of throat to upstream pressure at or
// below which an ideal nozzle is choked: (2/(k+1))^(k/(k-1)). k is 1.01 to 1.67.
//
// Source: gas dynamics, isentropic flow of an ideal gas.
func CriticalPressureRatio(k float64) (float64, error) {
	if err := within(limit{"heat capacity ratio", k, 1.01, 1.67, ""}); err != nil {
		return 0, err
	}
	return criticalRatio(k), nil
}

// criticalRatio is [CriticalPressureRatio] for an exponent that is in range.
func criticalRatio(k float64) float64 { return math.Pow(2/(k+1), k/(k-1)) }

// GasFlow is the flow through a restriction.
type GasFlow struct {
	Mass   float64 // kg/s
	Molar  float64 // mol/s
	Choked bool    // sonic: a lower downstream pressure changes nothing
}

// OrificeGasFlow returns the gas flow through a restriction of area m2 and
// discharge coefficient cd (0.05 to 1) from p1 to p2 (Pa absolute, p2 may be 0
// but not above p1) at upstream temperature t (K):
//
//	subcritical  W = cd A sqrt(2 k/(k-1) p1 rho1 (r^(2/k) - r^((k+1)/k))),  r = p2/p1
//	critical     W = cd A sqrt(k p1 rho1 (2/(k+1))^((k+1)/(k-1))),          r <= rc
//
// The two meet at rc, where the slope is zero, so the flow is continuous. A
// sharp-edged hole does not choke as sharply as a nozzle: its coefficient
// rises from about 0.6 to about 0.84 as r falls, so pass both as a spread.
//
// Source: gas dynamics, isentropic flow of an ideal gas through a nozzle.
func OrificeGasFlow(area, cd, p1, p2, t float64, gas Gas) (GasFlow, error) {
	if err := positive("orifice area", area, 10, "m2"); err != nil {
		return GasFlow{}, err
	}
	flux, choked, err := nozzleFlux(cd, p1, p2, t, gas)
	if err != nil {
		return GasFlow{}, err
	}
	w := area * flux
	return GasFlow{Mass: w, Molar: w / gas.MolarMass, Choked: choked}, nil
}

// OrificeGasArea returns the area in m2 that passes the mass flow (kg/s, above
// 0) under the conditions of [OrificeGasFlow]. Equal pressures pass nothing:
// that is an error that wraps [ErrNoSolution].
func OrificeGasArea(mass, cd, p1, p2, t float64, gas Gas) (float64, error) {
	if err := positive("mass flow", mass, 1e4, "kg/s"); err != nil {
		return 0, err
	}
	flux, _, err := nozzleFlux(cd, p1, p2, t, gas)
	if err != nil {
		return 0, err
	}
	if flux == 0 {
		return 0, &NoSolutionError{
			Wanted: fmt.Sprintf("area that passes %.4g kg/s", mass),
			Reach:  "upstream and downstream pressure are the same, so nothing flows",
		}
	}
	return mass / flux, nil
}

// nozzleFlux returns the mass flux in kg/(s m2) and whether it is choked.
func nozzleFlux(cd, p1, p2, t float64, gas Gas) (float64, bool, error) {
	if err := gas.check(); err != nil {
		return 0, false, err
	}
	if err := gasState(p1, t); err != nil {
		return 0, false, err
	}
	if err := within(
		limit{"discharge coefficient", cd, 0.05, 1, ""},
		limit{"downstream pressure", p2, 0, p1, "Pa absolute"},
	); err != nil {
		return 0, false, err
	}
	k := gas.HeatRatio
	r := p2 / p1
	rc := criticalRatio(k)
	choked := r <= rc
	// r^(2/k) - r^((k+1)/k) without the cancellation near equal pressures.
	log := math.Log1p(-(p1 - p2) / p1)
	if choked {
		log = math.Log(rc)
	}
	difference := math.Exp(2/k*log) * -math.Expm1((k-1)/k*log)
	return cd * math.Sqrt(2*k/(k-1)*p1*gas.density(p1, t)*difference), choked, nil
}

// SeriesFlow is the gas flow through two restrictions one behind the other.
type SeriesFlow struct {
	GasFlow
	Between      float64 // Pa absolute, pressure between the two
	FirstChoked  bool
	SecondChoked bool
}

// Restriction is an area with its discharge coefficient.
type Restriction struct {
	Area        float64 // m2
	Coefficient float64 // 0.05 to 1
}

// SeriesGasFlow returns the flow through two restrictions in series, for
// example a float vent and the line behind it, with full loss of velocity
// between them and the upstream temperature kept: the pressure between is the
// one at which both pass the same mass. The back pressure of the first is then
// known. It is found by bisection; the residual falls steadily, so there is
// exactly one solution.
func SeriesGasFlow(first, second Restriction, p1, p2, t float64, gas Gas) (SeriesFlow, error) {
	a, err := OrificeGasFlow(first.Area, first.Coefficient, p1, p2, t, gas)
	if err != nil {
		return SeriesFlow{}, err
	}
	if _, err := OrificeGasFlow(second.Area, second.Coefficient, p1, p2, t, gas); err != nil {
		return SeriesFlow{}, err
	}
	if a.Mass == 0 {
		return SeriesFlow{Between: p1}, nil
	}
	low, high := p2, p1
	var in, out GasFlow
	for range 200 {
		mid := low + (high-low)/2
		if mid <= low || mid >= high || mid == 0 {
			break
		}
		if in, err = OrificeGasFlow(first.Area, first.Coefficient, p1, mid, t, gas); err != nil {
			return SeriesFlow{}, err
		}
		if out, err = OrificeGasFlow(second.Area, second.Coefficient, mid, p2, t, gas); err != nil {
			return SeriesFlow{}, err
		}
		if in.Mass > out.Mass {
			low = mid
		} else {
			high = mid
		}
	}
	between := low + (high-low)/2
	// A small pressure drop is known only to the rounding of the pressures, so
	// the flow is read where the drop is the larger one.
	flow := in
	if p1-between < between-p2 {
		flow = out
	}
	return SeriesFlow{
		GasFlow:      GasFlow{Mass: flow.Mass, Molar: flow.Molar, Choked: in.Choked || out.Choked},
		Between:      between,
		FirstChoked:  in.Choked,
		SecondChoked: out.Choked,
	}, nil
}

// OrificeLiquidFlow returns the mass flow in kg/s of a liquid of density rho
// (kg/m3) through a restriction: W = cd A sqrt(2 rho (p1 - p2)). Pressures in
// Pa absolute; vapour pressure pv in Pa absolute. With p2 below pv the liquid
// flashes: two-phase flow, which is not modelled, an error that wraps
// [ErrNotModelled].
//
// Source: Bernoulli equation with a discharge coefficient.
func OrificeLiquidFlow(area, cd, p1, p2, rho, pv float64) (float64, error) {
	if err := positive("orifice area", area, 10, "m2"); err != nil {
		return 0, err
	}
	if err := liquidPressures(p1, p2, rho, pv); err != nil {
		return 0, err
	}
	if err := within(limit{"discharge coefficient", cd, 0.05, 1, ""}); err != nil {
		return 0, err
	}
	return cd * area * math.Sqrt(2*rho*(p1-p2)), nil
}

// liquidPressures checks the pressures and the density of a liquid that falls
// from p1 to p2 without flashing.
func liquidPressures(p1, p2, rho, pv float64) error {
	if err := positive("upstream pressure", p1, 1e8, "Pa absolute"); err != nil {
		return err
	}
	if err := within(
		limit{"downstream pressure", p2, 0, p1, "Pa absolute"},
		limit{"liquid density", rho, 300, 3000, "kg/m3"},
		limit{"vapour pressure", pv, 0, 1e7, "Pa absolute"},
	); err != nil {
		return err
	}
	if p2 < pv {
		return fmt.Errorf("liquid at %.6g Pa absolute is below its vapour pressure %.6g Pa and flashes: %w: two-phase flow",
			p2, pv, ErrNotModelled)
	}
	return nil
}

// circle returns the area of a circle in m2 from its diameter in m.
func circle(d float64) float64 { return math.Pi / 4 * d * d }
