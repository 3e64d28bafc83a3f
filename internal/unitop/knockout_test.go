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

var wetOxygen = unitop.PotFluids{GasDensity: 1.331, GasViscosity: 2.03e-5, LiquidDensity: 998.2}

func TestSphereDrag(t *testing.T) {
	for _, c := range []struct{ re, want float64 }{
		// Schiller–Naumann, evaluated by hand.
		{0.1, 247.4}, {1, 27.6}, {10, 4.1511},
	} {
		assert.InEpsilon(t, c.want, unitop.SphereDrag(c.re), 2e-4)
	}
	for _, re := range []float64{0.2, 3, 50, 800, 3e3, 3e4, 1e5} {
		assert.InEpsilon(t, unitop.PiecewiseDrag(re), unitop.SphereDrag(re), 0.15, "the two correlations at Re %g", re)
	}
	assert.InEpsilon(t, 24/1e-6, unitop.SphereDrag(1e-6), 1e-3)
	assert.True(t, math.IsInf(unitop.SphereDrag(0), 1))
	assert.True(t, math.IsInf(unitop.PiecewiseDrag(math.NaN()), 1))
}

// The settling problem of M. B. Cutlip et al., Comput. Appl. Eng. Educ. 6
// (1998) 169, problem 5, solved independently with its own drag correlation.
func TestSphereVelocitySettlingProblem(t *testing.T) {
	for _, c := range []struct{ gravities, want float64 }{{1, 0.0157816}, {30, 0.20602}} {
		v, err := unitop.SphereVelocity(0.208e-3, 1800, 994.6, 8.931e-4, c.gravities*9.80665, unitop.PiecewiseDrag)
		require.NoError(t, err)
		assert.InEpsilon(t, c.want, v, 1e-4)
	}
}

func TestSphereVelocityTendsToStokes(t *testing.T) {
	const d, mu = 5e-6, 1.8e-5
	v, err := unitop.SphereVelocity(d, 1000, 1.2, mu, 9.80665, unitop.SphereDrag)
	require.NoError(t, err)
	assert.InEpsilon(t, d*d*(1000-1.2)*9.80665/(18*mu), v, 2e-3)
	v, err = unitop.SphereVelocity(d, 1.2, 1.2, mu, 9.80665, unitop.SphereDrag)
	require.NoError(t, err)
	assert.Zero(t, v, "a sphere of the fluid's own density stays")
	_, err = unitop.SphereVelocity(0.1, 20000, 1000, 1e-3, 9.80665, unitop.SphereDrag)
	require.ErrorIs(t, err, fluid.ErrOutOfRange, "beyond the Newton range")
}

// C(Re)^2 of the procedure for flare drums is four thirds of the group that the
// terminal velocity is solved for; API RP 521, 4th edition, worked sheet: 6760.
func TestSphereVelocityHoldsTheDragGroup(t *testing.T) {
	const d, rhoV, rhoL, mu = 300e-6, 1.916, 816.14, 0.009e-3
	v, err := unitop.SphereVelocity(d, rhoL, rhoV, mu, 9.80665, unitop.SphereDrag)
	require.NoError(t, err)
	re := rhoV * v * d / mu
	assert.InEpsilon(t, 6760.23, unitop.SphereDrag(re)*re*re, 0.01) // the sheet rounds 1.3076e7 to 0.13e8
}

func TestDropletVelocityRange(t *testing.T) {
	_, err := unitop.DropletVelocity(2.1e-3, 998.2, 1.2, 1.8e-5)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
	_, err = unitop.DropletVelocity(1e-4, 1, 1.2, 1.8e-5)
	require.ErrorIs(t, err, unitop.ErrContradiction)
	v, err := unitop.DropletVelocity(1e-4, 998.2, 1.331, 2.03e-5)
	require.NoError(t, err)
	require.NoError(t, v.Check("velocity"))
	assert.Less(t, (v.High-v.Low)/v.Best, 0.05)
}

func TestSmallestDropletInvertsVelocity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(0.002, 6).Draw(t, "velocity")
		d, below, err := unitop.SmallestDroplet(v, 998.2, 1.331, 2.03e-5)
		require.NoError(t, err)
		require.False(t, below)
		require.NoError(t, d.Check("droplet"))
		w, err := unitop.DropletVelocity(d.Best, 998.2, 1.331, 2.03e-5)
		require.NoError(t, err)
		assert.InEpsilon(t, v, w.Best, 1e-6)
	})
	_, _, err := unitop.SmallestDroplet(20, 998.2, 1.331, 2.03e-5)
	require.ErrorIs(t, err, unitop.ErrNoSolution)
	d, below, err := unitop.SmallestDroplet(1e-5, 998.2, 1.331, 2.03e-5)
	require.NoError(t, err)
	assert.True(t, below)
	assert.Equal(t, unitop.SmallestModelDroplet, d.Best)
}

func TestSoudersBrown(t *testing.T) {
	for _, c := range []struct{ gauge, want float64 }{{0, 0.107}, {7e5, 0.107}, {14e5, 0.104}, {63e5, 0.083}} { // GPSA Engineering Data Book, section 7
		k, err := unitop.SoudersBrownK(c.gauge, true)
		require.NoError(t, err)
		assert.InDelta(t, c.want, k.Best, 1e-12)
	}
	k, err := unitop.SoudersBrownK(0, false)
	require.NoError(t, err)
	assert.InDelta(t, 0.0535*0.8, k.Low, 1e-12)
	v, err := unitop.SoudersBrownVelocity(fluid.Exact(0.107), 998.2, 1.331)
	require.NoError(t, err)
	assert.InEpsilon(t, 2.928, v.Best, 1e-3) // formula, computed independently
	_, err = unitop.SoudersBrownK(64e5, true)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
}

func TestVerticalPotHoldsBackWhatFallsFasterThanTheGasRises(t *testing.T) {
	s, err := unitop.VerticalPot(0.3, 0.6, 0.22384*math.Pi/4*0.09, wetOxygen)
	require.NoError(t, err)
	assert.InEpsilon(t, 0.22384, s.Velocity, 1e-12)
	assert.InEpsilon(t, 0.6/0.22384, s.Residence, 1e-12)
	assert.InEpsilon(t, 100e-6, s.Droplet.Best, 5e-3) // 100 µm falls at 0.22384 m/s, computed independently
	_, err = unitop.VerticalPot(0.05, 0.6, 0.05, wetOxygen)
	require.ErrorIs(t, err, unitop.ErrNoSolution)
}

func TestHorizontalPot(t *testing.T) {
	empty, err := unitop.HorizontalPot(0.3, 1, 0, 0.01, wetOxygen)
	require.NoError(t, err)
	half, err := unitop.HorizontalPot(0.3, 1, 0.15, 0.01, wetOxygen)
	require.NoError(t, err)
	assert.InEpsilon(t, 2, half.Velocity/empty.Velocity, 1e-12)
	// Half the fall in half the time: the same settling velocity.
	assert.InEpsilon(t, empty.Droplet.Best, half.Droplet.Best, 1e-6)
	_, err = unitop.HorizontalPot(0.3, 1, 0.3, 0.01, wetOxygen)
	require.ErrorIs(t, err, unitop.ErrContradiction)
}

// The segment formula against counting strips.
func TestSegmentAreaAgainstStrips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(0.05, 3).Draw(t, "diameter")
		level := d * rapid.Float64Range(0, 1).Draw(t, "fill")
		got, err := unitop.SegmentArea(d, level)
		require.NoError(t, err)
		const strips = 20000
		sum := 0.0
		for i := range strips {
			y := level * (float64(i) + 0.5) / strips
			sum += 2 * math.Sqrt(y*(d-y)) * level / strips
		}
		assert.InDelta(t, sum, got, 1e-5*d*d)
	})
}

func TestHoldUp(t *testing.T) {
	v, err := unitop.VerticalHoldUp(0.3, 0.1, 0.6)
	require.NoError(t, err)
	assert.InEpsilon(t, math.Pi/4*0.09*0.5, v, 1e-12)
	h, err := unitop.HorizontalHoldUp(0.3, 2, 0, 0.3)
	require.NoError(t, err)
	assert.InEpsilon(t, math.Pi/4*0.09*2, h, 1e-12)
	_, err = unitop.HorizontalHoldUp(0.3, 2, 0.2, 0.1)
	require.ErrorIs(t, err, unitop.ErrContradiction)
}
