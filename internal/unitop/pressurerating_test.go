package unitop_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/unitop"
)

func TestFlangeRatingPublished(t *testing.T) {
	for _, c := range []struct {
		material string
		class    int
		celsius  float64
		want     float64 // bar gauge
	}{
		// ASME B16.5 (2009 to 2020) Table 2-2.2.
		{"stainless-316", 150, -29, 19.0}, {"stainless-316", 150, 38, 19.0}, {"stainless-316", 150, 50, 18.4},
		{"stainless-316", 150, 150, 14.8}, {"stainless-316", 150, 200, 13.7},
		// The same, read in several transcriptions that agree.
		{"stainless-316", 300, 38, 49.6}, {"stainless-316", 300, 50, 48.1}, {"stainless-316", 300, 100, 42.2},
		{"stainless-316", 300, 150, 38.5}, {"stainless-316", 300, 200, 35.7},
		// ASME B16.5 (2009 to 2020) Table 2-2.3.
		{"stainless-316l", 150, 38, 15.9}, {"stainless-316l", 150, 50, 15.3}, {"stainless-316l", 150, 100, 13.3}, {"stainless-316l", 150, 200, 11.2},
		// ASME B16.5 (2009 to 2020) Table 2-1.1.
		{"carbon-steel", 150, 50, 19.2}, {"carbon-steel", 150, 100, 17.7}, {"carbon-steel", 150, 150, 15.8}, {"carbon-steel", 150, 300, 10.2},
		{"carbon-steel", 300, 38, 51.1}, {"carbon-steel", 300, 50, 50.1}, {"carbon-steel", 300, 100, 46.6}, {"carbon-steel", 300, 200, 43.8},
		// Linear between lines, by hand.
		{"stainless-316l", 150, 60, 14.9}, {"carbon-steel", 150, 80, 18.3},
	} {
		p, table, err := unitop.FlangeRating(c.material, c.class, c.celsius+273.15)
		require.NoError(t, err)
		assert.InDelta(t, c.want*1e5, p, 1e3, "%s class %d at %g degC", c.material, c.class, c.celsius)
		assert.Equal(t, c.material, table.Material)
		assert.NotEmpty(t, table.Source)
	}
}

// The annex in degrees Fahrenheit and psi, rounded on its own: 285, 260, 230
// and 200 psi at 100, 200, 300 and 400 degF.
func TestFlangeRatingAgreesWithTheCustomaryAnnex(t *testing.T) {
	for _, c := range []struct{ fahrenheit, psi float64 }{{100, 285}, {200, 260}, {300, 230}, {400, 200}} {
		p, _, err := unitop.FlangeRating("carbon-steel", 150, (c.fahrenheit-32)/1.8+273.15)
		require.NoError(t, err)
		assert.InEpsilon(t, c.psi*psi, p, 0.012)
	}
}

func TestFlangeRatingRefuses(t *testing.T) {
	_, _, err := unitop.FlangeRating("brass", 150, 300)
	require.ErrorIs(t, err, unitop.ErrNoTable)
	assert.ErrorContains(t, err, "carbon-steel, stainless-316, stainless-316l")
	_, _, err = unitop.FlangeRating("carbon-steel", 200, 300)
	require.ErrorIs(t, err, unitop.ErrNoTable)
	for _, k := range []float64{240, 600, math.NaN(), math.Inf(1)} {
		_, _, err = unitop.FlangeRating("carbon-steel", 150, k)
		require.Error(t, err, "%g K", k)
	}
}

func TestPlasticDeratingPublished(t *testing.T) {
	for _, c := range []struct {
		material         string
		fahrenheit, want float64
		tolerance        float64 // absolute
	}{
		// Common practice, read in guides for solvent-welded pipe that name no standard for them.
		{"pvc", 73, 1, 0.001}, {"pvc", 80, 0.88, 0.001}, {"pvc", 90, 0.75, 0.001}, {"pvc", 100, 0.62, 0.001}, {"pvc", 110, 0.5, 0.001},
		{"pvc", 120, 0.4, 0.001}, {"pvc", 130, 0.3, 0.001}, {"pvc", 140, 0.22, 0.001},
		// A guide of the other family.
		{"pvc", 110, 0.51, 0.011}, {"pvc", 130, 0.31, 0.011},
		// As the first.
		{"cpvc", 73, 1, 0.001}, {"cpvc", 80, 1, 0.001}, {"cpvc", 90, 0.91, 0.001}, {"cpvc", 100, 0.82, 0.001}, {"cpvc", 110, 0.72, 0.001},
		{"cpvc", 120, 0.65, 0.001}, {"cpvc", 130, 0.57, 0.001}, {"cpvc", 140, 0.5, 0.001}, {"cpvc", 150, 0.42, 0.001}, {"cpvc", 160, 0.4, 0.001},
		{"cpvc", 170, 0.29, 0.001}, {"cpvc", 180, 0.25, 0.001}, {"cpvc", 200, 0.2, 0.001},
		// A guide of the other family.
		{"cpvc", 80, 0.96, 0.051}, {"cpvc", 100, 0.85, 0.051}, {"cpvc", 110, 0.77, 0.051}, {"cpvc", 120, 0.7, 0.051}, {"cpvc", 130, 0.62, 0.051},
		{"cpvc", 140, 0.55, 0.051}, {"cpvc", 150, 0.47, 0.051}, {"cpvc", 170, 0.32, 0.051}, {"cpvc", 200, 0.18, 0.051},
	} {
		f, source, err := unitop.PlasticDerating(c.material, (c.fahrenheit-32)/1.8+273.15)
		require.NoError(t, err, "%s at %g degF", c.material, c.fahrenheit)
		assert.InDelta(t, c.want, f.Best, c.tolerance)
		assert.True(t, f.Contains(c.want))
		assert.NotEmpty(t, source)
	}
	_, _, err := unitop.PlasticDerating("pvc", 350)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
	_, _, err = unitop.PlasticDerating("abs", 300)
	require.ErrorIs(t, err, unitop.ErrNoTable)
	for _, m := range unitop.PlasticMaterials() {
		_, _, err := unitop.PlasticDerating(m, 300)
		require.NoError(t, err)
	}
}
