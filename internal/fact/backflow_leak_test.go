package fact_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestLeakRunsAgainstTheVacuum takes a trap two metres below the water that leaks to it, in a line that keeps the vacuum of its
// injector: hydrostatics, and Kv·√Δp of IEC 60534-2-1.
func TestLeakRunsAgainstTheVacuum(t *testing.T) {
	a := drawnAt(t, nil, `
components:
  OS: {gas_supply: {gas: oxygen, pressure: 0 bar(g)}, elevation: 1 m}
  OG: {ozone_generator: {}, elevation: 3 m}
  LT: {liquid_trap: {drain_principle: float, gas_seal: true}, elevation: 1 m}
  CV: {check_valve: {flow_coefficient: 0.5 Kv}, elevation: 3 m}
  INJ: {venturi_injector: {suction_curve: [{suction_pressure: 0 bar(g), relative_flow: 1}, {suction_pressure: -0.6 bar(g), relative_flow: 0}]}, elevation: 3 m}
  WI: {boundary: {service: process_water, role: source, max_pressure: 4 bar(g)}, elevation: 3 m}
  WO: {boundary: {service: ozonated_water, role: sink, max_pressure: 1 bar(g)}, elevation: 3 m}
lines:
  O-1: {route: [OS, OG.feed_gas], service: oxygen}
  G-1: {route: [OG.ozone_gas, LT, CV, INJ.suction], service: ozone_gas}
  W-1: {route: [WI, INJ.motive_inlet], service: process_water}
  W-2: {route: [INJ.outlet, WO], service: ozonated_water}
`)
	water := 4*bar + 2*column
	assert.InDelta(t, water, a.number("leak_pressure", "LT").High, 1)
	assert.InDelta(t, water+0.6*bar, a.number("leak_difference", "LT").High, 1)
	assert.InEpsilon(t, 0.5/3600*math.Sqrt((water+0.6*bar)/bar), a.number("failed_valve_flow", "LT").High, 1e-9)
}
