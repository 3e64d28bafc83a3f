package fact_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestOxygenOfEverySource asks what comes to a cell from each kind of source: air of 20.946 vol % (ISO 2533), what is stated, and the
// range of several.
func TestOxygenOfEverySource(t *testing.T) {
	const air = 0.20946
	for _, row := range []struct {
		name, source string
		low, high    float64
		missing      string
	}{
		{"compressor", "{compressor: {curve: [{flow: 0 NL/min, pressure: 8 bar(g)}, {flow: 100 NL/min, pressure: 2 bar(g)}]}}", air, air, ""},
		{"blower", "{blower: {rated_flow: 20 NL/min}}", air, air, ""},
		{"air in bottles", "{gas_supply: {gas: air}}", air, air, ""},
		{"nitrogen", "{gas_supply: {gas: nitrogen}}", 0, 0, ""},
		{"oxygen", "{gas_supply: {gas: oxygen, purity: 95 vol %}}", 0.95, 0.95, ""},
		{"gas not stated", "{gas_supply: {purity: 95 vol %}}", 0, 0, "components.S.gas_supply.gas"},
		{"air from beyond", "{boundary: {role: source, service: air}}", air, air, ""},
		{"instrument air", "{boundary: {role: source, service: instrument_air}}", air, air, ""},
		{"oxygen from beyond", "{boundary: {role: source, service: oxygen}}", 0, 0, "components.S"},
		{"concentrator above its load", "{oxygen_concentrator: {rated_purity: 93 vol %, rated_product_flow: 10 NL/min}}", 0.93, 1, "components.S.oxygen_concentrator.product"},
		{"concentrator below its load", "{oxygen_concentrator: {rated_purity: 93 vol %, rated_product_flow: 4 NL/min}}", 0, 1, "components.S.oxygen_concentrator.product"},
	} {
		t.Run(row.name, func(t *testing.T) {
			port := "S.outlet"
			if strings.Contains(row.source, "boundary") {
				port = "S"
			}
			a := sized(t, warmBasis, `
				S: `+row.source+`
				G: {ozone_generator: `+vacuumCell+`}`, `
				O-1: {route: [`+port+`, G.feed_gas], length: 0 m, loss_coefficient: 0}`, "")
			low, high := a.number("lowest_purity", "G"), a.number("highest_purity", "G")
			if row.missing != "" {
				assert.Contains(t, a.missing(low.Missing), row.missing)
			} else {
				assert.Empty(t, a.missing(append(low.Missing, high.Missing...)))
			}
			if row.high > 0 || row.missing == "" {
				assert.InDelta(t, row.low, low.Low, 1e-4)
				assert.InDelta(t, row.high, high.High, 1e-4)
			} else {
				assert.True(t, low.Unknown())
			}
		})
	}
	both := sized(t, warmBasis, `
		S1: {gas_supply: {gas: oxygen, purity: 99 vol %}}
		S2: {gas_supply: {gas: oxygen, purity: 90 vol %}}
		M: {header: {}}
		G: {ozone_generator: `+vacuumCell+`}`, `
		O-1: {route: [S1, M.inlet], length: 0 m, loss_coefficient: 0}
		O-2: {route: [S2, M.inlet_2], length: 0 m, loss_coefficient: 0}
		O-3: {route: [M.outlet, G.feed_gas], length: 0 m, loss_coefficient: 0}`, "")
	assert.InDelta(t, 0.90, both.number("lowest_purity", "G").Low, 1e-12)
	assert.InDelta(t, 0.99, both.number("highest_purity", "G").High, 1e-12)
}

// TestCoolantOfACell asks for the warmest of what cools a cell.
func TestCoolantOfACell(t *testing.T) {
	const ambient, water = "basis: {max_ambient_temperature: 35 degC, max_water_temperature: 18 degC}", "water"
	for _, row := range []struct {
		name, cooling, source string
		kelvin                float64
		missing               string
	}{
		{"air of the room", "air", "{boundary: {role: source, service: cooling_water, temperature: 10 degC}}", 308.15, ""},
		{"water of one temperature", water, "{boundary: {role: source, service: cooling_water, temperature: 10 degC}}", 283.15, ""},
		{"water of two", water, "{boundary: {role: source, service: cooling_water, temperature: 10 degC, max_temperature: 25 degC}}", 298.15, ""},
		{"water of none", water, "{boundary: {role: source, service: cooling_water}}", 0, "components.C.boundary.max_temperature"},
		{"water of the plant", water, "{open_tank: {}}", 291.15, ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			port := "C"
			if row.name == "water of the plant" {
				port = "C.outlet"
			}
			a := sized(t, ambient, `
				C: `+row.source+`
				G: {ozone_generator: {cooling: `+row.cooling+`}}
				D: {drain_point: {leads_to: open_air_gap}}`, `
				C-1: {route: [`+port+`, G.cooling_inlet], service: cooling_water}
				C-2: {route: [G.cooling_outlet, D], service: cooling_water}`, "")
			n := a.number("coolant_temperature", "G")
			if row.missing != "" {
				assert.Equal(t, []string{row.missing}, a.missing(n.Missing))
				return
			}
			assert.Empty(t, n.Missing)
			assert.InDelta(t, row.kelvin, n.Low, 1e-9)
			assert.InDelta(t, row.kelvin, n.High, 1e-9)
		})
	}
}

// TestStreamsEndWhereTheDesignSaysSo draws water off the trunk of an injector in several ways: at what takes none the pressure before
// the injector is known, at what takes an amount that follows from pressures unknown here it is not.
func TestStreamsEndWhereTheDesignSaysSo(t *testing.T) {
	const lines = "X-1: {route: [H.outlet_9, X], length: 0 m, loss_coefficient: 0}"
	const beyond = "X: {boundary: {role: sink, service: process_water, pressure: 0 bar(g)}, elevation: 0 m}\n"
	for _, row := range []struct {
		name, more, lines string
		known             bool
	}{
		{"junction without demand", "X: {junction: {}}", lines, true},
		{"junction that takes water", "X: {junction: {demand: 2 m3/h}}", lines, false},
		{"part of unknown kind", "X: {other: {}}", strings.ReplaceAll(lines, ", X]", ", X.side]"), false},
		{"three-way valve turned away", beyond + "TV: {three_way_valve: {position: to_b}}", "X-1: {route: [H.outlet_9, TV.common]}\nX-2: {route: [TV.port_a, X]}", true},
		{"three-way valve turned to it", beyond + "TV: {three_way_valve: {position: to_a}}", "X-1: {route: [H.outlet_9, TV.common]}\nX-2: {route: [TV.port_a, X]}", false},
		{"three-way valve turned to it by its other port", beyond + "TV: {three_way_valve: {position: to_b}}", "X-1: {route: [H.outlet_9, TV.common]}\nX-2: {route: [TV.port_b, X]}", false},
		{"three-way valve turned away by its other port", beyond + "TV: {three_way_valve: {position: to_a}}", "X-1: {route: [H.outlet_9, TV.common]}\nX-2: {route: [TV.port_b, X]}", true},
		{"three-way valve of unknown position", beyond + "TV: {three_way_valve: {}}", "X-1: {route: [H.outlet_9, TV.common]}\nX-2: {route: [TV.port_b, X]}", false},
	} {
		a := sized(t, warmBasis, trunk(1, row.more), trunkLines(1, row.lines), "")
		a.world.StatedOnly = true
		assert.Equal(t, row.known, a.number("lowest_inlet_pressure", "I1").Known(), row.name)
	}
}
