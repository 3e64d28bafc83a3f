package fluid

import (
	"fmt"
	"math"
)

// DewPointLow is the lowest frost point of this package in K (-100 degC);
// feed gas for ozone is dried to about -60 to -80 degC.
const DewPointLow = 173.15

// Exponents of the equation of the sublimation line.
const (
	sublimation1 = 0.333333333e-2
	sublimation2 = 0.120666667e1
	sublimation3 = 0.170333333e1
)

// sublimationTerms returns the three terms of the equation at theta, the
// temperature over that of the triple point, before they are added and divided
// by theta.
func sublimationTerms(theta float64) (a, b, c float64) {
	return -0.212144006e2 * math.Pow(theta, sublimation1), 0.273203819e2 * math.Pow(theta, sublimation2), -0.610598130e1 * math.Pow(theta, sublimation3)
}

// sublimationPressure returns the vapour pressure over ice in Pa at t in K.
// Source: IAPWS R14-08(2011), equation 6.
func sublimationPressure(t float64) float64 {
	theta := t / IceTriplePoint
	a, b, c := sublimationTerms(theta)
	return iceTriplePressure * math.Exp((a+b+c)/theta)
}

// sublimationTemperature is the inverse of sublimationPressure. The logarithm
// of the pressure is nearly a straight line over the inverse of the
// temperature, along which Newton's method comes to rest in a few steps, within
// 1e-12 K.
func sublimationTemperature(pw float64) float64 {
	log := math.Log(pw / iceTriplePressure)
	inverse := 1 - log/22.5 // of theta; near the triple point the line falls by about 22.5
	for range 20 {
		a, b, c := sublimationTerms(1 / inverse)
		slope := -(a*(sublimation1-1) + b*(sublimation2-1) + c*(sublimation3-1))
		step := ((a+b+c)*inverse - log) / slope
		inverse -= step
		if math.Abs(step) <= 1e-15 {
			break
		}
	}
	return IceTriplePoint / inverse
}

// IceSaturationPressure returns the vapour pressure over ice in Pa abs.
//
//   - t: temperature, 173.15 to 273.16 K.
//
// Outside the range: an error.
//
// Source: IAPWS R14-08(2011), equation 6.
func IceSaturationPressure(t float64) (float64, error) {
	if err := Within("ice temperature", t, DewPointLow, IceTriplePoint, "K"); err != nil {
		return 0, err
	}
	return sublimationPressure(t), nil
}

// SaturationPressure returns the vapour pressure of water in Pa abs over ice
// below 273.16 K and over liquid water from there up, as a dew-point
// instrument reads it.
//
//   - t: temperature, 173.15 to 373.15 K.
//
// Outside the range: an error.
//
// Source: IAPWS R14-08(2011) and R7-97(2012). The two lines meet at the
// triple point within 0.001 %.
func SaturationPressure(t float64) (float64, error) {
	if err := Within("temperature", t, DewPointLow, WaterTemperatureHigh, "K"); err != nil {
		return 0, err
	}
	if t < IceTriplePoint {
		return sublimationPressure(t), nil
	}
	return region4Pressure(t), nil
}

// DewPoint returns the temperature in K at which water begins to condense (or
// ice to form, overIce) from gas in which water vapour has a partial pressure.
//
//   - pw: partial pressure of water, 0.0014 Pa (-100 degC frost point) to
//     101418 Pa (100 degC).
//
// Below the triple point the frost point over ice is given, not the dew point
// over supercooled water, which lies lower (about 3 K at -30 degC). Outside
// the range: an error; a gas with no water has no dew point.
//
// Source: inverse of [SaturationPressure].
func DewPoint(pw float64) (t float64, overIce bool, err error) {
	if err := Within("partial pressure of water", pw, driestPressure, wettestPressure, "Pa"); err != nil {
		return 0, false, err
	}
	if pw >= triplePressure {
		return region4Temperature(pw), false, nil
	}
	// Halved down to neighbouring numbers; the line is asked only where it tells more than the temperature that is known already.
	const sure = 1e-11 // K
	lo, hi, near := DewPointLow, IceTriplePoint, sublimationTemperature(pw)
	for range 60 {
		mid := (lo + hi) / 2
		if mid == lo || mid == hi {
			break
		}
		if mid < near-sure || mid <= near+sure && sublimationPressure(mid) < pw {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2, true, nil
}

// Vapour pressures in Pa at the ends of the range and where ice and liquid
// water meet.
var (
	driestPressure  = sublimationPressure(DewPointLow)
	triplePressure  = region4Pressure(IceTriplePoint)
	wettestPressure = region4Pressure(WaterTemperatureHigh)
)

// DewPointAtPressure returns the dew or frost point in K that gas of a known
// dew point has after its pressure is changed: the mole fraction of water
// stays, its partial pressure goes with the total.
//
//   - t: dew or frost point at p1, 173.15 to 373.15 K.
//   - p1, p2: total pressure before and after, above 0 to 10 MPa abs.
//
// An error outside the range, also where the answer would lie outside it.
// The interaction of vapour and gas is neglected: the vapour pressure over
// water in air is higher by about 0.5 % at 1 bar and 3 % at 10 bar, a tenth to
// half a kelvin (the enhancement factor of WMO-No. 8 (2008), annex 4.B, verified
// in transcriptions; at 10 bar beyond the pressures of weather).
func DewPointAtPressure(t, p1, p2 float64) (float64, error) {
	pw, err := SaturationPressure(t)
	if err != nil {
		return 0, err
	}
	for _, p := range [2]float64{p1, p2} {
		if err := Within("pressure (absolute)", p, 0, WaterPressureHigh, "Pa"); err != nil {
			return 0, err
		}
		if err := Positive("pressure (absolute)", p, "Pa"); err != nil {
			return 0, err
		}
	}
	if pw > p1 {
		return 0, fmt.Errorf("dew point %g K has a vapour pressure of %.6g Pa, above the total pressure %g Pa abs: %w",
			t, pw, p1, ErrOutOfRange)
	}
	dew, _, err := DewPoint(pw * p2 / p1)
	return dew, err
}

// SaturatedWaterFraction returns the mole fraction of water in gas that is
// saturated at t: the composition of gas that has this dew point.
//
//   - t: dew or frost point, 173.15 to 373.15 K.
//   - p: total pressure, above the vapour pressure, to 10 MPa abs.
//
// An error outside the range, and where the vapour pressure reaches the
// total. The enhancement factor is neglected (see [DewPointAtPressure]).
func SaturatedWaterFraction(t, p float64) (float64, error) {
	pw, err := SaturationPressure(t)
	if err != nil {
		return 0, err
	}
	if err := Within("pressure (absolute)", p, 0, WaterPressureHigh, "Pa"); err != nil {
		return 0, err
	}
	if p <= pw {
		return 0, fmt.Errorf("pressure %g Pa abs is not above the vapour pressure %.6g Pa of water at %g K: %w",
			p, pw, t, ErrOutOfRange)
	}
	return pw / p, nil
}
