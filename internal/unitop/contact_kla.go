package unitop

import (
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
)

// NoSlipHoldup returns the volume fraction of gas in a line when gas and water
// move at the same velocity: Qg/(Qg + Ql).
//
//   - gas: actual gas flow in m3/s, not negative.
//   - water: water flow in m3/s, above 0.
//
// In upward flow the gas rises faster and the fraction is smaller. Outside the
// range: an error.
func NoSlipHoldup(gas, water float64) (float64, error) {
	if err := within(limit{"gas flow", gas, 0, 1e3, "m3/s"}); err != nil {
		return 0, err
	}
	if err := positive("water flow", water, 1e3, "m3/s"); err != nil {
		return 0, err
	}
	return gas / (gas + water), nil
}

// largeBubble is the diameter in m above which bubbles are mobile enough for
// the higher of the two correlations.
const largeBubble = 2.5e-3

// BubbleKLa estimates kLa of ozone in 1/s for the water volume from the gas
// hold-up and the size of the bubbles: kL a with a = 6 e/d/(1 - e).
//
//   - t: water temperature in K, 273.15 to 313.15.
//   - holdup: volume fraction of gas, above 0 to 0.5.
//   - diameter: bubble diameter in m, 1e-4 to 0.02.
//
// kL for bubbles below 2.5 mm (rigid): 0.31 (g mu drho/rho^2)^(1/3) Sc^(-2/3);
// above (mobile): 0.42 (g mu drho/rho^2)^(1/3) Sc^(-1/2). Low takes the rigid
// one, high the mobile one, because clean and dirty water differ that much;
// best goes by the best diameter. Outside the range: an error.
//
// An estimate within a factor of about three; a measured kLa is better. High
// shear after an injector can pass the high end.
//
// Source: Calderbank and Moo-Young, Chem. Eng. Sci. 16 (1961) 39, equations (1)
// and (2), verified in a transcription; drho is rho here, 0.04 % more at 1 atm.
// They bound the rigid constant by theory from 0.28 to 0.34.
func BubbleKLa(t float64, holdup, diameter fluid.Range) (fluid.Range, error) {
	if err := positiveRange("gas hold-up", holdup, 0.5, ""); err != nil {
		return fluid.Range{}, err
	}
	if err := checkRange("bubble diameter", diameter, 1e-4, 0.02, "m"); err != nil {
		return fluid.Range{}, err
	}
	diffusivity, err := fluid.DiffusivityOzone(t)
	if err != nil {
		return fluid.Range{}, err
	}
	rho, err := fluid.WaterDensity(t, fluid.NormalPressure)
	if err != nil {
		return fluid.Range{}, err
	}
	mu, err := fluid.WaterViscosity(t, fluid.NormalPressure)
	if err != nil {
		return fluid.Range{}, err
	}
	lift := math.Cbrt(StandardGravity * mu / rho)
	kl := func(d float64, mobile bool) float64 {
		sc := mu / (rho * d)
		if mobile {
			return 0.42 * lift / math.Sqrt(sc)
		}
		return 0.31 * lift * math.Pow(sc, -2.0/3)
	}
	area := func(e, d float64) float64 { return 6 * e / d / (1 - e) }
	r := fluid.Range{
		Low:  kl(diffusivity.Low, false) * area(holdup.Low, diameter.High),
		Best: kl(diffusivity.Best, diameter.Best >= largeBubble) * area(holdup.Best, diameter.Best),
		High: kl(diffusivity.High, true) * area(holdup.High, diameter.Low),
	}
	return r, r.Check("kLa")
}
