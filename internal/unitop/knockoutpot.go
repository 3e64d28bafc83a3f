package unitop

import (
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
)

// PotFluids states the gas and the liquid in a knock-out pot.
type PotFluids struct {
	GasDensity    float64 // kg/m3
	GasViscosity  float64 // Pa s
	LiquidDensity float64 // kg/m3
}

// PotSeparation is what a knock-out pot holds back at a gas flow.
type PotSeparation struct {
	Velocity   float64     // m/s, gas velocity in the free cross-section
	Residence  float64     // s, gas residence time in the settling zone
	Droplet    fluid.Range // m, smallest droplet removed
	BelowModel bool        // the droplet would be below 5 µm, which the model does not cover; 5 µm is returned
}

// VerticalPot returns what a vertical pot of inner diameter (m, above 0 to 10)
// and settling height (m, above 0 to 50) holds back at a gas flow (m3/s at
// conditions in the pot): the droplet that falls as fast as the gas rises.
// Even flow over the cross-section is assumed; a bad inlet separates less.
//
// Source: plug flow; [SmallestDroplet].
func VerticalPot(diameter, height, flow float64, f PotFluids) (PotSeparation, error) {
	if err := above(
		limit{"pot diameter", diameter, 0, 10, "m"},
		limit{"settling height", height, 0, 50, "m"},
		limit{"gas flow", flow, 0, 1e3, "m3/s"},
	); err != nil {
		return PotSeparation{}, err
	}
	v := flow / circle(diameter)
	d, below, err := SmallestDroplet(v, f.LiquidDensity, f.GasDensity, f.GasViscosity)
	if err != nil {
		return PotSeparation{}, err
	}
	return PotSeparation{Velocity: v, Residence: height / v, Droplet: d, BelowModel: below}, nil
}

// HorizontalPot returns what a horizontal pot of inner diameter and length
// between inlet and outlet (m) with liquid up to a level (m above the bottom)
// holds back at a gas flow (m3/s at conditions in the pot): the droplet that
// falls from the top to the liquid while the gas passes. Ends are taken flat,
// flow even over the gas space.
//
// Source: settling in plug flow; circular segment for the gas space.
func HorizontalPot(diameter, length, level, flow float64, f PotFluids) (PotSeparation, error) {
	if err := above(
		limit{"pot diameter", diameter, 0, 10, "m"},
		limit{"pot length", length, 0, 50, "m"},
		limit{"gas flow", flow, 0, 1e3, "m3/s"},
	); err != nil {
		return PotSeparation{}, err
	}
	liquid, err := SegmentArea(diameter, level)
	if err != nil {
		return PotSeparation{}, err
	}
	gasArea := circle(diameter) - liquid
	fall := diameter - level
	if fall <= 0 || gasArea <= 0 {
		return PotSeparation{}, &ContradictionError{Reason: fmt.Sprintf("the pot of %.4g m is full of liquid at level %.4g m", diameter, level)}
	}
	v := flow / gasArea
	residence := length / v
	d, below, err := SmallestDroplet(fall/residence, f.LiquidDensity, f.GasDensity, f.GasViscosity)
	if err != nil {
		return PotSeparation{}, err
	}
	return PotSeparation{Velocity: v, Residence: residence, Droplet: d, BelowModel: below}, nil
}

// SegmentArea returns the area in m2 of the liquid in a lying cylinder of
// diameter (m, above 0 to 10) filled to level (m, 0 to diameter).
//
// Source: geometry of the circular segment.
func SegmentArea(diameter, level float64) (float64, error) {
	if err := positive("pot diameter", diameter, 10, "m"); err != nil {
		return 0, err
	}
	if err := within(limit{"liquid level", level, 0, diameter, "m"}); err != nil {
		return 0, err
	}
	r := diameter / 2
	c := math.Min(1, math.Max(-1, (r-level)/r))
	return r*r*math.Acos(c) - (r-level)*math.Sqrt(math.Max(0, level*(diameter-level))), nil
}

// VerticalHoldUp returns the liquid volume in m3 that a vertical pot of inner
// diameter (m) takes between two levels (m above the bottom tangent, 0 to 50),
// for example between the drain's working level and the end of the inlet pipe.
//
// Source: geometry.
func VerticalHoldUp(diameter, lower, upper float64) (float64, error) {
	if err := positive("pot diameter", diameter, 10, "m"); err != nil {
		return 0, err
	}
	if err := within(
		limit{"upper level", upper, 0, 50, "m"},
		limit{"lower level", lower, 0, upper, "m"},
	); err != nil {
		return 0, err
	}
	return circle(diameter) * (upper - lower), nil
}

// HorizontalHoldUp returns the liquid volume in m3 that a horizontal pot of
// inner diameter and length (m, flat ends) takes between two levels (m above
// the bottom).
//
// Source: geometry of the circular segment.
func HorizontalHoldUp(diameter, length, lower, upper float64) (float64, error) {
	if err := positive("pot length", length, 50, "m"); err != nil {
		return 0, err
	}
	low, err := SegmentArea(diameter, lower)
	if err != nil {
		return 0, err
	}
	high, err := SegmentArea(diameter, upper)
	if err != nil {
		return 0, err
	}
	if upper < lower {
		return 0, &ContradictionError{Reason: fmt.Sprintf("upper level %.4g m is below lower level %.4g m", upper, lower)}
	}
	return length * (high - low), nil
}
