package unitop

import (
	"fmt"
	"math"
)

// ReliefFactors are the coefficients of the relief valve equations.
type ReliefFactors struct {
	Discharge    float64 // Kd, effective coefficient of discharge, 0.1 to 1
	BackPressure float64 // Kb (gas, critical) or Kw (liquid), 0.1 to 1; 1 without back pressure effect
	Combination  float64 // Kc, 1 without and 0.9 with an uncertified rupture disc in front, 0.5 to 1
	Viscosity    float64 // Kv for liquid, 0.1 to 1; 1 for water-like liquids. Not used for gas
}

func (f ReliefFactors) check(liquid bool) error {
	if err := within(
		limit{"discharge coefficient Kd", f.Discharge, 0.1, 1, ""},
		limit{"back pressure factor", f.BackPressure, 0.1, 1, ""},
		limit{"combination factor Kc", f.Combination, 0.5, 1, ""},
	); err != nil || !liquid {
		return err
	}
	return within(limit{"viscosity factor Kv", f.Viscosity, 0.1, 1, ""})
}

// ReliefGasArea returns the discharge area in m2 that a relief valve needs for
// a gas flow (kg/s) at relieving pressure p1 and back pressure p2 (Pa
// absolute) and relieving temperature t (K). Above the critical pressure ratio
// the subcritical equation holds; Kb applies to critical flow only.
//
// The equations of the standard are the isentropic nozzle equations in
// customary units; here they are evaluated in SI without rounded constants, so
// areas differ from the printed ones by up to 0.1 %.
//
// Source: API Standard 520 Part I, 10th edition (2020), sizing for critical
// and subcritical gas or vapour flow; examples 1 and 2 of that section, read
// in a transcription.
func ReliefGasArea(mass, p1, p2, t float64, gas Gas, f ReliefFactors) (float64, error) {
	if err := positive("mass flow", mass, 1e4, "kg/s"); err != nil {
		return 0, err
	}
	flux, _, err := reliefGasFlux(p1, p2, t, gas, f)
	if err != nil {
		return 0, err
	}
	if flux == 0 {
		return 0, &NoSolutionError{
			Wanted: fmt.Sprintf("relief area for %.4g kg/s", mass),
			Reach:  "relieving pressure and back pressure are the same, so nothing flows",
		}
	}
	return mass / flux, nil
}

// ReliefGasFlow returns the gas flow that a relief valve of the area (m2)
// passes under the conditions of [ReliefGasArea].
func ReliefGasFlow(area, p1, p2, t float64, gas Gas, f ReliefFactors) (GasFlow, error) {
	if err := positive("relief area", area, 10, "m2"); err != nil {
		return GasFlow{}, err
	}
	flux, choked, err := reliefGasFlux(p1, p2, t, gas, f)
	if err != nil {
		return GasFlow{}, err
	}
	return GasFlow{Mass: area * flux, Molar: area * flux / gas.MolarMass, Choked: choked}, nil
}

// reliefGasFlux returns the mass flux in kg/(s m2) and whether it is choked.
func reliefGasFlux(p1, p2, t float64, gas Gas, f ReliefFactors) (float64, bool, error) {
	if err := f.check(false); err != nil {
		return 0, false, err
	}
	flux, choked, err := nozzleFlux(1, p1, p2, t, gas)
	if err != nil {
		return 0, false, err
	}
	flux *= f.Discharge * f.Combination
	if choked {
		flux *= f.BackPressure
	}
	return flux, choked, nil
}

// ReliefLiquidArea returns the discharge area in m2 that a relief valve needs
// for a liquid flow (m3/s) of density rho (kg/m3) at relieving pressure p1 and
// back pressure p2 (Pa absolute): A = Q/(Kd Kw Kc Kv) sqrt(rho/(2 (p1 - p2))).
// Vapour pressure pv in Pa absolute; a liquid that flashes is two-phase flow,
// which is not modelled ([ErrNotModelled]).
//
// Source: API Standard 520 Part I, 10th edition (2020), sizing for liquid
// relief, valves that need capacity certification; example 5, read in a
// transcription.
func ReliefLiquidArea(flow, p1, p2, rho, pv float64, f ReliefFactors) (float64, error) {
	if err := positive("liquid flow", flow, 100, "m3/s"); err != nil {
		return 0, err
	}
	speed, err := reliefLiquidSpeed(p1, p2, rho, pv, f)
	if err != nil {
		return 0, err
	}
	if speed == 0 {
		return 0, &NoSolutionError{
			Wanted: fmt.Sprintf("relief area for %.4g m3/s", flow),
			Reach:  "relieving pressure and back pressure are the same, so nothing flows",
		}
	}
	return flow / speed, nil
}

// ReliefLiquidFlow returns the liquid flow in m3/s that a relief valve of the
// area (m2) passes under the conditions of [ReliefLiquidArea].
func ReliefLiquidFlow(area, p1, p2, rho, pv float64, f ReliefFactors) (float64, error) {
	if err := positive("relief area", area, 10, "m2"); err != nil {
		return 0, err
	}
	speed, err := reliefLiquidSpeed(p1, p2, rho, pv, f)
	return area * speed, err
}

func reliefLiquidSpeed(p1, p2, rho, pv float64, f ReliefFactors) (float64, error) {
	if err := f.check(true); err != nil {
		return 0, err
	}
	if err := liquidPressures(p1, p2, rho, pv); err != nil {
		return 0, err
	}
	return f.Discharge * f.BackPressure * f.Combination * f.Viscosity * math.Sqrt(2*(p1-p2)/rho), nil
}

// ReliefViscosityFactor returns Kv = (1 + 170/Re)^-0.5 for a liquid relief
// valve from the Reynolds number of its orifice, 80 to 1e9.
//
// Source: API Standard 520 Part I, 10th edition (2020), viscosity correction,
// read in a transcription. The 7th to 9th editions had another fit, which at
// Re = 100 gives 0.616 where this one gives 0.609.
func ReliefViscosityFactor(reynolds float64) (float64, error) {
	if err := within(limit{"orifice Reynolds number", reynolds, 80, 1e9, ""}); err != nil {
		return 0, err
	}
	return 1 / math.Sqrt(1+170/reynolds), nil
}
