package unitop_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/unitop"
)

// The off-gas states: moles of dry gas are kept, zero transfer is the feed, a
// burst carries up to feed strength, and mean follows what transfer left.
func TestVentOffGas(t *testing.T) {
	in := skid(t, unitop.LineContact)
	r, err := unitop.Contact(in)
	require.NoError(t, err)
	vent := unitop.OffGasInput{
		Feed: in.Gas, FeedFlow: in.GasFlow, Flow: r.OffGas, Ozone: r.OffGasOzone, Gas: r.Best.Gas,
		Temperature: 293.15, Pressure: 101325, Burst: fluid.Spread(0.03, 0.3),
	}
	o, err := unitop.VentOffGas(vent)
	require.NoError(t, err)
	assert.InEpsilon(t, in.GasFlow, o.ZeroTransfer.Flow.Best*(1-o.ZeroTransfer.Gas.H2O), 1e-12)
	assert.InEpsilon(t, in.GasFlow*in.Gas.O3*fluid.MolarMassO3, o.ZeroTransfer.Ozone.Best, 1e-12)
	assert.InEpsilon(t, 0.023086, o.ZeroTransfer.Gas.H2O, 0.001, "saturated gas at 20 degC and 1 atm, derived")
	assert.Less(t, o.Mean.Ozone.High, o.ZeroTransfer.Ozone.Best)
	assert.InEpsilon(t, o.ZeroTransfer.OzoneFraction.Best, o.Burst.OzoneFraction.High, 1e-9)
	assert.Greater(t, o.BurstRatio.Best, 5.0)
	assert.Equal(t, 293.15, o.DewPoint)
	for _, s := range []unitop.OffGasStream{o.Mean, o.ZeroTransfer, o.Burst} {
		for _, x := range []fluid.Range{s.Flow, s.Volume, s.Mass, s.Ozone, s.OzoneFraction, s.Water} {
			require.NoError(t, x.Check("off-gas"))
		}
	}
	vent.Ozone = fluid.Exact(1)
	_, err = unitop.VentOffGas(vent)
	require.ErrorIs(t, err, unitop.ErrContradiction)
	vent.Ozone, vent.Temperature = r.OffGasOzone, math.NaN()
	_, err = unitop.VentOffGas(vent)
	require.ErrorIs(t, err, fluid.ErrNotFinite)
}
