package calc_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/calc"
	"github.com/skidrule/skidrule/internal/quantity"
)

func burstSweep(t *testing.T, from, to float64, n int) *calc.Sweep {
	t.Helper()
	s, err := calc.SweepOver("tube-burst", calc.Inputs{Numbers: map[string]float64{"strength": 30e6, "outside_diameter": 8e-3}}, "wall", from, to, n)
	require.NoError(t, err)
	return s
}

func TestSweepEvaluatesEachPoint(t *testing.T) {
	s := burstSweep(t, 1e-3, 2e-3, 5)
	require.Len(t, s.Points, 5)
	assert.Equal(t, 1e-3, s.Points[0].X)
	assert.Equal(t, 2e-3, s.Points[4].X)
	for _, p := range s.Points {
		require.NoError(t, p.Err)
		got, ok := p.Result.Number("burst_pressure")
		require.True(t, ok)
		assert.InEpsilon(t, 2*30e6*p.X/(8e-3-p.X), got.Best, 1e-12)
	}
}

func TestSweepKeepsTheErrorOfAPoint(t *testing.T) {
	s := burstSweep(t, 1e-3, 4e-3, 4) // above a third of the diameter there is no estimate
	require.NoError(t, s.Points[0].Err)
	require.Error(t, s.Points[3].Err)
	table, err := s.CSV(quantity.Metric)
	require.NoError(t, err)
	rows, err := csv.NewReader(bytes.NewReader(table)).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 5)
	assert.Equal(t, []string{"wall [m]", "burst_pressure_low [bar(g)]", "burst_pressure_best [bar(g)]", "burst_pressure_high [bar(g)]", "error"}, rows[0])
	x, err := strconv.ParseFloat(rows[1][0], 64)
	require.NoError(t, err)
	assert.Equal(t, 1e-3, x)
	best, err := strconv.ParseFloat(rows[1][2], 64)
	require.NoError(t, err)
	assert.InEpsilon(t, 2*300/7.0, best, 1e-5)
	assert.Empty(t, rows[1][4])
	assert.Empty(t, rows[4][2])
	assert.Contains(t, rows[4][4], "valid range")
}

func TestSweepRefuses(t *testing.T) {
	base := calc.Inputs{Numbers: map[string]float64{"strength": 30e6, "outside_diameter": 8e-3}}
	sweep := func(name, key string, from, to float64, n int) error {
		_, err := calc.SweepOver(name, base, key, from, to, n)
		return err
	}
	require.ErrorIs(t, sweep("tube-burts", "wall", 1e-3, 2e-3, 5), calc.ErrUnknownName)
	require.ErrorIs(t, sweep("tube-burst", "wal", 1e-3, 2e-3, 5), calc.ErrUnknownName)
	require.ErrorIs(t, sweep("tube-burst", "wall", 1e-3, 2e-3, 1), calc.ErrSweep)
	require.ErrorIs(t, sweep("tube-burst", "wall", 1e-3, 2e-3, 1<<30), calc.ErrSweep)
	require.ErrorIs(t, sweep("tube-burst", "wall", 1e-3, 1e-3, 5), calc.ErrSweep)
	require.ErrorIs(t, sweep("tube-burst", "wall", math.NaN(), 2e-3, 5), calc.ErrNotFinite)
	require.ErrorIs(t, sweep("tube-burst", "wall", 1e-3, math.Inf(1), 5), calc.ErrNotFinite)
	require.ErrorIs(t, sweep("tube-burst", "strength", 1e7, 2e7, 5), calc.ErrSweep, "swept and fixed")
	require.ErrorIs(t, sweep("tube-burst", "wall", 5e-3, 6e-3, 5), calc.ErrSweep, "no point has a result")
	_, err := calc.SweepOver("flange-rating", calc.Inputs{}, "material", 1, 2, 5)
	require.ErrorIs(t, err, calc.ErrSweep)
}

func TestReadSpan(t *testing.T) {
	c, err := calc.Get("tube-burst")
	require.NoError(t, err)
	for _, text := range []string{"1 mm..2 mm", "1..2 mm", " 1 mm .. 2 mm "} {
		from, to, err := c.ReadSpan("wall", text)
		require.NoError(t, err, text)
		assert.InEpsilon(t, 1e-3, from, 1e-12)
		assert.InEpsilon(t, 2e-3, to, 1e-12)
	}
	for _, text := range []string{"", "1 mm", "..2 mm", "1 mm..", "1 bar..2 mm", "1 mm..2 bar", "x..2 mm"} {
		_, _, err := c.ReadSpan("wall", text)
		require.ErrorIs(t, err, calc.ErrBadText, text)
	}
	_, _, err = c.ReadSpan("wal", "1 mm..2 mm")
	require.ErrorIs(t, err, calc.ErrUnknownName)
}

func TestPlotsAreDrawnAlike(t *testing.T) {
	s := burstSweep(t, 1e-3, 4e-3, 20)
	svg, err := s.SVG("burst_pressure", quantity.Metric)
	require.NoError(t, err)
	assert.True(t, bytes.Contains(svg, []byte("<svg")))
	assert.True(t, bytes.Contains(svg, []byte("burst_pressure [bar(g)]")))
	again, err := burstSweep(t, 1e-3, 4e-3, 20).SVG("burst_pressure", quantity.Metric)
	require.NoError(t, err)
	assert.Equal(t, svg, again)
	png, err := s.PNG("burst_pressure", quantity.US)
	require.NoError(t, err)
	assert.True(t, bytes.HasPrefix(png, []byte("\x89PNG\r\n")))
	_, err = s.SVG("burst", quantity.Metric)
	require.ErrorIs(t, err, calc.ErrUnknownName)
	surge, err := calc.SweepOver("oxygen-velocity-limit", calc.Inputs{Words: map[string]string{"site": "impingement"}}, "pressure", 0.3e6, 5e6, 30)
	require.NoError(t, err)
	_, err = surge.PNG("velocity", quantity.Metric)
	require.NoError(t, err)
	orifice, err := calc.Get("orifice-gas")
	require.NoError(t, err)
	in, err := orifice.Read(map[string]string{"bore": "3 mm", "downstream_pressure": "1 bar(a)", "temperature": "20 degC", "discharge_coefficient": "0.6", "gas": "oxygen"})
	require.NoError(t, err)
	words, err := calc.SweepOver("orifice-gas", in, "upstream_pressure", 1e5, 5e5, 5)
	require.NoError(t, err)
	_, err = words.SVG("regime", quantity.Metric)
	require.ErrorIs(t, err, calc.ErrSweep, "a word has no curve")
}

func TestDocumentIsSI(t *testing.T) {
	r, err := calc.RunText("tube-burst", map[string]string{"strength": "30 MPa", "wall": "1 mm", "outside_diameter": "8 mm"})
	require.NoError(t, err)
	b, err := r.JSON(quantity.US)
	require.NoError(t, err)
	var d calc.Document
	require.NoError(t, json.Unmarshal(b, &d))
	assert.Equal(t, "tube-burst", d.Calculation)
	require.Len(t, d.Outputs, 1)
	assert.Equal(t, "Pa(g)", d.Outputs[0].Unit)
	assert.InEpsilon(t, 60e6/7, *d.Outputs[0].Best, 1e-12)
	assert.Contains(t, d.Outputs[0].Text, "psi(g)")
	require.Len(t, d.Inputs, 3)
	assert.InEpsilon(t, 30e6, *d.Inputs[0].Value, 1e-12)
}

func TestSweepOfALargeTableIsBounded(t *testing.T) {
	in := calc.Inputs{Tables: map[string][]calc.Row{"table": make([]calc.Row, 1000)}}
	_, err := calc.SweepOver("injector-limit", in, "inlet_pressure", 1e5, 2e5, 1000)
	require.ErrorIs(t, err, calc.ErrSweep)
	assert.ErrorContains(t, err, "points times rows")
}
