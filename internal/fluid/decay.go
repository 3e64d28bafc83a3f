package fluid

import "math"

// OzoneDecay is a first-order law for the loss of dissolved ozone: the rate
// constant at a reference temperature and how it moves with temperature,
// k(T) = k exp(-E/R (1/T - 1/Tref)). Waters differ by more than an order of
// magnitude, so the rate is a measured or stated parameter, never a constant
// of nature.
type OzoneDecay struct {
	Rate             Range   // rate constant at Reference in 1/s
	Reference        float64 // temperature in K at which Rate holds
	ActivationEnergy Range   // J/mol; zero means that temperature is not accounted for
}

// Limits of the decay law.
const (
	decayRateHigh   = 10.0  // 1/s; faster is a demand, not a decay
	decayEnergyHigh = 150e3 // J/mol
)

// DecayFromHalfLife returns the law of a water in which half of the dissolved
// ozone is gone after a time.
//
//   - halfLife: time in s at the reference temperature, 0.07 s to 1e9 s.
//   - reference: temperature in K, 273.15 to 313.15 K.
//   - energy: activation energy in J/mol, 0 to 150 kJ/mol.
//
// Outside the range: an error.
func DecayFromHalfLife(halfLife Range, reference float64, energy Range) (OzoneDecay, error) {
	if err := halfLife.Check("half-life"); err != nil {
		return OzoneDecay{}, err
	}
	for _, x := range [3]float64{halfLife.Low, halfLife.Best, halfLife.High} {
		if err := Within("half-life", x, math.Ln2/decayRateHigh, 1e9, "s"); err != nil {
			return OzoneDecay{}, err
		}
	}
	d := OzoneDecay{
		Rate:             halfLife.Map(func(t float64) float64 { return math.Ln2 / t }),
		Reference:        reference,
		ActivationEnergy: energy,
	}
	return d, d.check()
}

// check returns an error unless the law lies in its range: rate 0 to 10 1/s,
// reference 0 to 40 degC, activation energy 0 to 150 kJ/mol.
func (d OzoneDecay) check() error {
	if err := d.Rate.Check("decay rate"); err != nil {
		return err
	}
	if err := d.ActivationEnergy.Check("activation energy of decay"); err != nil {
		return err
	}
	for _, l := range [5]struct {
		name         string
		x, low, high float64
		unit         string
	}{
		{"decay rate", d.Rate.Low, 0, decayRateHigh, "1/s"},
		{"decay rate", d.Rate.High, 0, decayRateHigh, "1/s"},
		{"reference temperature of decay", d.Reference, HenryTemperatureLow, HenryTemperatureHigh, "K"},
		{"activation energy of decay", d.ActivationEnergy.Low, 0, decayEnergyHigh, "J/mol"},
		{"activation energy of decay", d.ActivationEnergy.High, 0, decayEnergyHigh, "J/mol"},
	} {
		if err := Within(l.name, l.x, l.low, l.high, l.unit); err != nil {
			return err
		}
	}
	return nil
}

// At returns the rate constant in 1/s at a temperature.
//
//   - t: temperature, 273.15 to 313.15 K.
//
// Low and high take the worse end of both rate and activation energy. Outside
// the range: an error.
func (d OzoneDecay) At(t float64) (Range, error) {
	if err := d.check(); err != nil {
		return Range{}, err
	}
	if err := checkHenry(t); err != nil {
		return Range{}, err
	}
	factor := d.ActivationEnergy.Map(func(e float64) float64 {
		return math.Exp(-e / GasConstant * (1/t - 1/d.Reference))
	})
	return d.Rate.Mul(factor), nil
}

// DemandFreeDecay returns the decay of ozone in pure water near pH 7, for
// orientation only: half-life 20 min at 20 degC within a factor of three, and
// an activation energy of 47 kJ/mol (30 to 70).
//
// Source: a widely copied table of half-lives (30 min at 15, 15 min at 25,
// 8 min at 35 degC) that names no primary source; the activation energy is the
// one which these values imply. In acid, where no chain runs, Sehested and
// others, Environ. Sci. Technol. 25 (1991) 1589, measured 79.5 +/- 8 kJ/mol. Not
// a default: a real water may be ten times faster.
func DemandFreeDecay() OzoneDecay {
	halfLife := Range{Low: 400, Best: 1200, High: 3600}
	return OzoneDecay{
		Rate:             halfLife.Map(func(t float64) float64 { return math.Ln2 / t }),
		Reference:        293.15,
		ActivationEnergy: Range{Low: 30e3, Best: 47e3, High: 70e3},
	}
}
