package fluid

import "math"

// shomate is one segment of heat capacity: cp in J/(mol K) is
// A + B t + C t^2 + D t^3 + E/t^2 with t = T/1000 K, up to the temperature
// high in K.
type shomate struct {
	high          float64
	a, b, c, d, e float64
}

// cp returns the molar heat capacity in J/(mol K) at temp in K.
func (s shomate) cp(temp float64) float64 {
	t := temp / 1000
	return s.a + s.b*t + s.c*t*t + s.d*t*t*t + s.e/(t*t)
}

// integral returns the antiderivative of cp in J/mol at temp in K.
func (s shomate) integral(temp float64) float64 {
	t := temp / 1000
	return 1000 * (s.a*t + s.b*t*t/2 + s.c*t*t*t/3 + s.d*t*t*t*t/4 - s.e/t)
}

// shomates are the segments in the order of [Gas].
//
// Source: NIST Chemistry WebBook (Chase 1998), verified in transcriptions:
// oxygen from 100 and from 700 K, nitrogen from 100 and from 500 K, ozone 298
// to 1200 K and water vapour 500 to 1700 K; argon is monatomic, 5/2 R. Ozone
// below 298 K and water vapour below 500 K are extrapolated: water vapour is
// within 0.1 % of the tabulated 33.59 J/(mol K) at 298 K.
var shomates = [speciesCount][]shomate{
	{
		{700, 31.32234, -20.23531, 57.86644, -36.50624, -0.007374},
		{math.Inf(1), 30.03235, 8.772972, -3.988133, 0.788313, -0.741599},
	},
	{
		{500, 28.98641, 1.853978, -9.647459, 16.63537, 0.000117},
		{math.Inf(1), 19.50583, 19.88705, -8.598535, 1.369784, 0.527601},
	},
	{{math.Inf(1), 2.5 * GasConstant, 0, 0, 0, 0}},
	{{math.Inf(1), 21.66157, 79.86001, -66.02603, 19.58363, -0.079251}},
	{{math.Inf(1), 30.09200, 6.832514, 6.793435, -2.534480, 0.082139}},
}

// referenceTemperature is the temperature in K from which enthalpies count.
const referenceTemperature = 298.15

// OzoneFormationEnthalpy is the enthalpy of formation of ozone gas at 298.15 K
// in J/mol; the same heat is set free when it decomposes to oxygen.
// Source: NIST Chemistry WebBook (Chase 1998), 142.67 kJ/mol.
const OzoneFormationEnthalpy = 142674.0

// speciesHeatCapacity returns the molar heat capacity of one gas.
func speciesHeatCapacity(i int, t float64) float64 {
	for _, s := range shomates[i] {
		if t <= s.high {
			return s.cp(t)
		}
	}
	return math.NaN() // unreachable: the last segment has no end
}

// speciesEnthalpy returns H(T) - H(298.15 K) of one gas in J/mol.
func speciesEnthalpy(i int, t float64) float64 {
	h, from := 0.0, referenceTemperature
	for _, s := range shomates[i] {
		if t <= s.high {
			return h + s.integral(t) - s.integral(from)
		}
		h += s.integral(s.high) - s.integral(from)
		from = s.high
	}
	return h
}

// HeatCapacity returns the molar heat capacity of the gas at constant
// pressure in J/(mol K), ideal gas.
//
//   - t: temperature, 250 to 1000 K.
//
// Outside the range: an error.
//
// Source: NIST Chemistry WebBook, Shomate equations; mean by mole fraction.
func (g Gas) HeatCapacity(t float64) (float64, error) {
	if err := g.checkGasState(t, NormalPressure); err != nil {
		return 0, err
	}
	cp := 0.0
	for i, y := range g.array() {
		if y > 0 {
			cp += y * speciesHeatCapacity(i, t)
		}
	}
	return cp, nil
}

// HeatCapacityRatio returns cp/cv of the ideal gas.
//
//   - t: temperature, 250 to 1000 K.
//
// Outside the range: an error.
func (g Gas) HeatCapacityRatio(t float64) (float64, error) {
	cp, err := g.HeatCapacity(t)
	if err != nil {
		return 0, err
	}
	return cp / (cp - GasConstant), nil
}

// Enthalpy returns the sensible enthalpy of the gas above 298.15 K in J/mol,
// heats of formation not included.
//
//   - t: temperature, 250 to 1000 K.
//
// Outside the range: an error.
//
// Source: NIST Chemistry WebBook, Shomate equations.
func (g Gas) Enthalpy(t float64) (float64, error) {
	if err := g.checkGasState(t, NormalPressure); err != nil {
		return 0, err
	}
	h := 0.0
	for i, y := range g.array() {
		if y > 0 {
			h += y * speciesEnthalpy(i, t)
		}
	}
	return h, nil
}

// OzoneDecompositionHeat returns the heat in J/mol that one mole of ozone sets
// free when it becomes oxygen (O3 to 3/2 O2) at constant temperature.
//
//   - t: temperature, 250 to 1000 K.
//
// Outside the range: an error.
//
// Source: NIST Chemistry WebBook: 142.67 kJ/mol at 298.15 K, with the Shomate
// equations away from it.
func OzoneDecompositionHeat(t float64) (float64, error) {
	if err := Within("gas temperature", t, GasTemperatureLow, GasTemperatureHigh, "K"); err != nil {
		return 0, err
	}
	return OzoneFormationEnthalpy + speciesEnthalpy(3, t) - 1.5*speciesEnthalpy(0, t), nil
}
