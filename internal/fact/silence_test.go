package fact_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/skidrule/skidrule/internal/fact"
)

// A drain that divides is kept only where both branches are, and one that runs in a circle leads nowhere.
func TestDrainsKeepAirOutOnEveryBranch(t *testing.T) {
	const text = `
basis: {atmospheric_pressure: 1 bar(a), min_water_temperature: 5 degC}
components:
  OG: {ozone_generator: {}}
  LT: {liquid_trap: {}}
  INJ: {venturi_injector: {suction_curve: [{suction_pressure: 0 bar(g), relative_flow: 1}, {suction_pressure: -0.2 bar(g), relative_flow: 0}]}}
  TE: {tee: {}}
  CV-1: {check_valve: {}}
  CV-2: {check_valve: {}}
  WS: {water_seal: {depth: 2.1 m}}
  DR-1: {drain_point: {}}
  DR-2: {drain_point: {}}
lines:
  G: {route: [OG.ozone_gas, LT, INJ.suction], service: ozone_gas}
  D-1: {route: [LT.drain, TE, CV-1, DR-1], service: drain_water}
`
	both := drawn(t, text+"  D-2: {route: [TE.branch, CV-2, DR-2], service: drain_water}\n")
	assert.Equal(t, fact.True, both.truth("drain_keeps_air_out", "LT").Value)
	assert.Equal(t, fact.True, both.truth("under_vacuum", "LT").Value)
	one := drawn(t, text+"  D-2: {route: [TE.branch, DR-2], service: drain_water}\n")
	assert.Equal(t, fact.False, one.truth("drain_keeps_air_out", "LT").Value)
	// 0.2 bar lift water by 2.04 m.
	seal := drawn(t, text+"  D-2: {route: [TE.branch, WS, DR-2], service: drain_water}\n")
	assert.Equal(t, fact.True, seal.truth("drain_keeps_air_out", "LT").Value)
	short := drawn(t, strings.ReplaceAll(text, "2.1 m", "2 m")+"  D-2: {route: [TE.branch, WS, DR-2], service: drain_water}\n")
	assert.Equal(t, fact.False, short.truth("drain_keeps_air_out", "LT").Value)
}

// Water that goes through another cell is not lost to the first one, and a way through a header of cells is none around them.
func TestCoolingWaterAroundCells(t *testing.T) {
	const text = `
components:
  CW-1: {boundary: {service: cooling_water, role: source}}
  CW-2: {boundary: {service: cooling_water, role: sink}}
  OG-1: {ozone_generator: {cooling: water}}
  OG-2: {ozone_generator: {cooling: water}}
  HX: {heat_exchanger: {}}
  T-1: {tee: {}}
  T-2: {tee: {}}
  T-3: {tee: {}}
  T-4: {tee: {}}
lines:
  C-1: {route: [CW-1, T-1, T-2, OG-1.cooling_inlet], service: cooling_water}
  C-2: {route: [OG-1.cooling_outlet, T-3, T-4, CW-2], service: cooling_water}
  C-3: {route: [T-1.branch, OG-2.cooling_inlet], service: cooling_water}
  C-4: {route: [OG-2.cooling_outlet, T-4.branch], service: cooling_water}
`
	through := drawn(t, text+"  C-5: {route: [T-2.branch, HX, T-3.branch], service: cooling_water}\n")
	assert.Equal(t, fact.False, through.truth("cooling_bypassed", "OG-1").Value)
	assert.Empty(t, through.way("cooling_bypass", "OG-1"))
	around := drawn(t, text+"  C-5: {route: [T-2.branch, T-3.branch], service: cooling_water}\n")
	assert.Equal(t, fact.True, around.truth("cooling_bypassed", "OG-1").Value)
	assert.Equal(t, fact.True, around.truth("cooling_bypassed", "OG-2").Value, "the flow switch of the main is fooled for both")
	assert.Equal(t, []string{"CW-1", "T-1", "T-2", "T-3", "T-4", "CW-2"}, around.way("cooling_bypass", "OG-1"))
}

// A part in a line of unknown service is exposed all the same when a barrier fails, and may be in a line of gas.
func TestUnknownServiceLeavesOpenWhatIsFlooded(t *testing.T) {
	const text = `
basis: {max_ambient_temperature: 20 degC, max_water_temperature: 20 degC}
components:
  OS: {gas_supply: {gas: oxygen, pressure: 0.5 bar(g)}}
  OG: {ozone_generator: {}, max_pressure: 2 bar(g)}
  CV-1: {check_valve: {}, max_pressure: 10 bar(g)}
  TE: {tee: {}, max_pressure: 10 bar(g)}
  PS: {pressure_switch: {}, max_pressure: 1 bar(g)}
  CV-2: {check_valve: {}, max_pressure: 10 bar(g)}
  INJ: {venturi_injector: {}, max_pressure: 10 bar(g)}
  WI: {boundary: {service: process_water, role: source, max_pressure: 4 bar(g)}}
  WO: {boundary: {service: ozonated_water, role: sink, max_pressure: 4 bar(g)}}
lines:
  O: {route: [OS, OG.feed_gas], service: oxygen, max_pressure: 10 bar(g)}
  G: {route: [OG.ozone_gas, CV-1, TE, CV-2, INJ.suction], service: ozone_gas, max_pressure: 10 bar(g)}
  I: {route: [TE.branch, PS], SERVICE max_pressure: 10 bar(g)}
  W-1: {route: [WI, INJ.motive_inlet], service: process_water, max_pressure: 10 bar(g)}
  W-2: {route: [INJ.outlet, WO], service: ozonated_water, max_pressure: 10 bar(g)}
`
	stated := drawn(t, strings.ReplaceAll(text, "SERVICE", "service: ozone_gas,"))
	assert.Equal(t, fact.Exactly(1), stated.number("flooded_parts", "CV-2"))
	unknown := drawn(t, strings.ReplaceAll(text, "SERVICE", ""))
	n := unknown.number("flooded_parts", "CV-2")
	assert.Equal(t, 0.0, n.Low)
	assert.GreaterOrEqual(t, n.High, 1.0)
	assert.Contains(t, unknown.missing(n.Missing), "lines.I.service")
	assert.GreaterOrEqual(t, unknown.number("exposed_parts", "CV-2").Low, 1.0)
}

// A case may be left out where no part is drawn by which it occurs.
func TestCasesThatAreLeftOut(t *testing.T) {
	const text = `
components:
  P: {pump: {}}
  OG: {ozone_generator: {}, out_of_use: true}
  UC: {controller: {}}
cases:
  blower_lost: {excluded: true, reason: none is there}
  generator_off: {excluded: true, reason: it is never on}
  purge: {excluded: true, reason: nothing purges}
  pump_stopped: {excluded: true, reason: it never stops}
  normal: {excluded: true, reason: nothing is normal}
`
	a := drawn(t, text)
	assert.Equal(t, fact.Exactly(2), a.number("excluded_cases_possible", ""))
	assert.Equal(t, "normal (every plant), pump_stopped (P)", a.text("excluded_case", ""))
}
