package unitop_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/unitop"
)

var sizing = unitop.ReliefFactors{Discharge: 0.975, BackPressure: 1, Combination: 1, Viscosity: 1}

// The gas of API Standard 520 Part I, examples 1 and 2.
var reliefExampleGas = unitop.Gas{MolarMass: 51e-3, HeatRatio: 1.11, Compressibility: 0.9}

func TestReliefGasAreaPublished(t *testing.T) {
	for _, c := range []struct {
		source string
		p2     float64 // Pa absolute
		want   float64 // m2
	}{
		{"API Standard 520 Part I, example 1, area as printed, in a transcription", 101325, 3698e-6},
		{"API Standard 520 Part I, example 2, area as printed, in a transcription", 532e3, 4248e-6},
	} {
		t.Run(c.source, func(t *testing.T) {
			a, err := unitop.ReliefGasArea(24270.0/3600, 670e3, c.p2, 348, reliefExampleGas, sizing)
			require.NoError(t, err)
			assert.InEpsilon(t, c.want, a, 1e-3)
			f, err := unitop.ReliefGasFlow(a, 670e3, c.p2, 348, reliefExampleGas, sizing)
			require.NoError(t, err)
			assert.InEpsilon(t, 24270.0/3600, f.Mass, 1e-12)
			assert.Equal(t, c.p2 < 4e5, f.Choked)
		})
	}
}

func TestReliefFactorsScaleTheArea(t *testing.T) {
	area := func(f unitop.ReliefFactors, p2 float64) float64 {
		a, err := unitop.ReliefGasArea(1, 670e3, p2, 348, reliefExampleGas, f)
		require.NoError(t, err)
		return a
	}
	disc := sizing
	disc.Combination = 0.9
	assert.InEpsilon(t, area(sizing, 1e5)/0.9, area(disc, 1e5), 1e-12)
	balanced := sizing
	balanced.BackPressure = 0.8
	assert.InEpsilon(t, area(sizing, 1e5)/0.8, area(balanced, 1e5), 1e-12)
	assert.InEpsilon(t, area(sizing, 6e5), area(balanced, 6e5), 1e-12, "Kb is for critical flow only")
}

func TestReliefLiquid(t *testing.T) {
	f := unitop.ReliefFactors{Discharge: 0.65, BackPressure: 0.97, Combination: 1, Viscosity: 1}
	p1, p2 := 1.1*1724e3+101325, 0.2*1724e3+101325
	a, err := unitop.ReliefLiquidArea(6814.0/60000, p1, p2, 0.9*999, 0, f)
	require.NoError(t, err)
	assert.InEpsilon(t, 3066e-6, a, 1e-3) // API Standard 520 Part I, 10th edition, example 5, in a transcription
	q, err := unitop.ReliefLiquidFlow(a, p1, p2, 0.9*999, 0, f)
	require.NoError(t, err)
	assert.InEpsilon(t, 6814.0/60000, q, 1e-12)
	_, err = unitop.ReliefLiquidArea(0.01, 5e5, 1e5, 950, 2e5, f)
	require.ErrorIs(t, err, unitop.ErrNotModelled)
	_, err = unitop.ReliefLiquidArea(0.01, 5e5, 5e5, 950, 0, f)
	require.ErrorIs(t, err, unitop.ErrNoSolution)
}

func TestReliefViscosityFactor(t *testing.T) {
	kv, err := unitop.ReliefViscosityFactor(4525)
	require.NoError(t, err)
	assert.InEpsilon(t, 0.9817, kv, 1e-4) // API Standard 520 Part I, 10th edition, example 5, in a transcription
	_, err = unitop.ReliefViscosityFactor(50)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
}
