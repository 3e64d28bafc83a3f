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

// demoRows is a table made up for the tests: suction flow in mmol/s flat at
// low outlet pressure, then falling to nothing.
func demoRows() []unitop.InjectorRow {
	row := func(in, out, motive, suction float64) unitop.InjectorRow {
		return unitop.InjectorRow{InletPressure: in * 1e5, OutletPressure: out * 1e5, MotiveFlow: motive / 3600, SuctionFlow: suction / 1000}
	}
	return []unitop.InjectorRow{
		row(5, 2.4, 6.6, 16), row(5, 1.6, 6.6, 16), row(5, 3.2, 6.5, 9), row(5, 4.0, 6.4, 0),
		row(3, 1.2, 5.0, 9), row(3, 1.6, 5.0, 9), row(3, 2.0, 4.9, 5), row(3, 2.4, 4.8, 0),
		row(4, 1.4, 5.9, 13), row(4, 2.0, 5.9, 13), row(4, 2.6, 5.8, 7), row(4, 3.2, 5.7, 0),
	}
}

func demoTable() unitop.InjectorTable {
	return unitop.InjectorTable{
		Rows: demoRows(), MotiveStated: true, SuctionPressure: 1e5, GasMolarMass: fluid.MolarMassAir, GasTemperature: 293.15, ReadingError: 0.05,
		SuctionCurve: []unitop.SuctionPoint{{Pressure: 1.1e5, Flow: 18e-3}, {Pressure: 0.5e5, Flow: 0}, {Pressure: 0.8e5, Flow: 11e-3}, {Pressure: 1e5, Flow: 16e-3}},
	}
}

func newInjector(t testing.TB, table unitop.InjectorTable) *unitop.Injector {
	t.Helper()
	in, err := unitop.NewInjector(table)
	require.NoError(t, err)
	return in
}

func TestInjectorGivesItsRowsBack(t *testing.T) {
	in := newInjector(t, demoTable())
	for _, r := range demoRows() {
		s, err := in.Suction(r.InletPressure, r.OutletPressure, 1e5)
		require.NoError(t, err)
		assert.InDelta(t, r.SuctionFlow, s.Flow, 1e-15)
		q, err := in.Motive(r.InletPressure, r.OutletPressure)
		require.NoError(t, err)
		assert.InDelta(t, r.MotiveFlow, q, 1e-15)
	}
}

// pressures draws a point inside the table.
func pressures(t *rapid.T, in *unitop.Injector) (inlet, outlet, suction float64) {
	low, high := in.InletSpan()
	inlet = rapid.Float64Range(low, high).Draw(t, "inlet")
	low, high, err := in.OutletSpan(inlet)
	require.NoError(t, err)
	outlet = low + rapid.Float64Range(0, 1).Draw(t, "position")*(high-low)
	outlet = math.Min(high, outlet)
	low, high = in.SuctionSpan()
	return inlet, outlet, rapid.Float64Range(low, high).Draw(t, "suction")
}

func TestInjectorNeverOvershootsItsTable(t *testing.T) {
	in := newInjector(t, demoTable())
	rapid.Check(t, func(t *rapid.T) {
		inlet, outlet, _ := pressures(t, in)
		s, err := in.Suction(inlet, outlet, 1e5)
		require.NoError(t, err)
		assert.GreaterOrEqual(t, s.Flow, 0.0)
		assert.LessOrEqual(t, s.Flow, 16e-3+1e-15)
		assert.GreaterOrEqual(t, s.Error, 0.05*s.Flow-1e-15)
		assert.LessOrEqual(t, s.PerOutlet, 1e-15, "suction does not rise with outlet pressure in this table")
	})
}

// The slopes are those of the reading: over a small step the flow moves by
// slope times step wherever no row is passed.
func TestInjectorSlopesMatchDifferences(t *testing.T) {
	in := newInjector(t, demoTable())
	const step = 1.0 // Pa
	rapid.Check(t, func(t *rapid.T) {
		inlet, outlet, suction := pressures(t, in)
		s, err := in.Suction(inlet, outlet, suction)
		require.NoError(t, err)
		for _, move := range []struct {
			dIn, dOut, dSuction, slope float64
			after                      func(unitop.SuctionState) float64
		}{
			{step, 0, 0, s.PerInlet, func(a unitop.SuctionState) float64 { return a.PerInlet }},
			{0, step, 0, s.PerOutlet, func(a unitop.SuctionState) float64 { return a.PerOutlet }},
			{0, 0, step, s.PerSuction, func(a unitop.SuctionState) float64 { return a.PerSuction }},
		} {
			next, err := in.Suction(inlet+move.dIn, outlet+move.dOut, suction+move.dSuction)
			if err != nil {
				require.ErrorIs(t, err, fluid.ErrOutOfRange) // stepped over the edge
				continue
			}
			moved := (next.Flow - s.Flow) / step
			// The difference lies between the slopes before and after, if a row was passed.
			low, high := math.Min(move.slope, move.after(next)), math.Max(move.slope, move.after(next))
			slack := 1e-12 + 1e-4*math.Max(math.Abs(low), math.Abs(high))
			assert.GreaterOrEqual(t, moved, low-slack)
			assert.LessOrEqual(t, moved, high+slack)
		}
	})
}

func TestInjectorIsContinuous(t *testing.T) {
	in := newInjector(t, demoTable())
	rapid.Check(t, func(t *rapid.T) {
		inlet, outlet, suction := pressures(t, in)
		a, err := in.Suction(inlet, outlet, suction)
		require.NoError(t, err)
		b, _, err := in.SuctionHeld(math.Nextafter(inlet, 0), math.Nextafter(outlet, 0), math.Nextafter(suction, 0))
		require.NoError(t, err)
		assert.InDelta(t, a.Flow, b.Flow, 1e-12)
	})
}

func TestInjectorPlateauIsFlat(t *testing.T) {
	in := newInjector(t, demoTable())
	for _, outlet := range []float64{1.6e5, 1.9e5, 2.3e5} {
		s, err := in.Suction(5e5, outlet, 1e5)
		require.NoError(t, err)
		assert.Equal(t, 16e-3, s.Flow)
		assert.Zero(t, s.PerOutlet)
	}
}

func TestInjectorRefusesOutsideAndNamesTheSide(t *testing.T) {
	in := newInjector(t, demoTable())
	for _, c := range []struct {
		name                   string
		inlet, outlet, suction float64
		axis                   unitop.InjectorAxis
		above                  bool
		kind                   error
	}{
		{"inlet low", 2.9e5, 2e5, 1e5, unitop.AxisInlet, false, fluid.ErrOutOfRange},
		{"inlet high", 5.1e5, 2e5, 1e5, unitop.AxisInlet, true, fluid.ErrOutOfRange},
		{"outlet low", 5e5, 1.5e5, 1e5, unitop.AxisOutlet, false, fluid.ErrOutOfRange},
		{"outlet high", 5e5, 4.1e5, 1e5, unitop.AxisOutlet, true, fluid.ErrOutOfRange},
		{"outlet low between curves", 4.5e5, 1.49e5, 1e5, unitop.AxisOutlet, false, fluid.ErrOutOfRange},
		{"suction low", 5e5, 2e5, 0.4e5, unitop.AxisSuction, false, fluid.ErrOutOfRange},
		{"suction high", 5e5, 2e5, 1.2e5, unitop.AxisSuction, true, fluid.ErrOutOfRange},
		{"inlet NaN", math.NaN(), 2e5, 1e5, unitop.AxisInlet, false, fluid.ErrNotFinite},
		{"outlet NaN", 5e5, math.NaN(), 1e5, unitop.AxisOutlet, false, fluid.ErrNotFinite},
		{"suction Inf", 5e5, 2e5, math.Inf(1), unitop.AxisSuction, true, fluid.ErrNotFinite},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := in.Suction(c.inlet, c.outlet, c.suction)
			require.ErrorIs(t, err, c.kind)
			var side *unitop.InjectorRangeError
			require.ErrorAs(t, err, &side)
			assert.Equal(t, c.axis, side.Axis)
			assert.Equal(t, c.above, side.Above)
			assert.ErrorContains(t, err, string(c.axis))
		})
	}
}

func TestInjectorHeldSaysWhatIsOutside(t *testing.T) {
	in := newInjector(t, demoTable())
	s, outside, err := in.SuctionHeld(6e5, 5e5, 1e5)
	require.NoError(t, err)
	require.Len(t, outside, 2)
	assert.Equal(t, unitop.AxisInlet, outside[0].Axis)
	assert.Equal(t, unitop.AxisOutlet, outside[1].Axis)
	assert.Zero(t, s.Flow)
	assert.Zero(t, s.PerInlet)
	assert.Zero(t, s.PerOutlet)
	_, _, err = in.SuctionHeld(math.NaN(), 2e5, 1e5)
	require.ErrorIs(t, err, fluid.ErrNotFinite)
}

func TestInjectorFollowsItsSuctionCurve(t *testing.T) {
	in := newInjector(t, demoTable())
	for _, p := range []struct{ suction, ratio float64 }{{1e5, 1}, {0.8e5, 11.0 / 16}, {0.5e5, 0}, {1.1e5, 18.0 / 16}, {0.9e5, 13.5 / 16}} {
		s, err := in.Suction(4e5, 1.5e5, p.suction)
		require.NoError(t, err)
		assert.InDelta(t, 13e-3*p.ratio, s.Flow, 1e-15)
	}
	table := demoTable()
	table.SuctionCurve = nil
	bare := newInjector(t, table)
	_, err := bare.Suction(4e5, 1.5e5, 1e5)
	require.NoError(t, err)
	_, err = bare.Suction(4e5, 1.5e5, 0.9e5)
	require.ErrorIs(t, err, unitop.ErrNoTable)
	assert.ErrorContains(t, err, "no suction curve")
}

func TestInjectorGasCorrectionSpansBothLaws(t *testing.T) {
	in := newInjector(t, demoTable())
	d, err := in.Draw(5e5, 2e5, 1e5, unitop.SuctionGas{MolarMass: fluid.MolarMassO2, Temperature: 293.15})
	require.NoError(t, err)
	assert.InEpsilon(t, math.Sqrt(fluid.MolarMassAir/fluid.MolarMassO2), d.RestrictLaw, 1e-12)
	assert.Equal(t, 1.0, d.VolumeLaw)
	assert.InEpsilon(t, 16e-3*d.RestrictLaw, d.Flow.Best, 1e-12)
	assert.LessOrEqual(t, d.Flow.Low, 16e-3*0.95*d.RestrictLaw)
	assert.GreaterOrEqual(t, d.Flow.High, 16e-3*1.05)
	same, err := in.Draw(5e5, 2e5, 1e5, unitop.SuctionGas{MolarMass: fluid.MolarMassAir, Temperature: 293.15})
	require.NoError(t, err)
	assert.InEpsilon(t, 16e-3, same.Flow.Best, 1e-12)
	_, err = in.Draw(5e5, 2e5, 1e5, unitop.SuctionGas{MolarMass: math.NaN(), Temperature: 293.15})
	require.ErrorIs(t, err, fluid.ErrNotFinite)
}

// Against a smooth law known everywhere, the error estimate covers the true
// error of interpolation.
func TestInjectorErrorEstimateCoversASmoothLaw(t *testing.T) {
	law := func(in, out float64) float64 {
		r := (out - 1e5) / (in - 1e5)
		return 1e-7 * math.Sqrt(in) * (1 - r*r)
	}
	var rows []unitop.InjectorRow
	for _, in := range []float64{3e5, 4e5, 5e5, 6e5} {
		for _, r := range []float64{0, 0.25, 0.5, 0.75, 1} {
			out := 1e5 + r*0.95*(in-1e5)
			rows = append(rows, unitop.InjectorRow{InletPressure: in, OutletPressure: out, SuctionFlow: law(in, out)})
		}
	}
	in := newInjector(t, unitop.InjectorTable{Rows: rows, SuctionPressure: 1e5, GasMolarMass: fluid.MolarMassAir, GasTemperature: 293.15})
	rapid.Check(t, func(t *rapid.T) {
		inlet := rapid.Float64Range(3e5, 6e5).Draw(t, "inlet")
		low, high, err := in.OutletSpan(inlet)
		require.NoError(t, err)
		outlet := math.Min(high, low+rapid.Float64Range(0, 1).Draw(t, "u")*(high-low))
		s, err := in.Suction(inlet, outlet, 1e5)
		require.NoError(t, err)
		assert.LessOrEqual(t, math.Abs(s.Flow-law(inlet, outlet)), s.Error+1e-12)
	})
}

func TestInjectorInverseReturnsToTheFlow(t *testing.T) {
	in := newInjector(t, demoTable())
	rapid.Check(t, func(t *rapid.T) {
		inlet := rapid.Float64Range(3e5, 5e5).Draw(t, "inlet")
		flow := rapid.Float64Range(1e-6, 8.9e-3).Draw(t, "flow")
		outlet, err := in.OutletForSuction(inlet, 1e5, flow)
		require.NoError(t, err)
		s, err := in.Suction(inlet, outlet, 1e5)
		require.NoError(t, err)
		assert.InDelta(t, flow, s.Flow, 1e-12)
	})
	inlet, err := in.InletForSuction(2.2e5, 1e5, 8e-3)
	require.NoError(t, err)
	s, err := in.Suction(inlet, 2.2e5, 1e5)
	require.NoError(t, err)
	assert.InDelta(t, 8e-3, s.Flow, 1e-12)
}

func TestInjectorInverseReportsPlateausAndReach(t *testing.T) {
	in := newInjector(t, demoTable())
	_, err := in.OutletForSuction(5e5, 1e5, 16e-3)
	require.ErrorIs(t, err, unitop.ErrTwoRoots)
	var two *unitop.TwoRootsError
	require.ErrorAs(t, err, &two)
	assert.InDeltaSlice(t, []float64{1.6e5, 2.4e5}, two.Roots, 1)
	_, err = in.OutletForSuction(5e5, 1e5, 17e-3)
	require.ErrorIs(t, err, unitop.ErrNoSolution)
	assert.ErrorContains(t, err, "0.016")
	_, err = in.OutletForSuction(6e5, 1e5, 5e-3)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
	_, err = in.InletForSuction(4.5e5, 1e5, 5e-3)
	require.ErrorIs(t, err, fluid.ErrOutOfRange)
	_, err = in.OutletForSuction(5e5, 1e5, math.NaN())
	require.ErrorIs(t, err, fluid.ErrNotFinite)
}

// A table that rises and falls has two outlet pressures for one flow.
func TestInjectorInverseFindsTwoRoots(t *testing.T) {
	var rows []unitop.InjectorRow
	for i, flow := range []float64{4e-3, 9e-3, 2e-3} {
		rows = append(rows, unitop.InjectorRow{InletPressure: 4e5, OutletPressure: float64(i+1) * 1e5, SuctionFlow: flow})
	}
	in := newInjector(t, unitop.InjectorTable{Rows: rows, SuctionPressure: 1e5, GasMolarMass: fluid.MolarMassAir, GasTemperature: 293.15})
	_, err := in.OutletForSuction(4e5, 1e5, 6.5e-3)
	var two *unitop.TwoRootsError
	require.ErrorAs(t, err, &two)
	require.Len(t, two.Roots, 2)
	assert.InDelta(t, 1.5e5, two.Roots[0], 1e-3)
	assert.InDelta(t, 2e5+2.5/7*1e5, two.Roots[1], 1e-3)
}

func TestInjectorLimit(t *testing.T) {
	in := newInjector(t, demoTable())
	l, err := in.Limit(5e5)
	require.NoError(t, err)
	assert.True(t, l.Seen)
	assert.InDelta(t, 4e5, l.Outlet, 1e-6)
	assert.InDelta(t, 0.8, l.Ratio, 1e-12)
	table := demoTable()
	for i := range table.Rows {
		table.Rows[i].SuctionFlow += 1e-3
	}
	l, err = newInjector(t, table).Limit(3e5)
	require.NoError(t, err)
	assert.False(t, l.Seen, "the table never reaches the end of suction")
	for i := range table.Rows {
		table.Rows[i].SuctionFlow = 0
	}
	_, err = newInjector(t, table).Limit(3e5)
	require.ErrorIs(t, err, unitop.ErrNoSolution)
}

func TestInjectorRefusesBadTables(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(*unitop.InjectorTable)
		want  error
	}{
		{"no rows", func(tb *unitop.InjectorTable) { tb.Rows = nil }, unitop.ErrNoTable},
		{"one outlet", func(tb *unitop.InjectorTable) { tb.Rows = tb.Rows[:1] }, unitop.ErrNoTable},
		{"row twice", func(tb *unitop.InjectorTable) { tb.Rows = append(tb.Rows, tb.Rows[0]) }, unitop.ErrContradiction},
		{"outlet above inlet", func(tb *unitop.InjectorTable) { tb.Rows[0].OutletPressure = 6e5 }, unitop.ErrContradiction},
		{"negative flow", func(tb *unitop.InjectorTable) { tb.Rows[0].SuctionFlow = -1 }, fluid.ErrOutOfRange},
		{"flow NaN", func(tb *unitop.InjectorTable) { tb.Rows[0].SuctionFlow = math.NaN() }, fluid.ErrNotFinite},
		{"inlet Inf", func(tb *unitop.InjectorTable) { tb.Rows[0].InletPressure = math.Inf(1) }, fluid.ErrNotFinite},
		{"no motive flow", func(tb *unitop.InjectorTable) { tb.Rows[0].MotiveFlow = 0 }, fluid.ErrOutOfRange},
		{"suction pressure zero", func(tb *unitop.InjectorTable) { tb.SuctionPressure = 0 }, fluid.ErrOutOfRange},
		{"curve apart from the table", func(tb *unitop.InjectorTable) { tb.SuctionPressure = 0.4e5 }, fluid.ErrOutOfRange},
		{"curve draws nothing", func(tb *unitop.InjectorTable) { tb.SuctionPressure = 0.5e5 }, unitop.ErrContradiction},
		{"curve point twice", func(tb *unitop.InjectorTable) {
			tb.SuctionCurve = append(tb.SuctionCurve, unitop.SuctionPoint{Pressure: 0.8e5, Flow: 1e-3})
		}, unitop.ErrContradiction},
		{"too many rows", func(tb *unitop.InjectorTable) { tb.Rows = make([]unitop.InjectorRow, 2001) }, fluid.ErrOutOfRange},
	} {
		t.Run(c.name, func(t *testing.T) {
			table := demoTable()
			c.spoil(&table)
			_, err := unitop.NewInjector(table)
			require.ErrorIs(t, err, c.want)
		})
	}
	table := demoTable()
	table.MotiveStated = false
	_, err := newInjector(t, table).Motive(5e5, 2e5)
	require.ErrorIs(t, err, unitop.ErrNoTable)
}
