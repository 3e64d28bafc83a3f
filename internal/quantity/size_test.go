package quantity_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/quantity"
)

func TestParseNominalSize(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text  string
		want  quantity.NominalSize
		print string
	}{
		{"1/2 in", quantity.NominalSize{System: quantity.NPS, Value: 0.5}, "NPS 1/2"},
		{"0.5 in", quantity.NominalSize{System: quantity.NPS, Value: 0.5}, "NPS 1/2"},
		{"NPS 1/2", quantity.NominalSize{System: quantity.NPS, Value: 0.5}, "NPS 1/2"},
		{"NPS1/2", quantity.NominalSize{System: quantity.NPS, Value: 0.5}, "NPS 1/2"},
		{"NPS 1/2 in", quantity.NominalSize{System: quantity.NPS, Value: 0.5}, "NPS 1/2"},
		{"1 1/2 in", quantity.NominalSize{System: quantity.NPS, Value: 1.5}, "NPS 1 1/2"},
		{"1-1/2 in", quantity.NominalSize{System: quantity.NPS, Value: 1.5}, "NPS 1 1/2"},
		{"1\u00a01\u20442 in", quantity.NominalSize{System: quantity.NPS, Value: 1.5}, "NPS 1 1/2"},
		{"NPS 12", quantity.NominalSize{System: quantity.NPS, Value: 12}, "NPS 12"},
		{"1/8in", quantity.NominalSize{System: quantity.NPS, Value: 0.125}, "NPS 1/8"},
		{"DN 15", quantity.NominalSize{System: quantity.DN, Value: 15}, "DN 15"},
		{" DN15 ", quantity.NominalSize{System: quantity.DN, Value: 15}, "DN 15"},
		{"DN 600", quantity.NominalSize{System: quantity.DN, Value: 600}, "DN 600"},
		{"OD 12 mm", quantity.NominalSize{System: quantity.TubeOD, Value: 0.012}, "OD 12 mm"},
		{"12 mm OD", quantity.NominalSize{System: quantity.TubeOD, Value: 0.012}, "OD 12 mm"},
		{"OD 3/8 in", quantity.NominalSize{System: quantity.TubeOD, Value: 0.009525}, "OD 3/8 in"},
		{"OD 1 in", quantity.NominalSize{System: quantity.TubeOD, Value: 0.0254}, "OD 1 in"},
		{"OD 1 1/4 in", quantity.NominalSize{System: quantity.TubeOD, Value: 0.03175}, "OD 1 1/4 in"},
		{"OD 6.35 mm", quantity.NominalSize{System: quantity.TubeOD, Value: 0.00635}, "OD 1/4 in"},
		{"ID 10 mm", quantity.NominalSize{System: quantity.HoseID, Value: 0.01}, "ID 10 mm"},
		{"ID 12.5 mm", quantity.NominalSize{System: quantity.HoseID, Value: 0.0125}, "ID 12.5 mm"},
		{"ID 4.321 mm", quantity.NominalSize{System: quantity.HoseID, Value: 0.004321}, "ID 4.321 mm"},
		{"OD 2 cm", quantity.NominalSize{System: quantity.TubeOD, Value: 0.02}, "OD 20 mm"},
		{"OD 0.1 m", quantity.NominalSize{System: quantity.TubeOD, Value: 0.1}, "OD 100 mm"},
	} {
		t.Run(c.text, func(t *testing.T) {
			got, err := quantity.ParseNominalSize(c.text)
			require.NoError(t, err)
			assert.Equal(t, c.want, got)
			assert.True(t, got.Valid())
			assert.Equal(t, c.print, got.String())
		})
	}
}

func TestParseNominalSizeRefuses(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text       string
		offset     int
		problem    string
		suggestion string
	}{
		{"", 0, "empty", "NPS 1/2"},
		{"15", 2, "without a system", "DN 15"},
		{"12 mm", 3, "which diameter", "OD 12 mm"},
		{"0.7 in", 0, "no NPS of that number", "NPS 1/2 and NPS 3/4"},
		{"NPS 100", 4, "no NPS of that number", "NPS 24"},
		{"NPS 1/16", 4, "no NPS of that number", "NPS 1/8"},
		{"DN 17", 3, "no DN of that number", "DN 15 and DN 20"},
		{"DN 15 mm", 6, "unit behind DN", "DN 15"},
		{"NPS 1 mm", 6, "unexpected", "NPS 1/2"},
		{"OD 12", 5, "without a unit", "mm"},
		{"OD 12 bar", 6, "no unit of a diameter", "mm"},
		{"OD 0 mm", 3, "size of zero", ""},
		{"OD -3 mm", 3, "below zero", ""},
		{"OD 20 m", 3, "outside 0.001 mm to 10 m", ""},
		{"1/0 in", 0, "not complete", ""},
		{"1/ in", 0, "not complete", ""},
		{"1 3/2 in", 2, "proper fraction", ""},
		{"1 2 in", 2, "proper fraction", ""},
		{"1,5 in", 1, "comma", ""},
		{"1. in", 1, "decimal point", ""},
		{"DN", 2, "no number", ""},
		{"in", 0, "no number", ""},
		{"1 furlong", 2, "unknown size", ""},
		{"\xff", 0, "UTF-8", ""},
		{strings.Repeat("1", 70) + " in", 64, "too long", ""},
	} {
		t.Run(c.text, func(t *testing.T) {
			_, err := quantity.ParseNominalSize(c.text)
			var fault *quantity.Error
			require.ErrorAs(t, err, &fault)
			assert.Contains(t, fault.Problem, c.problem)
			assert.Contains(t, fault.Suggestion, c.suggestion)
			assert.Equal(t, c.offset, fault.Offset, fault.Error())
		})
	}
}

func size(t *testing.T, text string) quantity.NominalSize {
	t.Helper()
	s, err := quantity.ParseNominalSize(text)
	require.NoError(t, err)
	return s
}

// Source of the pairs: ASME B36.10M-2018, table 1.
func TestSame(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{"NPS 1/8", "DN 6", true}, {"NPS 1/4", "DN 8", true}, {"NPS 3/8", "DN 10", true}, {"1/2 in", "DN 15", true},
		{"NPS 3/4", "DN 20", true}, {"NPS 1", "DN 25", true}, {"NPS 1 1/4", "DN 32", true}, {"NPS 1 1/2", "DN 40", true},
		{"NPS 2", "DN 50", true}, {"NPS 2 1/2", "DN 65", true}, {"NPS 3", "DN 80", true}, {"NPS 3 1/2", "DN 90", true},
		{"NPS 4", "DN 100", true}, {"NPS 6", "DN 150", true}, {"NPS 12", "DN 300", true}, {"NPS 24", "DN 600", true},
		{"NPS 1/2", "DN 20", false}, {"NPS 1/2", "NPS 3/4", false}, {"NPS 1/2", "NPS 1/2", true},
		{"OD 1/2 in", "OD 12.7 mm", true}, {"OD 1/2 in", "NPS 1/2", false}, {"OD 10 mm", "ID 10 mm", false}, {"ID 15 mm", "DN 15", false},
	} {
		a, b := size(t, c.a), size(t, c.b)
		assert.Equal(t, c.want, quantity.Same(a, b), "%s %s", c.a, c.b)
		assert.Equal(t, c.want, quantity.Same(b, a), "%s %s", c.b, c.a)
	}
	assert.False(t, quantity.Same(quantity.NominalSize{}, quantity.NominalSize{}))
}

func TestDiameters(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		text   string
		inches float64 // ASME B36.10M-2018, table 1, US customary columns
	}{
		{"NPS 1/8", 0.405}, {"NPS 1/4", 0.540}, {"NPS 3/8", 0.675}, {"NPS 1/2", 0.840}, {"NPS 3/4", 1.050}, {"NPS 1", 1.315},
		{"NPS 1 1/4", 1.660}, {"NPS 1 1/2", 1.900}, {"NPS 2", 2.375}, {"NPS 2 1/2", 2.875}, {"NPS 3", 3.5}, {"NPS 3 1/2", 4.0},
		{"NPS 4", 4.5}, {"NPS 5", 5.563}, {"NPS 6", 6.625}, {"NPS 8", 8.625}, {"NPS 10", 10.75}, {"NPS 12", 12.75},
	} {
		d, ok := size(t, c.text).OutsideDiameter()
		require.True(t, ok, c.text)
		assert.InDelta(t, c.inches*0.0254, d, 0.06e-3, c.text) // the SI column is rounded to 0.1 mm
	}
	d, ok := size(t, "OD 12 mm").OutsideDiameter()
	assert.True(t, ok)
	assert.Equal(t, 0.012, d)
	d, ok = size(t, "ID 10 mm").InsideDiameter()
	assert.True(t, ok)
	assert.Equal(t, 0.01, d)
	for _, s := range []string{"DN 15", "NPS 14", "NPS 16", "NPS 18", "NPS 20", "NPS 22", "NPS 24", "ID 10 mm"} {
		_, ok = size(t, s).OutsideDiameter()
		assert.False(t, ok, s)
	}
	for _, s := range []string{"DN 15", "NPS 1/2", "OD 12 mm"} {
		_, ok = size(t, s).InsideDiameter()
		assert.False(t, ok, s)
	}
	_, ok = quantity.NominalSize{}.OutsideDiameter()
	assert.False(t, ok)
}

func TestInvalidSizes(t *testing.T) {
	t.Parallel()
	for _, s := range []quantity.NominalSize{
		{}, {System: 9, Value: 1}, {System: quantity.NPS, Value: 0.7}, {System: quantity.DN, Value: 0.5},
		{System: quantity.TubeOD, Value: math.NaN()}, {System: quantity.TubeOD}, {System: quantity.HoseID, Value: math.Inf(1)},
		{System: quantity.HoseID, Value: -1}, {System: quantity.NPS, Value: math.NaN()},
	} {
		assert.False(t, s.Valid())
		_, err := quantity.ParseNominalSize(s.String())
		assert.Error(t, err, s.String())
	}
}

func TestSizeReadsBack(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := quantity.NominalSize{
			System: rapid.SampledFrom([]quantity.SizeSystem{quantity.TubeOD, quantity.HoseID}).Draw(t, "system"),
			Value: rapid.OneOf(
				rapid.Float64Range(1e-6, 10),
				rapid.Map(rapid.IntRange(1, 1000), func(n int) float64 { return float64(n) / 64 * 0.0254 }),
				rapid.Map(rapid.IntRange(1, 9999), func(n int) float64 { return float64(n) / 1000 }),
			).Draw(t, "value"),
		}
		got, err := quantity.ParseNominalSize(s.String())
		require.NoError(t, err)
		require.Equal(t, s, got, s.String())
	})
}

// checkSize holds for any text: an error in order, or a size that reads back.
func checkSize(t *testing.T, text string) {
	s, err := quantity.ParseNominalSize(text)
	if err != nil {
		checkError(t, err, text)
		return
	}
	require.True(t, s.Valid(), "%q gave %v", text, s)
	again, err := quantity.ParseNominalSize(s.String())
	require.NoError(t, err, s.String())
	require.Equal(t, s, again)
}
