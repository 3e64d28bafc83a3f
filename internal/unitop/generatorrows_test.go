package unitop_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/unitop"
)

// slicedRows is an invented generator measured one condition at a time from 93 %, 400 W and 20 degC.
func slicedRows() []unitop.OutputRow {
	return []unitop.OutputRow{
		{Flow: 0.002, Purity: 0.93, Power: 200, Coolant: 293.15, Output: 4e-6},
		{Flow: 0.004, Purity: 0.93, Power: 200, Coolant: 293.15, Output: 5e-6},
		{Flow: 0.002, Purity: 0.93, Power: 400, Coolant: 293.15, Output: 6e-6},
		{Flow: 0.004, Purity: 0.93, Power: 400, Coolant: 293.15, Output: 8e-6},
		{Flow: 0.002, Purity: 0.90, Power: 400, Coolant: 293.15, Output: 5.4e-6},
		{Flow: 0.004, Purity: 0.90, Power: 400, Coolant: 293.15, Output: 7.2e-6},
		{Flow: 0.002, Purity: 0.93, Power: 400, Coolant: 308.15, Output: 4.8e-6},
		{Flow: 0.004, Purity: 0.93, Power: 400, Coolant: 308.15, Output: 6.4e-6},
	}
}

// Expected numbers are those of the rows and of straight lines between them.
func TestOutputRowsRecoverSlices(t *testing.T) {
	rows := slicedRows()
	o, err := unitop.NewOutputRows(rows, 0)
	require.NoError(t, err)
	for _, r := range rows {
		got, err := o.At(r.Flow, r.Purity, r.Power, r.Coolant)
		require.NoError(t, err)
		assert.InEpsilon(t, r.Output, got.Best, 1e-12)
		assert.True(t, got.Contains(r.Output))
	}
	mid, err := o.At(0.003, 0.93, 400, 293.15)
	require.NoError(t, err)
	assert.InEpsilon(t, 7e-6, mid.Best, 1e-12)
}

// Away from two slices at once the product of the effects is the best value and their sum the other end.
func TestOutputRowsJoinSlices(t *testing.T) {
	o, err := unitop.NewOutputRows(slicedRows(), 0)
	require.NoError(t, err)
	got, err := o.At(0.004, 0.90, 400, 308.15)
	require.NoError(t, err)
	assert.InEpsilon(t, 8e-6*0.9*0.8, got.Best, 1e-12)
	assert.InEpsilon(t, 8e-6-0.8e-6-1.6e-6, got.Low, 1e-12)
	assert.InEpsilon(t, got.Best, got.High, 1e-12)
}

func TestOutputRowsRefuse(t *testing.T) {
	o, err := unitop.NewOutputRows(slicedRows(), 0)
	require.NoError(t, err)
	for name, x := range map[string][4]float64{
		"flow":    {0.005, 0.93, 400, 293.15},
		"purity":  {0.003, 0.95, 400, 293.15},
		"power":   {0.003, 0.93, 500, 293.15},
		"coolant": {0.003, 0.93, 400, 313.15},
		"nan":     {math.NaN(), 0.93, 400, 293.15},
	} {
		_, err := o.At(x[0], x[1], x[2], x[3])
		assert.Error(t, err, name)
	}
	_, err = o.At(0.003, 0.95, 400, 293.15)
	assert.ErrorIs(t, err, fluid.ErrOutOfRange)
	_, err = unitop.NewOutputRows(nil, 0)
	assert.ErrorIs(t, err, unitop.ErrNoTable)
	twice := append(slicedRows(), slicedRows()[0])
	_, err = unitop.NewOutputRows(twice, 0)
	assert.ErrorIs(t, err, unitop.ErrContradiction)
	_, err = unitop.NewOutputRows([]unitop.OutputRow{{Flow: -1}}, 0)
	assert.Error(t, err)
}

func TestOutputRowsTrendAndSpan(t *testing.T) {
	o, err := unitop.NewOutputRows(slicedRows(), 0)
	require.NoError(t, err)
	assert.Equal(t, 1, o.Trend(unitop.ConditionFlow))
	assert.Equal(t, 1, o.Trend(unitop.ConditionPurity))
	assert.Equal(t, 1, o.Trend(unitop.ConditionPower))
	assert.Equal(t, -1, o.Trend(unitop.ConditionCoolant))
	low, high := o.Span(unitop.ConditionPower)
	assert.Equal(t, 200.0, low)
	assert.Equal(t, 400.0, high)
	one, err := unitop.NewOutputRows(slicedRows()[:1], 0)
	require.NoError(t, err)
	assert.Equal(t, 0, one.Trend(unitop.ConditionPurity))
	got, err := one.At(0.002, 0.93, 200, 293.15)
	require.NoError(t, err)
	assert.Equal(t, 4e-6, got.Best)
}

// A full grid of a multilinear function is recovered everywhere inside, in whatever order its rows come.
func TestOutputRowsRecoverGrids(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := func(x [4]float64) float64 {
			return 1e-6 * (1 + x[0]*100) * (1 + x[1]) * (1 + x[2]/400) * (3 - x[3]/200)
		}
		var rows []unitop.OutputRow
		for _, flow := range []float64{0.002, 0.004} {
			for _, purity := range []float64{0.9, 0.95} {
				for _, power := range []float64{200, 400} {
					for _, coolant := range []float64{290, 300} {
						rows = append(rows, unitop.OutputRow{Flow: flow, Purity: purity, Power: power, Coolant: coolant, Output: f([4]float64{flow, purity, power, coolant})})
					}
				}
			}
		}
		rows = rapid.Permutation(rows).Draw(t, "rows")
		o, err := unitop.NewOutputRows(rows, 0)
		if err != nil {
			t.Fatal(err)
		}
		x := [4]float64{
			rapid.Float64Range(0.002, 0.004).Draw(t, "flow"), rapid.Float64Range(0.9, 0.95).Draw(t, "purity"),
			rapid.Float64Range(200, 400).Draw(t, "power"), rapid.Float64Range(290, 300).Draw(t, "coolant"),
		}
		got, err := o.At(x[0], x[1], x[2], x[3])
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got.Best-f(x)) > 1e-12*f(x)+1e-18 {
			t.Fatalf("got %g, want %g", got.Best, f(x))
		}
	})
}
