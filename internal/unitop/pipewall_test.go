package unitop_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/unitop"
)

const psi = 6894.757293168 // Pa

func steelPipe(outer, stress float64) unitop.PipeWall {
	return unitop.PipeWall{OuterDiameter: outer, Stress: stress, Quality: 1, WeldStrength: 1, Y: 0.4}
}

func TestPipeWallPublished(t *testing.T) {
	for _, c := range []struct {
		source                  string
		pressure, outer, stress float64 // Pa gauge, m, Pa
		want, tolerance         float64 // m, relative
	}{
		{"public calculation sheet to B31.3 (2008), 762 mm", 45.1e5, 0.762, 1427.215e5, 11.889e-3, 5e-4},
		{"public calculation sheet to B31.3 (2008), 914 mm", 45.1e5, 0.914, 1427.215e5, 14.261e-3, 5e-4},
		{"public line-class sheet, 0.84 in, prints one digit, 0.006", 285 * psi, 0.84 * 0.0254, 20000 * psi, 0.006 * 0.0254, 1e-2},
		{"public line-class sheet, 24 in, prints 0.17", 285 * psi, 24 * 0.0254, 20000 * psi, 0.17 * 0.0254, 6e-3},
	} {
		t.Run(c.source, func(t *testing.T) {
			w, err := steelPipe(c.outer, c.stress).Thickness(c.pressure)
			require.NoError(t, err)
			assert.InEpsilon(t, c.want, w.Pressure, c.tolerance)
		})
	}
}

func TestPipeWallInverts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := unitop.PipeWall{
			OuterDiameter: rapid.Float64Range(0.01, 1).Draw(t, "outer"), Stress: rapid.Float64Range(5e7, 2e8).Draw(t, "stress"),
			Quality: rapid.Float64Range(0.6, 1).Draw(t, "quality"), WeldStrength: 1, Y: 0.4,
			Allowance: rapid.Float64Range(0, 0.001).Draw(t, "allowance"), MillTolerance: 0.125,
		}
		pressure := rapid.Float64Range(1e3, 1e7).Draw(t, "pressure")
		w, err := p.Thickness(pressure)
		require.NoError(t, err)
		back, err := p.AllowedPressure(w.Nominal)
		require.NoError(t, err)
		assert.InEpsilon(t, pressure, back, 1e-6)
	})
}

func TestPipeWallRefusesThickAndWornWalls(t *testing.T) {
	_, err := steelPipe(0.1, 1e8).Thickness(5e7)
	require.ErrorIs(t, err, unitop.ErrNotModelled)
	_, err = steelPipe(0.1, 1e8).AllowedPressure(0.03)
	require.ErrorIs(t, err, unitop.ErrNotModelled)
	p := steelPipe(0.1, 1e8)
	p.Allowance = 0.002
	_, err = p.AllowedPressure(0.001)
	require.ErrorIs(t, err, unitop.ErrContradiction)
}

func TestAllowedPressureOfAStainlessPipe(t *testing.T) {
	// NPS 2 schedule 10S, 316L, computed independently.
	p := steelPipe(60.33e-3, 115e6)
	p.MillTolerance = 0.125
	got, err := p.AllowedPressure(2.77e-3)
	require.NoError(t, err)
	assert.InEpsilon(t, 9.55e6, got, 5e-3)
}

func TestHydrotestPressure(t *testing.T) {
	// Closed form of ASME B31.3 (2008), 345.4.2(b): 1.5 x 45.1 bar x 1496.16/1427.2 = 70.92 bar.
	p, err := unitop.HydrotestPressure(45.1e5, 1496.16e5, 1427.2e5)
	require.NoError(t, err)
	assert.InEpsilon(t, 70.92e5, p, 5e-4)
	_, err = unitop.HydrotestPressure(45.1e5, 1e8, 1e9)
	require.ErrorIs(t, err, fluid.ErrOutOfRange, "the test is not weaker than 1.5 P")
}

func TestPlasticPressurePublished(t *testing.T) {
	// Closed form 2 S/(R - 1) of ASTM D1785 and F441 with S = 2000 psi, to whole psi.
	for _, c := range []struct{ ratio, want float64 }{{5.714, 848}, {9.5, 471}, {10.417, 425}, {11.667, 375}, {17.25, 246}} {
		p, err := unitop.PlasticPressure(2000*psi, c.ratio)
		require.NoError(t, err)
		assert.InEpsilon(t, c.want*psi, p, 3e-3)
	}
}

func TestTubeBurst(t *testing.T) {
	p, err := unitop.TubeBurst(30e6, 1e-3, 8e-3)
	require.NoError(t, err)
	assert.InEpsilon(t, 60e6/7, p.Best, 1e-12)
	assert.InEpsilon(t, 0.7*p.Best, p.Low, 1e-12)
	_, err = unitop.TubeBurst(30e6, 4e-3, 8e-3)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
}
