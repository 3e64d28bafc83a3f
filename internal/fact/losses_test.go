package fact_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestWaterLosesInEveryKindOfPart sends 6 m3/h through one part and asks what comes behind it, of stated data alone and of the solved
// case: Kv by IEC 60534-2-1, of water of 15 degC; loss coefficients by the velocity head in a bore of 50 mm; a drop stated at a flow with
// the square of it; that of a heat exchanger as it is stated.
func TestWaterLosesInEveryKindOfPart(t *testing.T) {
	const (
		density = 1000.0
		flow    = 6.0 / 3600
		kv      = 1e5 * density / 999.1 // Pa at a flow of Kv
	)
	head := func(bore float64) float64 { return density * math.Pow(flow/(math.Pi/4*bore*bore), 2) / 2 }
	for _, row := range []struct {
		name, part  string
		least, most float64 // drop in Pa
	}{
		{"three-way valve", "{three_way_valve: {flow_coefficient: 12 Kv}}", kv / 4, kv / 4},
		{"back-pressure valve", "{back_pressure_valve: {flow_coefficient: 12 Kv}}", kv / 4, kv / 4},
		{"flow switch", "{flow_switch: {flow_coefficient: 12 Kv}}", kv / 4, kv / 4},
		{"check valve", "{check_valve: {flow_coefficient: 12 Kv, opening_pressure: 50 mbar}}", kv/4 + 5e3, kv/4 + 5e3},
		{"strainer by its Kv", "{strainer: {flow_coefficient: 12 Kv}}", kv / 4, kv / 4},
		{"strainer by its loss", "{strainer: {loss_coefficient: 30}}", 30 * head(0.05), 30 * head(0.05)},
		{"adapter", "{adapter: {loss_coefficient: 30}}", 30 * head(0.05), 30 * head(0.05)},
		{"static mixer", "{static_mixer: {loss_coefficient: 30}}", 30 * head(0.05), 30 * head(0.05)},
		{"reaction vessel", "{reaction_vessel: {loss_coefficient: 30}}", 30 * head(0.05), 30 * head(0.05)},
		{"liquid filter", "{liquid_filter: {pressure_drop: 100 mbar, rated_flow: 12 m3/h}}", 2.5e3, 2.5e3},
		{"flow meter by its drop", "{flow_meter: {pressure_drop: 100 mbar, liquid_range_high: 12 m3/h}}", 2.5e3, 2.5e3},
		{"flow meter by its Kv", "{flow_meter: {flow_coefficient: 12 Kv, pressure_drop: 100 mbar, liquid_range_high: 12 m3/h}}", kv / 4, kv / 4},
		{"heat exchanger", "{heat_exchanger: {pressure_drop: 100 mbar}}", 1e4, 1e4},
		{"orifice", "{restriction_orifice: {bore: 25 mm, discharge_coefficient: 0.6}}", head(0.025) / 0.36, head(0.025) / 0.36},
		// Between a linear valve and an equal-percentage one of rangeability 50.
		{"half open valve", "{hand_valve: {flow_coefficient: 24 Kv, opening: 50 %}, normal_position: open}", kv / 4, kv / 16 * 50},
		{"throttled valve", "{hand_valve: {flow_coefficient: 24 Kv, opening: 50 %}, normal_position: throttled}", kv / 4, kv / 16 * 50},
		// Hardly open, the equal-percentage one passes more: 0.02·50^0.01 of its Kv.
		{"hardly open valve", "{hand_valve: {flow_coefficient: 1200 Kv, opening: 1 %}, normal_position: throttled}", kv / 4 / math.Pow(2*math.Pow(50, 0.01), 2), kv / 4},
	} {
		t.Run(row.name, func(t *testing.T) {
			ask := func(stated bool) (least, most float64) {
				a := sized(t, warmBasis, `
					WI: {boundary: {role: source, service: process_water, pressure: 4 bar(g)}, elevation: 0 m}
					X: `+row.part+`
					I: `+plain()+`
					WO: {boundary: {role: sink, service: ozonated_water, pressure: 0.5 bar(g)}, elevation: 0 m}`, `
					W-1: {route: [WI, X], length: 0 m, loss_coefficient: 0, inner_diameter: 50 mm}
					W-2: {route: [X, I.motive_inlet], length: 0 m, loss_coefficient: 0, inner_diameter: 50 mm}
					W-3: {route: [I.outlet, WO], length: 0 m, loss_coefficient: 0}`, "")
				a.world.StatedOnly = stated
				low, high := a.number("lowest_inlet_pressure", "I"), a.number("highest_inlet_pressure", "I")
				assert.Empty(t, a.missing(append(low.Missing, high.Missing...)))
				return 4e5 - high.High, 4e5 - low.Low
			}
			least, most := ask(true)
			assert.InEpsilon(t, row.least, least, 1e-9, "the least drop")
			assert.InEpsilon(t, row.most, most, 1e-9, "the greatest drop")
			// The solved case takes water of its own temperature, up to half a thousandth lighter.
			least, most = ask(false)
			assert.Greater(t, least, row.least*0.999, "solved")
			assert.Less(t, most, row.most*1.001, "solved")
		})
	}
}

// TestGasLosesInEveryKindOfPart draws 5 NL/min of gas of 32 to 33.7 g/mol at 20 degC from 1 bar through one part: isothermal flow where
// a coefficient is stated, a drop stated at a flow with the square of it, and others as they are stated.
func TestGasLosesInEveryKindOfPart(t *testing.T) {
	const (
		amount = 5e-3 / 60 * 101325 / (8.314462618 * 273.15) // mol/s
		mass   = 0.0337
	)
	// p1² - p2² = k·G²·R·T/M
	isothermal := func(k, bore float64) float64 {
		g := amount * mass / (math.Pi / 4 * bore * bore)
		return 1e5 - math.Sqrt(1e10-k*g*g*8.314462618*293.15/mass)
	}
	// IEC 60534-2-1 (2011), compressible flow, with a ratio of 0.7 at which a valve chokes.
	valve := func(kv float64) float64 {
		m := amount * mass * 3600 / kv
		wanted := m * m * 1e5 / (999.1 * 1e10 * mass / (8.314462618 * 293.15))
		x := wanted
		for range 20 {
			x = wanted / math.Pow(1-x/(3*0.7), 2)
		}
		return 1e5 * x
	}
	for _, row := range []struct {
		name, part string
		drop       float64 // Pa
	}{
		{"nothing", "{junction: {}}", 0},
		{"three-way valve", "{three_way_valve: {flow_coefficient: 0.1 Kv}}", valve(0.1)},
		{"check valve", "{check_valve: {flow_coefficient: 0.1 Kv, opening_pressure: 20 mbar}}", valve(0.1) + 2e3},
		{"flow meter by its drop", "{flow_meter: {pressure_drop: 100 mbar, gas_range_high: 10 NL/min}}", 2.5e3},
		{"filter", "{gas_filter: {pressure_drop: 100 mbar, rated_flow: 10 NL/min}}", 2.5e3},
		{"adapter", "{adapter: {loss_coefficient: 30}}", isothermal(30, 0.004)},
		{"orifice", "{restriction_orifice: {bore: 2 mm, discharge_coefficient: 0.6}}", isothermal(1/0.36, 0.002)},
		{"heat exchanger", "{heat_exchanger: {pressure_drop: 20 mbar}}", 2e3},
		// One that is set on site counts as wide open.
		{"throttled valve", "{hand_valve: {flow_coefficient: 0.1 Kv, opening: 10 %}, normal_position: throttled}", valve(0.1)},
	} {
		t.Run(row.name, func(t *testing.T) {
			a := sized(t, warmBasis, `
				OS: {boundary: {role: source, service: oxygen, pressure: 0 bar(g), min_pressure: 0 bar(g)}}
				G: {ozone_generator: `+vacuumCell+`}
				X: `+row.part+`
				I: `+plain()+`
				WI: {boundary: {role: source, service: process_water, pressure: 3 bar(g)}, elevation: 0 m}
				WO: {boundary: {role: sink, service: ozonated_water, pressure: 0.5 bar(g)}, elevation: 0 m}`, `
				O-1: {route: [OS, G.feed_gas], length: 0 m, loss_coefficient: 0}
				G-1: {route: [G.ozone_gas, X], length: 0 m, loss_coefficient: 0, inner_diameter: 4 mm}
				G-2: {route: [X, I.suction], length: 0 m, loss_coefficient: 0}
				W-1: {route: [WI, I.motive_inlet], length: 0 m, loss_coefficient: 0}
				W-2: {route: [I.outlet, WO], length: 0 m, loss_coefficient: 0}`, "")
			a.world.StatedOnly = true
			left := a.number("suction_pressure_left", "G")
			assert.Empty(t, a.missing(left.Missing))
			assert.InDelta(t, row.drop, -left.Low, 1e-6*row.drop)
		})
	}
}
