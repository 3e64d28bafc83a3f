package fluid

import "math"

// Lennard-Jones parameters: diameter in nm and well depth over the Boltzmann
// constant in K. Source: Lemmon and Jacobsen, Int. J. Thermophys. 25 (2004)
// 21, Table I, verified in a transcription. Ozone: 0.410 nm and 180 K as
// combustion transport files carry them (from memory); held against the
// correlation of Perry's Chemical Engineers' Handbook, 8th edition, Table 2-312,
// which lies within 2 % at room temperature and 7 % up to 1000 K.
var lennardJones = [speciesCount]struct{ sigma, well float64 }{
	{0.3428, 118.5},
	{0.3656, 98.94},
	{0.335, 143.2},
	{0.410, 180},
	{}, // water vapour has its own equation
}

// ozoneViscosityError is the relative uncertainty given to the viscosity of
// pure ozone, of which no measured value was found.
const ozoneViscosityError = 0.25

// diluteViscosity returns the viscosity of one gas in Pa s at low pressure.
// Source: Lemmon and Jacobsen (2004), equations 2 and 3; water vapour IAPWS
// R12-08 equation 11.
func diluteViscosity(i int, t float64) float64 {
	if i == 4 {
		return steamDiluteViscosity(t)
	}
	lj := lennardJones[i]
	x := math.Log(t / lj.well)
	omega := math.Exp(0.431 + x*(-0.4623+x*(0.08406+x*(0.005341+x*-0.00331))))
	return 0.0266958e-6 * math.Sqrt(molarMasses[i]*1000*t) / (lj.sigma * lj.sigma * omega)
}

// Viscosity returns the dynamic viscosity of the gas in Pa s; low and high
// come from 2 % for the pure gases and the mixing rule, and 25 % for the share
// of ozone.
//
//   - t: temperature, 250 to 1000 K.
//
// For low pressure: up to 2 MPa abs the viscosity of oxygen rises by less than
// 2 %. Outside the range: an error.
//
// Source: pure gases Lemmon and Jacobsen (2004) and IAPWS R12-08, mixture
// Wilke, J. Chem. Phys. 18 (1950) 517.
func (g Gas) Viscosity(t float64) (Range, error) {
	if err := g.checkGasState(t, NormalPressure); err != nil {
		return Range{}, err
	}
	y := g.array()
	var mu [speciesCount]float64
	for i := range y {
		if y[i] > 0 {
			mu[i] = diluteViscosity(i, t)
		}
	}
	best := 0.0
	for i := range y {
		if y[i] == 0 {
			continue
		}
		denominator := 0.0
		for j := range y {
			if y[j] > 0 {
				ratio := molarMasses[j] / molarMasses[i]
				phi := 1 + math.Sqrt(mu[i]/mu[j])*math.Sqrt(math.Sqrt(ratio))
				denominator += y[j] * phi * phi / math.Sqrt(8*(1+1/ratio))
			}
		}
		best += y[i] * mu[i] / denominator
	}
	return Spread(best, 0.02+ozoneViscosityError*g.O3), nil
}
