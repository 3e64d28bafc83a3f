package fact_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
)

// offGasPlant is a plant with components and lines in YAML whose facts are asked by name.
type offGasPlant struct {
	t     *testing.T
	world *fact.World
}

// readOffGas resolves a design of components and lines, each in flow style, one a line.
func readOffGas(t *testing.T, components, lines string) offGasPlant {
	t.Helper()
	indent := func(s string) string {
		return "  " + strings.ReplaceAll(strings.TrimSpace(s), "\n", "\n  ") + "\n"
	}
	text := "skidrule: v1\nname: test\nbasis: {atmospheric_pressure: 1.013 bar(a), max_water_temperature: 20 degC, min_water_temperature: 5 degC}\n" +
		"components:\n" + indent(components) + "lines:\n" + indent(lines)
	file, err := designfile.Read("test.yaml", []byte(text))
	require.NoError(t, err)
	level(file.Design, 0)
	p, problems := plant.Resolve(file.Design, nil)
	require.Empty(t, problems)
	cases, wrong := operate.Cases(p)
	require.Empty(t, wrong)
	return offGasPlant{t, fact.NewWorld(p, cases)}
}

// definition finds the fact of a name that the component's kind has.
func (p offGasPlant) definition(name, tag string) (fact.Definition, fact.At) {
	p.t.Helper()
	on := fact.OnComponent
	i, ok := p.world.Plant.FindComponent(tag)
	kind := plant.KindNone
	if ok {
		kind = p.world.Plant.Components[i].Kind
	} else {
		on = fact.OnLine
		i, ok = p.world.Plant.FindLine(tag)
		require.True(p.t, ok, tag)
	}
	for _, d := range fact.Definitions() {
		if d.Name != name || d.On != on {
			continue
		}
		for _, k := range append([]plant.Kind{}, d.Kinds...) {
			if k == kind {
				return d, fact.At{Index: i, Case: -1}
			}
		}
		if len(d.Kinds) == 0 {
			return d, fact.At{Index: i, Case: -1}
		}
	}
	p.t.Fatalf("%s has no fact %s", tag, name)
	return fact.Definition{}, fact.At{}
}

func (p offGasPlant) truth(name, tag string) fact.Truth {
	d, at := p.definition(name, tag)
	return d.Truth(p.world, at)
}

func (p offGasPlant) number(name, tag string) fact.Number {
	d, at := p.definition(name, tag)
	return d.Number(p.world, at)
}

// tags lists the components of a path.
func (p offGasPlant) tags(name, tag string) []string {
	d, at := p.definition(name, tag)
	return tagsOf(p.world, d.Path(p.world, at))
}

const offGasTrain = `
OS-1: {gas_supply: {gas: oxygen, pressure: 0.5 bar(g)}}
OG-1: {ozone_generator: {rated_flow: 10 NL/min, rated_concentration: 6 wt %}}
WI-1: {boundary: {service: process_water, role: source, max_pressure: 3 bar(g)}}
INJ-1: {venturi_injector: {}}
CT-1: {contact_vessel: {pressurised: true}}
WO-1: {boundary: {service: ozonated_water, role: sink, max_pressure: 1 bar(g), open_to_people: false}}
VV-1: {float_vent_valve: {orifice_diameter: 2 mm, max_opening_difference: 6 bar}}
KO-1: {knock_out_pot: {orientation: vertical, diameter: 150 mm, height: 600 mm, inlet_height: 150 mm, gas_outlet_height: 600 mm, drain_principle: float, gas_seal: true}}
DR-1: {drain_point: {leads_to: open_air_gap}}
OD-1: {ozone_destruct: {principle: catalytic, heated: true, set_temperature: 70 degC, rated_flow: 200 NL/min, pressure_drop: 12 mbar}}
AV-1: {atmosphere_vent: {location: outdoors}}
`

const offGasWater = `
O-1: {route: [OS-1, OG-1.feed_gas]}
G-1: {route: [OG-1.ozone_gas, INJ-1.suction]}
W-1: {route: [WI-1, INJ-1.motive_inlet]}
W-2: {route: [INJ-1.outlet, CT-1.inlet]}
W-3: {route: [CT-1.outlet, WO-1]}
`

func TestSecondVentPortWithoutSeparatorIsSeen(t *testing.T) {
	p := readOffGas(t, offGasTrain+`
VV-2: {float_vent_valve: {orifice_diameter: 2 mm}}
HD-1: {header: {}}
`, offGasWater+`
V-1: {route: [CT-1.vent, VV-1, KO-1.inlet]}
V-2: {route: [KO-1.gas_outlet, HD-1.inlet]}
V-4: {route: [CT-1.vent_2, VV-2, HD-1.inlet_2]}
V-3: {route: [HD-1.outlet, OD-1, AV-1]}
D-1: {route: [KO-1.drain, DR-1]}
`)
	assert.Equal(t, fact.False, p.truth("separated", "OD-1").Value)
	path := p.tags("way_without_separator", "OD-1")
	assert.Contains(t, path, "VV-2")
	assert.NotContains(t, path, "KO-1")
}

func TestDrainOfPotLeadsToDestruct(t *testing.T) {
	p := readOffGas(t, offGasTrain, offGasWater+`
V-1: {route: [CT-1.vent, VV-1, KO-1.inlet]}
V-2: {route: [KO-1.drain, OD-1, AV-1]}
`)
	assert.Equal(t, fact.False, p.truth("separated", "OD-1").Value, "liquid leaves the pot for the destruct")
}

func TestSeparatorsInALoopEndTheSearch(t *testing.T) {
	p := readOffGas(t, offGasTrain+`
HD-1: {header: {}}
HD-2: {header: {}}
`, offGasWater+`
V-1: {route: [CT-1.vent, VV-1, HD-1.inlet]}
V-2: {route: [HD-1.outlet, KO-1.inlet]}
V-3: {route: [KO-1.gas_outlet, HD-2.inlet]}
V-4: {route: [HD-2.outlet, OD-1, AV-1]}
V-5: {route: [HD-2.outlet_2, HD-1.inlet_2]}
D-1: {route: [KO-1.drain, DR-1]}
`)
	// The line back from behind the pot is a way around it too.
	assert.Equal(t, fact.False, p.truth("separated", "OD-1").Value)
	assert.Equal(t, fact.True, p.truth("has_vent_way", "CT-1").Value)
	assert.Equal(t, fact.Exactly(0), p.number("shut_offs", "CT-1"))
}

func TestOrderOfLinesDoesNotMatter(t *testing.T) {
	lines := []string{
		"V-1: {route: [CT-1.vent, VV-1, KO-1.inlet]}", "V-2: {route: [KO-1.gas_outlet, OD-1]}",
		"V-3: {route: [OD-1.outlet, AV-1]}", "D-1: {route: [KO-1.drain, DR-1]}",
	}
	forward := readOffGas(t, offGasTrain, offGasWater+strings.Join(lines, "\n"))
	backward := readOffGas(t, offGasTrain, lines[3]+"\n"+lines[2]+"\n"+lines[1]+"\n"+lines[0]+offGasWater)
	for _, p := range []offGasPlant{forward, backward} {
		assert.Equal(t, fact.True, p.truth("separated", "OD-1").Value)
		assert.Equal(t, fact.False, p.truth("untreated_ozone_arrives", "AV-1").Value)
		assert.Equal(t, fact.True, p.truth("ozone_was_there", "AV-1").Value)
		assert.Equal(t, fact.True, p.truth("leads_to_destruct", "V-2").Value)
		assert.Equal(t, fact.False, p.truth("leads_to_destruct", "V-1").Value, "the pot comes after it")
		assert.Equal(t, fact.False, p.truth("leads_to_destruct", "V-3").Value)
	}
	assert.Equal(t, forward.number("burst_flow", "KO-1"), backward.number("burst_flow", "KO-1"))
}

func TestInstrumentTapIsNoWayToTheDestruct(t *testing.T) {
	p := readOffGas(t, offGasTrain+`
TE-1: {tee: {}}
PI-1: {pressure_gauge: {}}
`, offGasWater+`
V-1: {route: [CT-1.vent, VV-1, KO-1.inlet]}
V-2: {route: [KO-1.gas_outlet, TE-1, OD-1]}
I-1: {route: [TE-1.branch, PI-1]}
V-3: {route: [OD-1.outlet, AV-1]}
D-1: {route: [KO-1.drain, DR-1]}
`)
	assert.Equal(t, fact.True, p.truth("leads_to_destruct", "V-2").Value)
	assert.Equal(t, fact.False, p.truth("leads_to_destruct", "I-1").Value)
}

func TestUnknownComponentLetsOzonePass(t *testing.T) {
	p := readOffGas(t, offGasTrain+`
X-1: {other: {description: a box}}
`, offGasWater+`
V-1: {route: [CT-1.vent, VV-1, X-1.in]}
V-2: {route: [X-1.out, AV-1]}
`)
	assert.Equal(t, fact.True, p.truth("untreated_ozone_arrives", "AV-1").Value)
	assert.Contains(t, p.tags("untreated_ozone_path", "AV-1"), "X-1")
}

func TestOzoneDoesNotLeaveByTheFeedOrTheWater(t *testing.T) {
	p := readOffGas(t, offGasTrain+`
OC-1: {oxygen_concentrator: {}}
EV-1: {atmosphere_vent: {location: indoors}}
TK-1: {drain_point: {leads_to: open_air_gap}}
`, `
O-1: {route: [OC-1, OG-1.feed_gas]}
E-1: {route: [OC-1.exhaust, EV-1]}
G-1: {route: [OG-1.ozone_gas, INJ-1.suction]}
W-1: {route: [WI-1, INJ-1.motive_inlet]}
W-2: {route: [INJ-1.outlet, CT-1.inlet]}
W-3: {route: [CT-1.outlet, WO-1]}
W-4: {route: [CT-1.drain, TK-1]}
`)
	assert.Equal(t, fact.False, p.truth("untreated_ozone_arrives", "EV-1").Value)
	assert.Equal(t, fact.False, p.truth("untreated_ozone_arrives", "TK-1").Value, "water stands over the drain of the vessel")
}

func TestUncoveredTankSetsGasFree(t *testing.T) {
	const lines = `
O-1: {route: [OS-1, OG-1.feed_gas]}
G-1: {route: [OG-1.ozone_gas, INJ-1.suction]}
W-1: {route: [WI-1, INJ-1.motive_inlet]}
W-2: {route: [INJ-1.outlet, TK-1.inlet]}
W-3: {route: [TK-1.outlet, WO-1]}
`
	for spec, want := range map[string]fact.Verdict{"{covered: false}": fact.True, "{covered: true}": fact.False, "{}": fact.Undecided} {
		p := readOffGas(t, offGasTrain+"TK-1: {open_tank: "+spec+"}", lines)
		assert.Equal(t, want, p.truth("gas_can_leave", "TK-1").Value, spec)
		assert.Equal(t, fact.True, p.truth("untreated_ozone_arrives", "TK-1").Value, spec)
	}
}

func TestBurstAddsUpOverVents(t *testing.T) {
	const lines = `
V-2: {route: [KO-1.gas_outlet, OD-1, AV-1]}
D-1: {route: [KO-1.drain, DR-1]}
`
	one := readOffGas(t, offGasTrain, offGasWater+"V-1: {route: [CT-1.vent, VV-1, KO-1.inlet]}"+lines)
	two := readOffGas(t, offGasTrain+`
VV-2: {float_vent_valve: {orifice_diameter: 2 mm}}
HD-1: {header: {}}
`, offGasWater+`
V-1: {route: [CT-1.vent, VV-1, HD-1.inlet]}
V-4: {route: [CT-1.vent_2, VV-2, HD-1.inlet_2]}
V-5: {route: [HD-1.outlet, KO-1.inlet]}`+lines)
	single := one.number("burst_flow", "KO-1")
	require.True(t, single.Known())
	assert.InEpsilon(t, 2*single.Low, two.number("burst_flow", "KO-1").Low, 1e-9)
	// Twice the flow is twice the velocity, and a larger droplet leaves.
	assert.InEpsilon(t, 2*one.number("burst_velocity", "KO-1").Low, two.number("burst_velocity", "KO-1").Low, 1e-9)
	assert.Greater(t, two.number("burst_droplet", "KO-1").Low, one.number("burst_droplet", "KO-1").Low)
	// The pressure drop of the bed is stated for 200 NL/min, more than either burst.
	assert.InEpsilon(t, 1200, one.number("back_pressure", "VV-1").Low, 1e-9)
}

// TestPartsBehindAVentHoldBack asks what stated data alone tell of the parts behind a vent: a drop stated at a flow grows with the square
// of the burst and is not less below that flow, others are taken as they are stated.
func TestPartsBehindAVentHoldBack(t *testing.T) {
	const lines = offGasWater + `
V-1: {route: [CT-1.vent, VV-1, KO-1.inlet]}
D-1: {route: [KO-1.drain, DR-1]}
V-2: {route: [KO-1.gas_outlet, X-1, OD-1, AV-1]}
`
	plain := readOffGas(t, offGasTrain, strings.Replace(lines, "X-1, ", "", 1))
	plain.world.StatedOnly = true
	burst := plain.number("burst_flow", "VV-1").Low / (101325 / (8.314462618 * 273.15)) * 60000 // NL/min
	require.Greater(t, burst, 40.0)
	for _, row := range []struct {
		part  string
		drop  float64
		above bool // more cannot be told: no burst is known to come past it
	}{
		{"demister: {pressure_drop: 5 mbar}", 500, false},
		{"demister: {pressure_drop: 5 mbar, rated_flow: 200 NL/min}", 500, false},
		{"demister: {pressure_drop: 5 mbar, rated_flow: 20 NL/min}", 500 * burst * burst / 400, false},
		{"check_valve: {opening_pressure: 5 mbar}", 500, false},
		{"hand_valve: {flow_coefficient: 1 Kv}", 0, false},
		{"ozone_destruct: {pressure_drop: 5 mbar, rated_flow: 20 NL/min}", 500 * burst * burst / 400, true},
		{"water_seal: {depth: 50 mm, refill: self_filling}", 1000 * 9.80665 * 0.05, true},
	} {
		p := readOffGas(t, offGasTrain+"X-1: {"+row.part+"}", lines)
		p.world.StatedOnly = true
		n := p.number("back_pressure", "VV-1")
		assert.InEpsilon(t, 1200+row.drop, n.Low, 1e-6, row.part)
		if row.above {
			assert.Greater(t, n.High, n.Low, row.part)
		} else {
			assert.Equal(t, n.Low, n.High, row.part)
		}
	}
}

// TestBurstOfStatedCapacity scales a capacity by the flow through the same orifice: at twice the absolute pressure before a
// choked orifice twice the gas passes (gas dynamics, isentropic flow of an ideal gas).
func TestBurstOfStatedCapacity(t *testing.T) {
	train := strings.Replace(offGasTrain, "max_pressure: 3 bar(g)", "max_pressure: 3.039 bar(g)", 1)
	train = strings.Replace(train, "orifice_diameter: 2 mm, max_opening_difference: 6 bar", "capacity: 45 NL/min, capacity_difference: 1.013 bar", 1)
	p := readOffGas(t, train, offGasWater+"V-1: {route: [CT-1.vent, VV-1, KO-1.inlet]}\nV-2: {route: [KO-1.gas_outlet, OD-1, AV-1]}")
	normal := 45.0 / 60000 * 101325 / (8.314462618 * 273.15)
	assert.InEpsilon(t, 2*normal, p.number("burst_flow", "VV-1").Low, 1e-6)
}

// TestFloatBoundsItsStatement uses statics: 90 g on a lever of 4 hold 3.53 N, which a pressure difference over a 6 mm orifice
// reaches at 1.25 bar.
func TestFloatBoundsItsStatement(t *testing.T) {
	train := strings.Replace(offGasTrain, "orifice_diameter: 2 mm, max_opening_difference: 6 bar",
		"orifice_diameter: 6 mm, max_opening_difference: 6 bar, float_mass: 90 g, float_volume: 200 mL, lever_ratio: 4", 1)
	lines := offGasWater + "V-1: {route: [CT-1.vent, VV-1, KO-1.inlet]}"
	p := readOffGas(t, train, lines)
	limit := 4 * 0.090 * 9.80665 / (math.Pi / 4 * 6e-3 * 6e-3)
	assert.InEpsilon(t, limit, p.number("opens_up_to", "VV-1").High, 1e-9)
	// Without a statement the bound alone is known.
	p = readOffGas(t, strings.Replace(train, "max_opening_difference: 6 bar, ", "", 1), lines)
	n := p.number("opens_up_to", "VV-1")
	assert.InEpsilon(t, limit, n.High, 1e-9)
	assert.True(t, math.IsInf(n.Low, -1))
	require.Len(t, n.Missing, 1)
	assert.Equal(t, "components.VV-1.float_vent_valve.max_opening_difference", n.Missing[0].Path(p.world.Plant))
}

// TestHottestBed rests on about 32 K for each per cent by weight of ozone in dry oxygen (NIST heat of formation and heat
// capacities, as tested beside the model).
func TestHottestBed(t *testing.T) {
	lines := offGasWater + "V-1: {route: [CT-1.vent, VV-1, KO-1.inlet]}\nV-2: {route: [KO-1.gas_outlet, OD-1, AV-1]}"
	p := readOffGas(t, offGasTrain, lines)
	assert.InDelta(t, 343.15+6*32, p.number("hottest_bed", "OD-1").High, 20)
	p = readOffGas(t, strings.Replace(offGasTrain, ", rated_concentration: 6 wt %", "", 1), lines)
	n := p.number("hottest_bed", "OD-1")
	assert.True(t, math.IsInf(n.High, 1))
	assert.NotEmpty(t, n.Missing)
}

func TestResidualDecaysInTheVesselsBehindContact(t *testing.T) {
	p := readOffGas(t, offGasTrain+`
TK-1: {open_tank: {covered: true, volume: 1 m3, short_circuit: 50 %}}
`, `
W-1: {route: [WI-1, INJ-1.motive_inlet]}
W-2: {route: [INJ-1.outlet, CT-1.inlet]}
W-3: {route: [CT-1.outlet, TK-1, WO-1]}
`)
	basis := p.world.Plant.Basis
	target, decay, flow := 1e-3, 0.001, 0.01
	basis.TargetResidualKgPerM3, basis.OzoneDecayPerS, basis.MaxTreatedFlowM3PerS = &target, &decay, &flow
	// First-order decay over half the volume divided by the flow.
	assert.InEpsilon(t, target*math.Exp(-decay*0.5*1/flow), p.number("residual", "WO-1").High, 1e-9)
	basis.OzoneDecayPerS = nil
	p = offGasPlant{t, fact.NewWorld(p.world.Plant, p.world.Cases)}
	n := p.number("residual", "WO-1")
	assert.Equal(t, target, n.High, "without a rate nothing is taken off")
	assert.Zero(t, n.Low)
	assert.NotEmpty(t, n.Missing)
}

func TestWaterThatPassesNoContactIsNotTakenAsDecayed(t *testing.T) {
	p := readOffGas(t, offGasTrain+`
TE-1: {tee: {}}
TE-2: {tee: {}}
`, `
W-1: {route: [WI-1, INJ-1.motive_inlet]}
W-2: {route: [INJ-1.outlet, TE-1, CT-1.inlet]}
W-3: {route: [CT-1.outlet, TE-2, WO-1]}
W-4: {route: [TE-1.branch, TE-2.branch]}
`)
	target := 1e-3
	p.world.Plant.Basis.TargetResidualKgPerM3 = &target
	n := p.number("residual", "WO-1")
	assert.Equal(t, target, n.Low)
	assert.True(t, math.IsInf(n.High, 1))
	assert.NotContains(t, p.tags("ozonated_water_path", "WO-1"), "CT-1")
}

func TestFeedIsTracedWhateverTheGeneratorIsBuiltFor(t *testing.T) {
	for _, c := range []struct {
		supply, generator string
		want              fact.Verdict
	}{
		{"{gas: oxygen}", "{fed_by_air: true}", fact.True},
		{"{gas: air}", "{}", fact.False},
		{"{}", "{fed_by_air: true}", fact.Undecided},
		{"{gas: nitrogen}", "{}", fact.Undecided},
	} {
		train := strings.Replace(offGasTrain, "{gas: oxygen, pressure: 0.5 bar(g)}", c.supply, 1)
		train = strings.Replace(train, "{rated_flow: 10 NL/min, rated_concentration: 6 wt %}", c.generator, 1)
		p := readOffGas(t, train, offGasWater+"V-1: {route: [CT-1.vent, VV-1, KO-1.inlet]}\nV-2: {route: [KO-1.gas_outlet, OD-1, AV-1]}")
		assert.Equal(t, c.want, p.truth("oxygen_fed", "OD-1").Value, "%s %s", c.supply, c.generator)
	}
}

func TestVesselOnASharedVentHeader(t *testing.T) {
	p := readOffGas(t, offGasTrain+`
CT-2: {contact_vessel: {pressurised: true}}
HD-1: {header: {}}
HV-1: {hand_valve: {}, normal_position: open}
`, offGasWater+`
V-1: {route: [CT-1.vent, HD-1.inlet]}
V-4: {route: [CT-2.vent, HV-1, HD-1.inlet_2]}
V-5: {route: [HD-1.outlet, VV-1, KO-1.inlet]}
V-2: {route: [KO-1.gas_outlet, OD-1, AV-1]}
`)
	for _, tag := range []string{"CT-1", "CT-2"} {
		assert.Equal(t, fact.True, p.truth("vents_by_itself", tag).Value, tag)
		assert.Equal(t, fact.False, p.truth("water_leaves_by_vent", tag).Value, tag)
	}
	assert.Equal(t, fact.Exactly(0), p.number("shut_offs", "CT-1"))
	assert.Equal(t, fact.Exactly(1), p.number("shut_offs", "CT-2"), "a hand valve that is not locked")
}

func TestOrificeLimitsTheBurst(t *testing.T) {
	orifice := offGasTrain + `
RO-1: {restriction_orifice: {bore: 1 mm}}
`
	const rest = `
V-2: {route: [KO-1.gas_outlet, OD-1, AV-1]}
D-1: {route: [KO-1.drain, DR-1]}
`
	free := readOffGas(t, offGasTrain, offGasWater+"V-1: {route: [CT-1.vent, VV-1, KO-1.inlet]}"+rest)
	limited := readOffGas(t, orifice, offGasWater+"V-1: {route: [CT-1.vent, VV-1, RO-1, KO-1.inlet]}"+rest)
	// A quarter of the area passes a quarter of the flow.
	assert.InEpsilon(t, free.number("burst_flow", "KO-1").Low/4, limited.number("burst_flow", "KO-1").Low, 1e-9)
	assert.InEpsilon(t, free.number("burst_flow", "KO-1").Low, limited.number("burst_flow", "VV-1").Low, 1e-9)
	// A way around the orifice undoes it.
	around := readOffGas(t, orifice+`
TE-1: {tee: {}}
TE-2: {tee: {}}
`, offGasWater+`
V-1: {route: [CT-1.vent, VV-1, TE-1, RO-1, TE-2, KO-1.inlet]}
V-4: {route: [TE-1.branch, TE-2.branch]}`+rest)
	assert.Equal(t, free.number("burst_flow", "KO-1"), around.number("burst_flow", "KO-1"))
	unknown := readOffGas(t, strings.Replace(orifice, "bore: 1 mm", "", 1), offGasWater+"V-1: {route: [CT-1.vent, VV-1, RO-1, KO-1.inlet]}"+rest)
	n := unknown.number("burst_flow", "KO-1")
	assert.Equal(t, free.number("burst_flow", "KO-1").High, n.High)
	assert.Zero(t, n.Low)
	assert.NotEmpty(t, n.Missing)
}

// What keeps a barrier from being counted may lie elsewhere than at the barrier: each datum is named once, with its component.
func TestWhatIsNotStatedOfABarrierIsNamedByItsPath(t *testing.T) {
	p := readOffGas(t, `
OG-1: {ozone_generator: {}}
XV-1: {actuated_valve: {}, fail_position: closed}
CV-1: {check_valve: {}}
INJ-1: {venturi_injector: {}}
P-1: {pump: {}}
WI-1: {boundary: {service: process_water, role: source}}
WO-1: {boundary: {service: ozonated_water, role: sink}}`, `
G-1: {route: [OG-1.ozone_gas, XV-1, CV-1, INJ-1.suction], service: ozone_gas}
W-1: {route: [WI-1, P-1, INJ-1.motive_inlet], service: process_water}
W-2: {route: [INJ-1.outlet, WO-1], service: ozonated_water}`)
	d, at := p.definition("path_without_trap", "OG-1")
	note := ""
	for _, step := range d.Path(p.world, at) {
		if step.Note != "" {
			note = step.Note
		}
	}
	assert.Contains(t, note, "P-1.pump.shut_off_head")
	assert.Contains(t, note, "WI-1.boundary.max_pressure")
	assert.Equal(t, 1, strings.Count(note, "XV-1.actuated_valve.reverse_shut_off_pressure"))
}
