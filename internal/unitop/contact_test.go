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

// skid returns a contactor of the usual size: 10 wt % ozone in oxygen into a
// side stream of 1 L/s at 2 bar.
func skid(t require.TestingT, kind unitop.ContactKind) unitop.ContactInput {
	feed, err := fluid.DryOxygen(0.93, 0.045)
	require.NoError(t, err)
	gas, err := feed.WithOzone(0.10)
	require.NoError(t, err)
	return unitop.ContactInput{
		Kind: kind, Gas: gas, GasFlow: 0.004, WaterFlow: 1e-3, Temperature: 293.15, Pressure: 3e5,
		Dissolved: unitop.Dissolved{O2: 0.28, N2: 0.52, Ar: 0.014},
		Volume:    5e-3, KLa: fluid.Range{Low: 0.2, Best: 0.4, High: 0.8},
		Demand: fluid.Range{Low: 0.2e-3, Best: 0.5e-3, High: 1e-3}, Decay: fluid.Range{Low: 1e-4, Best: 1e-3, High: 3e-3},
	}
}

// trace returns a contactor with a trace of ozone in nitrogen over water that
// is saturated with nitrogen: the gas flow stays put, so that closed forms
// hold. gasToWater is the actual volume ratio.
func trace(t *testing.T, kind unitop.ContactKind, gasToWater, kla float64) (in unitop.ContactInput, solubilityRatio float64) {
	t.Helper()
	const temp, p = 293.15, 101325.0
	vapour, err := fluid.WaterSaturationPressure(temp)
	require.NoError(t, err)
	gas, err := fluid.GasFromAmounts(0, (p-vapour)*(1-1e-7), 0, (p-vapour)*1e-7, vapour)
	require.NoError(t, err)
	n2, err := fluid.HenryNitrogen(temp)
	require.NoError(t, err)
	o3, err := fluid.HenryOzone(temp)
	require.NoError(t, err)
	in = unitop.ContactInput{
		Kind: kind, Gas: gas, GasFlow: gasToWater * 1e-3 * p / (fluid.GasConstant * temp), WaterFlow: 1e-3,
		Temperature: temp, Pressure: p, Dissolved: unitop.Dissolved{N2: n2.Best * gas.N2 * p},
		Volume: 1e-3, KLa: fluid.Exact(kla),
	}
	return in, o3.Best * fluid.GasConstant * temp
}

// The bound of one co-current stage: H/(H + G/L), derived value 0.741 at a
// solubility ratio of 0.2861 and a volume ratio of 0.10.
func TestContactEquilibriumBound(t *testing.T) {
	in, h := trace(t, unitop.EquilibriumContact, 0.10, 0)
	assert.InEpsilon(t, 0.2861, h, 0.001)
	r, err := unitop.Contact(in)
	require.NoError(t, err)
	assert.InEpsilon(t, 0.741, r.Best.Transferred/(in.GasFlow*in.Gas.O3), 0.001)
	assert.InEpsilon(t, r.Limit.Best, r.Efficiency.Best, 1e-12)
}

// Closed forms for constant gas flow: stirred A N/(1 + A N + N) and plug flow
// A/(1+A) (1 - exp(-N (1 + A)/...)), with A = H L/G and N = kLa V/L.
func TestContactClosedForms(t *testing.T) {
	for _, ratio := range []float64{0.03, 0.1, 0.5} {
		for _, kla := range []float64{0.05, 0.5, 3} {
			in, h := trace(t, unitop.StirredContact, ratio, kla)
			a, n := h/ratio, kla*in.Volume/in.WaterFlow
			r, err := unitop.Contact(in)
			require.NoError(t, err)
			assert.InEpsilon(t, n*a/(1+n*a+n), r.Efficiency.Best, 0.001, "stirred, ratio %g kLa %g", ratio, kla)
			in.Kind = unitop.LineContact
			r, err = unitop.Contact(in)
			require.NoError(t, err)
			assert.InEpsilon(t, a/(1+a)*(1-math.Exp(-n*(1+a))), r.Efficiency.Best, 0.02, "line, ratio %g kLa %g", ratio, kla)
		}
	}
}

// Ozone, oxygen, nitrogen, argon and water are conserved whatever goes in, and
// the ranges are in order.
func TestContactConserves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom([]unitop.ContactKind{unitop.EquilibriumContact, unitop.StirredContact, unitop.LineContact}).Draw(t, "kind")
		in := skid(t, kind)
		in.GasFlow = rapid.SampledFrom([]float64{0, 1e-6, 1e-4, 2e-3, 1e-2, 0.1}).Draw(t, "gas")
		in.WaterFlow = rapid.Float64Range(1e-4, 1e-2).Draw(t, "water")
		in.Temperature = rapid.Float64Range(274, 312).Draw(t, "t")
		in.Pressure = rapid.Float64Range(3e4, 1.5e6).Draw(t, "p")
		in.Demand = fluid.Spread(rapid.Float64Range(0, 2e-2).Draw(t, "demand"), 0.3)
		in.Dissolved.O2 = rapid.Float64Range(0, 5).Draw(t, "O2")
		in.Dissolved.O3 = rapid.Float64Range(0, 0.1).Draw(t, "O3")
		r, err := unitop.Contact(in)
		require.NoError(t, err)
		s, l := r.Best, in.WaterFlow
		for _, c := range []struct {
			name    string
			in, out float64
		}{
			{"ozone", in.GasFlow*in.Gas.O3 + l*in.Dissolved.O3, s.GasFlow*s.Gas.O3 + l*s.Dissolved.O3 + s.Demanded + s.Decayed},
			{"oxygen", in.GasFlow*in.Gas.O2 + l*in.Dissolved.O2 + s.Demanded + 1.5*s.Decayed, s.GasFlow*s.Gas.O2 + l*s.Dissolved.O2},
			{"nitrogen", in.GasFlow*in.Gas.N2 + l*in.Dissolved.N2, s.GasFlow*s.Gas.N2 + l*s.Dissolved.N2},
			{"argon", in.GasFlow*in.Gas.Ar + l*in.Dissolved.Ar, s.GasFlow*s.Gas.Ar + l*s.Dissolved.Ar},
			{"water", in.GasFlow*in.Gas.H2O + s.Evaporated, s.GasFlow * s.Gas.H2O},
		} {
			if math.Abs(c.in-c.out) > 1e-9*(c.in+c.out)+1e-15 {
				t.Fatalf("%s: %.12g in, %.12g out (%+v)", c.name, c.in, c.out, s)
			}
		}
		if s.Dissolved.O3 < 0 || s.Demanded > l*in.Demand.Best/fluid.MolarMassO3*(1+1e-9) {
			t.Fatalf("demand %g, met %g, left %g", in.Demand.Best, s.Demanded, s.Dissolved.O3)
		}
		for name, x := range map[string]fluid.Range{
			"transferred": r.Transferred, "efficiency": r.Efficiency, "residual": r.Residual, "limit": r.Limit,
			"off-gas": r.OffGas, "off-gas ozone": r.OffGasOzone, "fraction": r.OzoneFraction, "tension": r.GasTension,
		} {
			if err := x.Check(name); err != nil {
				t.Fatal(err)
			}
		}
	})
}

// Equilibrium is the bound of co-current contact where the entering water is
// not supersaturated (gas that bubbles out would sweep ozone along) and no
// ozone decays on the way.
func TestContactLimitBounds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := skid(t, rapid.SampledFrom([]unitop.ContactKind{unitop.StirredContact, unitop.LineContact}).Draw(t, "kind"))
		in.GasFlow = rapid.Float64Range(1e-3, 0.1).Draw(t, "gas")
		in.WaterFlow = rapid.Float64Range(1e-4, 1e-2).Draw(t, "water")
		in.Pressure = rapid.Float64Range(1.2e5, 1e6).Draw(t, "p")
		in.KLa = fluid.Exact(rapid.Float64Range(1e-3, 20).Draw(t, "kLa"))
		in.Decay = fluid.Exact(0)
		r, err := unitop.Contact(in)
		require.NoError(t, err)
		if r.Efficiency.Best > r.Limit.Best*(1+1e-3) {
			t.Fatalf("efficiency %g above the limit %g", r.Efficiency.Best, r.Limit.Best)
		}
	})
}

// More of what helps transfers more, and much kLa reaches the limit.
func TestContactTrends(t *testing.T) {
	base := skid(t, unitop.LineContact)
	efficiency := func(change func(*unitop.ContactInput)) float64 {
		in := base
		change(&in)
		r, err := unitop.Contact(in)
		require.NoError(t, err)
		return r.Efficiency.Best
	}
	start := efficiency(func(*unitop.ContactInput) {})
	assert.Greater(t, efficiency(func(in *unitop.ContactInput) { in.Pressure *= 1.5 }), start)
	assert.Greater(t, efficiency(func(in *unitop.ContactInput) { in.KLa = in.KLa.Scale(2) }), start)
	assert.Greater(t, efficiency(func(in *unitop.ContactInput) { in.Demand = in.Demand.Scale(2) }), start)
	assert.Less(t, efficiency(func(in *unitop.ContactInput) { in.GasFlow *= 2 }), start)
	limit := efficiency(func(in *unitop.ContactInput) { in.Kind = unitop.EquilibriumContact; in.Decay = fluid.Exact(0) })
	near := efficiency(func(in *unitop.ContactInput) { in.KLa = fluid.Exact(20); in.Decay = fluid.Exact(0) })
	assert.InEpsilon(t, limit, near, 0.01)
	r, err := unitop.Contact(base)
	require.NoError(t, err)
	assert.Less(t, r.Transferred.Low, r.Transferred.Best)
	assert.Greater(t, r.OffGasOzone.High, r.OffGasOzone.Best)
	// Applied dose is the ozone of the gas over the water.
	assert.InEpsilon(t, base.GasFlow*base.Gas.O3*fluid.MolarMassO3/base.WaterFlow, r.AppliedDose, 1e-12)
}

// A little oxygen in much degassed water leaves no gas; water that is
// supersaturated at a lower pressure gives gas off.
func TestContactGasVanishesAndAppears(t *testing.T) {
	in := skid(t, unitop.EquilibriumContact)
	in.GasFlow, in.Dissolved = 1e-4, unitop.Dissolved{}
	r, err := unitop.Contact(in)
	require.NoError(t, err)
	assert.Zero(t, r.Best.GasFlow)
	assert.InDelta(t, 1, r.Efficiency.Best, 1e-12)
	assert.Less(t, r.GasTension.High, in.Pressure)

	in.GasFlow, in.Pressure = 0, 101325
	in.Dissolved = unitop.Dissolved{O2: 3, O3: 0.02}
	r, err = unitop.Contact(in)
	require.NoError(t, err)
	assert.Positive(t, r.Best.GasFlow)
	assert.InEpsilon(t, in.Pressure, r.GasTension.Best, 1e-6, "the rest is in equilibrium")
}

func TestContactRefusesWhatIsOutside(t *testing.T) {
	good := skid(t, unitop.LineContact)
	for name, change := range map[string]func(*unitop.ContactInput){
		"kind":        func(in *unitop.ContactInput) { in.Kind = 0 },
		"gas":         func(in *unitop.ContactInput) { in.Gas.O2 = math.NaN() },
		"gas flow":    func(in *unitop.ContactInput) { in.GasFlow = -1 },
		"water":       func(in *unitop.ContactInput) { in.WaterFlow = 0 },
		"temperature": func(in *unitop.ContactInput) { in.Temperature = 320 },
		"pressure":    func(in *unitop.ContactInput) { in.Pressure = 1000 },
		"dissolved":   func(in *unitop.ContactInput) { in.Dissolved.O3 = math.Inf(1) },
		"kLa":         func(in *unitop.ContactInput) { in.KLa = fluid.Range{} },
		"volume":      func(in *unitop.ContactInput) { in.Volume = 0 },
		"demand":      func(in *unitop.ContactInput) { in.Demand = fluid.Range{Low: 2, Best: 1, High: 3} },
		"decay":       func(in *unitop.ContactInput) { in.Decay = fluid.Exact(math.NaN()) },
	} {
		in := good
		change(&in)
		r, err := unitop.Contact(in)
		assert.Error(t, err, name)
		assert.Zero(t, r, name)
	}
}

// Finer bubbles and more gas transfer more. Values of the bubble correlation are
// held by the checks of the calculation.
func TestBubbleKLaShape(t *testing.T) {
	e := fluid.Exact(0.1)
	coarse, err := unitop.BubbleKLa(293.15, e, fluid.Exact(4e-3))
	require.NoError(t, err)
	fine, err := unitop.BubbleKLa(293.15, e, fluid.Exact(3e-3))
	require.NoError(t, err)
	more, err := unitop.BubbleKLa(293.15, fluid.Exact(0.2), fluid.Exact(4e-3))
	require.NoError(t, err)
	assert.Greater(t, fine.Best, coarse.Best)
	assert.Greater(t, more.Best, coarse.Best)
	require.NoError(t, coarse.Check("kLa"))
	_, err = unitop.BubbleKLa(293.15, fluid.Exact(0.9), fluid.Exact(4e-3))
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
	h, err := unitop.NoSlipHoldup(1, 9)
	require.NoError(t, err)
	assert.InDelta(t, 0.1, h, 1e-12)
}

func TestTransferIsContactWithoutItsLimit(t *testing.T) {
	water, err := unitop.NewContactWater(288.15)
	require.NoError(t, err)
	in := skid(t, unitop.StirredContact)
	want, err := water.Contact(in)
	require.NoError(t, err)
	require.Positive(t, want.Limit.Low)
	got, err := water.Transfer(in)
	require.NoError(t, err)
	want.Limit = fluid.Range{}
	require.Equal(t, want, got)
}
