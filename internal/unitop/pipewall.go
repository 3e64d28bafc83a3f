package unitop

import (
	"fmt"

	"github.com/skidrule/skidrule/internal/fluid"
)

// PipeWall states a straight pipe under internal pressure. All of it is in
// gauge pressure: the wall carries the difference to the atmosphere.
type PipeWall struct {
	OuterDiameter float64 // m, above 0 to 3
	Stress        float64 // Pa, allowable stress S at temperature, 1e5 to 1e9
	Quality       float64 // E, casting or weld quality factor, 0.5 to 1
	WeldStrength  float64 // W, weld joint strength reduction factor, 0.5 to 1
	Y             float64 // coefficient Y, 0.4 for ferritic and austenitic steel below 482 degC; 0 to 0.7
	Allowance     float64 // m, corrosion, erosion and thread depth, 0 to 0.05
	MillTolerance float64 // fraction by which the wall may be thinner than nominal, 0 to 0.3; 0.125 for seamless pipe
}

func (p PipeWall) check() error {
	if err := positive("outside diameter", p.OuterDiameter, 3, "m"); err != nil {
		return err
	}
	return within(
		limit{"allowable stress", p.Stress, 1e5, 1e9, "Pa"},
		limit{"quality factor E", p.Quality, 0.5, 1, ""},
		limit{"weld joint strength reduction factor W", p.WeldStrength, 0.5, 1, ""},
		limit{"coefficient Y", p.Y, 0, 0.7, ""},
		limit{"wall allowance", p.Allowance, 0, 0.05, "m"},
		limit{"mill tolerance", p.MillTolerance, 0, 0.3, ""},
	)
}

// WallThickness is what a pressure asks of a pipe wall.
type WallThickness struct {
	Pressure float64 // m, pressure design thickness t
	Minimum  float64 // m, t plus allowance
	Nominal  float64 // m, minimum over 1 minus the mill tolerance
}

// Thickness returns the wall that a straight pipe needs at an internal design
// pressure (Pa gauge, 0 to 1e8):
//
//	t = P D/(2 (S E W + P Y)),  valid for t < D/6 and P/(S E) <= 0.385
//
// A thicker wall needs the special consideration of the code: an error that
// wraps [ErrNotModelled].
//
// Source: ASME B31.3, 304.1.2, equation (3a).
func (p PipeWall) Thickness(pressure float64) (WallThickness, error) {
	if err := p.check(); err != nil {
		return WallThickness{}, err
	}
	if err := within(limit{"design pressure", pressure, 0, 1e8, "Pa gauge"}); err != nil {
		return WallThickness{}, err
	}
	t := pressure * p.OuterDiameter / (2 * (p.Stress*p.Quality*p.WeldStrength + pressure*p.Y))
	if err := p.thin(t, pressure); err != nil {
		return WallThickness{}, err
	}
	return WallThickness{Pressure: t, Minimum: t + p.Allowance, Nominal: (t + p.Allowance) / (1 - p.MillTolerance)}, nil
}

// AllowedPressure returns the internal pressure in Pa gauge that a pipe of
// nominal wall (m) bears: [PipeWall.Thickness] solved for the pressure, with
// mill tolerance and allowance taken off the wall first.
//
// Source: ASME B31.3, 304.1.2, equation (3a), inverted.
func (p PipeWall) AllowedPressure(nominal float64) (float64, error) {
	if err := p.check(); err != nil {
		return 0, err
	}
	if err := positive("nominal wall", nominal, p.OuterDiameter/2, "m"); err != nil {
		return 0, err
	}
	t := nominal*(1-p.MillTolerance) - p.Allowance
	if t <= 0 {
		return 0, &ContradictionError{Reason: fmt.Sprintf(
			"wall %.4g m less %.3g %% mill tolerance and %.4g m allowance leaves nothing", nominal, 100*p.MillTolerance, p.Allowance)}
	}
	pressure := 2 * t * p.Stress * p.Quality * p.WeldStrength / (p.OuterDiameter - 2*t*p.Y)
	if err := p.thin(t, pressure); err != nil {
		return 0, err
	}
	return pressure, nil
}

// thin refuses walls for which the code's thin-wall equation does not hold.
func (p PipeWall) thin(t, pressure float64) error {
	if t >= p.OuterDiameter/6 || pressure/(p.Stress*p.Quality) > 0.385 {
		return fmt.Errorf("wall %.4g m of a pipe of %.4g m outside at %.6g Pa gauge: %w: t is not below D/6 or P/(S E) is above 0.385, which ASME B31.3 304.1.2(b) leaves to special consideration",
			t, p.OuterDiameter, pressure, ErrNotModelled)
	}
	return nil
}

// HydrotestPressure returns the test pressure in Pa gauge of a metallic pipe:
// 1.5 P ST/S with the allowable stress at test temperature ST and at design
// temperature S (Pa). ST/S is limited to 6.5 by the code; a larger one is out
// of range.
//
// Source: ASME B31.3 (2008), 345.4.2(b).
func HydrotestPressure(design, stressAtTest, stressAtDesign float64) (float64, error) {
	if err := above(
		limit{"design pressure", design, 0, 1e8, "Pa gauge"},
		limit{"allowable stress at test temperature", stressAtTest, 0, 1e9, "Pa"},
		limit{"allowable stress at design temperature", stressAtDesign, 0, 1e9, "Pa"},
	); err != nil {
		return 0, err
	}
	ratio := stressAtTest / stressAtDesign
	if err := within(limit{"ratio of allowable stresses", ratio, 1, 6.5, ""}); err != nil {
		return 0, err
	}
	return 1.5 * design * ratio, nil
}

// PlasticPressure returns the rating in Pa gauge of a plastic pipe at its rating
// temperature: P = 2 S/(DR - 1) with hydrostatic design stress S (1e5 to 5e7
// Pa) and dimension ratio DR = D/t (4 to 100).
//
// Source: ASTM D1785 and F441 basis, as printed in a solvent-weld selection
// guide.
func PlasticPressure(stress, dimensionRatio float64) (float64, error) {
	if err := within(
		limit{"hydrostatic design stress", stress, 1e5, 5e7, "Pa"},
		limit{"dimension ratio", dimensionRatio, 4, 100, ""},
	); err != nil {
		return 0, err
	}
	return 2 * stress / (dimensionRatio - 1), nil
}

// TubeBurst returns an estimate of the burst pressure in Pa gauge of a thin tube
// from its tensile strength (1e5 to 5e9 Pa), wall and outside diameter (m): 2 S
// t/(D - t), 30 % either way. Wall below a third of the diameter. It is no
// rating: divide by a safety factor of the user's choice.
//
// Source: mechanics of materials, mean-diameter formula; the spread is common
// practice.
func TubeBurst(strength, wall, outer float64) (fluid.Range, error) {
	if err := positive("outside diameter", outer, 3, "m"); err != nil {
		return fluid.Range{}, err
	}
	if err := positive("wall", wall, outer/3, "m"); err != nil {
		return fluid.Range{}, err
	}
	if err := within(limit{"tensile strength", strength, 1e5, 5e9, "Pa"}); err != nil {
		return fluid.Range{}, err
	}
	return fluid.Spread(2*strength*wall/(outer-wall), 0.3), nil
}
