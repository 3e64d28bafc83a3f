package operate_test

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/operate"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

const demo = "hatchery-side-stream"

// Flows of the reference output of the EPANET engine, example 1 at 1 h, in US gallons per minute; the head behind the pump is that of
// its curve, 4/3 of 250 ft at no flow and 250 ft at 1500 gpm, over the reservoir at 800 ft.
func TestPublishedNetwork(t *testing.T) {
	const foot, gpm = 0.3048, 231 * 0.0254 * 0.0254 * 0.0254 / 60
	a := solveAll(t, read(t, "networks/looped-grid"))
	for _, l := range []struct {
		from, to string
		flow     float64
	}{
		{"PUMP", "N-11", 1848.5812}, {"N-11", "N-12", 1220.4274}, {"N-12", "N-13", 130.1116}, {"N-21", "N-22", 187.6893}, {"N-22", "N-23", 119.8884},
		{"N-31", "N-32", 40.4645}, {"TANK", "N-12", -748.5811}, {"N-11", "N-21", 478.1538}, {"N-12", "N-22", 191.7346}, {"N-13", "N-23", 30.1116},
		{"N-21", "N-31", 140.4645}, {"N-22", "N-32", 59.5355},
	} {
		port := func(tag string) string {
			if tag == "PUMP" || tag == "TANK" {
				return tag + ".process"
			}
			return tag + ".port"
		}
		w := a.flow("normal", port(l.from), port(l.to))
		require.True(t, w.Known, "%v %s %v", l, w.Why, w.Missing)
		require.InEpsilon(t, l.flow, w.Flow.Best/gpm, 5e-4, "%s to %s", l.from, l.to)
	}
	st := a.States.States[0]
	head := 710 + a.gauge("normal", "PUMP.process")/(st.Density*network.Gravity)/foot
	q := 1848.5812 / 1500
	require.InDelta(t, 800+250*4/3.-250/3.*q*q, head, 0.05)
}

// In every case of every demo design the flows at each component add up: what pipes bring to it is what pipes take away, but for
// boundaries, vessels, injectors and concentrators, which exchange with the other phase or the world.
func TestBalance(t *testing.T) {
	for _, name := range []string{demo, "cylinder-pressure-fed", "inline-degassing", "twin-generator-manifold", "wall-unit-air-fed", "atmospheric-tank"} {
		a := solveAll(t, read(t, name))
		for i, st := range a.States.States {
			if st == nil || a.Cases[i].Standard == operate.BarrierFailed {
				continue
			}
			require.Less(t, st.Imbalance, 1e-7, "%s %s", name, st.Case.ID)
			require.Less(t, st.Residual, 1.0, "%s %s", name, st.Case.ID)
			net := map[network.Phase]float64{}
			whole := true
			for _, e := range st.Exchanges {
				net[e.Phase] += e.Flow.Best
			}
			for j := range st.Ports {
				whole = whole && (st.Ports[j].Known || st.Ports[j].ShutIn || a.Plant.Ports[j].Joints == 0 || st.Ports[j].Why != "")
			}
			// Water keeps its mass through vessels and injectors; an open tank may fill or empty.
			if whole && name != "atmospheric-tank" {
				require.InDelta(t, 0, net[network.Liquid], 1e-9, "%s %s", name, st.Case.ID)
			}
		}
	}
}

// The solved suction flow and motive flow are those that the injector's table alone gives at the solved pressures.
func TestInjectorAgreesWithTable(t *testing.T) {
	a := solveAll(t, read(t, demo))
	w := a.flow("normal", "INJ-1.motive_inlet", "INJ-1.outlet")
	require.Empty(t, w.Beyond)
	in, out, suction := a.gauge("normal", "INJ-1.motive_inlet"), a.gauge("normal", "INJ-1.outlet"), a.gauge("normal", "INJ-1.suction")
	// Between the rows of the table at 3.5 and 4 bar(g) inlet and 1 and 1.5 bar(g) outlet, by hand, bilinear.
	require.True(t, in > 3.5e5 && in < 4e5 && out > 1e5 && out < 1.5e5)
	u, v := (out-1e5)/0.5e5, (in-3.5e5)/0.5e5
	table := (1-v)*(13.7+(9.8-13.7)*u) + v*(16.5+(13.0-16.5)*u)
	motive := (1-v)*(6.21+(6.17-6.21)*u) + v*(6.55+(6.52-6.55)*u)
	// The suction curve between -0.2 and -0.3 bar(g).
	require.True(t, suction < -0.2e5 && suction > -0.3e5)
	table *= 0.62 + (0.46-0.62)*(-suction-0.2e5)/0.1e5
	const perMinute = 22.41397e-3 * 60 * 1000 // NL/min for a mol/s
	// Oxygen of 93 % and nitrogen at 17.5 degC over air at 20 degC, by the root of mass and temperature.
	factor := math.Sqrt(28.9652 * 293.15 / ((0.93*31.9988 + 0.07*28.0134) * 290.65))
	require.InEpsilon(t, table*factor, w.Carried.Best*perMinute, 0.01)
	require.InEpsilon(t, motive, w.Flow.Best*3600, 0.005)
	// The needle valve is set so that the rated 6 NL/min pass.
	require.InEpsilon(t, 6, w.Carried.Best*perMinute, 1e-3)
}

// Pump stopped: the return main pushes back as far as the second check valve, and no further while the first holds.
func TestReturnMainPushesBack(t *testing.T) {
	a := solveAll(t, read(t, demo))
	main := a.gauge("pump_stopped", "INJ-1.outlet")
	require.InDelta(t, 1.96e5, main, 0.02e5) // 2 bar(g) at 0.6 m, less the metres up to 1 m
	require.InDelta(t, main, a.gauge("pump_stopped", "INJ-1.suction"), 1)
	require.InDelta(t, main, a.gauge("pump_stopped", "CV-2.outlet"), 1)
	require.InDelta(t, 0.7e5, a.gauge("pump_stopped", "CV-1.inlet"), 1, "the concentrator's pressure at no flow")
	between := a.state("pump_stopped", "CV-1.outlet")
	require.True(t, between.ShutIn)
	assert.GreaterOrEqual(t, between.Pressure.High, between.Pressure.Low)

	// With a barrier failed in turn the range between them reaches up to the water's.
	st := a.States.States[a.at("barrier_failed")]
	failed := &st.Ports[a.port("CV-1.outlet")]
	require.True(t, failed.Known)
	require.InDelta(t, st.Ports[a.port("INJ-1.suction")].Pressure.Best, failed.Pressure.High, 0.02e5)
	assert.Less(t, st.Ports[a.port("CV-1.inlet")].Pressure.High-st.Atmosphere, 0.71e5)
}

// Feed shut: the injector draws the line down to where its table draws nothing any more, less the opening pressures.
func TestFeedShutVacuum(t *testing.T) {
	a := solveAll(t, read(t, demo))
	require.InDelta(t, -0.7e5, a.gauge("feed_shut", "INJ-1.suction"), 20)
	require.InDelta(t, -0.7e5+2000+1500, a.gauge("feed_shut", "OG-1.ozone_gas"), 20)
	require.InDelta(t, 0.7e5, a.gauge("gas_valve_shut", "OG-1.ozone_gas"), 20, "the feed pushes against the shut valve")
	low := a.LowestPressure(a.port("OG-1.ozone_gas"))
	assert.Equal(t, "feed_shut", a.Cases[low.Case].ID)
	high := a.HighestPressure(a.port("INJ-1.motive_inlet"))
	assert.Equal(t, "outlet_blocked", a.Cases[high.Case].ID)
}

// A missing datum makes unknown exactly what depends on it, by name.
func TestMissingDatum(t *testing.T) {
	line := func(d *skidrulev1.Design, tag string) *skidrulev1.Line {
		for _, l := range d.Lines {
			if l.Tag == tag {
				return l
			}
		}
		return nil
	}
	d := read(t, demo)
	line(d, "V-2").LengthM = nil
	a := solveAll(t, d)
	assert.False(t, a.state("normal", "KO-1.gas_outlet").Known)
	require.Len(t, a.state("normal", "KO-1.gas_outlet").Missing, 1)
	assert.Equal(t, "lines.V-2.length", a.state("normal", "KO-1.gas_outlet").Missing[0].Path(a.Plant))
	assert.True(t, a.state("normal", "CT-1.vent").Known, "the water decides the pressure of the gas space")
	assert.True(t, a.state("normal", "INJ-1.suction").Known)

	d = read(t, demo)
	line(d, "W-1").RoughnessM = nil
	a = solveAll(t, d)
	for _, port := range []string{"INJ-1.motive_inlet", "INJ-1.suction", "OG-1.ozone_gas", "CT-1.vent", "OD-1.inlet"} {
		require.False(t, a.state("normal", port).Known, port)
		assert.Equal(t, "lines.W-1.roughness", a.state("normal", port).Missing[0].Path(a.Plant), port)
	}
	assert.True(t, a.state("normal", "OC-1.exhaust").Known)

	// Where nothing flows the losses do not matter.
	d = read(t, demo)
	line(d, "I-1").LengthM = nil
	require.True(t, solveAll(t, d).state("normal", "PI-1.process").Known)

	d = read(t, demo)
	d.Basis.AtmosphericPressurePaAbs, d.Basis.AltitudeM = nil, nil
	a = solveAll(t, d)
	assert.Equal(t, "basis.atmospheric_pressure", a.state("normal", "VT-1.inlet").Missing[0].Path(a.Plant))
}

// An assumed range is solved at both ends and stays attached; what is known inside the range lies between.
func TestAssumption(t *testing.T) {
	whole := solveAll(t, read(t, demo))
	d := read(t, demo)
	for _, l := range d.Lines {
		if l.Tag == "W-3" {
			l.LengthM = nil
		}
	}
	d.Assumptions = append(d.Assumptions, &skidrulev1.Assumption{Path: "lines.W-3.length", Low: proto.Float64(4), High: proto.Float64(12), Reason: "from a sketch"})
	a := solveAll(t, d)
	q := a.state("normal", "INJ-1.outlet")
	require.True(t, q.Known)
	require.Len(t, q.Assumed, 1)
	assert.Equal(t, "lines.W-3.length", q.Assumed[0].Path(a.Plant))
	was := whole.state("normal", "INJ-1.outlet").Pressure
	assert.Less(t, q.Pressure.Low, was.Low)
	assert.Greater(t, q.Pressure.High, was.High)
	assert.InDelta(t, was.Best, q.Pressure.Best, 200)
}

// More pressure in the return main: less gas, a higher vessel pressure.
func TestMonotone(t *testing.T) {
	gas, vessel := math.Inf(1), 0.0
	for _, p := range []float64{0.8e5, 0.9e5, 1e5, 1.1e5, 1.2e5} {
		d := read(t, demo)
		for _, c := range d.Components {
			if c.Tag == "RM-2" {
				c.GetBoundary().PressurePaGauge = proto.Float64(p)
			}
			if c.Tag == "NV-1" {
				// Wide open, so that the injector decides.
				c.NormalPosition = skidrulev1.ValvePosition_VALVE_POSITION_OPEN
			}
		}
		plant, cases := resolve(t, d)
		states, err := operate.SolveAll(context.Background(), plant, cases[:1])
		require.NoError(t, err)
		a := &answer{t, states}
		g, v := a.flow("normal", "INJ-1.motive_inlet", "INJ-1.outlet").Carried.Best, a.gauge("normal", "CT-1.vent")
		assert.Less(t, g, gas)
		assert.Greater(t, v, vessel)
		gas, vessel = g, v
	}
}

// Source and sink swapped: in a passive drawing the same flow runs the other way.
func TestReversal(t *testing.T) {
	d := read(t, "networks/looped-grid")
	set := func(p, q float64) *answer {
		e := proto.CloneOf(d)
		for _, c := range e.Components {
			switch c.Tag {
			case "PUMP":
				c.GetBoundary().LiquidFlowM3PerS, c.GetBoundary().PressurePaGauge = nil, proto.Float64(p)
				c.ElevationM = proto.Float64(200)
			case "TANK":
				c.GetBoundary().PressurePaGauge = proto.Float64(q)
				c.ElevationM = proto.Float64(200)
			default:
				c.GetJunction().DemandM3PerS = nil
			}
		}
		return solveAll(t, e)
	}
	there, back := set(8e5, 5e5), set(5e5, 8e5)
	for i := range there.States.States[0].Ways {
		x, y := there.States.States[0].Ways[i], back.States.States[0].Ways[i]
		if x.Known {
			require.InDelta(t, x.Flow.Best, -y.Flow.Best, 1e-7)
		}
	}
	require.Greater(t, there.flow("normal", "PUMP.process", "N-11.port").Flow.Best, 0.01)
}

// The same design gives the same numbers, and a context that ends stops the work.
func TestDeterministicAndStopped(t *testing.T) {
	a, b := solveAll(t, read(t, demo)), solveAll(t, read(t, demo))
	for i := range a.States.States {
		if a.States.States[i] != nil {
			require.True(t, fmt.Sprint(a.States.States[i].Ports) == fmt.Sprint(b.States.States[i].Ports), a.Cases[i].ID)
		}
	}
	p, cases := load(t, demo)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := operate.SolveAll(ctx, p, cases)
	require.ErrorIs(t, err, context.Canceled)
}

// The duty point lies on the pump's curve and on the system's; the injector's on its own.
func TestDutyCurves(t *testing.T) {
	p, cases := load(t, demo)
	s, err := operate.NewSolver(p, cases)
	require.NoError(t, err)
	pump, _ := p.FindComponent("P-1")
	system, duty, ok, err := s.SystemCurve(context.Background(), 0, pump)
	require.NoError(t, err)
	require.True(t, ok)
	require.Greater(t, len(system), 3)
	for i := 1; i < len(system); i++ {
		require.Greater(t, system[i].X, system[i-1].X)
		require.Greater(t, system[i].Y, system[i-1].Y)
	}
	// Between the points 6 m3/h at 2.6 bar and 8 m3/h at 1.7 bar of the curve.
	require.InDelta(t, 2.52e5, duty.Y, 0.05e5)
	st, err := s.Case(context.Background(), 0)
	require.NoError(t, err)
	injector, _ := p.FindComponent("INJ-1")
	curve, at, ok := s.SuctionCurve(st, injector)
	require.True(t, ok)
	require.GreaterOrEqual(t, curve[0].Y, at.Y)
	for i := 1; i < len(curve); i++ {
		require.LessOrEqual(t, curve[i].Y, curve[i-1].Y)
	}
}

// Water in the gas line at rest: the return main at 2 bar(g) would lift it some 20 m.
func TestStanding(t *testing.T) {
	a := solveAll(t, read(t, demo))
	seen := map[string]bool{}
	for _, s := range a.Standing() {
		seen[a.Cases[s.Case].ID] = true
		switch a.Cases[s.Case].ID {
		case "pump_stopped":
			require.InDelta(t, 21, s.GradeLine.Best, 0.2)
			require.Zero(t, s.Vacuum)
		case "feed_shut":
			require.InDelta(t, -0.7e5, s.Vacuum, 20)
		}
	}
	require.True(t, seen["pump_stopped"] && seen["feed_shut"], "%v", seen)
}
