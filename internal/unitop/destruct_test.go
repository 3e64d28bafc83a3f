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

// Adiabatic rise derived from the NIST Shomate rows by an independent enthalpy
// balance (regression, 1 %).
func TestAdiabaticRise(t *testing.T) {
	oxygen := fluid.Gas{O2: 1}
	for _, c := range []struct {
		feed     fluid.Gas
		wt, want float64
	}{
		{oxygen, 0.1, 3.24}, {oxygen, 0.5, 16.2}, {oxygen, 2, 64.3}, {oxygen, 5, 158.8}, {oxygen, 10, 310.2},
		{fluid.DryAir(), 5, 147.2},
	} {
		gas, err := c.feed.WithOzone(c.wt / 100)
		require.NoError(t, err)
		got, err := unitop.AdiabaticRise(gas, 298.15, 1)
		require.NoError(t, err)
		assert.InEpsilon(t, c.want, got, 0.01, "%g wt %%", c.wt)
	}
	none, err := unitop.AdiabaticRise(oxygen, 298.15, 1)
	require.NoError(t, err)
	assert.InDelta(t, 0, none, 1e-9)
	strong, err := oxygen.WithOzone(0.4)
	require.NoError(t, err)
	_, err = unitop.AdiabaticRise(strong, 298.15, 1)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
}

// bed returns a destruct of the usual size with moist off-gas.
func bed(t require.TestingT) unitop.DestructInput {
	gas, err := fluid.Gas{O2: 1}.WithOzone(0.02)
	require.NoError(t, err)
	gas, err = gas.WithWater(0.023)
	require.NoError(t, err)
	return unitop.DestructInput{
		Gas: gas, Flow: fluid.Spread(0.005, 0.2), Temperature: 293.15, Pressure: 101325,
		CarryOver: fluid.Range{Low: 0, Best: 1e-6, High: 5e-6}, BedTemperature: 343.15,
		BedVolume: 4e-4, FaceArea: 4e-3, HeatLoss: fluid.Range{Low: 5, Best: 10, High: 20},
	}
}

// The heat balance adds up, 25 g/h of ozone give 20.6 W (derived), and the
// load terms are plain ratios.
func TestHeatedDestructBalance(t *testing.T) {
	in := bed(t)
	in.Flow = fluid.Exact(25e-3 / 3600 / fluid.MolarMassO3 / in.Gas.O3)
	d, err := unitop.HeatedDestruct(in)
	require.NoError(t, err)
	assert.InEpsilon(t, 20.6, d.OzoneHeat.Best, 0.01)
	in = bed(t)
	d, err = unitop.HeatedDestruct(in)
	require.NoError(t, err)
	assert.InEpsilon(t, d.SensibleDuty.Best+d.EvaporateDuty.Best+10, d.HeaterDuty.Best, 1e-12)
	// 50 K at 29.4 to 33.6 J/(mol K), and 2454 kJ/kg with some superheat.
	assert.InDelta(t, 0.005*50*29.7, d.SensibleDuty.Best, 0.1)
	assert.InDelta(t, 1e-6*(2453.5e3+50*1880), d.EvaporateDuty.Best, 0.01)
	assert.InEpsilon(t, 0.005*22.41397e-3/4e-4, d.SpaceVelocity.Best, 1e-5)
	assert.InDelta(t, 343.15-293.1, d.DewPointMargin.High, 0.5)
	assert.Less(t, d.DewPointMargin.Low, d.DewPointMargin.Best)
}

func TestHeatedDestructTrends(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := bed(t)
		in.BedTemperature = rapid.Float64Range(300, 400).Draw(t, "bed")
		a, err := unitop.HeatedDestruct(in)
		require.NoError(t, err)
		in.CarryOver = in.CarryOver.Scale(2)
		b, err := unitop.HeatedDestruct(in)
		require.NoError(t, err)
		if b.HeaterDuty.Best <= a.HeaterDuty.Best || b.DewPointMargin.Best >= a.DewPointMargin.Best {
			t.Fatalf("more carry-over must need more heat and leave less margin")
		}
		in.BedTemperature += 20
		c, err := unitop.HeatedDestruct(in)
		require.NoError(t, err)
		if c.HeaterDuty.Best <= b.HeaterDuty.Best || c.DewPointMargin.Best <= b.DewPointMargin.Best {
			t.Fatalf("a hotter bed must need more heat and leave more margin")
		}
	})
}

func TestDestructRefusesWhatIsOutside(t *testing.T) {
	for name, change := range map[string]func(*unitop.DestructInput){
		"gas":      func(in *unitop.DestructInput) { in.Gas.O2 = 2 },
		"flow":     func(in *unitop.DestructInput) { in.Flow = fluid.Exact(0) },
		"volume":   func(in *unitop.DestructInput) { in.BedVolume = 0 },
		"face":     func(in *unitop.DestructInput) { in.FaceArea = math.NaN() },
		"pressure": func(in *unitop.DestructInput) { in.Pressure = 0 },
		"bed":      func(in *unitop.DestructInput) { in.BedTemperature = 280 },
		"hot":      func(in *unitop.DestructInput) { in.BedTemperature = 900 },
		"carry":    func(in *unitop.DestructInput) { in.CarryOver = fluid.Exact(-1) },
		"dry":      func(in *unitop.DestructInput) { in.Gas = fluid.Gas{O2: 1}; in.CarryOver = fluid.Exact(0) },
		"drowned":  func(in *unitop.DestructInput) { in.CarryOver = fluid.Exact(1); in.Pressure = 1e6 },
	} {
		in := bed(t)
		change(&in)
		_, err := unitop.HeatedDestruct(in)
		assert.Error(t, err, name)
	}
}
