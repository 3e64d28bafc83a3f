package fact_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
)

// An invented injector whose motive flow does not depend on the pressures, so that losses can be reckoned by hand: 6 m3/h, and
// 10 NL/min of air drawn at 0 bar(g), falling to nothing at -0.5 bar(g).
const plainInjector = `{elevation: 0 m, venturi_injector: {performance_suction_pressure: 0 bar(g), performance_gas: air,
	suction_curve: [{suction_pressure: 0 bar(g), relative_flow: 1}, {suction_pressure: -0.5 bar(g), relative_flow: 0}],
	performance: [{inlet_pressure: 1 bar(g), outlet_pressure: 0 bar(g), motive_flow: 6 m3/h, suction_flow: 10 NL/min},
	{inlet_pressure: 1 bar(g), outlet_pressure: 0.9 bar(g), motive_flow: 6 m3/h, suction_flow: 10 NL/min},
	{inlet_pressure: 5 bar(g), outlet_pressure: 0 bar(g), motive_flow: 6 m3/h, suction_flow: 10 NL/min},
	{inlet_pressure: 5 bar(g), outlet_pressure: 4 bar(g), motive_flow: 6 m3/h, suction_flow: 10 NL/min}]}}`

const warmBasis = `basis: {atmospheric_pressure: 1 bar(a), min_ambient_temperature: 20 degC, max_ambient_temperature: 20 degC, min_water_temperature: 10 degC, max_water_temperature: 10 degC}`

// sized reads a design of components and lines, each on a line of its own; parts of the demo catalogue may be named.
func sized(t *testing.T, basis, components, lines, rest string) asked {
	t.Helper()
	indent := func(s string) string {
		var b strings.Builder
		for _, l := range strings.Split(strings.TrimSpace(s), "\n") {
			b.WriteString("  " + strings.TrimSpace(l) + "\n")
		}
		return b.String()
	}
	text := "skidrule: v1\nname: test\n" + basis + "\ncomponents:\n" + indent(components) + "lines:\n" + indent(lines) + rest
	file, err := designfile.Read("design.yaml", []byte(text))
	require.NoError(t, err)
	p, problems := plant.Resolve(file.Design, plant.Catalogues{catalogue.Parts()})
	require.Empty(t, problems)
	cases, wrong := operate.Cases(p)
	require.Empty(t, wrong)
	return asked{t, fact.NewWorld(p, cases)}
}

func plain() string { return strings.Join(strings.Fields(plainInjector), " ") }

// Hydrostatics and the definition of the flow coefficient: 2 bar at 3 m above the injector, a valve of Kv 12 at 6 m3/h takes a
// quarter of a bar (of water of 999.1 kg/m3).
func TestInletPressureFromBoundary(t *testing.T) {
	a := sized(t, warmBasis, `
		WI: {boundary: {role: source, service: process_water, pressure: 2 bar(g)}, elevation: 3 m}
		HV: {hand_valve: {flow_coefficient: 12 Kv, opening: 100 %}, normal_position: open}
		I: `+plain()+`
		WO: {boundary: {role: sink, service: ozonated_water, pressure: 0.5 bar(g)}, elevation: 0 m}`, `
		W-2: {route: [I.outlet, WO], length: 0 m, loss_coefficient: 0}
		W-1: {route: [WI, HV, I.motive_inlet], length: 0 m, loss_coefficient: 0}`, "")
	want := 2e5 + 1000*9.80665*3 - 0.25e5*1000/999.1
	assert.InEpsilon(t, want, a.number("lowest_inlet_pressure", "I").Low, 1e-9)
	assert.InEpsilon(t, 0.5e5, a.number("highest_outlet_pressure", "I").High, 1e-9)
	assert.InEpsilon(t, 6.0/3600, a.number("lowest_motive_flow", "I").Low, 1e-9)
	assert.Equal(t, fact.True, a.truth("inside_table", "I").Value)
}

// A pump's curve is read at the flow: 3 bar at 6 m3/h between 4 bar at 0 and 2 bar at 12; at 80 % speed the affinity laws give
// 0.64 (4 bar - 2 bar 7.5/12) at the same flow.
func TestInletPressureFromPump(t *testing.T) {
	a := sized(t, warmBasis, `
		WI: {boundary: {role: source, service: process_water, pressure: 0 bar(g)}, elevation: 0 m}
		P: {pump: {curve: [{flow: 12 m3/h, head: 2 bar}, {flow: 0 m3/h, head: 4 bar}]}, elevation: 0 m}
		I: `+plain()+`
		WO: {boundary: {role: sink, service: ozonated_water, pressure: 0 bar(g)}, elevation: 0 m}`, `
		W-1: {route: [WI, P, I.motive_inlet], length: 0 m, loss_coefficient: 0}
		W-2: {route: [I.outlet, WO], length: 0 m, loss_coefficient: 0}`, `cases:
  slow: {based_on: low_flow, title: slow pump, states: {P: {speed: 80 %}}}
`)
	assert.InEpsilon(t, 3e5, a.number("lowest_inlet_pressure", "I").Low, 1e-9)
	d, at := a.find("lowest_inlet_pressure", "I")
	for i, c := range a.world.Cases {
		if c.ID == "slow" {
			at.Case = int32(i)
		}
	}
	assert.InEpsilon(t, 0.64*(4e5-2e5*7.5/12), d.Number(a.world, at).Low, 1e-9)
}

// Two injectors on one trunk send twice the flow through it: four times its drop.
func TestInjectorsShareATrunk(t *testing.T) {
	one := sized(t, warmBasis, trunk(1, ""), trunkLines(1, ""), "")
	two := sized(t, warmBasis, trunk(2, ""), trunkLines(2, ""), "")
	single := 3e5 - one.number("lowest_inlet_pressure", "I1").Low
	// The solved case takes water of its own temperature, up to half a thousandth lighter.
	assert.InEpsilon(t, 0.25e5*1000/999.1, single, 1e-3)
	for _, tag := range []string{"I1", "I2"} {
		assert.InEpsilon(t, 4*single, 3e5-two.number("lowest_inlet_pressure", tag).Low, 1e-6, tag)
	}
}

func trunk(n int, more string) string {
	var b strings.Builder
	b.WriteString(`WI: {boundary: {role: source, service: process_water, pressure: 3 bar(g)}, elevation: 0 m}
		HV: {hand_valve: {flow_coefficient: 12 Kv, opening: 100 %}, normal_position: open}
		H: {header: {}}
		WO: {boundary: {role: sink, service: ozonated_water, pressure: 0.2 bar(g)}, elevation: 0 m}
		` + more)
	for i := range n {
		fmt.Fprintf(&b, "\nI%d: %s", i+1, plain())
	}
	return b.String()
}

func trunkLines(n int, more string) string {
	b := "T: {route: [WI, HV, H.inlet], length: 0 m, loss_coefficient: 0}\n" + more
	for i := range n {
		port := "outlet"
		if i > 0 {
			port = fmt.Sprintf("outlet_%d", i+1)
		}
		b += fmt.Sprintf("\nB%d: {route: [H.%s, I%d.motive_inlet], length: 0 m, loss_coefficient: 0}\nC%d: {route: [I%d.outlet, WO], length: 0 m, loss_coefficient: 0}", i+1, port, i+1, i+1, i+1)
	}
	return b
}

// A consumer of unknown flow on the same trunk leaves the pressure open and is named; a gauge or a shut valve does not.
func TestBranchesOfUnknownFlow(t *testing.T) {
	open := sized(t, warmBasis, trunk(1, "X: {boundary: {role: sink, service: process_water}, elevation: 0 m}"),
		trunkLines(1, "X-1: {route: [H.outlet_9, X], length: 0 m, loss_coefficient: 0}"), "")
	n := open.number("lowest_inlet_pressure", "I1")
	assert.True(t, n.Unknown())
	assert.Contains(t, paths(open, n.Missing), "components.H")

	gauge := sized(t, warmBasis, trunk(1, "X: {pressure_gauge: {}}"), trunkLines(1, "X-1: {route: [H.outlet_9, X]}"), "")
	assert.True(t, gauge.number("lowest_inlet_pressure", "I1").Known())

	shut := sized(t, warmBasis, trunk(1, "X: {boundary: {role: sink, service: process_water, pressure: 0 bar(g)}, elevation: 0 m}\nXV: {hand_valve: {}, normal_position: closed}"),
		trunkLines(1, "X-1: {route: [H.outlet_9, XV, X]}"), "")
	assert.True(t, shut.number("lowest_inlet_pressure", "I1").Known())
}

func paths(a asked, refs []fact.Ref) []string {
	var out []string
	for _, r := range refs {
		out = append(out, r.Path(a.world.Plant))
	}
	return out
}

// Water that runs in a circle has no pressure of its own, and an injector that nothing joins has none.
func TestCirclesAndLooseEnds(t *testing.T) {
	circle := sized(t, warmBasis, `
		P: {pump: {curve: [{flow: 0 m3/h, head: 4 bar}, {flow: 12 m3/h, head: 2 bar}]}, elevation: 0 m}
		I: `+plain(), `
		W-1: {route: [P, I.motive_inlet], length: 0 m, loss_coefficient: 0}
		W-2: {route: [I.outlet, P], length: 0 m, loss_coefficient: 0}`, "")
	assert.True(t, circle.number("lowest_inlet_pressure", "I").Unknown())
	loose := sized(t, warmBasis, `
		I: `+plain()+`
		X: {cap: {}}
		Y: {cap: {}}`, `L: {route: [X, Y]}`, "")
	n := loose.number("lowest_inlet_pressure", "I")
	assert.True(t, n.Unknown())
	assert.NotEmpty(t, n.Missing)
}

// gasSide is a cell that the plain injector draws; more goes between the two.
func gasSide(t *testing.T, basis, generator, parts, between, rest string) asked {
	t.Helper()
	return sized(t, basis, `
		OS: {boundary: {role: source, service: oxygen, pressure: 0 bar(g), min_pressure: 0 bar(g)}}
		G: {ozone_generator: `+generator+`}
		`+parts+`
		I: `+plain()+`
		WI: {boundary: {role: source, service: process_water, pressure: 3 bar(g)}, elevation: 0 m}
		WO: {boundary: {role: sink, service: ozonated_water, pressure: 0.5 bar(g)}, elevation: 0 m}`, `
		O-1: {route: [OS, G.feed_gas], length: 0 m, loss_coefficient: 0}
		G-1: {route: [G.ozone_gas, `+between+`I.suction], length: 0 m, loss_coefficient: 0}
		W-1: {route: [WI, I.motive_inlet], length: 0 m, loss_coefficient: 0}
		W-2: {route: [I.outlet, WO], length: 0 m, loss_coefficient: 0}`, rest)
}

const vacuumCell = "{mode: vacuum_drawn, rated_flow: 5 NL/min, min_flow: 3 NL/min, max_flow: 8 NL/min, min_cell_pressure: -0.3 bar(g), max_cell_pressure: 0.3 bar(g), pressure_drop: 0 bar}"

// The opening pressure of a check valve comes off the suction pressure one to one, and the suction curve falls in a line: at
// -0.2 bar(g) three fifths are drawn of what is drawn at 0 bar(g).
func TestOpeningPressureCostsSuction(t *testing.T) {
	with := func(opening string) asked {
		return gasSide(t, warmBasis, vacuumCell, "CV: {check_valve: {opening_pressure: "+opening+", flow_coefficient: 1000 Kv}}", "CV, ", "")
	}
	free, stiff := with("0 mbar"), with("200 mbar")
	assert.InDelta(t, -0.2e5, stiff.number("suction_pressure_left", "G").Low, 1)
	assert.InEpsilon(t, 0.6, stiff.number("suction_flow", "G").Low/free.number("suction_flow", "G").Low, 1e-4)
	assert.InEpsilon(t, free.number("best_suction_flow", "G").Low, stiff.number("best_suction_flow", "G").Low, 1e-12)
}

// A restriction passes flow with the square root of the molar mass, so gas of up to 33.7 g/mol is drawn at the least at
// sqrt(28.9644/33.7) of air (ISO 15873 leaves the correction to the user; see the injector model).
func TestGasIsCorrectedForItsWeight(t *testing.T) {
	a := gasSide(t, warmBasis, vacuumCell, "", "", "")
	const normal = 8.314462618 * 273.15 / 101325 // m3/mol
	air := 10e-3 / 60 / normal
	assert.InEpsilon(t, air*0.9270795, a.number("best_suction_flow", "G").Low, 1e-4)
}

// What the drawing does not state is named, and what is assumed is solved at both ends.
func TestAssumptionsAreSolvedAtBothEnds(t *testing.T) {
	parts := "CV: {check_valve: {flow_coefficient: 1000 Kv}}"
	unstated := gasSide(t, warmBasis, vacuumCell, parts, "CV, ", "")
	n := unstated.number("suction_flow", "G")
	assert.Contains(t, paths(unstated, n.Missing), "components.CV.check_valve.opening_pressure")
	assumed := gasSide(t, warmBasis, vacuumCell, parts, "CV, ", `assumptions:
  - {path: components.CV.check_valve.opening_pressure, low: 10 mbar, high: 200 mbar, reason: "usual springs", assumed_by: a test}
`)
	n = assumed.number("suction_flow", "G")
	assert.Empty(t, n.Missing)
	assert.Contains(t, paths(assumed, n.Assumed), "components.CV.check_valve.opening_pressure")
	assert.Less(t, n.Low, n.High)
}

// A shut valve in the gas line leaves no suction; the generator still belongs to its injector.
func TestShutGasValveLeavesNothing(t *testing.T) {
	a := gasSide(t, warmBasis, vacuumCell, "HV: {hand_valve: {flow_coefficient: 1 Kv}, normal_position: closed}", "HV, ", "")
	assert.Equal(t, fact.True, a.truth("has_injector", "G").Value)
	assert.Equal(t, fact.False, a.number("suction_flow", "G").AtLeast(a.number("group_gas_flow", "G")).Value)
}

// Gas of two generators runs together in a manifold with repeated ports, and is drawn by two injectors: each line carries what
// the shares give, each group speaks once.
func TestManifoldOfRepeatedPorts(t *testing.T) {
	cell := "{ozone_generator: " + vacuumCell + "}"
	a := sized(t, warmBasis, `
		OS: {boundary: {role: source, service: oxygen, pressure: 0 bar(g)}}
		F: {header: {}}
		G1: `+cell+`
		G2: `+cell+`
		M: {header: {}}
		I1: `+plain()+`
		I2: `+plain()+`
		WI: {boundary: {role: source, service: process_water, pressure: 3 bar(g)}, elevation: 0 m}
		WO: {boundary: {role: sink, service: ozonated_water, pressure: 0.5 bar(g)}, elevation: 0 m}`, `
		O-1: {route: [OS, F.inlet], length: 0 m, loss_coefficient: 0}
		O-2: {route: [F.outlet, G1.feed_gas], length: 0 m, loss_coefficient: 0}
		O-3: {route: [F.outlet_2, G2.feed_gas], length: 0 m, loss_coefficient: 0}
		G-1: {route: [G1.ozone_gas, M.inlet], length: 0 m, loss_coefficient: 0}
		G-2: {route: [G2.ozone_gas, M.inlet_2], length: 0 m, loss_coefficient: 0}
		G-3: {route: [M.outlet, I1.suction], length: 0 m, loss_coefficient: 0}
		G-4: {route: [M.outlet_2, I2.suction], length: 0 m, loss_coefficient: 0}
		W-1: {route: [WI, I1.motive_inlet], length: 0 m, loss_coefficient: 0}
		W-2: {route: [WI, I2.motive_inlet], length: 0 m, loss_coefficient: 0}
		W-3: {route: [I1.outlet, WO], length: 0 m, loss_coefficient: 0}
		W-4: {route: [I2.outlet, WO], length: 0 m, loss_coefficient: 0}`, "")
	assert.Equal(t, fact.True, a.truth("heads_group", "G1").Value)
	assert.Equal(t, fact.False, a.truth("heads_group", "G2").Value)
	one := gasSide(t, warmBasis, vacuumCell, "", "", "")
	assert.InEpsilon(t, 2*one.number("group_gas_flow", "G").Low, a.number("group_gas_flow", "G2").Low, 1e-12)
	assert.InEpsilon(t, 2*one.number("best_suction_flow", "G").Low, a.number("best_suction_flow", "G2").Low, 1e-12)
}

// Nothing that sets the flow: the balance of feed and injector gives it, more than the rated flow here.
func TestFreeFlowBalances(t *testing.T) {
	free := gasSide(t, warmBasis, vacuumCell, "OR: {restriction_orifice: {bore: 2 mm, discharge_coefficient: 0.6}}", "OR, ", "")
	n := free.number("highest_gas_flow", "G")
	assert.True(t, n.Known())
	assert.Greater(t, n.Low, free.number("group_gas_flow", "G").Low)
	assert.Less(t, n.Low, 2.2*free.number("group_gas_flow", "G").Low, "the injector draws 10 NL/min at the most")
	set := gasSide(t, warmBasis, vacuumCell, "NV: {hand_valve: {type: needle, flow_coefficient: 1 Kv}, normal_position: throttled}", "NV, ", "")
	assert.Equal(t, set.number("group_gas_flow", "G").Low, set.number("highest_gas_flow", "G").High)
}

// A feed whose curve ends below what the injector could draw is taken as at its load, which is more than it has there.
func TestFreeFlowBeyondTheCurveOfTheFeed(t *testing.T) {
	flow := func(curve string) fact.Number {
		a := sized(t, warmBasis, `
			AC: {compressor: {curve: `+curve+`}}
			G: {ozone_generator: `+vacuumCell+`}
			OR: {restriction_orifice: {bore: 2 mm, discharge_coefficient: 0.6}}
			I: `+plain()+`
			WI: {boundary: {role: source, service: process_water, pressure: 3 bar(g)}, elevation: 0 m}
			WO: {boundary: {role: sink, service: ozonated_water, pressure: 0.5 bar(g)}, elevation: 0 m}`, `
			O-1: {route: [AC, G.feed_gas], length: 0 m, loss_coefficient: 0}
			G-1: {route: [G.ozone_gas, OR, I.suction], length: 0 m, loss_coefficient: 0}
			W-1: {route: [WI, I.motive_inlet], length: 0 m, loss_coefficient: 0}
			W-2: {route: [I.outlet, WO], length: 0 m, loss_coefficient: 0}`, "")
		a.world.StatedOnly = true
		return a.number("highest_gas_flow", "G")
	}
	whole := flow("[{flow: 0 NL/min, pressure: 0 mbar(g)}, {flow: 20 NL/min, pressure: 0 mbar(g)}]")
	short := flow("[{flow: 0 NL/min, pressure: 0 mbar(g)}, {flow: 6 NL/min, pressure: 0 mbar(g)}]")
	assert.True(t, whole.Known())
	assert.Equal(t, whole, short)
}

// Gauges count where they see the injector's pressure: not behind a valve that is shut, not behind a pump, not in the branch of
// another injector.
func TestGaugesOfAnInjector(t *testing.T) {
	a := sized(t, warmBasis, `
		WI: {boundary: {role: source, service: process_water, pressure: 3 bar(g)}, elevation: 0 m}
		P: {pump: {curve: [{flow: 0 m3/h, head: 1 bar}, {flow: 20 m3/h, head: 0.5 bar}]}, elevation: 0 m}
		PI-0: {pressure_gauge: {}}
		H: {header: {}}
		PI-1: {pressure_gauge: {}}
		T: {tee: {}}
		HV: {hand_valve: {}, normal_position: closed}
		PI-2: {pressure_gauge: {}}
		PI-3: {pressure_gauge: {}}
		I1: `+plain()+`
		I2: `+plain()+`
		WO: {boundary: {role: sink, service: ozonated_water, pressure: 0.5 bar(g)}, elevation: 0 m}`, `
		T-0: {route: [WI, PI-0, P, H.inlet], length: 0 m, loss_coefficient: 0}
		B-1: {route: [H.outlet, PI-1, I1.motive_inlet], length: 0 m, loss_coefficient: 0}
		B-2: {route: [H.outlet_2, T.inlet], length: 0 m, loss_coefficient: 0}
		B-3: {route: [T.outlet, I2.motive_inlet], length: 0 m, loss_coefficient: 0}
		B-4: {route: [T.branch, HV, PI-2]}
		C-1: {route: [I1.outlet, PI-3, WO], length: 0 m, loss_coefficient: 0}
		C-2: {route: [I2.outlet, WO], length: 0 m, loss_coefficient: 0}`, "")
	assert.Equal(t, fact.Exactly(1), a.number("inlet_gauges", "I1"))
	assert.Equal(t, fact.Exactly(0), a.number("inlet_gauges", "I2"))
	assert.Equal(t, fact.Exactly(1), a.number("outlet_gauges", "I1"))
	assert.Equal(t, fact.Exactly(0), a.number("outlet_gauges", "I2"))
	assert.Equal(t, "outlet of I1", a.text("shows", "PI-3"))
	assert.Equal(t, fact.False, a.truth("shows_injector", "PI-0").Value)
}

// A supply that two generators name is shared between them by their power.
func TestSharedPowerSupply(t *testing.T) {
	a := sized(t, "", `
		PSU: {power_supply: {rated_power: 900 W, max_cells: 3, drives_cell_types: [a]}}
		G1: {ozone_generator: {rated_power: 600 W, cells: 2, cell_type: a, power_supplies: [PSU]}}
		G2: {ozone_generator: {rated_power: 300 W, cells: 1, cell_type: b, power_supplies: [PSU, GONE]}}
		X: {cap: {}}
		Y: {cap: {}}`, `L: {route: [X, Y]}`, "")
	assert.InEpsilon(t, 600, a.number("supply_power", "G1").Low, 1e-12)
	assert.InEpsilon(t, 1, a.number("supply_cells", "G2").Low, 1e-12)
	assert.Equal(t, fact.True, a.truth("power_supplies_fit", "G1").Value)
	assert.Equal(t, fact.False, a.truth("power_supplies_fit", "G2").Value)
}
