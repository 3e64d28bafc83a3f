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

func demoFloat() unitop.Float {
	return unitop.Float{Mass: 0.1, Volume: 0.25e-3, LeverRatio: 5, PlugMass: 0.01, Bore: 0.003, SeatDiameter: 0.004}
}

const water = 998.2 // kg/m3 at 20 degC

func TestFloatVentBalance(t *testing.T) {
	f := demoFloat()
	l, err := f.VentOpeningLimit(water)
	require.NoError(t, err)
	force := (5*0.1 + 0.01) * unitop.StandardGravity
	assert.InEpsilon(t, force/(math.Pi/4*0.003*0.003), l.HighestDifference.High, 1e-12)
	assert.InEpsilon(t, force/(math.Pi/4*0.004*0.004), l.HighestDifference.Low, 1e-12)
	assert.InEpsilon(t, (5*(water*0.25e-3-0.1)-0.01)*unitop.StandardGravity, l.ClosingForce, 1e-12)
}

// At the submergence returned the moments about the pivot balance.
func TestFloatSubmergenceBalancesForces(t *testing.T) {
	f := demoFloat()
	area := math.Pi / 8 * (f.Bore*f.Bore + f.SeatDiameter*f.SeatDiameter)
	vent, err := f.VentOpeningLimit(water)
	require.NoError(t, err)
	drain, err := f.DrainOpeningLimit(water)
	require.NoError(t, err)
	rapid.Check(t, func(t *rapid.T) {
		w := rapid.Float64Range(0, 1).Draw(t, "share")
		dp := w * vent.HighestDifference.Best
		s, err := f.VentSubmergence(dp, water)
		require.NoError(t, err)
		weight := (f.LeverRatio*f.Mass + f.PlugMass) * unitop.StandardGravity
		lift := f.LeverRatio * water * f.Volume * s * unitop.StandardGravity
		assert.InDelta(t, dp*area, weight-lift, 1e-9)
		dp = w * drain.Best
		s, err = f.DrainSubmergence(dp, water)
		require.NoError(t, err)
		lift = f.LeverRatio * water * f.Volume * s * unitop.StandardGravity
		assert.InDelta(t, dp*area, lift-weight, 1e-9)
	})
	s, err := f.VentSubmergence(vent.HighestDifference.Best, water)
	require.NoError(t, err)
	assert.InDelta(t, 0, s, 1e-12)
	s, err = f.DrainSubmergence(drain.Best, water)
	require.NoError(t, err)
	assert.InDelta(t, 1, s, 1e-12)
	_, err = f.VentSubmergence(vent.HighestDifference.Best*1.001, water)
	require.ErrorIs(t, err, unitop.ErrNoSolution)
	_, err = f.DrainSubmergence(drain.Best*1.001, water)
	require.ErrorIs(t, err, unitop.ErrNoSolution)
}

func TestFloatThatSinksIsAContradiction(t *testing.T) {
	f := demoFloat()
	f.Mass = 0.3
	_, err := f.VentOpeningLimit(water)
	require.ErrorIs(t, err, unitop.ErrContradiction)
	_, err = f.DrainOpeningLimit(water)
	require.ErrorIs(t, err, unitop.ErrContradiction)
	f = demoFloat()
	f.SeatDiameter = 0.002
	_, err = f.DrainOpeningLimit(water)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
}

func TestBurstFlowAndLimitingBoreAgree(t *testing.T) {
	cd := fluid.Range{Low: 0.6, Best: 0.7, High: 0.84}
	burst, err := unitop.BurstFlow(0.003, cd, 3e5, 1e5, 293.15, oxygenGas)
	require.NoError(t, err)
	assert.InEpsilon(t, 0.84/0.6, burst.High/burst.Low, 1e-12)
	bore, err := unitop.LimitingBore(burst.Best, fluid.Exact(0.7), 3e5, 1e5, 293.15, oxygenGas)
	require.NoError(t, err)
	assert.InEpsilon(t, 0.003, bore.Best, 1e-12)
	bore, err = unitop.LimitingBore(burst.Best, cd, 3e5, 1e5, 293.15, oxygenGas)
	require.NoError(t, err)
	assert.Less(t, bore.Low, bore.Best, "the high coefficient needs the smaller, safe bore")
	_, err = unitop.BurstFlow(0.003, fluid.Range{Low: 0.7, Best: 0.6, High: 0.8}, 3e5, 1e5, 293.15, oxygenGas)
	require.Error(t, err)
}

func TestDrainCapacityTorricelli(t *testing.T) {
	q, err := unitop.DrainCapacity(0.01, fluid.Exact(1), 1e5, 1e5, 1, water, 2339)
	require.NoError(t, err)
	assert.InEpsilon(t, math.Pi/4*1e-4*math.Sqrt(2*unitop.StandardGravity), q.Best, 1e-12)
}
