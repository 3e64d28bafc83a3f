package fact_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// column is the pressure under a metre of cold water in Pa: 1000 kg/m3 times standard gravity.
const column = 9806.65

func TestWaterPressesMoreBelowThanAbove(t *testing.T) {
	a := drawnAt(t, nil, `
components:
  WI: {boundary: {service: process_water, role: source, max_pressure: 1 bar(g)}, elevation: 10 m}
  P-1: {pump: {shut_off_head: 3 bar}, elevation: 2 m}
  F-1: {strainer: {}, elevation: 0 m}
  CT: {contact_vessel: {pressurised: true}, elevation: 1 m, ports: {inlet: {elevation: 1.5 m}, outlet: {elevation: 1 m}, vent: {elevation: 4 m}}}
  VV: {float_vent_valve: {}, elevation: 4.5 m}
  WO: {boundary: {service: process_water, role: sink, max_pressure: 0 bar(g)}, elevation: 0 m}
  VA: {atmosphere_vent: {location: outdoors}, elevation: 20 m}
lines:
  W-1: {route: [WI, P-1, F-1, CT.inlet], service: process_water}
  W-2: {route: [CT.outlet, WO], service: process_water}
  V-1: {route: [CT.vent, VV, VA], service: off_gas}
`)
	a.isAt("F-1", 4*bar+10*column) // all of the column from the main, and the head of the pump
	a.isAt("VV", 4*bar+6*column)   // gas has the pressure at the highest place of the water
}

func TestElevationsThatAreNotStatedWiden(t *testing.T) {
	const some = `
components:
  WI: {boundary: {service: process_water, role: source, max_pressure: 3 bar(g)}, elevation: 1 m}
  F-1: {strainer: {}}
  F-2: {strainer: {}, elevation: 1 m}
  OS: {gas_supply: {gas: oxygen, pressure: 2 bar(g)}}
  GF: {gas_filter: {}}
lines:
  W-1: {route: [WI, F-1, F-2], service: process_water}
  O-1: {route: [OS, GF], service: oxygen}
`
	a := drawnAt(t, nil, some)
	n := a.highest("F-1")
	assert.InDelta(t, 3*bar-2.5*column, n.Low, 1)
	assert.InDelta(t, 3*bar+2.5*column, n.High, 1)
	assert.Equal(t, []string{"components.F-1.elevation"}, a.missing(n.Missing))
	a.isAt("F-2", 3*bar)
	a.isAt("GF", 2*bar) // gas has no height

	none := drawnAt(t, nil, `
components:
  WI: {boundary: {service: process_water, role: source, max_pressure: 3 bar(g)}}
  F-1: {strainer: {}}
lines:
  W-1: {route: [WI, F-1], service: process_water}
`)
	n = none.highest("F-1")
	assert.InDelta(t, 3*bar-5*column, n.Low, 1)
	assert.InDelta(t, 3*bar+5*column, n.High, 1)
	assert.ElementsMatch(t, []string{"components.WI.elevation", "components.F-1.elevation"}, none.missing(n.Missing))
}

func TestReliefValveHoldsWhatStandsBelowItLess(t *testing.T) {
	a := drawnAt(t, nil, `
components:
  WI: {boundary: {service: process_water, role: source, max_pressure: 8 bar(g), liquid_flow: 10 L/min}, elevation: 0 m}
  T-1: {tee: {}, elevation: 0 m}
  F-1: {strainer: {}, elevation: 0 m}
  PSV: {relief_valve: {set_pressure: 5 bar(g), liquid_capacity: 60 L/min}, elevation: 6 m}
lines:
  W-1: {route: [WI, T-1, F-1], service: process_water}
  W-2: {route: [T-1.branch, PSV], service: process_water}
`)
	a.isAt("F-1", 5*bar+6*column)
	a.isAt("PSV", 5*bar)
}

func TestGasLiftsWater(t *testing.T) {
	a := drawnAt(t, nil, `
components:
  OS: {gas_supply: {gas: oxygen, pressure: 6 bar(g)}, elevation: 0 m}
  INJ: {venturi_injector: {}, elevation: 3 m}
  WI: {boundary: {service: process_water, role: source, max_pressure: 1 bar(g)}, elevation: 0 m}
  F-1: {strainer: {}, elevation: 0 m}
lines:
  O-1: {route: [OS, INJ.suction], service: oxygen}
  W-1: {route: [WI, F-1, INJ.motive_inlet], service: process_water}
`)
	n := a.highest("F-1")
	assert.InDelta(t, 6*bar+3*column, n.High, 1)
}
