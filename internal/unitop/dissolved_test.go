package unitop_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/unitop"
)

// Oxygen in air-saturated fresh water at 101.325 kPa against fluid.OxygenSaturation, which has its source there.
func TestAirSaturated(t *testing.T) {
	t.Parallel()
	for _, temperature := range []float64{278.15, 288.15, 298.15} {
		d, err := unitop.AirSaturated(temperature, 101325)
		require.NoError(t, err)
		want, err := fluid.OxygenSaturation(temperature)
		require.NoError(t, err)
		assert.InEpsilon(t, want, d.O2*fluid.MolarMassO2, 0.01, temperature)
		assert.Greater(t, d.N2, d.O2)
		assert.Zero(t, d.O3)
	}
	for _, p := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		_, err := unitop.AirSaturated(288.15, p)
		assert.Error(t, err, p)
	}
	_, err := unitop.AirSaturated(400, 101325)
	assert.Error(t, err)
}
