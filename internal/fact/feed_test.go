package fact_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/fluid"
)

// The dew point at the cell follows from the mole fraction of water, which stays: a property of the tables, not a constant.
func TestFeedDewPointIsCarriedToThePressureOfTheCell(t *testing.T) {
	a := drawn(t, `
basis: {atmospheric_pressure: 1 bar(a)}
components:
  OS-1: {gas_supply: {gas: oxygen, dew_point: -40 degC, pressure: 9 bar(g), min_pressure: 9 bar(g)}}
  OG-1: {ozone_generator: {min_cell_pressure: 0 bar(g), max_cell_pressure: 1 bar(g)}}
lines:
  O-1: {route: [OS-1, OG-1.feed_gas], service: oxygen}
`)
	n := a.number("feed_dew_point", "OG-1")
	low, err := fluid.DewPointAtPressure(233.15, 10e5, 1e5)
	require.NoError(t, err)
	high, err := fluid.DewPointAtPressure(233.15, 10e5, 2e5)
	require.NoError(t, err)
	assert.InDelta(t, low, n.Low, 1e-6)
	assert.InDelta(t, high, n.High, 1e-6)
	assert.Empty(t, n.Missing)
}

// Without pressures the dew point where the gas was dried is an upper bound, unless a machine raises the pressure again.
func TestFeedDewPointWithoutPressures(t *testing.T) {
	const supply = `
components:
  OS-1: {gas_supply: {gas: oxygen, dew_point: -60 degC}}
  AC-1: {compressor: {oil_free: true}}
  OG-1: {ozone_generator: {}}
lines:
`
	n := drawn(t, supply+"  O-1: {route: [OS-1, OG-1.feed_gas]}").number("feed_dew_point", "OG-1")
	assert.InDelta(t, 213.15, n.High, 1e-9)
	assert.True(t, math.IsInf(n.Low, -1))
	boosted := drawn(t, supply+"  O-1: {route: [OS-1, AC-1, OG-1.feed_gas]}").number("feed_dew_point", "OG-1")
	assert.True(t, math.IsInf(boosted.High, 1))
}

// The dampest of several sources decides, whatever the order of components and lines.
func TestDampestSourceOfAManifold(t *testing.T) {
	a := drawn(t, `
components:
  OG-1: {ozone_generator: {}}
  MF-1: {header: {}}
  OC-2: {oxygen_concentrator: {product_dew_point: -45 degC}}
  OC-1: {oxygen_concentrator: {product_dew_point: -60 degC}}
lines:
  O-3: {route: [MF-1.outlet, OG-1.feed_gas]}
  O-2: {route: [OC-2.outlet, MF-1.inlet_2]}
  O-1: {route: [OC-1.outlet, MF-1.inlet]}
`)
	assert.InDelta(t, 228.15, a.number("feed_dew_point", "OG-1").High, 1e-9)
	assert.Equal(t, []string{"OC-2", "MF-1", "OG-1"}, a.way("dampest_path", "OG-1"))
}

func TestFeedThatComesFromNowhere(t *testing.T) {
	a := drawn(t, `
components:
  OG-1: {ozone_generator: {}}
  HV-1: {hand_valve: {}}
lines:
  O-1: {route: [HV-1, OG-1.feed_gas]}
`)
	for _, name := range []string{"feed_oil", "feed_particle", "feed_dew_point"} {
		n := a.number(name, "OG-1")
		assert.True(t, n.Unknown(), name)
		assert.Equal(t, []string{"components.OG-1"}, a.missing(n.Missing), name)
	}
	assert.Equal(t, fact.Undecided, a.truth("feed_dried", "OG-1").Value)
}

// A loop in the feed neither hangs the search nor washes oil out.
func TestOilGoesRoundInALoop(t *testing.T) {
	a := drawn(t, `
components:
  AC-1: {compressor: {oil_free: false}}
  TE-1: {tee: {}}
  GF-1: {gas_filter: {grade: coalescing, residual_oil: 0.01 mg/m3}}
  TE-2: {tee: {}}
  OG-1: {ozone_generator: {}}
lines:
  A-1: {route: [AC-1, TE-1.inlet>outlet, GF-1, TE-2.inlet>outlet, OG-1.feed_gas]}
  A-2: {route: [TE-2.branch, TE-1.branch]}
`)
	n := a.number("feed_oil", "OG-1")
	assert.InDelta(t, 0.01e-6, n.Low, 1e-15)
	assert.InDelta(t, 0.01e-6, n.High, 1e-15)
	assert.Equal(t, fact.True, a.truth("droplets_filtered", "AC-1").Value)
	assert.Equal(t, fact.False, a.truth("vapour_filtered", "AC-1").Value)
}

// A by-pass around the filter takes its worth, unless it is locked shut.
func TestBypassAroundTheFilter(t *testing.T) {
	const frame = `
components:
  AC-1: {compressor: {oil_free: false}}
  TE-1: {tee: {}}
  GF-1: {gas_filter: {grade: coalescing, residual_oil: 0.01 mg/m3, pore_size: 0.01 um}}
  TE-2: {tee: {}}
  OG-1: {ozone_generator: {}}
  HV-1: {hand_valve: {}, normal_position: closed, locked: %LOCKED%}
lines:
  A-1: {route: [AC-1, TE-1.inlet>outlet, GF-1, TE-2.inlet>outlet, OG-1.feed_gas]}
  A-2: {route: [TE-1.branch, HV-1, TE-2.branch]}
`
	open := drawn(t, replace(frame, "%LOCKED%", "false"))
	assert.True(t, math.IsInf(open.number("feed_oil", "OG-1").Low, 1))
	assert.Equal(t, []string{"AC-1", "TE-1", "HV-1", "TE-2", "OG-1"}, open.way("oil_path", "OG-1"))
	locked := drawn(t, replace(frame, "%LOCKED%", "true"))
	assert.InDelta(t, 0.01e-6, locked.number("feed_oil", "OG-1").High, 1e-15)
	assert.InDelta(t, 0.01e-6, locked.number("feed_particle", "OG-1").High, 1e-15, "0.01 um")
}

// A filter that does not say what it holds back may hold it back.
func TestFilterOfUnknownWorth(t *testing.T) {
	a := drawn(t, `
components:
  AC-1: {compressor: {}}
  GF-1: {gas_filter: {}}
  OG-1: {ozone_generator: {}}
lines:
  A-1: {route: [AC-1, GF-1, OG-1.feed_gas]}
`)
	n := a.number("feed_oil", "OG-1")
	assert.Zero(t, n.Low)
	assert.True(t, math.IsInf(n.High, 1))
	assert.Equal(t, []string{"components.AC-1.compressor.oil_free", "components.GF-1.gas_filter.residual_oil"}, a.missing(n.Missing))
	filtered := a.truth("droplets_filtered", "AC-1")
	assert.Equal(t, fact.Undecided, filtered.Value)
	assert.Equal(t, []string{"components.GF-1.gas_filter.grade"}, a.missing(filtered.Missing))
}

// Check valves that point outward keep the room's air out; those that point inward do not.
func TestAirOfTheRoom(t *testing.T) {
	const frame = `
components:
  OC-1: {oxygen_concentrator: {}}
  TE-1: {tee: {}}
  CV-1: {check_valve: {}}
  AV-1: {atmosphere_vent: {}}
  PSV-1: {relief_valve: {}}
  TE-2: {tee: {}}
  AV-2: {atmosphere_vent: {}}
  OG-1: {ozone_generator: {mode: vacuum_drawn}}
lines:
  O-1: {route: [OC-1.outlet, TE-1.inlet>outlet, TE-2.inlet>outlet, OG-1.feed_gas]}
  O-2: {route: [TE-1.branch, %STOP%, AV-1]}
  O-3: {route: [TE-2.branch, PSV-1, AV-2]}
`
	assert.Equal(t, fact.False, drawn(t, replace(frame, "%STOP%", "CV-1")).truth("feed_open_to_air", "OG-1").Value)
	turned := drawn(t, replace(frame, "%STOP%", "CV-1.outlet>inlet"))
	assert.Equal(t, fact.True, turned.truth("feed_open_to_air", "OG-1").Value)
	assert.Equal(t, []string{"AV-1", "CV-1", "TE-1", "TE-2", "OG-1"}, turned.way("air_path", "OG-1"))
}

// A meter behind the cell counts as one before it; one that several cells share shows none of them.
func TestFlowMeters(t *testing.T) {
	a := drawn(t, `
components:
  OC-1: {oxygen_concentrator: {}}
  FM-0: {flow_meter: {}}
  MF-1: {header: {}}
  OG-1: {ozone_generator: {}}
  OG-2: {ozone_generator: {}}
  FM-2: {flow_meter: {}}
  INJ-1: {venturi_injector: {}}
  INJ-2: {venturi_injector: {}}
lines:
  O-1: {route: [OC-1.outlet, FM-0, MF-1.inlet]}
  O-2: {route: [MF-1.outlet, OG-1.feed_gas]}
  O-3: {route: [MF-1.outlet_2, OG-2.feed_gas]}
  G-1: {route: [OG-1.ozone_gas, INJ-1.suction]}
  G-2: {route: [OG-2.ozone_gas, FM-2, INJ-2.suction]}
`)
	assert.Equal(t, fact.False, a.truth("flow_shown", "OG-1").Value)
	assert.Equal(t, fact.True, a.truth("flow_shown_for_several", "OG-1").Value)
	assert.Equal(t, fact.True, a.truth("flow_shown", "OG-2").Value)
}

// Condensate drains hold air by a float, a seal, a timed valve or a valve that stands shut.
func TestCondensateDrains(t *testing.T) {
	const frame = `
components:
  AC-1: {compressor: {}}
  AR-1: {gas_receiver: {}}
  XX-1: %PART%
  DR-1: {drain_point: {}}
lines:
  A-1: {route: [AC-1, AR-1]}
  D-1: {route: [AR-1.drain, XX-1, DR-1]}
`
	for part, want := range map[string]fact.Verdict{
		"{float_drain: {gas_seal: true}}":              fact.True,
		"{float_drain: {gas_seal: false}}":             fact.False,
		"{float_drain: {}}":                            fact.Undecided,
		"{water_seal: {refill: self_filling}}":         fact.True,
		"{actuated_valve: {}}":                         fact.True,
		"{hand_valve: {}, normal_position: closed}":    fact.True,
		"{hand_valve: {}, normal_position: throttled}": fact.False,
		"{hand_valve: {}}":                             fact.Undecided,
		"{union: {}}":                                  fact.False,
	} {
		assert.Equal(t, want, drawn(t, replace(frame, "%PART%", part)).truth("condensate_drain_holds_air", "AR-1").Value, part)
	}
}
