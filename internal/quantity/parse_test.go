package quantity_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/quantity"
)

// Sources named in the tables below.
const (
	si      = "SI Brochure, 9th edition: exact"
	sp811   = "NIST SP 811 (2008), appendix B.8"
	hb44    = "NIST Handbook 44, appendix C"
	iec     = "IEC 60534-2-1:2011, table 1 (8.65e-2 / 1e-1)"
	din1343 = "22.41397 L/mol at 0 °C, 101.325 kPa: CODATA R, ideal gas"
	iso     = "23.64484 L/mol at 15 °C, 101.325 kPa: ISO 13443 states 23.6448"
	ideal   = "ideal gas law by hand, R = 8.31446261815324 J/(mol K)"
)

func TestParse(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text   string
		d      quantity.Dimension
		want   float64
		tol    float64 // relative; 0 asks for the same bits
		source string
	}{
		{"10 bar(g)", quantity.PressureGauge, 1e6, 0, si},
		{"10 bar (g)", quantity.PressureGauge, 1e6, 0, si},
		{"10 barg", quantity.PressureGauge, 1e6, 0, si},
		{"10bar(g)", quantity.PressureGauge, 1e6, 0, si},
		{"10 bar(gauge)", quantity.PressureGauge, 1e6, 0, si},
		{"-0.3 bar(g)", quantity.PressureGauge, -3e4, 0, si},
		{"\u22120.3\u00a0bar(g)", quantity.PressureGauge, -3e4, 0, si},
		{"1 MPa(g)", quantity.PressureGauge, 1e6, 0, si},
		{"250 kPag", quantity.PressureGauge, 2.5e5, 0, si},
		{"-300 mbar(g)", quantity.PressureGauge, -3e4, 0, si},
		{"150 psig", quantity.PressureGauge, 150 * 6894.757, 1e-6, sp811},
		{"150 psi(g)", quantity.PressureGauge, 150 * 6894.757, 1e-6, sp811},
		{"-10 inHg(g)", quantity.PressureGauge, -33863.89, 0, sp811},
		{"3 mH2O(g)", quantity.PressureGauge, 29419.95, 0, sp811},
		{"1.013 bar(a)", quantity.PressureAbsolute, 101300, 0, si},
		{"1 atm(a)", quantity.PressureAbsolute, 101325, 0, si},
		{"14.696 psia", quantity.PressureAbsolute, 101325, 1e-5, sp811},
		{"760 Torr(a)", quantity.PressureAbsolute, 101325, 0, sp811},
		{"29.92 inHg(abs)", quantity.PressureAbsolute, 29.92 * 3386.389, 1e-12, sp811},
		{"0 Pa(a)", quantity.PressureAbsolute, 0, 0, si},
		{"1 psi", quantity.PressureDifference, 6894.757, 1e-7, sp811},
		{"10 inH2O", quantity.PressureDifference, 2490.889, 1e-7, sp811},
		{"1 ftH2O", quantity.PressureDifference, 2989.067, 1e-7, sp811},
		{"100 mmHg", quantity.PressureDifference, 13332.24, 0, sp811},
		{"50 mbar", quantity.PressureDifference, 5000, 0, si},

		{"25 °C", quantity.Temperature, 298.15, 0, si},
		{"25 degC", quantity.Temperature, 298.15, 0, si},
		{"25 Cel", quantity.Temperature, 298.15, 0, si},
		{"25 \u2103", quantity.Temperature, 298.15, 0, si},
		{"77 °F", quantity.Temperature, 298.15, 0, sp811},
		{"-40 degF", quantity.Temperature, 233.15, 0, sp811},
		{"300 K", quantity.Temperature, 300, 0, si},
		{"-273.15 degC", quantity.Temperature, 0, 0, si},
		{"9 degF", quantity.TemperatureDifference, 5, 0, sp811},
		{"5 K", quantity.TemperatureDifference, 5, 0, si},
		{"5 degC", quantity.TemperatureDifference, 5, 0, si},

		{"3 in", quantity.Length, 0.0762, 0, "International yard and pound agreement (1959): exact"},
		{"10 ft", quantity.Length, 3.048, 0, "International yard and pound agreement (1959): exact"},
		{".5 in", quantity.Length, 0.0127, 0, "International yard and pound agreement (1959): exact"},
		{"20 \u00b5m", quantity.Length, 20e-6, 0, si},
		{"20 \u03bcm", quantity.Length, 20e-6, 0, si},
		{"1.5e3 mm", quantity.Length, 1.5, 0, si},
		{"2 m²", quantity.Area, 2, 0, si},
		{"2 m^2", quantity.Area, 2, 0, si},
		{"100 cm2", quantity.Area, 0.01, 0, si},
		{"1 gal", quantity.Volume, 3.785411784e-3, 0, hb44},
		{"1 ft3", quantity.Volume, 2.831685e-2, 1e-6, sp811},
		{"200 L", quantity.Volume, 0.2, 0, si},
		{"200 l", quantity.Volume, 0.2, 0, si},
		{"1 dm³", quantity.Volume, 0.001, 0, si},

		{"5 min", quantity.Duration, 300, 0, si},
		{"30 s", quantity.Duration, 30, 0, si},
		{"1.5 h", quantity.Duration, 5400, 0, si},
		{"1 year", quantity.Duration, 31557600, 0, "Julian year of 365.25 d"},
		{"6 months", quantity.Duration, 15778800, 0, "half a Julian year"},
		{"2 weeks", quantity.Duration, 1209600, 0, si},

		{"30 L/min", quantity.LiquidFlow, 5e-4, 0, si},
		{"1.8 m3/h", quantity.LiquidFlow, 5e-4, 0, si},
		{"1 gpm", quantity.LiquidFlow, 6.309020e-5, 1e-6, sp811},
		{"1 gal/min", quantity.LiquidFlow, 6.309020e-5, 1e-6, sp811},

		{"22.41397 NL/min", quantity.GasFlow, 1.0 / 60, 1e-6, din1343},
		{"22.41397 Nm³/h", quantity.GasFlow, 1000.0 / 3600, 1e-6, din1343},
		{"23.6448 Sm3/h", quantity.GasFlow, 1000.0 / 3600, 5e-6, iso},
		{"22.41397 L/min at 0 degC, 1 atm(a)", quantity.GasFlow, 1.0 / 60, 1e-6, din1343},
		{"8 L/min at 20 degC, 1.013 bar(a)", quantity.GasFlow, 8e-3 / 60 * 101300 / (8.31446261815324 * 293.15), 1e-14, ideal},
		{"15 cfm at 60 degF, 14.696 psi(a)", quantity.GasFlow, 15 * 0.3048 * 0.3048 * 0.3048 / 60 * 14.696 * 6894.757293168 / (8.31446261815324 * 288.7055555555556), 1e-12, ideal},
		{"1 kmol/h", quantity.GasFlow, 1.0 / 3.6, 1e-15, si},
		{"0.25 mol/s", quantity.GasFlow, 0.25, 0, si},

		{"60 g/h", quantity.MassFlow, 60.0 / 3.6e6, 1e-15, si},
		{"1 lb/d", quantity.MassFlow, 0.45359237 / 86400, 1e-15, "International yard and pound agreement (1959): exact"},
		{"1 lb/h", quantity.MassFlow, 1.259979e-4, 1e-6, sp811},
		{"1 oz", quantity.Mass, 2.834952e-2, 1e-6, sp811},
		{"1 hp", quantity.Power, 745.6999, 1e-6, sp811},
		{"1 Btu/h", quantity.Power, 2.930711e-1, 1e-6, sp811},
		{"1.2 kW", quantity.Power, 1200, 0, si},
		{"1 kWh", quantity.Energy, 3.6e6, 0, si},
		{"1 kW h", quantity.Energy, 3.6e6, 0, si},
		{"1 Btu", quantity.Energy, 1.055056e3, 1e-6, sp811},
		{"10 kWh/kg", quantity.SpecificEnergy, 3.6e7, 0, si},
		{"1 Btu/lb", quantity.SpecificEnergy, 2326, 0, sp811},
		{"53.2 kJ/mol", quantity.MolarEnergy, 53200, 0, si},

		{"10 wt%", quantity.MassFraction, 0.1, 0, "definition"},
		{"10 wt %", quantity.MassFraction, 0.1, 0, "definition"},
		{"10 %w/w", quantity.MassFraction, 0.1, 0, "definition"},
		{"10 % (w/w)", quantity.MassFraction, 0.1, 0, "definition"},
		{"5 mg/kg", quantity.MassFraction, 5e-6, 0, "definition"},
		{"6 vol%", quantity.MoleFraction, 0.06, 0, "definition"},
		{"6 %v/v", quantity.MoleFraction, 0.06, 0, "definition"},
		{"6 mol %", quantity.MoleFraction, 0.06, 0, "definition"},
		{"0.1 ppmv", quantity.MoleFraction, 1e-7, 0, "definition"},
		{"2 mg/L", quantity.MassConcentration, 2e-3, 0, si},
		{"2 mg·L⁻¹", quantity.MassConcentration, 2e-3, 0, si},
		{"200 ug/m3", quantity.MassConcentration, 2e-7, 0, si},
		{"1.6 mg·min/L", quantity.Exposure, 0.096, 0, "1.6e-3 kg/m3 times 60 s"},
		{"1.6 mg min/L", quantity.Exposure, 0.096, 0, "1.6e-3 kg/m3 times 60 s"},
		{"2.5 Kv", quantity.FlowCoefficient, 2.5, 0, "IEC 60534-1"},
		{"Kv 2.5", quantity.FlowCoefficient, 2.5, 0, "IEC 60534-1"},
		{"10 Cv", quantity.FlowCoefficient, 8.65, 0, iec},
		{"Cv 10", quantity.FlowCoefficient, 8.65, 0, iec},

		{"2 ft/s", quantity.Velocity, 0.6096, 0, "International yard and pound agreement (1959): exact"},
		{"62.4 lb/ft3", quantity.Density, 62.4 * 16.01846, 1e-6, sp811},
		{"0.998 g/cm3", quantity.Density, 998, 0, si},
		{"2 kHz", quantity.Frequency, 2000, 0, si},
		{"1450 rpm", quantity.RotationalSpeed, 1450.0 / 60, 1e-15, si},
		{"230 V", quantity.Voltage, 230, 0, si},
		{"20 mA", quantity.Current, 0.02, 0, si},
		{"6 1/h", quantity.Rate, 6.0 / 3600, 1e-15, si},
		{"6 h^-1", quantity.Rate, 6.0 / 3600, 1e-15, si},
		{"6 s-1", quantity.Rate, 6, 0, si},
		{"0.8", quantity.Ratio, 0.8, 0, "definition"},
		{"80 %", quantity.Ratio, 0.8, 0, "definition"},
		{"180 deg", quantity.Angle, math.Pi, 0, "pi"},
		{"1 cP", quantity.DynamicViscosity, 1e-3, 0, sp811},
		{"1 mPa s", quantity.DynamicViscosity, 1e-3, 0, si},
		{"1 mPa·s", quantity.DynamicViscosity, 1e-3, 0, si},
		{"72 mN/m", quantity.SurfaceTension, 0.072, 0, si},
		{"48 g/mol", quantity.MolarMass, 0.048, 0, si},
		{"29.383 J/(mol K)", quantity.MolarHeatCapacity, 29.383, 0, si},
		{"1 cSt", quantity.Diffusivity, 1e-6, 0, sp811},
		{"1e-4 mol/(m3 Pa)", quantity.HenrySolubility, 1e-4, 0, si},
		{"1 lbf", quantity.Force, 4.448222, 1e-6, sp811},
		{"1 Btu/(h ft2 degF)", quantity.HeatTransferCoefficient, 5.678263, 1e-6, sp811},
		{"5e-324 m", quantity.Length, 5e-324, 0, "smallest float64"},
		{"1.7976931348623157e308 m", quantity.Length, math.MaxFloat64, 0, "largest float64"},
		{"-0 m", quantity.Length, math.Copysign(0, -1), 0, "IEEE 754: minus zero is kept"},
	} {
		t.Run(c.text, func(t *testing.T) {
			got, err := quantity.Parse(c.text, c.d)
			require.NoError(t, err)
			if c.tol == 0 {
				assert.Equal(t, math.Float64bits(c.want), math.Float64bits(got), "want %v, got %v (%s)", c.want, got, c.source)
				return
			}
			assert.InEpsilon(t, c.want, got, c.tol, c.source)
		})
	}
}

// The values are the ideal-gas mixture formula evaluated apart from this
// program, with M(O3) 47.9982, M(O2) 31.9988, M(air) 28.96 to 28.97 g/mol and
// 22.41397 L/mol; the tolerance is that of the printed digits.
func TestOzoneInFeedGas(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text string
		want float64 // mass fraction
	}{
		{"50 g/Nm3 in O2", 0.03462},
		{"50 g/Nm3 in air", 0.03811},
		{"100 g/Nm3 in O2", 0.06845},
		{"100 g/Nm3 in oxygen", 0.06845},
		{"100 g/Nm3 in air", 0.07508},
		{"150 g/Nm3 in O2", 0.10151},
		{"150 g/Nm3 in air", 0.11097},
		{"180 g/Nm3 in O2", 0.12100},
		{"180 g/Nm3 in air", 0.13200},
		{"14.32 g/Nm3 in O2", 0.01},
		{"43.26 mg/NL in O2", 0.03},
		{"178.45 g/Nm3 in O2", 0.12},
		{"12.97 g/Nm3 in air", 0.01},
		{"79.43 g/Nm3 in air", 0.06},
		{"6689 ppmv in O2", 0.01},
		{"20202 ppmv in O2", 0.03},
		{"40816 ppmv in O2", 0.06},
		{"68966 ppmv in O2", 0.10},
		{"8.3333 vol% in O2", 0.12},
		{"6059 ppmv in air", 0.01},
		{"62837 ppmv in air", 0.10},
		{"10 wt% in O2", 0.10},
	} {
		t.Run(c.text, func(t *testing.T) {
			got, err := quantity.Parse(c.text, quantity.MassFraction)
			require.NoError(t, err)
			assert.InEpsilon(t, c.want, got, 5e-4)
		})
	}
}

func TestParseRefuses(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text       string
		d          quantity.Dimension
		offset     int
		problem    string
		suggestion string
	}{
		// Gauge and absolute.
		{"10 bar", quantity.PressureGauge, 3, "gauge or absolute", `"10 bar(g)"`},
		{"10 psi", quantity.PressureAbsolute, 3, "gauge or absolute", `"10 psi(a)"`},
		{"10 bar(a)", quantity.PressureGauge, 3, "atmospheric pressure at the site", "bar(g)"},
		{"10 psig", quantity.PressureAbsolute, 3, "atmospheric pressure at the site", "psi(a)"},
		{"10 bar(g)", quantity.PressureDifference, 3, "neither gauge nor absolute", `"10 bar"`},
		{"2 bar g", quantity.PressureGauge, 2, "product of units", "bar(g)"},
		{"2 bar abs", quantity.PressureAbsolute, 2, "product of units", "bar(a)"},
		{"10 mPa(g)", quantity.PressureGauge, 3, "millipascal", "MPa"},
		{"-1.2 bar(g)", quantity.PressureGauge, 0, "deeper than the atmosphere", "-1.1 bar"},
		{"-1 mbar(a)", quantity.PressureAbsolute, 0, "below vacuum", ""},
		{"1 bar(g) s", quantity.DynamicViscosity, 2, "inside a compound unit", "plain pressure"},
		// Gas.
		{"8 L/min", quantity.GasFlow, 2, "without the temperature and pressure", `"8 NL/min"`},
		{"8 slpm", quantity.GasFlow, 2, "reference temperature", "NL/min"},
		{"15 scfm", quantity.GasFlow, 3, "reference temperature", "15 cfm at 60 degF"},
		{"15 SCFH", quantity.GasFlow, 3, "reference temperature", "cfm at"},
		{"8 L/min at 20 degC", quantity.GasFlow, 11, "temperature and an absolute pressure", "at 20 degC, 1.013 bar(a)"},
		{"8 L/min at 20 degC, 1 bar", quantity.GasFlow, 22, "gauge or absolute", ""},
		{"8 L/min at 20 degC, 0 bar(g)", quantity.GasFlow, 22, "gauge pressure", "1.013 bar(a)"},
		{"8 L/min at 20 degC, 0 bar(a)", quantity.GasFlow, 20, "not above zero", ""},
		{"8 L/min at 0 K, 1 bar(a)", quantity.GasFlow, 11, "not above zero", ""},
		{"8 L/min at 20, 1 bar(a)", quantity.GasFlow, 13, "without a unit", "degC"},
		{"8 L/min at 20 degC, ", quantity.GasFlow, 19, "without an absolute pressure", "bar(a)"},
		{"8 NL/min at 20 degC, 1 bar(a)", quantity.GasFlow, 2, "actual volume flow", ""},
		{"8 L/min at 20 degC, 1 bar(a)", quantity.LiquidFlow, 8, "belongs to a gas flow", ""},
		{"8 NL/min", quantity.LiquidFlow, 2, "is a gas flow", "L/min"},
		{"8 kg/h", quantity.GasFlow, 2, "is a mass flow", "NL/min"},
		{"100 g/Nm3", quantity.MassFraction, 4, "mass per volume", `"100 g/Nm3 in O2"`},
		{"100 g/Nm3 in N2", quantity.MassFraction, 13, "feed gas", "O2"},
		{"3000 g/Nm3 in O2", quantity.MassFraction, 0, "more of it than the whole", ""},
		{"100 mg/L in O2", quantity.MassFraction, 4, "not an amount of ozone", "g/Nm3"},
		{"5 % in O2", quantity.MassFraction, 2, "by mass or by volume", "wt%"},
		{"60000 ppmv", quantity.MassFraction, 6, "is a mole fraction", `"ppmv in O2"`},
		{"10 %", quantity.MassFraction, 3, "by mass or by volume", "wt%"},
		{"10 wt%", quantity.MoleFraction, 3, "is a mass fraction", "vol%"},
		{"5 ppm", quantity.MoleFraction, 2, "by volume or by mass", "ppmv"},
		{"120 wt%", quantity.MassFraction, 0, "outside 0 to 100 %", ""},
		{"-1 vol%", quantity.MoleFraction, 0, "outside 0 to 100 %", ""},
		{"4 g/Nm3", quantity.MassConcentration, 2, "normal volume", "mg/L"},
		{"4 ppmv", quantity.MassConcentration, 2, "is a fraction", "mg/L"},
		{"4 vol%", quantity.Length, 2, "is a fraction", "mm"},
		{"4 wt%", quantity.Ratio, 2, "plain ratio", "%"},
		{"48 g/Nm3", quantity.MolarMass, 3, "normal volume", "g/mol"},
		// Other dimensions.
		{"8 L/min", quantity.Power, 2, `"L/min" is a liquid flow, and a power is wanted`, "kW"},
		{"5 mm", quantity.Temperature, 2, "is a length", "degC"},
		{"5 m3/h", quantity.FlowCoefficient, 2, "is a liquid flow", "Kv"},
		{"5 Hz", quantity.Rate, 2, "is a frequency", "1/s"},
		{"5 1/s", quantity.Frequency, 2, "is a rate", "Hz"},
		{"5 rpm", quantity.Frequency, 2, "is a rotational speed", "Hz"},
		{"5 m", quantity.Ratio, 2, "is a length", "%"},
		{"5 m/m", quantity.Length, 2, "plain ratio", "mm"},
		// Spelling.
		{"5 mw", quantity.Power, 2, `unknown unit "mw"`, "mW or MW"},
		{"5 KG/h", quantity.MassFlow, 2, `unknown unit "KG"`, "kg"},
		{"5 Mbar", quantity.PressureDifference, 2, "unknown unit", "mbar"},
		{"5 PSI", quantity.PressureDifference, 2, "unknown unit", "psi"},
		{"5 kgg/h", quantity.MassFlow, 2, "unknown unit", "kg"},
		{"5 furlong", quantity.Length, 2, "unknown unit", "units that fit a length: m, mm"},
		{"5 ton", quantity.Mass, 2, "2000 lb", "kg"},
		{"3 kg/h/m2", quantity.MassFlow, 6, "second /", "parentheses"},
		{"3 J/mol K", quantity.MolarHeatCapacity, 8, "after /", "J/(mol K)"},
		{"3 J/(mol K", quantity.MolarHeatCapacity, 4, "not closed", ""},
		{"3 J/mol)", quantity.MolarEnergy, 7, "unexpected", ""},
		{"3 m/", quantity.Velocity, 4, "ends too early", ""},
		{"3 m^", quantity.Area, 3, "exponent without", "m^2"},
		{"3 m99", quantity.Area, 2, "out of range", ""},
		{"3 m0", quantity.Area, 2, "out of range", ""},
		{"3 m9 m9 m9 m9", quantity.Area, 11, "out of range", ""},
		{"3 #", quantity.Length, 2, "unexpected", ""},
		// Numbers.
		{"", quantity.Length, 0, "empty", "m, mm"},
		{"   ", quantity.Length, 0, "empty", "m, mm"},
		{"10", quantity.Length, 2, "without a unit", "m, mm"},
		{"bar(g)", quantity.PressureGauge, 0, "no number", "bar(g)"},
		{"1,5 m", quantity.Length, 1, "comma", "point"},
		{"1,000 m", quantity.Length, 1, "comma", "point"},
		{"1.000.000 m", quantity.Length, 5, "second decimal point", ""},
		{"1 000 m", quantity.Length, 2, "second number", "without spaces"},
		{"1\u202f000 m", quantity.Length, 4, "second number", "without spaces"},
		{"1_000 m", quantity.Length, 1, "thousands mark", ""},
		{"1'000 m", quantity.Length, 1, "thousands mark", ""},
		{"5. m", quantity.Length, 1, "decimal point", "5.0"},
		{"NaN m", quantity.Length, 0, "not a finite", ""},
		{"inf m", quantity.Length, 0, "not a finite", ""},
		{"-Infinity m", quantity.Length, 0, "not a finite", ""},
		{"0x10 m", quantity.Length, 0, "hexadecimal", ""},
		{"1e999 m", quantity.Length, 0, "out of range", ""},
		{"1e-99999999999 m", quantity.Length, 0, "out of range", ""},
		{"1e309 m", quantity.Length, 0, "too large", ""},
		{"1e-330 m", quantity.Length, 0, "too small", ""},
		{"1-2 m", quantity.Length, 1, "range", ""},
		{"1/2 in", quantity.Length, 1, "fraction", "0.5"},
		{"1 1/2 in", quantity.Length, 2, "fraction", "1.5"},
		{"10² m", quantity.Length, 2, "superscript", "1e3"},
		{"10^2 m", quantity.Length, 2, "exponent on the number", "1e3"},
		{"5 ± 1 m", quantity.Length, 2, "unexpected character", ""},
		{"5 \xff", quantity.Length, 2, "UTF-8", ""},
		{"5\nm", quantity.Length, 1, "unexpected character", ""},
		{"1" + strings.Repeat("0", 64) + " m", quantity.Length, 64, "too long", "64 bytes"},
		{strings.Repeat("9", 300), quantity.GasFlow, 64, "too long", "64 bytes"},
		{"-1 K", quantity.Temperature, 0, "absolute zero", ""},
		{"-460 degF", quantity.Temperature, 0, "absolute zero", ""},
		{"2.5 Kv", quantity.LiquidFlow, 4, "flow coefficient", ""},
		{"Kv 2.5 m", quantity.FlowCoefficient, 7, "a unit after", "2.5 Kv"},
		{"Kv Cv 5", quantity.FlowCoefficient, 3, "no number", "Kv"},
		{"1 m", quantity.Dimension(0), 0, "no dimension", ""},
		{"1 m", quantity.Dimension(255), 0, "no dimension", ""},
	} {
		t.Run(c.text, func(t *testing.T) {
			_, err := quantity.Parse(c.text, c.d)
			var fault *quantity.Error
			require.ErrorAs(t, err, &fault)
			assert.Contains(t, fault.Problem, c.problem)
			assert.Contains(t, fault.Suggestion, c.suggestion)
			assert.Equal(t, c.offset, fault.Offset, fault.Error())
			assert.Contains(t, fault.Error(), fault.Problem)
		})
	}
}
