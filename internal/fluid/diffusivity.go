package fluid

import "math"

// DiffusivityOxygen returns the diffusivity of oxygen in water in m2/s; low and
// high 5 %.
//
//   - t: temperature, 273.15 to 368.15 K.
//
// Outside the range: an error.
//
// Source: Han and Bartels, J. Phys. Chem. 100 (1996) 5597:
// log10 D[cm2/s] = -4.410 + 773.8/T - (506.4/T)^2.
func DiffusivityOxygen(t float64) (Range, error) {
	if err := Within("water temperature", t, WaterTemperatureLow, 368.15, "K"); err != nil {
		return Range{}, err
	}
	d := math.Pow(10, -4.410+773.8/t-(506.4/t)*(506.4/t)) * 1e-4
	return Spread(d, 0.05), nil
}

// DiffusivityOzone returns the diffusivity of ozone in water in m2/s; low and
// high 15 %, within which the older values of the trade lie.
//
//   - t: temperature, 273.15 to 313.15 K.
//
// Outside the range: an error.
//
// Source: Johnson and Davis, J. Chem. Eng. Data 41 (1996) 1485,
// 1.10e-6 exp(-1896 K/T), verified in transcriptions.
func DiffusivityOzone(t float64) (Range, error) {
	if err := checkHenry(t); err != nil {
		return Range{}, err
	}
	return Spread(1.10e-6*math.Exp(-1896/t), 0.15), nil
}

// DiffusivityNitrogen returns the diffusivity of nitrogen in water in m2/s; low
// and high 15 %, the error that the correlation claims.
//
//   - t: temperature, 273.15 to 313.15 K.
//
// Outside the range: an error.
//
// Source: Wilke and Chang, AIChE J. 1 (1955) 264, with the association factor
// 2.26 of Hayduk and Laudie (1974), verified in transcriptions, and 31.2
// cm3/mol for nitrogen (from memory; Boudreau, 1997, has 34.7, which is 6 %
// slower). The CRC Handbook has 2.0e-9 at 25 degC.
func DiffusivityNitrogen(t float64) (Range, error) {
	mu, err := solventViscosity(t)
	return nitrogenDiffusivity(t, mu), err
}

// DiffusivityArgon returns the diffusivity of argon in water in m2/s; low and
// high 20 %.
//
//   - t: temperature, 273.15 to 313.15 K.
//
// Outside the range: an error.
//
// Source: as [DiffusivityNitrogen], with 29.2 cm3/mol for argon (from memory).
// The CRC Handbook has 2.5e-9 at 25 degC, the high end.
func DiffusivityArgon(t float64) (Range, error) {
	mu, err := solventViscosity(t)
	return argonDiffusivity(t, mu), err
}

// solventViscosity returns the viscosity in Pa s of water at normal pressure.
func solventViscosity(t float64) (float64, error) {
	if err := checkHenry(t); err != nil {
		return 0, err
	}
	return WaterViscosity(t, NormalPressure)
}

func nitrogenDiffusivity(t, mu float64) Range { return Spread(wilkeChang(t, mu, 31.2), 0.15) }

func argonDiffusivity(t, mu float64) Range { return Spread(wilkeChang(t, mu, 29.2), 0.20) }

// wilkeChang returns the diffusivity in water of viscosity mu in m2/s of a solute with a molar volume at its boiling point in cm3/mol.
func wilkeChang(t, mu, volume float64) float64 {
	if mu == 0 {
		return 0 // outside the range, of which the viscosity tells
	}
	const association, water = 2.26, 18.015
	return 7.4e-12 * math.Sqrt(association*water) * t / (mu * 1e3 * math.Pow(volume, 0.6))
}
