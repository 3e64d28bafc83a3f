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

var oxygenGas = unitop.Gas{MolarMass: fluid.MolarMassO2, HeatRatio: 1.4, Compressibility: 1}

func TestCriticalPressureRatio(t *testing.T) {
	rc, err := unitop.CriticalPressureRatio(1.4)
	require.NoError(t, err)
	assert.InEpsilon(t, 0.5283, rc, 1e-4) // gas dynamics tables, k = 1.4
	_, err = unitop.CriticalPressureRatio(1)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
}

func TestOrificeGasFlowIsContinuousAndFlatWhenChoked(t *testing.T) {
	rc, err := unitop.CriticalPressureRatio(1.4)
	require.NoError(t, err)
	flow := func(p2 float64) unitop.GasFlow {
		f, err := unitop.OrificeGasFlow(1e-5, 0.6, 4e5, p2, 293.15, oxygenGas)
		require.NoError(t, err)
		return f
	}
	below, above := flow(4e5*rc*(1-1e-9)), flow(4e5*rc*(1+1e-9))
	assert.True(t, below.Choked)
	assert.False(t, above.Choked)
	assert.InEpsilon(t, below.Mass, above.Mass, 1e-9)
	assert.Equal(t, flow(0).Mass, below.Mass)
	assert.Zero(t, flow(4e5).Mass)
	assert.InEpsilon(t, below.Mass/fluid.MolarMassO2, below.Molar, 1e-12)
}

// Near equal pressures the gas is incompressible and Bernoulli holds.
func TestOrificeGasFlowTendsToBernoulli(t *testing.T) {
	f, err := unitop.OrificeGasFlow(1e-4, 0.6, 2e5, 2e5-10, 293.15, oxygenGas)
	require.NoError(t, err)
	rho, err := oxygenGas.Density(2e5, 293.15)
	require.NoError(t, err)
	assert.InEpsilon(t, 0.6*1e-4*math.Sqrt(2*rho*10), f.Mass, 1e-3)
}

func TestOrificeGasAreaInvertsTheFlow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p1 := rapid.Float64Range(1e4, 1e7).Draw(t, "p1")
		p2 := p1 * rapid.Float64Range(0, 0.999).Draw(t, "ratio")
		area := rapid.Float64Range(1e-8, 1e-2).Draw(t, "area")
		f, err := unitop.OrificeGasFlow(area, 0.7, p1, p2, 300, oxygenGas)
		require.NoError(t, err)
		back, err := unitop.OrificeGasArea(f.Mass, 0.7, p1, p2, 300, oxygenGas)
		require.NoError(t, err)
		assert.InEpsilon(t, area, back, 1e-9)
	})
	_, err := unitop.OrificeGasArea(1, 0.7, 2e5, 2e5, 300, oxygenGas)
	require.ErrorIs(t, err, unitop.ErrNoSolution)
}

func TestSeriesGasFlowConservesMass(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p1 := rapid.Float64Range(1.1e5, 1e6).Draw(t, "p1")
		first := unitop.Restriction{Area: rapid.Float64Range(1e-7, 1e-3).Draw(t, "a1"), Coefficient: 0.6}
		second := unitop.Restriction{Area: rapid.Float64Range(1e-7, 1e-3).Draw(t, "a2"), Coefficient: 0.8}
		f, err := unitop.SeriesGasFlow(first, second, p1, 1e5, 293.15, oxygenGas)
		require.NoError(t, err)
		in, err := unitop.OrificeGasFlow(first.Area, 0.6, p1, f.Between, 293.15, oxygenGas)
		require.NoError(t, err)
		out, err := unitop.OrificeGasFlow(second.Area, 0.8, f.Between, 1e5, 293.15, oxygenGas)
		require.NoError(t, err)
		assert.InEpsilon(t, f.Mass, in.Mass, 1e-4)
		assert.InEpsilon(t, f.Mass, out.Mass, 1e-4)
		alone, err := unitop.OrificeGasFlow(first.Area, 0.6, p1, 1e5, 293.15, oxygenGas)
		require.NoError(t, err)
		assert.LessOrEqual(t, f.Mass, alone.Mass*(1+1e-9))
	})
}

func TestSeriesGasFlowLimits(t *testing.T) {
	small, wide := unitop.Restriction{Area: 1e-6, Coefficient: 0.6}, unitop.Restriction{Area: 1, Coefficient: 0.6}
	alone, err := unitop.OrificeGasFlow(1e-6, 0.6, 3e5, 1e5, 293.15, oxygenGas)
	require.NoError(t, err)
	f, err := unitop.SeriesGasFlow(small, wide, 3e5, 1e5, 293.15, oxygenGas)
	require.NoError(t, err)
	assert.InEpsilon(t, alone.Mass, f.Mass, 1e-6)
	assert.InEpsilon(t, 1e5, f.Between, 1e-6)
	f, err = unitop.SeriesGasFlow(wide, small, 3e5, 1e5, 293.15, oxygenGas)
	require.NoError(t, err)
	assert.InEpsilon(t, alone.Mass, f.Mass, 1e-6)
	assert.InEpsilon(t, 3e5, f.Between, 1e-6)
	f, err = unitop.SeriesGasFlow(small, wide, 2e5, 2e5, 293.15, oxygenGas)
	require.NoError(t, err)
	assert.Zero(t, f.Mass)
}

func TestOrificeLiquidFlow(t *testing.T) {
	w, err := unitop.OrificeLiquidFlow(1e-4, 0.6, 3e5, 1e5, 998.2, 2339)
	require.NoError(t, err)
	assert.InEpsilon(t, 0.6*1e-4*math.Sqrt(2*998.2*2e5), w, 1e-12)
	_, err = unitop.OrificeLiquidFlow(1e-4, 0.6, 3e5, 2e3, 998.2, 2339)
	require.ErrorIs(t, err, unitop.ErrNotModelled)
	assert.ErrorContains(t, err, "two-phase")
}
