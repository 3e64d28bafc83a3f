package fact_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/fact"
)

// Two generators share a gas manifold and two injectors: each must stop on the loss of either injector's water.
const twin = `
components:
  OG-1: {ozone_generator: {}}
  OG-2: {ozone_generator: {}}
  LT-1: {liquid_trap: {}}
  LT-2: {liquid_trap: {}}
  MG-1: {header: {}}
  INJ-1: {venturi_injector: {}}
  INJ-2: {venturi_injector: {}}
  WI-1: {boundary: {service: process_water, role: source}}
  FS-1: {flow_switch: {acts: [{condition: loss_of_water_flow, stops: [OG-1, OG-2]}]}}
  FS-2: {flow_switch: {acts: [{condition: loss_of_water_flow, stops: OG-1}]}}
  TE-1: {tee: {}}
  LS-1: {level_switch: {watches: LT-1, acts: [{condition: high_trap_level, stops: OG-1}]}}
  LS-2: {level_switch: {watches: LT-2, acts: [{condition: high_trap_level, stops: OG-1}]}}
lines:
  W-2: {route: [TE-1.branch, FS-2, INJ-2.motive_inlet]}
  W-1: {route: [WI-1, TE-1.inlet>outlet, FS-1, INJ-1.motive_inlet]}
  G-4: {route: [MG-1.outlet_2, INJ-2.suction]}
  G-3: {route: [MG-1.outlet, INJ-1.suction]}
  G-2: {route: [OG-2.ozone_gas, LT-2, MG-1.inlet_2]}
  G-1: {route: [OG-1.ozone_gas, LT-1, MG-1.inlet]}
`

func TestTripsOfTwoGeneratorsOnAManifold(t *testing.T) {
	a := drawn(t, twin)
	assert.Equal(t, fact.True, a.truth("stops_on_lost_water", "OG-1").Value)
	assert.Equal(t, fact.False, a.truth("stops_on_lost_water", "OG-2").Value)
	assert.Equal(t, "INJ-2", a.text("lacks_lost_water_trip", "OG-2"))
	assert.Equal(t, []string{"INJ-2", "FS-2", "OG-2"}, a.way("lost_water_trip_path", "OG-2"))
	assert.Equal(t, fact.True, a.truth("stops_on_trap_level", "OG-1").Value, "its own trap")
	assert.Equal(t, fact.False, a.truth("stops_on_trap_level", "OG-2").Value, "the switch on its trap stops the other one")
	assert.Equal(t, "LT-2", a.text("lacks_trap_level_trip", "OG-2"))
	assert.Equal(t, fact.False, a.truth("meets_pot_level", "OG-1").Value)
	assert.Equal(t, fact.True, a.truth("stops_on_pot_level", "OG-1").Value, "nowhere it could arise")
}

// Stopping all power supplies of a cell stops it; stopping one of two does not. An instrument out of use stops nothing.
func TestWhatStopsAGenerator(t *testing.T) {
	const frame = `
components:
  OG-1: {ozone_generator: {power_supplies: [PSU-1, PSU-2]}}
  PSU-1: {power_supply: {}}
  PSU-2: {power_supply: {}}
  ES-1: {emergency_stop: {acts: [{condition: emergency_stop, stops: %STOPS%}]}%USE%}
`
	for _, c := range []struct {
		stops, use string
		want       fact.Verdict
	}{
		{"[PSU-1, PSU-2]", "", fact.True},
		{"PSU-1", "", fact.False},
		{"OG-1", "", fact.True},
		{"[OG-1, PSU-1]", "", fact.True},
		{"OG-1", ", out_of_use: true", fact.False},
		{"[]", "", fact.False},
	} {
		a := drawn(t, replace(replace(frame, "%STOPS%", c.stops), "%USE%", c.use))
		assert.Equal(t, c.want, a.truth("stops_on_emergency_stop", "OG-1").Value, "%s%s", c.stops, c.use)
	}
}

// A loop through a tank brings ozonated water back to the pump: the injector that it passes there is no place where the gas
// of the generator arises anew, and the switch in the loop sees its water.
func TestTripsInARecirculationLoop(t *testing.T) {
	a := drawn(t, `
components:
  OG-1: {ozone_generator: {}}
  INJ-1: {venturi_injector: {}}
  T-1: {open_tank: {}}
  P-1: {pump: {}}
  FS-1: {flow_switch: {acts: [{condition: loss_of_water_flow, stops: OG-1}]}}
  KO-1: {knock_out_pot: {}}
lines:
  W-1: {route: [T-1.outlet, P-1, FS-1, INJ-1.motive_inlet]}
  W-2: {route: [INJ-1.outlet, T-1.inlet]}
  V-1: {route: [T-1.vent, KO-1.inlet]}
  G-1: {route: [OG-1.ozone_gas, INJ-1.suction]}
`)
	assert.Equal(t, fact.True, a.truth("stops_on_lost_water", "OG-1").Value)
	assert.Equal(t, fact.False, a.truth("water_passes_by", "FS-1").Value)
	assert.Equal(t, "KO-1", a.text("lacks_pot_level_trip", "OG-1"))
}

// A switch without watched tag leaves open what it watches, once for all traps.
func TestSwitchThatWatchesNothingStated(t *testing.T) {
	a := drawn(t, replace(twin, "watches: LT-2, acts: [{condition: high_trap_level, stops: OG-1}]", "acts: [{condition: high_trap_level, stops: OG-2}]"))
	told := a.truth("stops_on_trap_level", "OG-2")
	assert.Equal(t, fact.Undecided, told.Value)
	assert.Equal(t, []string{"components.LS-2.level_switch.watches"}, a.missing(told.Missing))
}

func TestPurgeIsThatOfTheCommandingController(t *testing.T) {
	const frame = `
components:
  OG-1: {ozone_generator: {}%BY%}
  ES-1: {emergency_stop: {}}
  UC-1: {controller: {purge_before: 60 s, trips: [{on: ES-1, condition: emergency_stop, stops: OG-1}]}}
  UC-2: {controller: {purge_before: 300 s, watchdog: true, trips: [{on: ES-1, condition: emergency_stop, stops: OG-1}]}}
`
	assert.InDelta(t, 300, drawn(t, replace(frame, "%BY%", "")).number("purge_before", "OG-1").High, 1e-9)
	commanded := drawn(t, replace(frame, "%BY%", ", commanded_by: UC-1"))
	assert.InDelta(t, 60, commanded.number("purge_before", "OG-1").High, 1e-9)
	after := commanded.number("purge_after", "OG-1")
	assert.Equal(t, []string{"components.UC-1.controller.purge_after"}, commanded.missing(after.Missing))
	watched := commanded.truth("controller_watched", "OG-1")
	assert.Equal(t, fact.Undecided, watched.Value)
	assert.Equal(t, []string{"components.UC-1.controller.watchdog"}, commanded.missing(watched.Missing))
}

func TestSwitchDirections(t *testing.T) {
	for _, c := range []struct{ kind, condition, right string }{
		{"flow_switch", "loss_of_water_flow", "falling"},
		{"flow_switch", "loss_of_suction", "falling"},
		{"pressure_switch", "loss_of_suction", "rising"},
		{"flow_switch", "loss_of_cooling", "falling"},
		{"temperature_switch", "loss_of_cooling", "rising"},
		{"temperature_switch", "low_bed_temperature", "falling"},
		{"temperature_switch", "high_bed_temperature", "rising"},
		{"level_switch", "high_trap_level", "rising"},
		{"level_switch", "high_pot_level", "rising"},
		{"pressure_switch", "high_pressure", "rising"},
		{"pressure_switch", "low_feed_pressure", "falling"},
	} {
		for _, acts := range []string{"rising", "falling"} {
			a := drawn(t, "components:\n  S-1: {"+c.kind+": {acts_on: "+acts+", acts: [{condition: "+c.condition+", alarm: true}]}}")
			want := fact.False
			if acts == c.right {
				want = fact.True
			}
			assert.Equal(t, want, a.truth("acts_the_right_way", "S-1").Value, "%s %s %s", c.kind, c.condition, acts)
			if want == fact.False {
				assert.Equal(t, c.right, a.text("right_way", "S-1"))
			}
		}
	}
	free := drawn(t, "components:\n  S-1: {pressure_switch: {acts_on: rising, acts: [{condition: blower_failure, alarm: true}]}}")
	assert.Equal(t, fact.True, free.truth("acts_the_right_way", "S-1").Value, "either way may prove a blower")
}

// Letters of ANSI/ISA-5.1 and IEC 62424, read in transcriptions.
func TestTagLetters(t *testing.T) {
	for _, c := range []struct {
		tag, kind, scheme, letters string
		fits                       bool
	}{
		{"PI-1", "pressure_gauge", "isa", "PI", true},
		{"12-PI-3", "pressure_gauge", "isa", "PI", true},
		{"PDI-1", "pressure_gauge", "isa", "PDI", true},
		{"TI-1", "pressure_gauge", "isa", "TI", false},
		{"FIT-7", "flow_meter", "iec", "FIT", true},
		{"GA-1", "gas_analyser", "isa", "GA", true},
		{"GA-1", "gas_analyser", "iec", "GA", false},
		{"QIA-1", "gas_analyser", "iec", "QIA", true},
		{"ME-1", "moisture_monitor", "iec", "ME", true},
		{"AE-1", "moisture_monitor", "iec", "AE", false},
		{"LSH-1", "level_switch", "iec", "LSH", true},
		{"p-1", "pressure_gauge", "isa", "", false},
		{"7", "pressure_gauge", "isa", "", false},
	} {
		a := drawn(t, "basis: {letter_scheme: "+c.scheme+"}\ncomponents:\n  "+c.tag+": {"+c.kind+": {}}")
		assert.Equal(t, c.letters, a.text("tag_letters", c.tag), c.tag)
		assert.Equal(t, c.fits, a.truth("first_letter_fits", c.tag).Value == fact.True, "%s as %s under %s", c.tag, c.kind, c.scheme)
	}
	both := drawn(t, "components:\n  LSHL-1: {level_switch: {acts_on: falling}}")
	assert.Equal(t, fact.False, both.truth("has_limit_letter", "LSHL-1").Value, "a switch with both limits says nothing about its direction")
}

// A flow switch in the cooling branch of one cell does not guard the other; one in the common main guards both.
func TestCoolingBranches(t *testing.T) {
	a := drawn(t, `
components:
  CW-1: {boundary: {service: cooling_water, role: source}}
  FS-0: {flow_switch: {acts: [{condition: loss_of_cooling, stops: OG-2}]}}
  H-1: {header: {}}
  FS-1: {flow_switch: {acts: [{condition: loss_of_cooling, stops: [OG-1, OG-2, OG-3]}]}}
  OG-1: {ozone_generator: {cooling_flow: 2 L/min}}
  OG-2: {ozone_generator: {cooling_flow: 3 L/min}}
  OG-3: {ozone_generator: {}}
lines:
  C-0: {route: [CW-1, FS-0, H-1.inlet]}
  C-1: {route: [H-1.outlet, FS-1, OG-1.cooling_inlet]}
  C-2: {route: [H-1.outlet_2, OG-2.cooling_inlet]}
  C-3: {route: [H-1.outlet_3, OG-3.cooling_inlet]}
`)
	assert.Equal(t, fact.True, a.truth("stops_on_lost_cooling", "OG-1").Value)
	assert.Equal(t, fact.True, a.truth("stops_on_lost_cooling", "OG-2").Value)
	assert.Equal(t, fact.False, a.truth("stops_on_lost_cooling", "OG-3").Value)
	assert.InDelta(t, 2e-3/60, a.number("cooling_needed", "FS-1").High, 1e-12)
	common := a.number("cooling_needed", "FS-0")
	require.Equal(t, []string{"components.OG-3.ozone_generator.cooling_flow"}, a.missing(common.Missing))
	assert.InDelta(t, 5e-3/60, common.Low, 1e-12)
}

// A line of cause and effect whose instrument sees another water is shown as such.
func TestPathSaysWhatTheControllerListsInstead(t *testing.T) {
	a := drawn(t, `
components:
  OG-1: {ozone_generator: {}}
  INJ-1: {venturi_injector: {}}
  WI-1: {boundary: {service: process_water, role: source}}
  WI-2: {boundary: {service: process_water, role: source}}
  WO-2: {boundary: {service: process_water, role: sink}}
  FS-1: {flow_switch: {}}
  UC-1: {controller: {trips: [{on: FS-1, condition: loss_of_water_flow, stops: OG-1}]}}
lines:
  W-1: {route: [WI-1, INJ-1.motive_inlet]}
  W-2: {route: [WI-2, FS-1, WO-2]}
  G-1: {route: [OG-1.ozone_gas, INJ-1.suction]}
`)
	assert.Equal(t, fact.False, a.truth("stops_on_lost_water", "OG-1").Value)
	d, at := a.find("lost_water_trip_path", "OG-1")
	var notes []string
	for _, s := range d.Path(a.world, at) {
		notes = append(notes, s.Note)
	}
	assert.Equal(t, []string{"where it arises", "acts on FS-1, which does not tell it there", "keeps running"}, notes)
}
