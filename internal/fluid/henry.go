package fluid

import "math"

// Range of the solubility functions: 0 to 40 degC.
const (
	HenryTemperatureLow  = 273.15 // K
	HenryTemperatureHigh = 313.15 // K
)

// vantHoff is one published solubility: hcp in mol/(m3 Pa) at 298.15 K and its
// temperature coefficient in K.
type vantHoff struct{ hcp, slope float64 }

// at returns the solubility in mol/(m3 Pa) at t in K.
func (v vantHoff) at(t float64) float64 {
	return v.hcp * math.Exp(v.slope*(1/t-1/298.15))
}

// ozoneHenry are the published solubilities of ozone; the first is the best.
// Source: Sander, Atmos. Chem. Phys. 23 (2023) 10901, compilation v5.0.0, each
// verified there to two digits.
var ozoneHenry = [...]vantHoff{
	{1.0e-4, 2800}, // Burkholder et al. 2019 (JPL), recommended
	{1.1e-4, 2400}, // Warneck 2003
	{1.1e-4, 2300}, // Kosak-Channing and Helz 1983
	{7.6e-5, 3700}, // Bin 2005
	{9.9e-5, 2600}, // Rischbieter et al. 2000
	{1.2e-4, 1400}, // Sotelo et al. 1989
}

// checkHenry returns an error outside 0 to 40 degC.
func checkHenry(t float64) error {
	return Within("water temperature", t, HenryTemperatureLow, HenryTemperatureHigh, "K")
}

// HenryOzone returns the solubility of ozone in pure water in mol/(m3 Pa): the
// concentration in water over the partial pressure in gas at equilibrium.
//
//   - t: temperature, 273.15 to 313.15 K.
//
// Outside the range: an error.
//
// Published values disagree by about -25 and +30 %. Best is Burkholder et al.
// 2019 (JPL), 1.0e-4 at 298.15 K with 2800 K, because it reproduces the
// 570 mg/L of pure ozone at 20 degC and 1 atm of EPA 815-R-99-014; low and high
// are the ends of six published correlations at t. pH and salts are not
// covered: below pH 8 they change less than this spread.
//
// Source: Sander, Atmos. Chem. Phys. 23 (2023) 10901, v5.0.0.
func HenryOzone(t float64) (Range, error) {
	if err := checkHenry(t); err != nil {
		return Range{}, err
	}
	r := Exact(ozoneHenry[0].at(t))
	for _, v := range ozoneHenry[1:] {
		r = r.Envelope(Exact(v.at(t)))
	}
	return r, nil
}

// OxygenSaturation returns the dissolved oxygen in kg/m3 of fresh water in
// equilibrium with moist air at one standard atmosphere.
//
//   - t: temperature, 273.15 to 313.15 K.
//
// Outside the range: an error.
//
// Source: Benson and Krause, Limnol. Oceanogr. 29 (1984) 620, as in APHA
// Standard Methods 4500-O: ln C = A + B/T + C/T2 + D/T3 + E/T4, mg/L.
func OxygenSaturation(t float64) (float64, error) {
	if err := checkHenry(t); err != nil {
		return 0, err
	}
	ln := -139.34411 + (1.575701e5+(-6.642308e7+(1.243800e10-8.621949e11/t)/t)/t)/t
	return math.Exp(ln) * 1e-3, nil
}

// HenryOxygen returns the solubility of oxygen in pure water in mol/(m3 Pa).
//
//   - t: temperature, 273.15 to 313.15 K.
//
// The saturation of moist air after Benson and Krause over the partial
// pressure of oxygen there, (1 atm - vapour pressure) 0.209476. The two-digit
// 1.3e-5 of compilations is 3.5 % higher at 25 degC and is not used. Low and
// high: 0.5 % for the real gas. Outside the range: an error.
//
// Source: as [OxygenSaturation].
func HenryOxygen(t float64) (Range, error) {
	c, err := OxygenSaturation(t)
	if err != nil {
		return Range{}, err
	}
	partial := (NormalPressure - region4Pressure(t)) * DryAir().O2
	return Spread(c/MolarMassO2/partial, 0.005), nil
}

// battino is a solubility as ln x = a + b/tau + c ln tau, tau = T/100 K, with x
// the mole fraction in water at a partial pressure of one atmosphere.
type battino struct{ a, b, c float64 }

// hcp returns the solubility in mol/(m3 Pa) at t in K, at which water has a volume in m3/kg.
func (s battino) hcp(t, volume float64) float64 {
	tau := t / 100
	x := math.Exp(s.a + s.b/tau + s.c*math.Log(tau))
	// Moles of water in a cubic metre turn the mole fraction into a
	// concentration.
	return x / (volume * MolarMassH2O * NormalPressure)
}

// Solubilities of nitrogen and argon.
// Source: IUPAC Solubility Data Series 10 (1982), nitrogen, verified in a
// transcription, and 4 (1980), argon, from memory and within 1.1 % of Weiss,
// Deep-Sea Res. 17 (1970) 721, which was read in a transcription.
var (
	nitrogenHenry = battino{-67.38765, 86.32129, 24.79808}
	argonHenry    = battino{-57.6661, 74.7627, 20.1398}
)

// Relative errors given to them.
const (
	nitrogenHenryError = 0.02
	argonHenryError    = 0.03
)

// HenryNitrogen returns the solubility of nitrogen in pure water in
// mol/(m3 Pa); low and high 2 %.
//
//   - t: temperature, 273.15 to 313.15 K.
//
// Outside the range: an error.
//
// Source: IUPAC Solubility Data Series 10 (1982), smoothing equation.
func HenryNitrogen(t float64) (Range, error) {
	if err := checkHenry(t); err != nil {
		return Range{}, err
	}
	return Spread(nitrogenHenry.hcp(t, region1Volume(t, NormalPressure)), nitrogenHenryError), nil
}

// HenryArgon returns the solubility of argon in pure water in mol/(m3 Pa); low
// and high 3 %.
//
//   - t: temperature, 273.15 to 313.15 K.
//
// Outside the range: an error.
//
// Source: IUPAC Solubility Data Series 4 (1980), smoothing equation, from
// memory; cross-checked by Weiss, Deep-Sea Res. 17 (1970) 721.
func HenryArgon(t float64) (Range, error) {
	if err := checkHenry(t); err != nil {
		return Range{}, err
	}
	return Spread(argonHenry.hcp(t, region1Volume(t, NormalPressure)), argonHenryError), nil
}

// SolubilityRatio turns a solubility in mol/(m3 Pa) into the ratio of the
// concentration in water to that in gas at equilibrium, H R T.
//
//   - hcp: solubility in mol/(m3 Pa), not negative.
//   - t: temperature, 273.15 to 313.15 K.
//
// Outside the range: an error.
func SolubilityRatio(hcp Range, t float64) (Range, error) {
	if err := checkHenry(t); err != nil {
		return Range{}, err
	}
	if err := hcp.Check("solubility"); err != nil {
		return Range{}, err
	}
	if err := Within("solubility", hcp.Low, 0, math.Inf(1), "mol/(m3 Pa)"); err != nil {
		return Range{}, err
	}
	return hcp.Scale(GasConstant * t), nil
}

// OzoneSaturation returns the ozone in kg/m3 that water can hold against a gas.
//
//   - t: temperature, 273.15 to 313.15 K.
//   - partial: partial pressure of ozone in the gas, 0 to 2 MPa.
//
// Outside the range: an error.
//
// Source: Henry's law with [HenryOzone].
func OzoneSaturation(t, partial float64) (Range, error) {
	h, err := HenryOzone(t)
	if err != nil {
		return Range{}, err
	}
	if err := Within("partial pressure of ozone", partial, 0, GasPressureHigh, "Pa"); err != nil {
		return Range{}, err
	}
	return h.Scale(partial * MolarMassO3), nil
}
