package quantity

import (
	"fmt"
	"math"
)

// GaugeToAbsolute returns the absolute pressure in Pa of a gauge pressure in Pa,
// for the absolute atmospheric pressure in Pa at the site: the sum of the two.
// It is an error if either is not finite, the atmosphere is not above zero or
// the gauge pressure lies below vacuum at that atmosphere.
// Source: definition of gauge pressure, ISO 80000-4:2019, item 4-14.
func GaugeToAbsolute(gauge, atmosphere float64) (float64, error) {
	if err := checkAtmosphere(atmosphere); err != nil {
		return 0, err
	}
	absolute := gauge + atmosphere
	if math.IsNaN(absolute) || math.IsInf(absolute, 0) {
		return 0, fmt.Errorf("gauge pressure %g Pa is not a finite pressure", gauge)
	}
	if absolute < 0 {
		return 0, fmt.Errorf("gauge pressure %g Pa is below vacuum at an atmospheric pressure of %g Pa", gauge, atmosphere)
	}
	return absolute, nil
}

// AbsoluteToGauge returns the gauge pressure in Pa of an absolute pressure in
// Pa, for the absolute atmospheric pressure in Pa at the site: their
// difference. It is an error if either is not finite, the atmosphere is not
// above zero or the absolute pressure is below zero.
// Source: definition of gauge pressure, ISO 80000-4:2019, item 4-14.
func AbsoluteToGauge(absolute, atmosphere float64) (float64, error) {
	if err := checkAtmosphere(atmosphere); err != nil {
		return 0, err
	}
	if !(absolute >= 0) || math.IsInf(absolute, 0) {
		return 0, fmt.Errorf("absolute pressure %g Pa is not a finite pressure from 0 upward", absolute)
	}
	return absolute - atmosphere, nil
}

func checkAtmosphere(atmosphere float64) error {
	if !(atmosphere > 0) || math.IsInf(atmosphere, 0) {
		return fmt.Errorf("atmospheric pressure %g Pa is not a finite pressure above 0", atmosphere)
	}
	return nil
}
