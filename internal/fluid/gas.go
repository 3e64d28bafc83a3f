package fluid

import (
	"fmt"
	"math"
)

// Range of the gas functions.
const (
	GasTemperatureLow  = 250.0  // K
	GasTemperatureHigh = 1000.0 // K
	GasPressureHigh    = 2e6    // Pa abs
)

// fractionTolerance is how far the mole fractions may miss a sum of one.
const fractionTolerance = 1e-9

// Gas is the composition of a gas in mole fractions; they add up to one.
// Carbon dioxide and the traces of air are counted as nitrogen.
type Gas struct {
	O2, N2, Ar, O3, H2O float64
}

// speciesCount is the number of gases in a mixture.
const speciesCount = 5

// array gives the fractions in the order of the fields.
func (g Gas) array() [speciesCount]float64 {
	return [speciesCount]float64{g.O2, g.N2, g.Ar, g.O3, g.H2O}
}

// fromArray is the inverse of array.
func fromArray(a [speciesCount]float64) Gas {
	return Gas{O2: a[0], N2: a[1], Ar: a[2], O3: a[3], H2O: a[4]}
}

// speciesNames are the names of the gases in the order of [Gas].
var speciesNames = [speciesCount]string{"oxygen", "nitrogen", "argon", "ozone", "water"}

// molarMasses are in kg/mol in the order of [Gas].
var molarMasses = [speciesCount]float64{MolarMassO2, MolarMassN2, molarMassAr, MolarMassO3, MolarMassH2O}

// Check returns an error unless every mole fraction lies between 0 and 1 and
// they add up to one within 1e-9.
func (g Gas) Check() error {
	sum := 0.0
	for i, y := range g.array() {
		if !(y >= 0 && y <= 1) {
			// The name is put together only for the error: compositions are checked very often.
			return Within("mole fraction of "+speciesNames[i], y, 0, 1, "")
		}
		sum += y
	}
	if math.Abs(sum-1) > fractionTolerance {
		return fmt.Errorf("mole fractions of the gas add up to %.12g instead of 1: %w", sum, ErrOutOfRange)
	}
	return nil
}

// GasFromAmounts returns the composition of a gas of which the amounts are
// given in any one unit of moles (mol, mol/s). Each must be finite and not
// negative, and together more than zero.
func GasFromAmounts(o2, n2, ar, o3, h2o float64) (Gas, error) {
	amounts := [speciesCount]float64{o2, n2, ar, o3, h2o}
	sum := 0.0
	for i, n := range amounts {
		if !(n >= 0 && n < math.Inf(1)) {
			return Gas{}, Within("amount of "+speciesNames[i], n, 0, math.Inf(1), "mol")
		}
		sum += n
	}
	if err := Positive("amount of gas", sum, "mol"); err != nil {
		return Gas{}, err
	}
	for i := range amounts {
		amounts[i] /= sum
	}
	return fromArray(amounts), nil
}

// DryAir returns the composition of dry air; carbon dioxide is counted as
// nitrogen. Source: US Standard Atmosphere 1976, Table 3, verified in a
// transcription.
func DryAir() Gas {
	return Gas{O2: 0.209476, N2: 0.781184, Ar: 0.00934}
}

// DryOxygen returns the composition of dry oxygen of a purity, the rest being
// argon and nitrogen.
//
//   - purity: mole fraction of oxygen, 0 to 1.
//   - argon: mole fraction of argon, 0 to 1 - purity. Oxygen from pressure
//     swing adsorption carries up to about 0.045; liquid oxygen hardly any.
//
// Outside the range: an error.
func DryOxygen(purity, argon float64) (Gas, error) {
	if err := Within("oxygen purity", purity, 0, 1, ""); err != nil {
		return Gas{}, err
	}
	if err := Within("mole fraction of argon", argon, 0, 1-purity, ""); err != nil {
		return Gas{}, err
	}
	return Gas{O2: purity, Ar: argon, N2: 1 - purity - argon}, nil
}

// WithWater returns the gas after its water has been brought to the mole
// fraction y; the other gases keep their proportions.
//
//   - y: mole fraction of water, 0 to below 1.
//
// An error outside the range, or if the gas is nothing but water.
func (g Gas) WithWater(y float64) (Gas, error) {
	if err := g.Check(); err != nil {
		return Gas{}, err
	}
	if err := Within("mole fraction of water", y, 0, 1, ""); err != nil {
		return Gas{}, err
	}
	dry := 1 - g.H2O
	if dry <= 0 || y == 1 {
		return Gas{}, fmt.Errorf("a gas of water alone has no dry part to moisten: %w", ErrOutOfRange)
	}
	k := (1 - y) / dry
	return Gas{O2: g.O2 * k, N2: g.N2 * k, Ar: g.Ar * k, O3: g.O3 * k, H2O: y}, nil
}

// WithOzone returns the gas after part of its oxygen has been turned into
// ozone (3 O2 to 2 O3), as a generator does; mass is kept.
//
//   - w: mass fraction of ozone in the product, 0 to that of the oxygen there.
//
// An error outside the range, or if the gas holds ozone already.
func (g Gas) WithOzone(w float64) (Gas, error) {
	m, err := g.MolarMass()
	if err != nil {
		return Gas{}, err
	}
	if g.O3 > 0 {
		return Gas{}, fmt.Errorf("feed gas of a generator holds ozone already (mole fraction %g): %w", g.O3, ErrOutOfRange)
	}
	oxygen := g.O2 * MolarMassO2 / m
	if err := Within("mass fraction of ozone", w, 0, oxygen, ""); err != nil {
		return Gas{}, err
	}
	// Amounts for one mole of feed gas. Rounding may leave a hair below zero.
	o3 := w * m / MolarMassO3
	o2 := max(0, g.O2-o3*MolarMassO3/MolarMassO2)
	return GasFromAmounts(o2, g.N2, g.Ar, o3, g.H2O)
}

// Decomposed returns the gas after all its ozone has become oxygen
// (2 O3 to 3 O2) and the moles of product for each mole of gas.
func (g Gas) Decomposed() (product Gas, moles float64, err error) {
	if err := g.Check(); err != nil {
		return Gas{}, 0, err
	}
	moles = 1 + g.O3/2
	product, err = GasFromAmounts(g.O2+1.5*g.O3, g.N2, g.Ar, 0, g.H2O)
	return product, moles, err
}

// MolarMass returns the molar mass of the gas in kg/mol, the mean of its parts.
func (g Gas) MolarMass() (float64, error) {
	if err := g.Check(); err != nil {
		return 0, err
	}
	return g.molarMass(), nil
}

// molarMass is MolarMass of a gas that has been checked.
func (g Gas) molarMass() float64 {
	m := 0.0
	for i, y := range g.array() {
		m += y * molarMasses[i]
	}
	return m
}

// OzoneMassFraction returns the mass fraction of ozone in the gas.
func (g Gas) OzoneMassFraction() (float64, error) {
	m, err := g.MolarMass()
	if err != nil {
		return 0, err
	}
	return g.O3 * MolarMassO3 / m, nil
}

// checkGasState returns an error unless the gas, its temperature and its
// pressure lie in the range of this package.
func (g Gas) checkGasState(t, p float64) error {
	if err := g.Check(); err != nil {
		return err
	}
	if err := Within("gas temperature", t, GasTemperatureLow, GasTemperatureHigh, "K"); err != nil {
		return err
	}
	if err := Within("gas pressure (absolute)", p, 0, GasPressureHigh, "Pa"); err != nil {
		return err
	}
	return Positive("gas pressure (absolute)", p, "Pa")
}

// Density returns the density of the gas in kg/m3: best is the ideal gas,
// p M / (R T); low and high are best minus and plus the departure from it.
//
//   - t: temperature, 250 to 1000 K.
//   - p: pressure, above 0 to 2 MPa abs.
//
// The departure is the second virial term |B| p / (R T), 0.07 % for oxygen at
// 20 degC and 1 bar, 0.7 % at 10 bar. Outside the range, and where the
// departure passes 5 % so that the ideal gas is no model any more: an error.
//
// Source: ideal gas; virial coefficient by the correlation of Abbott in
// Smith, Van Ness and Abbott, Introduction to Chemical Engineering
// Thermodynamics, verified in transcriptions; used for the error estimate only.
func (g Gas) Density(t, p float64) (Range, error) {
	if err := g.checkGasState(t, p); err != nil {
		return Range{}, err
	}
	departure := g.virial(t) * p / (GasConstant * t)
	if departure > 0.05 {
		return Range{}, fmt.Errorf("gas at %g K and %g Pa abs departs by %.2g %% from the ideal gas: %w: at most 5 %%",
			t, p, departure*100, ErrOutOfRange)
	}
	return Spread(p*g.molarMass()/(GasConstant*t), departure), nil
}

// criticals are critical temperature in K, pressure in Pa and acentric factor
// in the order of [Gas], verified in transcriptions and used for an error
// estimate only. Source: Schmidt and Wagner (oxygen), Span and others
// (nitrogen), Tegeler and others (argon), IAPWS-95 (water); ozone as
// collections of constants carry it, 261.0 to 261.1 K.
var criticals = [speciesCount]struct{ t, p, omega float64 }{
	{154.58, 5.043e6, 0.0222},
	{126.19, 3.3958e6, 0.0372},
	{150.687, 4.863e6, -0.0022},
	{261.1, 5.57e6, 0.212},
	{647.096, 22.064e6, 0.3443},
}

// virial returns the magnitude of the second virial coefficient in m3/mol,
// mixed by the square of the mean of the roots, which errs to the large side.
func (g Gas) virial(t float64) float64 {
	sum := 0.0
	for i, y := range g.array() {
		if y == 0 {
			continue
		}
		c := criticals[i]
		tr := t / c.t
		b := GasConstant * c.t / c.p * (0.083 - 0.422/math.Pow(tr, 1.6) + c.omega*(0.139-0.172/math.Pow(tr, 4.2)))
		sum += y * math.Sqrt(math.Abs(b))
	}
	return sum * sum
}
