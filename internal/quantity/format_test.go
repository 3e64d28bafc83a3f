package quantity_test

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/quantity"
)

func TestFormat(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text   string
		d      quantity.Dimension
		metric string
		us     string
	}{
		{"10 bar(g)", quantity.PressureGauge, "10 bar(g)", "145 psi(g)"},
		{"-0.03 bar(g)", quantity.PressureGauge, "-30 mbar(g)", "-0.4351 psi(g)"},
		{"0 bar(g)", quantity.PressureGauge, "0 bar(g)", "0 psi(g)"},
		{"1.01325 bar(a)", quantity.PressureAbsolute, "1.013 bar(a)", "14.7 psi(a)"},
		{"0.05 bar", quantity.PressureDifference, "50 mbar", "0.7252 psi"},
		{"25 degC", quantity.Temperature, "25 degC", "77 degF"},
		{"-40 degC", quantity.Temperature, "-40 degC", "-40 degF"},
		{"5 K", quantity.TemperatureDifference, "5 K", "9 degF"},
		{"12.7 mm", quantity.Length, "12.7 mm", "0.5 in"},
		{"3.048 m", quantity.Length, "3.048 m", "10 ft"},
		{"200 L", quantity.Volume, "200 L", "52.83 gal"},
		{"90 s", quantity.Duration, "90 s", "90 s"},
		{"6 months", quantity.Duration, "182.6 d", "182.6 d"},
		{"30 L/min", quantity.LiquidFlow, "1.8 m3/h", "7.925 gal/min"},
		{"8 NL/min", quantity.GasFlow, "8 NL/min", "0.2986 ft3/min at 60 degF, 14.696 psi(a)"},
		{"60 g/h", quantity.MassFlow, "60 g/h", "3.175 lb/d"},
		{"10 wt%", quantity.MassFraction, "10 wt%", "10 wt%"},
		{"0.1 ppmv", quantity.MoleFraction, "0.1 ppmv", "0.1 ppmv"},
		{"1.6 mg min/L", quantity.Exposure, "1.6 mg min/L", "1.6 mg min/L"},
		{"10 Cv", quantity.FlowCoefficient, "8.65 Kv", "10 Cv"},
		{"0.8", quantity.Ratio, "0.8", "0.8"},
		{"1234.5", quantity.Ratio, "1235", "1235"},
		{"123456", quantity.Ratio, "123456", "123456"},
		{"12345678", quantity.Ratio, "1.235e7", "1.235e7"},
		{"0.00001234", quantity.Ratio, "1.234e-5", "1.234e-5"},
		{"2e-9 m2/s", quantity.Diffusivity, "2e-9 m2/s", "2.153e-8 ft2/s"},
	} {
		t.Run(c.text, func(t *testing.T) {
			v, err := quantity.Parse(c.text, c.d)
			require.NoError(t, err)
			assert.Equal(t, c.metric, quantity.Format(v, c.d, quantity.Metric))
			assert.Equal(t, c.us, quantity.Format(v, c.d, quantity.US))
		})
	}
}

// What a person wrote comes back as it was written, where the unit is one of
// the table.
func TestExactKeepsWhatPeopleWrite(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text string
		d    quantity.Dimension
	}{
		{"10 bar(g)", quantity.PressureGauge}, {"-0.3 bar(g)", quantity.PressureGauge}, {"150 psi(g)", quantity.PressureGauge},
		{"-10 inHg(g)", quantity.PressureGauge}, {"0.5 bar(g)", quantity.PressureGauge}, {"0 bar(g)", quantity.PressureGauge},
		{"1.013 bar(a)", quantity.PressureAbsolute}, {"14.696 psi(a)", quantity.PressureAbsolute},
		{"25 degC", quantity.Temperature}, {"0 degC", quantity.Temperature}, {"-5.5 degC", quantity.Temperature},
		{"12.7 mm", quantity.Length}, {"2.5 m", quantity.Length}, {"20 um", quantity.Length},
		{"0.5 m3/h", quantity.LiquidFlow}, {"7.3 gal/min", quantity.LiquidFlow},
		{"8 NL/min", quantity.GasFlow}, {"0.37 Sm3/h", quantity.GasFlow}, {"0.25 mol/s", quantity.GasFlow},
		{"15 ft3/min at 60 degF, 14.696 psi(a)", quantity.GasFlow},
		{"60 g/h", quantity.MassFlow}, {"10 wt%", quantity.MassFraction}, {"0.1 ppmv", quantity.MoleFraction},
		{"6 months", quantity.Duration}, {"1 year", quantity.Duration}, {"30 s", quantity.Duration}, {"2 months", quantity.Duration},
		{"1.6 mg min/L", quantity.Exposure}, {"2.5 Kv", quantity.FlowCoefficient}, {"0.3", quantity.Ratio},
		{"1450 rpm", quantity.RotationalSpeed}, {"45 deg", quantity.Angle}, {"13 kWh/kg", quantity.SpecificEnergy},
		{"-0 m", quantity.Length},
	} {
		v, err := quantity.Parse(c.text, c.d)
		require.NoError(t, err, c.text)
		assert.Equal(t, c.text, quantity.Exact(v, c.d))
	}
}

func TestUnprintable(t *testing.T) {
	t.Parallel()
	for _, d := range quantity.Dimensions() {
		for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
			for _, text := range []string{quantity.Exact(v, d), quantity.Format(v, d, quantity.US)} {
				_, err := quantity.Parse(text, d)
				assert.Error(t, err, "%s as %s", text, d)
			}
		}
	}
	_, err := quantity.Parse(quantity.Exact(-5, quantity.PressureAbsolute), quantity.PressureAbsolute)
	assert.Error(t, err, "an impossible value keeps a text that says so")
}

// inRange reports whether Parse accepts the value at all.
func inRange(v float64, d quantity.Dimension) bool {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return false
	}
	switch d {
	case quantity.PressureAbsolute, quantity.Temperature:
		return v >= 0
	case quantity.PressureGauge:
		return v >= -110000
	case quantity.MassFraction, quantity.MoleFraction:
		return v >= 0 && v <= 1
	}
	return true
}

func checkExact(t require.TestingT, v float64, d quantity.Dimension) {
	text := quantity.Exact(v, d)
	got, err := quantity.Parse(text, d)
	require.NoError(t, err, "%v as %s", v, d)
	require.Equal(t, math.Float64bits(v), math.Float64bits(got), "%v printed as %q read as %v (%s)", v, text, got, d)
}

func TestExactReadsBack(t *testing.T) {
	t.Parallel()
	dimensions := quantity.Dimensions()
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.SampledFrom(dimensions).Draw(t, "dimension")
		v := rapid.OneOf(
			rapid.Float64(),
			rapid.Float64Range(0, 1),
			rapid.Float64Range(-1e6, 1e6),
			rapid.Map(rapid.Uint64(), math.Float64frombits),
		).Filter(func(v float64) bool { return inRange(v, d) }).Draw(t, "value")
		checkExact(t, v, d)
	})
}

func TestExactReadsBackAtTheEdges(t *testing.T) {
	t.Parallel()
	edges := []float64{
		0, math.Copysign(0, -1), math.SmallestNonzeroFloat64, 2.2250738585072014e-308, 2.225073858507201e-308,
		math.MaxFloat64, 1e-300, 1e300, 1, math.Nextafter(1, 0), math.Nextafter(1, 2), 0.1, 1.0 / 3, 273.15, math.Nextafter(273.15, 0),
		math.Nextafter(273.15, 300), 255.3722222222222, 1e15, 1e16, 123456789012345680, 4503599627370496.5, 1e22, 1e23, 9007199254740993,
		101325, 5e-310, 1e-290, 9.9e-291,
	}
	for _, d := range quantity.Dimensions() {
		for _, v := range edges {
			for _, x := range []float64{v, -v} {
				if inRange(x, d) {
					checkExact(t, x, d)
				}
			}
		}
	}
}

// Format is read back to about four digits.
func TestFormatReadsBack(t *testing.T) {
	t.Parallel()
	dimensions := quantity.Dimensions()
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.SampledFrom(dimensions).Draw(t, "dimension")
		system := rapid.SampledFrom([]quantity.System{quantity.Metric, quantity.US}).Draw(t, "system")
		low, high := -1e9, 1e9
		switch d {
		case quantity.PressureAbsolute:
			low = 0
		case quantity.Temperature:
			low, high = 1, 5000
		case quantity.PressureGauge:
			low = -109000
		case quantity.MassFraction, quantity.MoleFraction:
			low, high = 0, 1
		}
		v := rapid.Float64Range(low, high).Draw(t, "value")
		text := quantity.Format(v, d, system)
		got, err := quantity.Parse(text, d)
		require.NoError(t, err)
		within := math.Abs(v) * 6e-4
		if d == quantity.Temperature {
			within = 1 // the digits count from the zero of the scale
		}
		require.InDelta(t, v, got, within+1e-300, text)
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"10 bar(g)", "-0.3 bar (g)", "150psig", "8 NL/min", "8 L/min at 20 degC, 1.013 bar(a)", "15 cfm at 60 degF, 14.696 psi(a)",
		"100 g/Nm3 in O2", "60000 ppmv in air", "10 wt %", "25 °C", "6 months", "Kv 2.5", "1e999 m", "1e-399 m", "1,5 m", "0x10 m",
		"3 J/(mol K)", "3 ((((((m))))))", "3 m9 m9 m9", "10² m", "NaN", "-0 K", "5 µm", "8 L/min at , ", "1 at  at ", "% in O2", "\xff", "5 s⁻¹",
		"1/2 in", "1 1/2 in", "OD 3/8 in", "DN15", "NPS 1-1/2", "ID 1e3 mm", "12 mm OD",
	} {
		for _, d := range []quantity.Dimension{quantity.PressureGauge, quantity.GasFlow, quantity.MassFraction, quantity.Temperature, quantity.Ratio, quantity.FlowCoefficient} {
			f.Add(s, byte(d))
		}
	}
	f.Fuzz(func(t *testing.T, text string, b byte) {
		checkSize(t, text)
		d := quantity.Dimension(b)
		v, err := quantity.Parse(text, d)
		if err != nil {
			checkError(t, err, text)
			return
		}
		require.False(t, math.IsNaN(v) || math.IsInf(v, 0), text)
		require.True(t, inRange(v, d), "%q gave %v", text, v)
		checkExact(t, v, d)
		require.NotEmpty(t, quantity.Format(v, d, quantity.Metric))
		require.NotEmpty(t, quantity.Format(v, d, quantity.US))
	})
}

func checkError(t *testing.T, err error, text string) {
	var fault *quantity.Error
	require.True(t, errors.As(err, &fault))
	require.GreaterOrEqual(t, fault.Offset, 0)
	require.LessOrEqual(t, fault.Offset, len(text))
	require.NotEmpty(t, fault.Problem)
	require.Less(t, len(fault.Error()), 1000)
}

// The larger unit begins where its number is still one that people read.
func TestFormatChangesUnitAtItsThreshold(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text string
		d    quantity.Dimension
		want string
	}{
		{"0.1 bar(a)", quantity.PressureAbsolute, "0.1 bar(a)"}, {"0.0995 bar(a)", quantity.PressureAbsolute, "99.5 mbar(a)"},
		{"0.1 bar(g)", quantity.PressureGauge, "0.1 bar(g)"}, {"0.0995 bar(g)", quantity.PressureGauge, "99.5 mbar(g)"},
		{"0.1 vol%", quantity.MoleFraction, "0.1 vol%"}, {"0.0995 vol%", quantity.MoleFraction, "995 ppmv"},
		{"0.01 wt%", quantity.MassFraction, "0.01 wt%"}, {"0.00995 wt%", quantity.MassFraction, "99.5 mg/kg"},
		{"0.01 mg/L", quantity.MassConcentration, "0.01 mg/L"}, {"0.00995 mg/L", quantity.MassConcentration, "9.95 ug/L"},
	} {
		v, err := quantity.Parse(c.text, c.d)
		require.NoError(t, err, c.text)
		assert.Equal(t, c.want, quantity.Format(v, c.d, quantity.Metric), c.text)
	}
}
