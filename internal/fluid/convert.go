package fluid

import "fmt"

// Strength is the concentration of ozone in dry gas in the ways in which the
// trade states it; all of them are the same gas.
type Strength struct {
	MassFraction  float64 // kg ozone per kg gas (wt % / 100)
	MoleFraction  float64 // mol ozone per mol gas (ppmv / 1e6)
	Concentration float64 // kg ozone per normal m3 of gas (g/Nm3 / 1000), 0 degC and 101.325 kPa
}

// checkCarrier returns an error unless the molar mass of the carrier can be
// that of oxygen, air or a mixture near them.
func checkCarrier(carrier float64) error {
	return Within("molar mass of the carrier gas", carrier, 20e-3, 48e-3, "kg/mol")
}

// StrengthFromMassFraction returns the strength of ozone in a carrier gas.
//
//   - w: mass fraction of ozone, 0 to 1.
//   - carrier: molar mass of the gas without its ozone, 0.020 to 0.048 kg/mol;
//     [MolarMassO2], [MolarMassAir], or that of the feed gas.
//
// The ideal gas makes these conversions exact: with x = (w/M3)/(w/M3 +
// (1-w)/Mc) the concentration is x M3 / 22.41397 L/mol. The popular short cut,
// dividing by the density of the feed gas, is 2 to 3 % off at 10 wt %. Outside
// the range: an error.
func StrengthFromMassFraction(w, carrier float64) (Strength, error) {
	if err := Within("mass fraction of ozone", w, 0, 1, ""); err != nil {
		return Strength{}, err
	}
	if err := checkCarrier(carrier); err != nil {
		return Strength{}, err
	}
	ozone, rest := w/MolarMassO3, (1-w)/carrier
	x := ozone / (ozone + rest)
	return Strength{MassFraction: w, MoleFraction: x, Concentration: x * MolarMassO3 / NormalMolarVolume}, nil
}

// StrengthFromMoleFraction returns the strength of ozone in a carrier gas.
//
//   - x: mole fraction of ozone, 0 to 1 (1e-6 is 1 ppmv).
//   - carrier: molar mass of the gas without its ozone, 0.020 to 0.048 kg/mol.
//
// Outside the range: an error.
func StrengthFromMoleFraction(x, carrier float64) (Strength, error) {
	if err := Within("mole fraction of ozone", x, 0, 1, ""); err != nil {
		return Strength{}, err
	}
	if err := checkCarrier(carrier); err != nil {
		return Strength{}, err
	}
	w := x * MolarMassO3 / (x*MolarMassO3 + (1-x)*carrier)
	return Strength{MassFraction: w, MoleFraction: x, Concentration: x * MolarMassO3 / NormalMolarVolume}, nil
}

// StrengthFromConcentration returns the strength of ozone in a carrier gas.
//
//   - c: ozone in kg per normal m3 of gas, 0 to that of pure ozone
//     (2.1414 kg/m3).
//   - carrier: molar mass of the gas without its ozone, 0.020 to 0.048 kg/mol.
//
// Outside the range: an error.
func StrengthFromConcentration(c, carrier float64) (Strength, error) {
	if err := Within("ozone concentration", c, 0, MolarMassO3/NormalMolarVolume, "kg/m3 (normal)"); err != nil {
		return Strength{}, err
	}
	s, err := StrengthFromMoleFraction(min(1, c*NormalMolarVolume/MolarMassO3), carrier)
	if err != nil {
		return Strength{}, err
	}
	s.Concentration = c
	return s, nil
}

// VolumeFlow returns the volume flow in m3/s that n mol/s of ideal gas take at
// a temperature and a pressure.
//
//   - n: flow in mol/s, not negative.
//   - t: temperature, 250 to 1000 K.
//   - p: pressure, above 0 to 2 MPa abs.
//
// Outside the range: an error.
func VolumeFlow(n, t, p float64) (float64, error) {
	if err := checkReference(t, p); err != nil {
		return 0, err
	}
	if err := Within("molar flow", n, 0, maxFlow, "mol/s"); err != nil {
		return 0, err
	}
	return n * GasConstant * t / p, nil
}

// maxFlow keeps flows within what a double can carry through a conversion.
const maxFlow = 1e9

// checkReference returns an error unless a volume can be stated at t and p.
func checkReference(t, p float64) error {
	if err := Within("reference temperature", t, GasTemperatureLow, GasTemperatureHigh, "K"); err != nil {
		return err
	}
	if err := Within("reference pressure (absolute)", p, 0, GasPressureHigh, "Pa"); err != nil {
		return err
	}
	if p == 0 {
		return fmt.Errorf("reference pressure (absolute) is zero: %w: more than 0 Pa", ErrOutOfRange)
	}
	return nil
}
