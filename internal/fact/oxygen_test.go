package fact_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/fact"
)

// Closed form: v = n R T/(p A). The limit is that of EIGA Doc 13/20 for impingement sites, read in a transcription.
func TestOxygenVelocity(t *testing.T) {
	a := drawn(t, `
basis: {atmospheric_pressure: 1 bar(a), max_ambient_temperature: 300 K}
components:
  OS-1: {gas_supply: {gas: oxygen, pressure: 99 bar(g), min_pressure: 39 bar(g)}}
  PRV-1: {pressure_regulator: {set_pressure: 3 bar(g)}}
  TE-1: {tee: {}}
  OG-1: {ozone_generator: {max_flow: 0.01 mol/s}}
  OG-2: {ozone_generator: {max_flow: 0.03 mol/s}}
lines:
  O-1: {route: [OS-1, PRV-1], service: oxygen, inner_diameter: 6 mm}
  O-2: {route: [PRV-1, TE-1.inlet], service: oxygen, inner_diameter: 6 mm}
  O-3: {route: [TE-1.outlet, OG-1.feed_gas], service: oxygen, inner_diameter: 6 mm}
  O-4: {route: [TE-1.branch, OG-2.feed_gas], service: oxygen, inner_diameter: 6 mm}
`)
	area := math.Pi / 4 * 0.006 * 0.006
	for tag, want := range map[string]struct{ flow, pressure, limit float64 }{
		"O-1": {0.04, 40e5, 45e6 / 40e5},
		"O-2": {0.04, 0.21e6, 30},
		"O-3": {0.01, 0.21e6, 30},
		"O-4": {0.03, 0.21e6, 30},
	} {
		require.Equal(t, fact.True, a.truth("carries_oxygen_under_pressure", tag).Value, tag)
		v := a.number("oxygen_velocity", tag)
		assert.InEpsilon(t, want.flow*8.314462618*300/(want.pressure*area), v.High, 1e-6, tag)
		assert.InEpsilon(t, want.limit, a.number("oxygen_velocity_limit", tag).High, 1e-9, tag)
	}
}

// Without a size nothing is known of the velocity but that it is not below zero.
func TestOxygenVelocityWithoutSize(t *testing.T) {
	a := drawn(t, `
components:
  OC-1: {oxygen_concentrator: {}}
  OG-1: {ozone_generator: {}}
lines:
  O-1: {route: [OC-1.outlet, OG-1.feed_gas]}
`)
	v := a.number("oxygen_velocity", "O-1")
	assert.Zero(t, v.Low)
	assert.True(t, math.IsInf(v.High, 1))
	assert.Contains(t, a.missing(v.Missing), "lines.O-1.inner_diameter")
	assert.Equal(t, fact.Undecided, a.truth("carries_oxygen_under_pressure", "O-1").Value)
}

// Oxygen stands before a regulator and in dead legs; not in the compressed air of a concentrator, behind the water, or in
// nitrogen that a check valve keeps apart.
func TestWhereOxygenStands(t *testing.T) {
	a := drawn(t, `
components:
  AC-1: {compressor: {}}
  OC-1: {oxygen_concentrator: {}}
  PRV-1: {pressure_regulator: {}}
  TE-1: {tee: {}}
  PG-1: {pressure_gauge: {}}
  NS-1: {gas_supply: {gas: nitrogen}}
  CV-1: {check_valve: {}}
  OG-1: {ozone_generator: {}}
  LT-1: {liquid_trap: {}}
  FD-1: {float_drain: {}}
  DR-1: {drain_point: {}}
  INJ-1: {venturi_injector: {}}
  CT-1: {contact_vessel: {}}
  OD-1: {ozone_destruct: {}}
  BL-1: {blower: {}}
  AV-1: {atmosphere_vent: {}}
  TE-2: {tee: {}}
lines:
  A-1: {route: [AC-1, OC-1]}
  O-1: {route: [OC-1.outlet, PRV-1, TE-1.inlet>outlet, TE-2.inlet>outlet, OG-1.feed_gas]}
  O-2: {route: [TE-1.branch, PG-1]}
  N-1: {route: [NS-1, CV-1, TE-2.branch]}
  G-1: {route: [OG-1.ozone_gas, LT-1, INJ-1.suction]}
  D-1: {route: [LT-1.drain, FD-1, DR-1]}
  W-1: {route: [INJ-1.outlet, CT-1.inlet]}
  V-1: {route: [CT-1.vent, OD-1]}
  V-2: {route: [OD-1.outlet, BL-1, AV-1]}
`)
	for tag, want := range map[string]bool{
		"AC-1": false, "OC-1": true, "PRV-1": true, "PG-1": true, "NS-1": false, "CV-1": true, "OG-1": true, "LT-1": true,
		"A-1": false, "O-2": true, "D-1": false, "G-1": true, "V-1": false, "BL-1": false,
	} {
		assert.Equal(t, want, a.truth("in_oxygen", tag).Value == fact.True, tag)
	}
	assert.Equal(t, fact.True, a.truth("moves_oxygen", "BL-1").Value, "the off-gas is oxygen-rich")
	assert.Equal(t, fact.False, a.truth("moves_oxygen", "AC-1").Value)
}

// A gas that is not stated leaves open what stands behind it.
func TestSupplyOfUnknownGas(t *testing.T) {
	a := drawn(t, `
components:
  OS-1: {gas_supply: {}}
  OG-1: {ozone_generator: {}}
  CV-1: {check_valve: {}}
  INJ-1: {venturi_injector: {}}
lines:
  O-1: {route: [OS-1, OG-1.feed_gas]}
  G-1: {route: [OG-1.ozone_gas, CV-1, INJ-1.suction]}
`)
	in := a.truth("in_oxygen", "CV-1")
	assert.Equal(t, fact.Undecided, in.Value)
	assert.Equal(t, []string{"components.OS-1.gas_supply.gas"}, a.missing(in.Missing))
	assert.Equal(t, fact.Undecided, a.truth("keeps_oxygen", "").Value)
}

// An exhaust may run in a circle, divide, or end in the drawing's edge.
func TestEndsOfTheExhaust(t *testing.T) {
	const frame = `
components:
  OC-1: {oxygen_concentrator: {}}
  TE-1: {tee: {}}
  EV-1: {atmosphere_vent: {location: outdoors}}
  EV-2: {atmosphere_vent: {location: %WHERE%}}
lines:
  E-1: {route: [OC-1.exhaust, TE-1.inlet>outlet, EV-1]}
  E-2: {route: [TE-1.branch, EV-2]}
`
	assert.Equal(t, fact.True, drawn(t, replace(frame, "%WHERE%", "exhaust_system")).truth("exhaust_leads_out", "OC-1").Value)
	indoors := drawn(t, replace(frame, "%WHERE%", "indoors"))
	assert.Equal(t, fact.False, indoors.truth("exhaust_leads_out", "OC-1").Value)
	assert.Equal(t, []string{"OC-1", "TE-1", "EV-2"}, indoors.way("exhaust_path", "OC-1"))
	circle := drawn(t, `
components:
  OC-1: {oxygen_concentrator: {}}
  TE-1: {tee: {}}
lines:
  E-1: {route: [OC-1.exhaust, TE-1.inlet>outlet, TE-1.branch]}
`)
	assert.Equal(t, fact.False, circle.truth("exhaust_leads_out", "OC-1").Value)
}
