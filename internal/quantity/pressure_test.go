package quantity_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/quantity"
)

// Expected values by the definition: gauge = absolute - atmosphere.
func TestGaugeAndAbsolute(t *testing.T) {
	t.Parallel()
	a, err := quantity.GaugeToAbsolute(1e6, 101325)
	require.NoError(t, err)
	assert.Equal(t, 1101325.0, a)
	g, err := quantity.AbsoluteToGauge(a, 101325)
	require.NoError(t, err)
	assert.Equal(t, 1e6, g)
	a, err = quantity.GaugeToAbsolute(-80000, 80000)
	require.NoError(t, err)
	assert.Zero(t, a)
	for _, c := range [][2]float64{
		{-80001, 80000}, {0, 0}, {0, -1}, {math.NaN(), 1e5}, {0, math.NaN()}, {math.Inf(1), 1e5}, {0, math.Inf(1)},
	} {
		_, err := quantity.GaugeToAbsolute(c[0], c[1])
		assert.Error(t, err, c)
	}
	for _, c := range [][2]float64{{-1, 1e5}, {1, 0}, {math.NaN(), 1e5}, {math.Inf(1), 1e5}, {1, math.NaN()}} {
		_, err := quantity.AbsoluteToGauge(c[0], c[1])
		assert.Error(t, err, c)
	}
}
