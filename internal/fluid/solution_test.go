package fluid_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/fluid"
)

// Solubility of pure ozone at 20 degC and 1 atm: 570 mg/L within 3 %,
// Kinman 1975 quoted in US EPA 815-R-99-014 chapter 3, verified. The ratios at
// other temperatures are derived from Sander 2023 (regression); the last two
// rows are an independent correlation and must lie within the spread.
func TestHenryOzone(t *testing.T) {
	s, err := fluid.OzoneSaturation(293.15, 101325)
	require.NoError(t, err)
	assert.InEpsilon(t, 0.570, s.Best, 0.03)
	for _, c := range []struct{ celsius, ratio float64 }{{5, 0.4543}, {10, 0.3872}, {25, 0.2479}} {
		h, err := fluid.HenryOzone(273.15 + c.celsius)
		require.NoError(t, err)
		r, err := fluid.SolubilityRatio(h, 273.15+c.celsius)
		require.NoError(t, err)
		assert.InEpsilon(t, c.ratio, r.Best, 0.001, "%g degC", c.celsius)
	}
	// Russ. J. Phys. Chem. A 93 (2019), doi 10.1134/S0036024419070148:
	// ln ratio = -9.445 + 2406/T, 20 to 40 degC.
	for _, temp := range []float64{293.15, 303.15, 313.15} {
		h, err := fluid.HenryOzone(temp)
		require.NoError(t, err)
		r, err := fluid.SolubilityRatio(h, temp)
		require.NoError(t, err)
		assert.True(t, r.Contains(math.Exp(-9.445+2406/temp)), "%g K: %+v", temp, r)
	}
	// 10 wt % in oxygen over water at 20 degC (regression).
	for _, c := range []struct{ p, mg float64 }{{101325, 39.4}, {301300, 117.1}} {
		s, err := fluid.OzoneSaturation(293.15, 0.068966*c.p)
		require.NoError(t, err)
		assert.InEpsilon(t, c.mg, s.Best*1e3, 0.005)
	}
}

// The six published correlations, verified in Sander 2023 v5.0.0: the ends at
// 25 degC are 7.6e-5 and 1.2e-4.
func TestHenryOzoneSpread(t *testing.T) {
	h, err := fluid.HenryOzone(298.15)
	require.NoError(t, err)
	assert.InEpsilon(t, 7.6e-5, h.Low, 1e-12)
	assert.InEpsilon(t, 1.0e-4, h.Best, 1e-12)
	assert.InEpsilon(t, 1.2e-4, h.High, 1e-12)
	rapid.Check(t, func(t *rapid.T) {
		temp := rapid.Float64Range(273.15, 313).Draw(t, "t")
		a, err := fluid.HenryOzone(temp)
		require.NoError(t, err)
		b, err := fluid.HenryOzone(temp + 0.05)
		require.NoError(t, err)
		if b.Best >= a.Best || a.Check("h") != nil {
			t.Fatalf("solubility must fall with temperature: %+v then %+v", a, b)
		}
	})
}

// Dissolved oxygen: published table values at 0, 16 and 24 degC verified, the
// others derived from the equation (regression).
func TestOxygenSaturation(t *testing.T) {
	for _, c := range []struct{ celsius, mg float64 }{
		{0, 14.621}, {16, 9.870}, {24, 8.418}, {5, 12.771}, {10, 11.288}, {30, 7.559},
	} {
		got, err := fluid.OxygenSaturation(273.15 + c.celsius)
		require.NoError(t, err)
		assert.InEpsilon(t, c.mg, got*1e3, 0.0005, "%g degC", c.celsius)
	}
	// Sander 2023 recommends 1.3e-5 at 25 degC, two digits, up to 4 % high.
	h, err := fluid.HenryOxygen(298.15)
	require.NoError(t, err)
	assert.InEpsilon(t, 1.3e-5, h.Best, 0.04)
	// Nitrogen is about half as soluble as oxygen.
	n2, err := fluid.HenryNitrogen(298.15)
	require.NoError(t, err)
	assert.InDelta(t, 0.51, n2.Best/h.Best, 0.02)
}

// Bunsen coefficients of argon in fresh water, Weiss, Deep-Sea Res. 17 (1970)
// 721, as transcribed, with the molar volume of argon of 22.392 L: the spread
// contains them.
func TestHenryArgonAfterWeiss(t *testing.T) {
	for celsius := 0.0; celsius <= 40; celsius += 5 {
		temp := 273.15 + celsius
		bunsen := math.Exp(-55.6578 + 82.0262*100/temp + 22.5929*math.Log(temp/100))
		got, err := fluid.HenryArgon(temp)
		require.NoError(t, err)
		assert.InEpsilon(t, bunsen/22.392e-3/fluid.NormalPressure, got.Best, 0.011, "%g degC", celsius)
	}
}

// Oxygen and ozone: values derived from the published equations (regression).
// Nitrogen and argon at 25 degC: CRC Handbook, diffusion of gases in water, in a
// transcription; the spread contains them.
func TestDiffusivity(t *testing.T) {
	for _, c := range []struct {
		of         func(float64) (fluid.Range, error)
		celsius, d float64
	}{
		{fluid.DiffusivityOxygen, 10, 1.331e-9}, {fluid.DiffusivityOxygen, 20, 1.760e-9}, {fluid.DiffusivityOxygen, 25, 1.998e-9},
		{fluid.DiffusivityOxygen, 30, 2.250e-9}, {fluid.DiffusivityOzone, 10, 1.359e-9}, {fluid.DiffusivityOzone, 20, 1.708e-9},
		{fluid.DiffusivityOzone, 25, 1.904e-9},
	} {
		got, err := c.of(273.15 + c.celsius)
		require.NoError(t, err)
		assert.InEpsilon(t, c.d, got.Best, 0.002)
	}
	n2, err := fluid.DiffusivityNitrogen(298.15)
	require.NoError(t, err)
	assert.True(t, n2.Contains(2.0e-9), "%+v", n2)
	ar, err := fluid.DiffusivityArgon(298.15)
	require.NoError(t, err)
	assert.True(t, ar.Contains(2.5e-9), "%+v", ar)
	for _, f := range []func(float64) (fluid.Range, error){
		fluid.DiffusivityOxygen, fluid.DiffusivityOzone, fluid.DiffusivityNitrogen, fluid.DiffusivityArgon,
	} {
		cold, err := f(278.15)
		require.NoError(t, err)
		warm, err := f(308.15)
		require.NoError(t, err)
		assert.Greater(t, warm.Best, cold.Best)
		assert.InDelta(t, 1.7e-9, (cold.Best+warm.Best)/2, 0.5e-9)
	}
}

// The decay law: closed forms, and the widely copied half-lives (verified as
// copied, no primary source; factor 3) inside the spread of DemandFreeDecay.
func TestOzoneDecay(t *testing.T) {
	d, err := fluid.DecayFromHalfLife(fluid.Exact(600), 293.15, fluid.Exact(50e3))
	require.NoError(t, err)
	k, err := d.At(293.15)
	require.NoError(t, err)
	assert.InEpsilon(t, math.Ln2/600, k.Best, 1e-12)
	warm, err := d.At(303.15)
	require.NoError(t, err)
	assert.InEpsilon(t, math.Exp(50e3/fluid.GasConstant*(1/293.15-1/303.15)), warm.Best/k.Best, 1e-12)
	for _, c := range []struct{ celsius, minutes float64 }{{15, 30}, {25, 15}, {35, 8}} {
		k, err := fluid.DemandFreeDecay().At(273.15 + c.celsius)
		require.NoError(t, err)
		assert.True(t, k.Contains(math.Ln2/(60*c.minutes)), "%g degC: %+v", c.celsius, k)
	}
}

func TestSolutionRefusesWhatIsOutside(t *testing.T) {
	for _, temp := range []float64{math.NaN(), 273, 314, math.Inf(-1)} {
		for _, f := range []func(float64) (fluid.Range, error){
			fluid.HenryOzone, fluid.HenryOxygen, fluid.HenryNitrogen, fluid.HenryArgon, fluid.DiffusivityOzone,
			fluid.DemandFreeDecay().At,
		} {
			_, err := f(temp)
			assert.Error(t, err)
		}
	}
	_, err := fluid.OzoneSaturation(293.15, -1)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
	_, err = fluid.SolubilityRatio(fluid.Exact(math.NaN()), 293.15)
	require.ErrorIs(t, err, fluid.ErrNotFinite)
	_, err = fluid.DecayFromHalfLife(fluid.Exact(0), 293.15, fluid.Exact(0))
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
	_, err = fluid.OzoneDecay{Rate: fluid.Exact(20), Reference: 293.15}.At(293.15)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
}
