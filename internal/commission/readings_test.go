package commission

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func TestParseReading(t *testing.T) {
	for _, row := range []struct {
		text     string
		value    float64
		accuracy float64
		kind     string
	}{
		{"3.1 bar", 3.1e5, 0, "none"},
		{"3.1 bar(g)", 3.1e5, 0, "none"},
		{"-0.28 bar ± 20 mbar", -0.28e5, 2e3, "limit"},
		{"1.1 bar(g) +- 0.04 bar", 1.1e5, 4e3, "limit"},
		{"45 psi +/- 2 %", 45 * 6894.757293168361, 0.02, "share"},
		{"3.5 bar class 1.6", 3.5e5, 1.6, "class"},
		{"6 m3/h ± 3 %", 6. / 3600, 0.03, "share"},
		{"5.9 NL/min", 5.9 / 60 / 22.41396954, 0, "none"},
	} {
		r, err := ParseReading("X-1", row.text)
		require.NoError(t, err, row.text)
		got := r.GetPressurePaGauge() + r.GetLiquidFlowM3PerS() + r.GetGasFlowMolPerS()
		assert.InEpsilon(t, row.value, got, 1e-6, row.text)
		switch a := r.Accuracy.(type) {
		case *skidrulev1.SiteReading_Uncertainty:
			assert.Equal(t, "limit", row.kind, row.text)
			assert.InEpsilon(t, row.accuracy, a.Uncertainty, 1e-9, row.text)
		case *skidrulev1.SiteReading_UncertaintyRatio:
			assert.Equal(t, "share", row.kind, row.text)
			assert.InEpsilon(t, row.accuracy, a.UncertaintyRatio, 1e-9, row.text)
		case *skidrulev1.SiteReading_AccuracyClassPercent:
			assert.Equal(t, "class", row.kind, row.text)
			assert.InEpsilon(t, row.accuracy, a.AccuracyClassPercent, 1e-9, row.text)
		default:
			assert.Equal(t, "none", row.kind, row.text)
		}
	}
	for text, want := range map[string]string{
		"":                 "is no pressure, water flow or gas flow",
		"3.1":              "write 3.1 bar, 6 m3/h or 5.9 NL/min",
		"3.1 bar(a)":       "is no pressure, water flow or gas flow",
		"20 degC":          "is no pressure, water flow or gas flow",
		"NaN bar":          "is no pressure, water flow or gas flow",
		"3 bar ±":          "nothing follows ±",
		"3 bar ± 2 m":      "the uncertainty",
		"3 bar ± -1 mbar":  "must be above zero",
		"3 bar ± 0 %":      "is no share of the value",
		"3 bar class":      "no number follows class",
		"3 bar class good": "is no accuracy class",
	} {
		_, err := ParseReading("X-1", text)
		assert.ErrorContains(t, err, want, "%q", text)
	}
	_, err := ParseReading(" ", "3 bar")
	assert.ErrorContains(t, err, "needs the tag")
}

// A gauge of class 1.6 and span 6 bar errs within 96 mbar (EN 837-1, table 11: per cent of the span).
func TestLimitsOfError(t *testing.T) {
	s := skid(t, design(t, demo))
	d := diagnose(t, s, bar("PI-1", 3.5), litres("FM-1", 6), bar("INJ-1.suction", -0.28), &skidrulev1.SiteReading{Place: "INJ-1", Value: &skidrulev1.SiteReading_LiquidFlowM3PerS{LiquidFlowM3PerS: 6.2 / 3600}})
	want := []float64{9600, 0.05 * 15 / 60 / 22.41396954, 2000, 0.03 * 6.2 / 3600}
	for i, r := range d.Readings {
		assert.InEpsilon(t, want[i], r.Uncertainty, 1e-6, r.Place)
		assert.Contains(t, r.UncertaintySource, "assumed: common practice, no source", r.Place)
	}
	stated := bar("PI-1", 3.5)
	stated.Accuracy = &skidrulev1.SiteReading_AccuracyClassPercent{AccuracyClassPercent: 1}
	d = diagnose(t, s, stated)
	assert.InEpsilon(t, 6000, d.Readings[0].Uncertainty, 1e-9)
	assert.Equal(t, "stated class 1: limits of error 1 % of the span of 6 bar", d.Readings[0].UncertaintySource)
}

func TestReadSheet(t *testing.T) {
	text := `# Monday, 9 o'clock
case: normal
readings:
  PI-1: 3.5 bar
  PI-2: 1.1 bar ± 0.04 bar
  FM-1: {value: 5.9 NL/min, uncertainty: 5 %}
  INJ-1.suction: {value: -0.28 bar(g), uncertainty: 20 mbar}
  PI-3: {value: 2 bar, class: 1}
`
	s, err := ReadSheet("monday.yaml", []byte(text))
	require.NoError(t, err)
	assert.Equal(t, "normal", s.Case)
	require.Len(t, s.Readings, 5)
	assert.Equal(t, "FM-1", s.Readings[2].Place)
	assert.Equal(t, 0.05, s.Readings[2].GetUncertaintyRatio())
	assert.InDelta(t, -28000, s.Readings[3].GetPressurePaGauge(), 1e-6)
	assert.Equal(t, 1., s.Readings[4].GetAccuracyClassPercent())
	j, err := ReadSheet("monday.json", []byte(`{"case": "normal", "readings": {"PI-1": "3.5 bar"}}`))
	require.NoError(t, err)
	assert.True(t, proto.Equal(s.Readings[0], j.Readings[0]))
}

// Everything that is wrong with a file is told at once, with its places.
func TestReadSheetRefuses(t *testing.T) {
	_, err := ReadSheet("bad.yaml", []byte("readings:\n  PI-1: 3.5\n  PI-2: {value: 1 bar, class: x, unit: bar}\n  PI-2: 1 bar\n  FM-1: [1]\nwho: me\n"))
	var problems *designfile.Problems
	require.True(t, errors.As(err, &problems))
	var lines []int
	var all []string
	for _, p := range problems.List {
		lines = append(lines, p.Line)
		all = append(all, p.Path+": "+p.Message)
	}
	assert.Equal(t, []int{2, 3, 3, 4, 5, 6}, lines, "%v", all)
	for text, want := range map[string]string{
		"":                             "the file is empty",
		"[1, 2]":                       "the file holds no keys",
		"case: normal":                 "no key readings",
		"readings: 3":                  "these are no readings",
		"readings: {PI-1: *a}":         "no YAML",
		"readings: {PI-1: {class: 1}}": "the reading has no value",
		"{":                            "no YAML",
		"readings: {PI-1: {value: 1 bar, class: 1, uncertainty: 1 mbar}}": "both an uncertainty and a class",
		strings.Repeat("#", maxSheetBytes+1):                              "readings need at most",
	} {
		_, err := ReadSheet("bad.yaml", []byte(text))
		assert.ErrorContains(t, err, want, "%.40q", text)
	}
}

func FuzzReadSheet(f *testing.F) {
	f.Add([]byte("case: normal\nreadings:\n  PI-1: 3.5 bar ± 2 %\n  PI-2: {value: 1 bar, class: 1.6}\n"))
	f.Add([]byte("readings: {X: 5 NL/min +- 1 NL/min}"))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := ReadSheet("fuzz.yaml", data)
		if err != nil {
			return
		}
		for _, r := range s.Readings {
			v := r.GetPressurePaGauge() + r.GetLiquidFlowM3PerS() + r.GetGasFlowMolPerS()
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("%s: %g", r.Place, v)
			}
		}
	})
}
