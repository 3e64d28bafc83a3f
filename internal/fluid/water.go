package fluid

import (
	"fmt"
	"math"
)

// Range of the water functions: 0 to 100 degC, and liquid up to 10 MPa.
const (
	WaterTemperatureLow  = 273.15 // K
	WaterTemperatureHigh = 373.15 // K
	WaterPressureHigh    = 10e6   // Pa abs
)

// Critical point of water. Source: IAPWS R2-83(1992).
const (
	waterCriticalTemperature = 647.096 // K
	waterCriticalPressure    = 22.064e6
	waterCriticalDensity     = 322.0 // kg/m3
)

// checkWaterTemperature returns an error outside 0 to 100 degC.
func checkWaterTemperature(t float64) error {
	return Within("water temperature", t, WaterTemperatureLow, WaterTemperatureHigh, "K")
}

// checkLiquid returns an error unless water is liquid at t and p within the
// range of this package.
func checkLiquid(t, p float64) error {
	if err := checkWaterTemperature(t); err != nil {
		return err
	}
	if err := Within("water pressure (absolute)", p, 0, WaterPressureHigh, "Pa"); err != nil {
		return err
	}
	if ps := region4Pressure(t); p < ps {
		return fmt.Errorf("water at %g K and %g Pa abs is not liquid (it boils below %.6g Pa abs): %w",
			t, p, ps, ErrOutOfRange)
	}
	return nil
}

// WaterSaturationPressure returns the vapour pressure of water in Pa abs.
//
//   - t: temperature, 273.15 to 373.15 K.
//
// Over liquid water only; below the triple point see [IceSaturationPressure].
// Outside the range: an error.
//
// Source: IAPWS R7-97(2012), equation 30.
func WaterSaturationPressure(t float64) (float64, error) {
	if err := checkWaterTemperature(t); err != nil {
		return 0, err
	}
	return region4Pressure(t), nil
}

// WaterDensity returns the density of liquid water in kg/m3.
//
//   - t: temperature, 273.15 to 373.15 K.
//   - p: pressure, from saturation to 10 MPa abs.
//
// Pure, gas-free water; dissolved oxygen changes it by less than 0.001 %.
// Outside the range, or where water boils: an error.
//
// Source: IAPWS R7-97(2012), region 1, uncertainty about 0.001 %. It differs from
// the older table after Kell (1975) by up to 0.004 kg/m3.
func WaterDensity(t, p float64) (float64, error) {
	if err := checkLiquid(t, p); err != nil {
		return 0, err
	}
	return 1 / region1Volume(t, p), nil
}

// WaterHeatCapacity returns the isobaric heat capacity of liquid water in
// J/(kg K).
//
//   - t: temperature, 273.15 to 373.15 K.
//   - p: pressure, from saturation to 10 MPa abs.
//
// Outside the range, or where water boils: an error.
//
// Source: IAPWS R7-97(2012), region 1, uncertainty about 0.2 %.
func WaterHeatCapacity(t, p float64) (float64, error) {
	if err := checkLiquid(t, p); err != nil {
		return 0, err
	}
	return region1HeatCapacity(t, p), nil
}

// WaterViscosity returns the dynamic viscosity of liquid water in Pa s.
//
//   - t: temperature, 273.15 to 373.15 K.
//   - p: pressure, from saturation to 10 MPa abs.
//
// Outside the range, or where water boils: an error.
//
// Source: IAPWS R12-08, equations 10 to 12 without the critical enhancement,
// uncertainty 1 %; density from [WaterDensity].
func WaterViscosity(t, p float64) (float64, error) {
	rho, err := WaterDensity(t, p)
	if err != nil {
		return 0, err
	}
	return viscosityIAPWS(t, rho), nil
}

// WaterSurfaceTension returns the surface tension of water against its vapour
// in N/m, which stands for that against gas as well.
//
//   - t: temperature, 273.15 to 373.15 K.
//
// Outside the range: an error.
//
// Source: IAPWS R1-76(2014): 0.2358 tau^1.256 (1 - 0.625 tau),
// tau = 1 - T/647.096 K.
func WaterSurfaceTension(t float64) (float64, error) {
	if err := checkWaterTemperature(t); err != nil {
		return 0, err
	}
	tau := 1 - t/waterCriticalTemperature
	return 0.2358 * math.Pow(tau, 1.256) * (1 - 0.625*tau), nil
}

// WaterLatentHeat returns the heat of vaporisation in J/kg.
//
//   - t: temperature, 273.15 to 373.15 K.
//
// Outside the range: an error.
//
// The Clapeyron equation T (dp/dT)(1/rho_v - 1/rho_l) with the saturation
// pressure and densities of the supplementary release.
//
// Source: IAPWS SR1-86(1992), equations 1 to 3.
func WaterLatentHeat(t float64) (float64, error) {
	if err := checkWaterTemperature(t); err != nil {
		return 0, err
	}
	slope, liquid, vapour := saturationSupplement(t)
	return t * slope * (1/vapour - 1/liquid), nil
}

// term is one term of a power series in tau.
type term struct{ n, e float64 }

// Coefficients of the saturation properties.
// Source: IAPWS SR1-86(1992), equations 1, 2 and 3.
var (
	supplementPressure = [6]term{
		{-7.85951783, 1}, {1.84408259, 1.5}, {-11.7866497, 3},
		{22.6807411, 3.5}, {-15.9618719, 4}, {1.80122502, 7.5},
	}
	supplementLiquid = [6]term{
		{1.99274064, 1.0 / 3}, {1.09965342, 2.0 / 3}, {-0.510839303, 5.0 / 3},
		{-1.75493479, 16.0 / 3}, {-45.5170352, 43.0 / 3}, {-6.74694450e5, 110.0 / 3},
	}
	supplementVapour = [6]term{
		{-2.03150240, 2.0 / 6}, {-2.68302940, 4.0 / 6}, {-5.38626492, 8.0 / 6},
		{-17.2991605, 18.0 / 6}, {-44.7586581, 37.0 / 6}, {-63.9201063, 71.0 / 6},
	}
)

// saturationSupplement returns dp/dT in Pa/K and the densities of saturated
// liquid and vapour in kg/m3 at t in K.
func saturationSupplement(t float64) (slope, liquid, vapour float64) {
	tau := 1 - t/waterCriticalTemperature
	sum, derivative := 0.0, 0.0
	for _, c := range supplementPressure {
		sum += c.n * math.Pow(tau, c.e)
		derivative += c.n * c.e * math.Pow(tau, c.e-1)
	}
	p := waterCriticalPressure * math.Exp(waterCriticalTemperature/t*sum)
	// d(ln p)/dT = -(sum Tc/T + derivative)/T, because d(tau)/dT = -1/Tc.
	slope = -p / t * (sum*waterCriticalTemperature/t + derivative)
	liquid = 1
	for _, c := range supplementLiquid {
		liquid += c.n * math.Pow(tau, c.e)
	}
	vapour = 0
	for _, c := range supplementVapour {
		vapour += c.n * math.Pow(tau, c.e)
	}
	return slope, liquid * waterCriticalDensity, math.Exp(vapour) * waterCriticalDensity
}

// viscosityTerms are the residual coefficients H_ij.
// Source: IAPWS R12-08, Table 2.
var viscosityTerms = [21]struct {
	i, j int
	h    float64
}{
	{0, 0, 5.20094e-1}, {1, 0, 8.50895e-2}, {2, 0, -1.08374}, {3, 0, -2.89555e-1},
	{0, 1, 2.22531e-1}, {1, 1, 9.99115e-1}, {2, 1, 1.88797}, {3, 1, 1.26613},
	{5, 1, 1.20573e-1}, {0, 2, -2.81378e-1}, {1, 2, -9.06851e-1}, {2, 2, -7.72479e-1},
	{3, 2, -4.89837e-1}, {4, 2, -2.57040e-1}, {0, 3, 1.61913e-1}, {1, 3, 2.57399e-1},
	{0, 4, -3.25372e-2}, {3, 4, 6.98452e-2}, {4, 5, 8.72102e-3}, {3, 6, -4.35673e-3},
	{5, 6, -5.93264e-4},
}

// viscosityIAPWS returns the viscosity of water or steam in Pa s at t in K and
// density rho in kg/m3, without the critical enhancement.
// Source: IAPWS R12-08, equations 10 to 12.
func viscosityIAPWS(t, rho float64) float64 {
	tr := t / waterCriticalTemperature
	dr := rho / waterCriticalDensity
	residual := 0.0
	// Terms of one power of the density follow one another, so that each power is taken once.
	at, power := 0, 1.0
	for k := range viscosityTerms {
		c := &viscosityTerms[k]
		if c.j != at {
			at, power = c.j, wholePower(dr-1, c.j)
		}
		residual += c.h * wholePower(1/tr-1, c.i) * power
	}
	return steamDiluteViscosity(t) * math.Exp(dr*residual)
}

// steamDiluteViscosity returns the viscosity of water vapour in the limit of
// zero density in Pa s. Source: IAPWS R12-08, equation 11 and Table 1.
func steamDiluteViscosity(t float64) float64 {
	tr := t / waterCriticalTemperature
	sum := 1.67752 + 2.20462/tr + 0.6366564/(tr*tr) - 0.241605/(tr*tr*tr)
	return 100 * math.Sqrt(tr) / sum * 1e-6
}
