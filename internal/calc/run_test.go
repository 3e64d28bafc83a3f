package calc_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/calc"
	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

func wallTexts() map[string]string {
	return map[string]string{"pressure": "10 bar(g)", "outside_diameter": "60.33 mm", "allowable_stress": "115 MPa"}
}

func TestUnknownNamesSuggestTheNearest(t *testing.T) {
	for _, c := range []struct{ name, want string }{{"pipe-wal", "pipe-wall"}, {"orifce-gas", "orifice-gas"}, {"souders", "souders-brown"}, {"injector-lmiit", "injector-limit"}} {
		_, err := calc.Get(c.name)
		require.ErrorIs(t, err, calc.ErrUnknownName)
		assert.ErrorContains(t, err, "did you mean \""+c.want+"\"")
	}
	_, err := calc.Get("zzzzzzzzzzzz")
	assert.ErrorContains(t, err, "there are")
	_, err = calc.RunText("pipe-wall", map[string]string{"presure": "1 bar(g)"})
	require.ErrorIs(t, err, calc.ErrUnknownName)
	assert.ErrorContains(t, err, "did you mean \"pressure\"")
	_, err = calc.Run("pipe-wall", calc.Inputs{Numbers: map[string]float64{"nothing_like_it": 1}})
	require.ErrorIs(t, err, calc.ErrUnknownName)
	_, err = calc.RunText("flange-rating", map[string]string{"material": "stainles-316", "class": "150", "temperature": "20 degC"})
	require.ErrorIs(t, err, calc.ErrUnknownName)
	assert.ErrorContains(t, err, "did you mean \"stainless-316\"")
}

func TestListIsSortedAndGetFindsEach(t *testing.T) {
	names := calc.Names()
	assert.IsIncreasing(t, names)
	for i, c := range calc.List() {
		assert.Equal(t, names[i], c.Name)
		got, err := calc.Get(c.Name)
		require.NoError(t, err)
		assert.Same(t, c, got)
	}
}

func TestInputsAreReadWithUnitsAndRefusedWithout(t *testing.T) {
	r, err := calc.RunText("pipe-wall", wallTexts())
	require.NoError(t, err)
	w, ok := r.Number("pressure_wall")
	require.True(t, ok)
	assert.InEpsilon(t, 1e6*60.33e-3/(2*(115e6+0.4e6)), w.Best, 1e-12)
	for _, c := range []struct{ key, text string }{
		{"pressure", "10"}, {"pressure", "10 bar(a)"}, {"pressure", "ten bar(g)"}, {"pressure", ""}, {"outside_diameter", "60 bar"},
		{"pressure", strings.Repeat("9", 5000)},
	} {
		texts := wallTexts()
		texts[c.key] = c.text
		_, err := calc.RunText("pipe-wall", texts)
		require.ErrorIs(t, err, calc.ErrBadText, "%.20s", c.text)
		assert.ErrorContains(t, err, c.key)
	}
	texts := wallTexts()
	texts["pressure"] = "2000 bar(g)"
	_, err = calc.RunText("pipe-wall", texts)
	require.ErrorIs(t, err, calc.ErrOutOfRange)
	assert.ErrorContains(t, err, "1000 bar(g)")
}

func TestAssumptionsAreNamed(t *testing.T) {
	r, err := calc.RunText("pipe-wall", wallTexts())
	require.NoError(t, err)
	text := r.Text(quantity.Metric)
	assert.Contains(t, text, "mill_tolerance = 0.125 (assumed: seamless pipe, ASTM A530/A312)")
	texts := wallTexts()
	texts["mill_tolerance"] = "0.125"
	r, err = calc.RunText("pipe-wall", texts)
	require.NoError(t, err)
	assert.NotContains(t, r.Text(quantity.Metric), "mill_tolerance = 0.125 (assumed")
}

func TestModelErrorsComeThrough(t *testing.T) {
	float := map[string]string{"float_mass": "1 kg", "float_volume": "0.25 L", "lever_ratio": "5", "orifice_bore": "3 mm", "density": "998 kg/m3"}
	_, err := calc.RunText("float-vent", float)
	require.ErrorIs(t, err, unitop.ErrContradiction)
	assert.ErrorContains(t, err, "float-vent: ")

	orifice := map[string]string{"bore": "3 mm", "upstream_pressure": "1 bar(a)", "downstream_pressure": "2 bar(a)", "temperature": "20 degC", "discharge_coefficient": "0.6", "gas": "oxygen"}
	_, err = calc.RunText("orifice-gas", orifice)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
	orifice["downstream_pressure"] = "0.9 bar(a)"
	orifice["molar_mass"] = "32 g/mol"
	_, err = calc.RunText("orifice-gas", orifice)
	require.ErrorIs(t, err, unitop.ErrContradiction)
	delete(orifice, "gas")
	_, err = calc.RunText("orifice-gas", orifice)
	require.ErrorIs(t, err, calc.ErrMissingInput)
	assert.ErrorContains(t, err, "heat_ratio")

	relief := map[string]string{"relieving_pressure": "5 bar(a)", "back_pressure": "1 bar(a)", "density": "950 kg/m3", "vapour_pressure": "2 bar(a)", "discharge_coefficient": "0.65", "liquid_flow": "1 m3/h"}
	_, err = calc.RunText("relief-liquid", relief)
	require.ErrorIs(t, err, unitop.ErrNotModelled)
	relief["vapour_pressure"] = "2 kPa(a)"
	relief["area"] = "1 cm2"
	_, err = calc.RunText("relief-liquid", relief)
	require.ErrorIs(t, err, unitop.ErrContradiction)
	delete(relief, "area")
	delete(relief, "liquid_flow")
	_, err = calc.RunText("relief-liquid", relief)
	require.ErrorIs(t, err, calc.ErrMissingInput)
}

const invented = "inlet_pressure [bar(a)],outlet_pressure [bar(a)],suction_flow\n4,1,9 NL/min\n4,2,9 NL/min\n4,3,0 NL/min\n"

func injectorTexts(table string) map[string]string {
	return map[string]string{"table": table, "table_suction_pressure": "1 bar(a)", "table_molar_mass": "28.96 g/mol", "table_temperature": "20 degC", "inlet_pressure": "4 bar(a)"}
}

func TestTablesAreReadFromCSV(t *testing.T) {
	r, err := calc.RunText("injector-limit", injectorTexts(invented))
	require.NoError(t, err)
	p, _ := r.Number("outlet_pressure")
	assert.InEpsilon(t, 3e5, p.Best, 1e-12)
	for _, c := range []struct {
		name, table string
		want        error
		says        string
	}{
		{"empty", "", calc.ErrBadText, "inlet_pressure"},
		{"header only", "inlet_pressure,outlet_pressure,suction_flow\n", unitop.ErrNoTable, "rows"},
		{"misspelt column", strings.Replace(invented, "outlet_pressure", "outlet_presure", 1), calc.ErrUnknownName, "did you mean \"outlet_pressure\""},
		{"column twice", "inlet_pressure,inlet_pressure,suction_flow\n", calc.ErrBadText, "twice"},
		{"column missing", "inlet_pressure [bar(a)],suction_flow [NL/min]\n4,9\n", calc.ErrBadText, "outlet_pressure"},
		{"bad cell", strings.Replace(invented, "4,2,", "4,two,", 1), calc.ErrBadText, "line 3, column outlet_pressure"},
		{"short row", invented + "4,3.5\n", calc.ErrBadText, "wrong number of fields"},
		{"gauge for absolute", strings.ReplaceAll(invented, "bar(a)", "bar(g)"), calc.ErrBadText, "absolute"},
		{"row twice", invented + "4,3,1 NL/min\n", unitop.ErrContradiction, "two rows"},
		{"negative flow", strings.Replace(invented, "9 NL/min", "-9 NL/min", 1), calc.ErrOutOfRange, "suction_flow"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := calc.RunText("injector-limit", injectorTexts(c.table))
			require.ErrorIs(t, err, c.want)
			assert.ErrorContains(t, err, c.says)
		})
	}
}

func TestTableLimits(t *testing.T) {
	_, err := calc.RunText("injector-limit", injectorTexts(strings.Repeat("x", 1<<21)))
	require.ErrorIs(t, err, calc.ErrBadText)
	_, err = calc.RunText("injector-limit", injectorTexts("inlet_pressure [bar(a)],outlet_pressure [bar(a)],suction_flow [NL/min]\n"+strings.Repeat("4,1,9\n", 2001)))
	require.ErrorIs(t, err, calc.ErrBadText)
	c, err := calc.Get("injector-limit")
	require.NoError(t, err)
	in, err := c.Read(injectorTexts(invented))
	require.NoError(t, err)
	in.Tables["table"][1]["suction_flow"] = math.NaN()
	_, err = c.Run(in)
	require.ErrorIs(t, err, calc.ErrNotFinite)
	delete(in.Tables["table"][1], "suction_flow")
	_, err = c.Run(in)
	require.ErrorIs(t, err, calc.ErrMissingInput)
	in.Tables["table"] = make([]calc.Row, 2001)
	_, err = c.Run(in)
	require.ErrorIs(t, err, calc.ErrOutOfRange)
	many := map[string]string{}
	for i := range 101 {
		many[strings.Repeat("k", i+1)] = "1"
	}
	_, err = c.Read(many)
	require.ErrorIs(t, err, calc.ErrOutOfRange)
}

func TestTextShowsLowAndHigh(t *testing.T) {
	r, err := calc.RunText("tube-burst", map[string]string{"strength": "30 MPa", "wall": "1 mm", "outside_diameter": "8 mm"})
	require.NoError(t, err)
	assert.Equal(t, `tube-burst: Burst pressure of a thin tube, estimated
formula
  P = 2 S t/(D - t), 30 % either way
inputs
  strength = 300 bar  [valid 1 bar to 50000 bar]
  wall = 1 mm  [valid 1 um to 1 m]
  outside_diameter = 8 mm  [valid 0.1 mm to 3 m]
results
  burst_pressure = 85.71 bar(g) (low 60 bar(g), high 111.4 bar(g))
      estimate, gauge; divide by a safety factor of your choice
sources
  mechanics of materials, mean-diameter formula (derived)
  spread of 30 % (common practice)
`, r.Text(quantity.Metric))
}

func FuzzRunText(f *testing.F) {
	f.Add("pipe-wall", "pressure", "10 bar(g)", "")
	f.Add("injector-limit", "table", invented, "1 bar(a)")
	f.Add("orifice-gas", "gas", "oxygen", "NaN")
	f.Add("injector-limit", "table", invented, "")
	f.Add("injector-outlet", "table", invented, "1 NL/min")
	f.Fuzz(func(t *testing.T, name, key, text, other string) {
		texts := injectorTexts(invented)
		texts[key] = text
		texts["suction_flow"] = other
		r, err := calc.RunText(name, texts)
		if err != nil {
			return
		}
		for _, out := range r.Outputs {
			require.NoError(t, out.Range.Check(out.Output.Key))
		}
	})
}
