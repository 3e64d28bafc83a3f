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

// concentrator has an invented purity curve; no published curve is used.
func concentrator() unitop.ConcentratorInput {
	return unitop.ConcentratorInput{
		Name:   "OC-1",
		Purity: []unitop.CurvePoint{{X: 0.002, Y: 0.95}, {X: 0.006, Y: 0.93}, {X: 0.010, Y: 0.82}},
		Air:    0.12, ProductFlow: 0.006, Error: 0.01,
	}
}

func TestConcentratorConserves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := concentrator()
		in.ProductFlow = rapid.Float64Range(0.002, 0.010).Draw(t, "product")
		in.Air = rapid.Float64Range(0.06, 0.5).Draw(t, "air")
		c, err := unitop.RunConcentrator(in)
		require.NoError(t, err)
		air := fluid.DryAir()
		for _, s := range []struct{ air, product, exhaust float64 }{
			{air.O2, c.Product.O2, c.Exhaust.O2}, {air.N2, c.Product.N2, c.Exhaust.N2}, {air.Ar, c.Product.Ar, c.Exhaust.Ar},
		} {
			if math.Abs(s.air*in.Air-s.product*in.ProductFlow-s.exhaust*c.ExhaustFlow) > 1e-12 {
				t.Fatalf("balance open: %+v", c)
			}
		}
		if c.Exhaust.O2 >= air.O2 {
			t.Fatalf("exhaust is not oxygen-poor: %g", c.Exhaust.O2)
		}
		if math.Abs(c.ExhaustOxygen.Best-c.Exhaust.O2) > 1e-12 || c.ExhaustOxygen.Check("exhaust") != nil {
			t.Fatalf("%+v", c.ExhaustOxygen)
		}
	})
}

func TestConcentratorRefuses(t *testing.T) {
	in := concentrator()
	in.Purity = nil
	_, err := unitop.RunConcentrator(in)
	require.ErrorIs(t, err, unitop.ErrNoTable)
	assert.ErrorContains(t, err, "OC-1")
	in = concentrator()
	in.ProductFlow = 0.011
	_, err = unitop.RunConcentrator(in)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
	in = concentrator()
	in.Air = 0.02
	_, err = unitop.RunConcentrator(in)
	require.ErrorIs(t, err, unitop.ErrContradiction)
	in = concentrator()
	in.Air = math.NaN()
	_, err = unitop.RunConcentrator(in)
	require.ErrorIs(t, err, fluid.ErrNotFinite)
}

// compressor takes air to 8 bar in one stage.
func compressor() unitop.CompressorInput {
	return unitop.CompressorInput{
		Gas: fluid.DryAir(), Flow: 1, Inlet: 293.15, Suction: 101325, Discharge: 8e5,
		Efficiency: fluid.Exact(1), Stages: 1,
	}
}

// Closed forms: with k = 1.4 and no loss the textbook formula; many stages tend
// to the isothermal power; polytropic equals adiabatic without loss.
func TestCompressorClosedForms(t *testing.T) {
	c, err := unitop.Compress(compressor())
	require.NoError(t, err)
	k := 1.4
	r := 8e5 / 101325.0
	want := fluid.GasConstant * 293.15 * k / (k - 1) * (math.Pow(r, (k-1)/k) - 1)
	assert.InEpsilon(t, want, c.Adiabatic.Best, 0.003, "k of air is 1.400 within 0.002")
	assert.InEpsilon(t, c.Adiabatic.Best, c.Polytropic.Best, 1e-12)
	assert.InEpsilon(t, fluid.GasConstant*293.15*math.Log(r), c.Isothermal, 1e-12)
	assert.InEpsilon(t, 293.15*math.Pow(r, (k-1)/k), c.Temperature.Best, 0.003)
	in := compressor()
	in.Stages = 5
	five, err := unitop.Compress(in)
	require.NoError(t, err)
	assert.Less(t, five.Adiabatic.Best, c.Adiabatic.Best)
	assert.Greater(t, five.Adiabatic.Best, five.Isothermal)
	in = compressor()
	in.Efficiency = fluid.Range{Low: 0.6, Best: 0.7, High: 0.8}
	lossy, err := unitop.Compress(in)
	require.NoError(t, err)
	assert.InEpsilon(t, c.Adiabatic.Best/0.7, lossy.Adiabatic.Best, 1e-12)
	assert.Greater(t, lossy.Polytropic.Best, lossy.Adiabatic.Best, "preheat makes the polytropic one larger")
	in.Discharge = in.Suction
	none, err := unitop.Compress(in)
	require.NoError(t, err)
	assert.Zero(t, none.Adiabatic.High)
}

func TestCompressorRefuses(t *testing.T) {
	for name, change := range map[string]func(*unitop.CompressorInput){
		"discharge":  func(in *unitop.CompressorInput) { in.Discharge = 5e4 },
		"suction":    func(in *unitop.CompressorInput) { in.Suction = 0 },
		"efficiency": func(in *unitop.CompressorInput) { in.Efficiency = fluid.Exact(0) },
		"stages":     func(in *unitop.CompressorInput) { in.Stages = 0 },
		"hot":        func(in *unitop.CompressorInput) { in.Efficiency = fluid.Exact(0.1) },
		"gas":        func(in *unitop.CompressorInput) { in.Gas = fluid.Gas{} },
		"flow":       func(in *unitop.CompressorInput) { in.Flow = math.Inf(1) },
	} {
		in := compressor()
		change(&in)
		_, err := unitop.Compress(in)
		assert.Error(t, err, name)
	}
	_, err := unitop.CompressorFlow("K-1", nil, 8e5)
	require.ErrorIs(t, err, unitop.ErrNoTable)
	curve := []unitop.CurvePoint{{X: 2e5, Y: 0.2}, {X: 8e5, Y: 0.1}}
	q, err := unitop.CompressorFlow("K-1", curve, 5e5)
	require.NoError(t, err)
	assert.InDelta(t, 0.15, q, 1e-12)
	_, err = unitop.CompressorFlow("K-1", curve, 9e5)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
	_, err = unitop.CompressorFlow("K-1", []unitop.CurvePoint{{X: 2e5, Y: 0.2}, {X: 2e5, Y: 0.1}}, 2e5)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
}
