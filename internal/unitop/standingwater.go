package unitop

import (
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
)

// StandingWater says how high water stands in a gas line that hangs on a point
// of the water system.
type StandingWater struct {
	Level  fluid.Range // m, elevation to which the water rises
	Margin fluid.Range // m, crest minus level; negative when the water passes the crest
}

// StandingLevel returns the elevation to which water rises in a still gas line:
// z + (pw - pg)/(rho g), with the water pressure pw (Pa absolute) at elevation z
// (m), the gas pressure pg (Pa absolute) as a range (its low end pulls the water
// highest) and the crest elevation (m) of the line. Below the tap the gas
// pressure pushes the water down as far. Density 300 to 3000 kg/m3; elevations
// within 1e4 m.
//
// Source: hydrostatics.
func StandingLevel(z, pw float64, pg fluid.Range, rho, crest float64) (StandingWater, error) {
	if err := checkRange("gas pressure", pg, 0, 1e8, "Pa absolute"); err != nil {
		return StandingWater{}, err
	}
	if err := within(
		limit{"elevation of the tap", z, -1e4, 1e4, "m"},
		limit{"elevation of the crest", crest, -1e4, 1e4, "m"},
		limit{"water pressure", pw, 0, 1e8, "Pa absolute"},
		limit{"liquid density", rho, 300, 3000, "kg/m3"},
	); err != nil {
		return StandingWater{}, err
	}
	level := pg.Map(func(p float64) float64 { return z + (pw-p)/(rho*StandardGravity) })
	return StandingWater{Level: level, Margin: fluid.Exact(crest).Sub(level)}, nil
}

// ColumnHeight returns the height in m of the column of liquid of density rho
// (300 to 14000 kg/m3) that a pressure difference (Pa, 0 to 1e8) holds.
//
// Source: hydrostatics.
func ColumnHeight(difference, rho float64) (float64, error) {
	if err := within(
		limit{"pressure difference", difference, 0, 1e8, "Pa"},
		limit{"liquid density", rho, 300, 14000, "kg/m3"},
	); err != nil {
		return 0, err
	}
	return difference / (rho * StandardGravity), nil
}

// StandardAtmosphere returns the air pressure in Pa at an altitude (-500 to
// 11000 m) of the standard atmosphere: 101325 (1 - 2.25577e-5 h)^5.25588. The
// weather moves it by about 3 % either way, which is the spread.
//
// Source: ISO 2533:1975, troposphere; the spread is common practice.
func StandardAtmosphere(altitude float64) (fluid.Range, error) {
	if err := within(limit{"altitude", altitude, -500, 11000, "m"}); err != nil {
		return fluid.Range{}, err
	}
	return fluid.Spread(101325*math.Pow(1-2.25577e-5*altitude, 5.25588), 0.03), nil
}
