package fluid_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/fluid"
)

// drawRange draws a range of moderate size with its ends in order.
func drawRange(t *rapid.T, name string) fluid.Range {
	best := rapid.Float64Range(-1e6, 1e6).Draw(t, name)
	rel := rapid.Float64Range(0, 2).Draw(t, name+" rel")
	return fluid.Spread(best, rel)
}

func TestSpreadAndExact(t *testing.T) {
	assert.Equal(t, fluid.Range{Low: 3, Best: 3, High: 3}, fluid.Exact(3))
	assert.True(t, fluid.Exact(3).IsExact())
	assert.Equal(t, fluid.Range{Low: 90, Best: 100, High: 110}, fluid.Spread(100, 0.1))
	assert.Equal(t, fluid.Range{Low: -110, Best: -100, High: -90}, fluid.Spread(-100, 0.1))
	assert.Equal(t, fluid.Spread(100, 0.1), fluid.Spread(100, -0.1))
}

func TestCheckRefusesDisorderAndNaN(t *testing.T) {
	require.NoError(t, fluid.Range{Low: 1, Best: 2, High: 3}.Check("range"))
	require.ErrorContains(t, fluid.Range{Low: 2, Best: 1, High: 3}.Check("range"), "not in order")
	require.ErrorIs(t, fluid.Range{Low: 1, Best: math.NaN(), High: 3}.Check("range"), fluid.ErrNotFinite)
	require.ErrorIs(t, fluid.Range{Low: 1, Best: 2, High: math.Inf(1)}.Check("range"), fluid.ErrNotFinite)
}

// Interval arithmetic must contain the result for every pick of the operands.
func TestArithmeticContainsEveryPick(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawRange(t, "a"), drawRange(t, "b")
		x := a.Low + (a.High-a.Low)*rapid.Float64Range(0, 1).Draw(t, "at")
		y := b.Low + (b.High-b.Low)*rapid.Float64Range(0, 1).Draw(t, "bt")
		for _, c := range []struct {
			name string
			r    fluid.Range
			v    float64
		}{
			{"sum", a.Add(b), x + y},
			{"difference", a.Sub(b), x - y},
			{"product", a.Mul(b), x * y},
			{"scale", a.Scale(y), x * y},
			{"map", a.Map(func(v float64) float64 { return -v * 3 }), -x * 3},
			{"envelope", a.Envelope(b), x},
		} {
			tol := 1e-9 * (math.Abs(c.v) + math.Abs(c.r.Low) + math.Abs(c.r.High) + 1)
			if c.v < c.r.Low-tol || c.v > c.r.High+tol {
				t.Fatalf("%s: %g outside %+v", c.name, c.v, c.r)
			}
			if c.r.Low > c.r.Best || c.r.Best > c.r.High {
				t.Fatalf("%s: disorder %+v", c.name, c.r)
			}
		}
	})
}

func TestMapErrStopsAtFirstError(t *testing.T) {
	r := fluid.Spread(10, 0.5)
	got, err := r.MapErr(func(x float64) (float64, error) { return 1 / x, nil })
	require.NoError(t, err)
	assert.Equal(t, fluid.Range{Low: 1.0 / 15, Best: 0.1, High: 0.2}, got)
	_, err = r.MapErr(func(x float64) (float64, error) {
		return x, fluid.Within("x", x, 6, 20, "m")
	})
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
	assert.ErrorContains(t, err, "6 to 20 m")
}

func TestWithinAndPositiveExplainThemselves(t *testing.T) {
	require.NoError(t, fluid.Within("pressure", 1, 0, 2, "Pa"))
	require.ErrorIs(t, fluid.Within("pressure", math.NaN(), 0, 2, "Pa"), fluid.ErrNotFinite)
	require.ErrorIs(t, fluid.Within("pressure", math.Inf(-1), 0, 2, "Pa"), fluid.ErrNotFinite)
	require.ErrorContains(t, fluid.Within("pressure", -1, 0, math.Inf(1), "Pa"), "at least 0 Pa")
	require.ErrorIs(t, fluid.Positive("flow", 0, "mol/s"), fluid.ErrOutOfRange)
	require.ErrorIs(t, fluid.Positive("flow", -2, "mol/s"), fluid.ErrOutOfRange)
	require.NoError(t, fluid.Positive("flow", 2, "mol/s"))
}
