package fact_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/skidrule/skidrule/internal/fact"
)

// TestRatingsFollowPublishedTables holds ratings at temperature against the tables that they are read from.
func TestRatingsFollowPublishedTables(t *testing.T) {
	rows := []struct {
		name, ambient, part string
		low, high           float64 // bar
	}{
		// ASME B16.5 Table 2-1.1, class 150 at 50 degC: 19.2 bar.
		{"carbon steel class 150", "50 degC", "pressure_class: class 150, body_material: carbon_steel", 19.2, 19.2},
		// ASME B16.5 Table 2-2.3, class 150 at 50 degC: 15.3 bar; 316 may be 316L.
		{"stainless class 150", "50 degC", "pressure_class: class 150, body_material: stainless_316", 15.3, 15.3},
		// Temperature factor of PVC at 110 degF: 0.50, known to 0.01.
		{"PVC at 110 degF", "110 degF", "max_pressure: 10 bar(g), body_material: pvc_u", 4.9, 5.1},
		// Temperature factor of PVC at 73 degF and below: 1.
		{"PVC in the cold", "20 degC", "max_pressure: 10 bar(g), body_material: pvc_u", 10, 10},
		// Of a part of unknown material the weakest plastic is feared and steel hoped for; in the cold both bear the same.
		{"unknown material at 110 degF", "110 degF", "max_pressure: 10 bar(g)", 4.9, 10},
		{"unknown material in the cold", "20 degC", "max_pressure: 10 bar(g)", 10, 10},
		{"PVC beyond its table", "70 degC", "max_pressure: 10 bar(g), body_material: pvc_u", 0, 0},
		// Linear between rows, and not raised below the first.
		{"between two rows", "30 degC", "pressure_table: [{temperature: 40 degC, max_pressure: 4 bar(g)}, {temperature: 20 degC, max_pressure: 8 bar(g)}]", 6, 6},
		{"below the first row", "0 degC", "pressure_table: [{temperature: 20 degC, max_pressure: 8 bar(g)}]", 8, 8},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			a := drawn(t, `
basis: {max_ambient_temperature: `+row.ambient+`}
components:
  AC: {compressor: {shut_off_pressure: 1 bar(g)}}
  V: {check_valve: {}, `+row.part+`}
  W: {check_valve: {}}
lines:
  A-1: {route: [V, W], service: air}
`)
			n := a.number("rating", "V")
			assert.InDelta(t, row.low*bar, n.Low, 0.005*bar)
			assert.InDelta(t, row.high*bar, n.High, 0.005*bar)
		})
	}
}

// TestWallOfAPipe takes NPS 2 schedule 10S of TP316L: ASME B31.3 304.1.2 inverted gives 9.55 MPa for seamless pipe.
func TestWallOfAPipe(t *testing.T) {
	a := drawn(t, `
components:
  V: {check_valve: {}}
  W: {check_valve: {}}
lines:
  A-1: {route: [V, W], service: process_water, outer_diameter: 60.33 mm, wall_thickness: 2.77 mm, allowable_stress: 115 MPa, material: stainless_316}
`)
	n := a.number("wall_rating", "A-1")
	assert.InDelta(t, 9.55e6, n.High, 0.005*9.55e6)
	assert.InDelta(t, 0.8*n.High, n.Low, 1) // welded pipe of the same wall, ASME B31.3 table 302.3.4
	// A line that states no rating bears at most that.
	rating := a.number("rating", "A-1")
	assert.Equal(t, n.High, rating.High)
	assert.Zero(t, rating.Low)
	assert.Equal(t, []string{"lines.A-1.max_pressure"}, a.missing(rating.Missing))

	// Pipe of carbon steel may be furnace-butt-welded.
	a = drawn(t, `
components:
  V: {check_valve: {}}
  W: {check_valve: {}}
lines:
  A-1: {route: [V, W], service: process_water, outer_diameter: 60.33 mm, wall_thickness: 2.77 mm, allowable_stress: 115 MPa, material: carbon_steel}
`)
	steel := a.number("wall_rating", "A-1")
	assert.InDelta(t, n.High, steel.High, 1)
	assert.InDelta(t, 0.6*n.High, steel.Low, 1)
}

// TestSurgeInSteelAndPlastic takes the speed of a pressure wave in a thin-walled pipe by Korteweg, with the axial stress of a pipe with
// joints and of one that is held at one end (Wylie and Streeter), and the rise by Joukowsky.
func TestSurgeInSteelAndPlastic(t *testing.T) {
	const bulk, density, bore, wall = 2.25e9, 995.7, 0.0431, 0.0026
	for material, pipe := range map[string]struct{ soft, stiff, poisson float64 }{
		"stainless_316": {200e9, 200e9, 0.3}, "carbon_steel": {200e9, 200e9, 0.3}, "pvc_u": {2.76e9, 2.96e9, 0.41}, "pvdf": {}, "": {},
	} {
		stated := ""
		if material != "" {
			stated = ", material: " + material
		}
		a := drawn(t, `
components:
  WI: {boundary: {service: process_water, role: source, max_pressure: 2 bar(g), liquid_flow: 6 m3/h}}
  XV: {actuated_valve: {actuator: solenoid_direct, response_time: 20 ms}}
  WO: {boundary: {service: process_water, role: sink, max_pressure: 1 bar(g)}}
lines:
  W-1: {route: [WI, XV, WO], service: process_water, length: 20 m, inner_diameter: 43.1 mm, wall_thickness: 2.6 mm`+stated+`}
`)
		a.world.StatedOnly = true
		rise := a.number("surge_rise", "XV")
		joukowsky := density * 6 / 3600 / (math.Pi / 4 * bore * bore)
		if pipe.stiff == 0 {
			assert.InEpsilon(t, joukowsky*math.Sqrt(bulk/density), rise.High, 1e-6, "the wave of a rigid pipe bounds it")
			assert.Equal(t, []string{"lines.W-1.material"}, a.missing(rise.Missing), material)
			continue
		}
		speed := func(axial, modulus float64) float64 {
			return math.Sqrt(bulk / density / (1 + axial*bulk*bore/(modulus*wall)))
		}
		assert.InEpsilon(t, joukowsky*speed(1, pipe.soft), rise.Low, 1e-6, material)
		assert.InEpsilon(t, joukowsky*speed(1-pipe.poisson/2, pipe.stiff), rise.High, 1e-6, material)
		assert.Empty(t, rise.Missing, material)
	}
}

func TestTwoReliefValvesAndAValveBetween(t *testing.T) {
	const text = `
components:
  AC: {compressor: {shut_off_pressure: 8 bar(g), curve: [{flow: 0 NL/min, pressure: 8 bar(g)}, {flow: 100 NL/min, pressure: 2 bar(g)}]}}
  R-1: {gas_receiver: {}}
  R-2: {gas_receiver: {}}
  HV: {hand_valve: {type: ball}, normal_position: open}
  PSV-1: {relief_valve: {set_pressure: 6 bar(g), gas_capacity: 200 NL/min}}
  PSV-2: {relief_valve: {set_pressure: 4 bar(g), gas_capacity: 200 NL/min}}
lines:
  A-1: {route: [AC, R-1, HV, R-2], service: air}
  A-2: {route: [R-1.relief, PSV-1], service: air}
  A-3: {route: [R-2.relief, PSV-2], service: air}
`
	a := drawn(t, text)
	a.isAt("AC", 6*bar) // the lower valve can be shut off from it
	a.isAt("R-1", 6*bar)
	assert.InDelta(t, 6*bar, a.highest("HV").High, 1)
	a.isAt("R-2", 4*bar)
}

func TestReliefValveOfUnknownSetPressureLeavesThePressureOpen(t *testing.T) {
	a := drawn(t, `
components:
  AC: {compressor: {shut_off_pressure: 8 bar(g), curve: [{flow: 0 NL/min, pressure: 8 bar(g)}, {flow: 100 NL/min, pressure: 2 bar(g)}]}}
  R-1: {gas_receiver: {}}
  PSV-1: {relief_valve: {gas_capacity: 200 NL/min}}
lines:
  A-1: {route: [AC, R-1], service: air}
  A-2: {route: [R-1.relief, PSV-1], service: air}
`)
	n := a.highest("R-1")
	assert.InDelta(t, 8*bar, n.High, 1)
	assert.Less(t, n.Low, 8*bar)
	assert.Contains(t, a.missing(n.Missing), "components.PSV-1.relief_valve.set_pressure")
}

// TestRegulatorBesideASource sets a regulator that may hold 1 to 5 bar beside a source of 2 bar: it counts at its upper end alone.
func TestRegulatorBesideASource(t *testing.T) {
	for _, set := range []struct{ low, high, least, most float64 }{{1, 5, 2, 5}, {3, 5, 3, 5}, {0.5, 1, 2, 2}} {
		a := drawn(t, fmt.Sprintf(`
components:
  GS: {gas_supply: {gas: oxygen, pressure: 8 bar(g)}}
  PR: {pressure_regulator: {lock_up: 0 mbar}}
  BS: {boundary: {service: oxygen, role: source, max_pressure: 2 bar(g)}}
  TE: {tee: {}}
  G: {ozone_generator: {}}
lines:
  O-1: {route: [GS, PR, TE, G.feed_gas], service: oxygen}
  O-2: {route: [BS, TE.branch], service: oxygen}
assumptions:
  - {path: components.PR.pressure_regulator.set_pressure, low: %g bar(g), high: %g bar(g), reason: "as set on site", assumed_by: a test}
`, set.low, set.high))
		n := a.highest("TE")
		assert.InDelta(t, set.least*bar, n.Low, 1, "%v", set)
		assert.InDelta(t, set.most*bar, n.High, 1, "%v", set)
	}
}

func TestRegulatorsInALoopEnd(t *testing.T) {
	a := drawn(t, `
components:
  NS: {gas_supply: {gas: nitrogen, pressure: 10 bar(g)}}
  T-1: {tee: {}}
  T-2: {tee: {}}
  PR-1: {pressure_regulator: {set_pressure: 3 bar(g), lock_up: 0 bar}}
  PR-2: {pressure_regulator: {set_pressure: 5 bar(g), lock_up: 0 bar}}
  PSV-1: {relief_valve: {set_pressure: 4 bar(g), gas_capacity: 1 NL/min}}
  T-3: {tee: {}}
lines:
  N-0: {route: [NS, T-1.branch], service: nitrogen}
  N-1: {route: [T-1, PR-1, T-2, PR-2, T-1.inlet], service: nitrogen}
  N-2: {route: [T-2.branch, PSV-1], service: nitrogen}
`)
	assert.False(t, math.IsNaN(a.number("gas_to_relieve", "PSV-1").High))
	a.isAt("T-1", 10*bar)
}

func TestVacuumEndsWhereAirComesIn(t *testing.T) {
	const injector = `
  INJ: {venturi_injector: {suction_curve: [{suction_pressure: 0 bar(g), relative_flow: 1}, {suction_pressure: -0.6 bar(g), relative_flow: 0}]}}
`
	t.Run("a compressor lets air in", func(t *testing.T) {
		a := drawn(t, `
components:`+injector+`
  AC: {compressor: {}}
  F-1: {gas_filter: {}}
  HV: {hand_valve: {type: ball}, normal_position: open}
  F-2: {gas_filter: {}}
lines:
  A-1: {route: [AC, F-1, HV, F-2, INJ.suction], service: air}
`)
		assert.Zero(t, a.number("lowest_pressure", "F-1").Low)
		assert.InDelta(t, -0.6*bar, a.number("lowest_pressure", "F-2").Low, 1)
		assert.Equal(t, []string{"INJ", "F-2"}, a.way("lowest_pressure_path", "F-2"))
	})
	t.Run("a check valve turned round holds it", func(t *testing.T) {
		a := drawn(t, `
components:`+injector+`
  F-1: {gas_filter: {}}
  CV: {check_valve: {}}
  F-2: {gas_filter: {}}
lines:
  A-1: {route: [F-1, CV.outlet>inlet, F-2, INJ.suction], service: air}
`)
		assert.Zero(t, a.number("lowest_pressure", "F-1").Low)
		assert.InDelta(t, -0.6*bar, a.number("lowest_pressure", "F-2").Low, 1)
	})
	t.Run("without a suction curve down to the vapour pressure", func(t *testing.T) {
		a := drawn(t, `
basis: {atmospheric_pressure: 1 bar(a), min_water_temperature: 20 degC}
components:
  INJ: {venturi_injector: {}}
  F-2: {gas_filter: {}}
lines:
  A-1: {route: [F-2, INJ.suction], service: air}
`)
		n := a.number("lowest_pressure", "F-2")
		// Vapour pressure of water at 20 degC: 2339 Pa, IAPWS-IF97.
		assert.InDelta(t, -1e5+2339, n.Low, 5)
		assert.Contains(t, a.missing(n.Missing), "components.INJ.venturi_injector.suction_curve")
	})
}

func TestOnlyTheWorstPartOfEachFaultIsNamed(t *testing.T) {
	a := drawn(t, `
basis: {max_ambient_temperature: 20 degC, max_water_temperature: 20 degC}
components:
  WI: {boundary: {service: process_water, role: source, max_pressure: 6 bar(g)}}
  F-1: {strainer: {}, max_pressure: 5 bar(g)}
  F-2: {strainer: {}, max_pressure: 2 bar(g)}
  F-3: {strainer: {}, max_pressure: 7 bar(g)}
lines:
  W-1: {route: [F-2, F-3], service: process_water, max_pressure: 10 bar(g)}
  W-2: {route: [WI, F-1, F-2], service: process_water, max_pressure: 10 bar(g)}
`)
	n := a.number("overloaded_parts", "WI")
	assert.Equal(t, 2.0, n.Low)
	assert.Equal(t, 2.0, n.High)
	assert.Equal(t, "F-2", a.text("overloaded_part", "WI"))
	assert.Equal(t, []string{"WI", "F-1", "F-2"}, a.way("overloaded_path", "WI"))
}

func TestEndsOfFittingsFollowTheirLines(t *testing.T) {
	a := drawn(t, `
components:
  T-1: {tee: {}}
  T-2: {tee: {}, ports: {branch: {size: OD 8 mm, connection: tube_fitting}}}
  F-1: {strainer: {}, ports: {inlet: {size: DN 40, connection: flange}}}
  F-2: {strainer: {}, ports: {outlet: {size: 1 1/2 in, connection: flange}}}
  PI: {pressure_gauge: {}, ports: {process: {size: OD 8 mm, connection: tube_fitting}}}
lines:
  W-1: {route: [F-2, T-1, T-2, F-1], service: process_water, size: DN 40, connection: flange}
  W-2: {route: [T-1.branch, F-1.drain], service: process_water, size: DN 25, connection: flange}
  I-1: {route: [T-2.branch, PI], service: process_water, size: OD 8 mm, connection: tube_fitting}
`)
	assert.Zero(t, a.number("mismatched_ends", "T-2").High)
	assert.Zero(t, a.number("mismatched_ends", "PI").High)
	assert.Zero(t, a.number("mismatched_ends", "F-2").High)
	assert.Positive(t, a.number("mismatched_ends", "T-1").Low)
	n := a.number("mismatched_ends", "F-1")
	assert.Zero(t, n.Low)
	assert.Equal(t, []string{"components.F-1.ports.drain.connection", "components.F-1.ports.drain.size"}, a.missing(n.Missing))
}

func TestShutInLiquidLeavesThroughCheckValves(t *testing.T) {
	open := drawn(t, `
components:
  WI: {boundary: {service: process_water, role: source}}
  HV-1: {hand_valve: {}, normal_position: open}
  CV-1: {check_valve: {}}
  CV-2: {check_valve: {}}
  WO: {boundary: {service: process_water, role: sink}}
lines:
  W-1: {route: [WI, HV-1], service: process_water}
  W-2: {route: [HV-1, CV-1], service: process_water}
  W-3: {route: [CV-1, CV-2], service: process_water}
  W-4: {route: [CV-2, WO], service: process_water}
`)
	for _, line := range []string{"W-2", "W-3"} {
		assert.Equal(t, fact.False, open.truth("heads_shut_in_liquid", line).Value, line)
	}
	shut := drawn(t, `
components:
  WI: {boundary: {service: process_water, role: source}}
  HV-1: {hand_valve: {}, normal_position: open}
  CV-1: {check_valve: {}}
  HV-2: {hand_valve: {}, normal_position: open}
  WO: {boundary: {service: process_water, role: sink}}
lines:
  W-1: {route: [WI, HV-1], service: process_water}
  W-2: {route: [HV-1, CV-1], service: process_water}
  W-3: {route: [CV-1, HV-2], service: process_water}
  W-4: {route: [HV-2, WO], service: process_water}
`)
	for _, line := range []string{"W-2", "W-3"} {
		assert.Equal(t, fact.True, shut.truth("heads_shut_in_liquid", line).Value, line)
	}
}
