package operate_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/network"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// drawn reads a small design from components and lines.
func drawn(t *testing.T, components, lines string) *skidrulev1.Design {
	t.Helper()
	text := "skidrule: v1\nname: drawn\nbasis: {atmospheric_pressure: 1 bar(a), water_temperature: 15 degC, min_ambient_temperature: 20 degC, " +
		"max_ambient_temperature: 20 degC}\ncomponents:\n" + indent(components) + "lines:\n" + indent(lines)
	f, err := designfile.Read("drawn.yaml", []byte(text))
	require.NoError(t, err)
	return f.Design
}

func indent(text string) string {
	var b strings.Builder
	for line := range strings.Lines(strings.TrimSpace(text) + "\n") {
		b.WriteString("  " + strings.TrimSpace(line) + "\n")
	}
	return b.String()
}

const (
	gasLine  = "service: off_gas, inner_diameter: 20 mm, length: 1 m, roughness: 0.01 mm, loss_coefficient: 1"
	pureLine = "service: cooling_water, inner_diameter: 20 mm, length: 0 m, loss_coefficient: 1"
)

// sealed is a gas line with a water seal to a drain on a branch.
func sealed(t *testing.T, pressure, depth string) *skidrulev1.Design {
	return drawn(t, `
		IN: {boundary: {service: off_gas, role: either, pressure: `+pressure+`}, elevation: 1 m}
		T-1: {tee: {loss_coefficient: 1}, elevation: 1 m}
		WS-1: {water_seal: {`+depth+`}, elevation: 1 m}
		DR-1: {drain_point: {leads_to: open_air_gap}, elevation: 0 m}
		HV-1: {hand_valve: {flow_coefficient: 0.5 Kv}, normal_position: open, elevation: 1 m}
		OUT: {atmosphere_vent: {}, elevation: 1 m}`, `
		G-1: {route: [IN, T-1], `+gasLine+`}
		G-2: {route: [T-1.branch, WS-1], `+gasLine+`}
		G-3: {route: [WS-1, DR-1], `+gasLine+`}
		G-4: {route: [T-1, HV-1, OUT], `+gasLine+`}`)
}

// A water seal holds up to its depth; above it, gas bubbles through and the column is all that it holds back. Hydrostatics.
func TestWaterSeal(t *testing.T) {
	rho, err := fluid.WaterDensity(288.15, 2e5)
	require.NoError(t, err)
	a := solveAll(t, sealed(t, "20 mbar(g)", "depth: 300 mm"))
	require.Zero(t, a.flow("normal", "WS-1.inlet", "WS-1.outlet").Flow.Best)
	require.Equal(t, network.Shut, a.flow("normal", "WS-1.inlet", "WS-1.outlet").State)

	a = solveAll(t, sealed(t, "60 mbar(g)", "depth: 300 mm"))
	w := a.flow("normal", "WS-1.inlet", "WS-1.outlet")
	require.True(t, w.Known)
	require.Greater(t, w.Flow.Best, 0.01)
	column := rho * network.Gravity * 0.3
	require.InDelta(t, column, a.gauge("normal", "WS-1.inlet")-a.gauge("normal", "WS-1.outlet"), 5)

	// Under vacuum a seal that is not deep enough draws air in.
	a = solveAll(t, sealed(t, "-60 mbar(g)", "depth: 300 mm"))
	w = a.flow("normal", "WS-1.inlet", "WS-1.outlet")
	require.Less(t, w.Flow.Best, -0.01)
	require.InDelta(t, -column, a.gauge("normal", "WS-1.inlet")-a.gauge("normal", "WS-1.outlet"), 5)

	// Without its depth nothing is known where there is a difference, by name; with none to hold back it does not matter.
	a = solveAll(t, sealed(t, "20 mbar(g)", ""))
	q := a.state("normal", "WS-1.inlet")
	require.Len(t, q.Beyond, 1)
	require.Equal(t, "components.WS-1.water_seal.depth", q.Beyond[0].Path(a.Plant))
	a = solveAll(t, sealed(t, "0 bar(g)", ""))
	require.Empty(t, a.state("normal", "WS-1.inlet").Beyond)

	// What lies behind a seal that holds matters nowhere else.
	d := sealed(t, "20 mbar(g)", "depth: 300 mm")
	for _, l := range d.Lines {
		if l.Tag == "G-3" {
			l.LengthM = nil
		}
	}
	require.True(t, solveAll(t, d).state("normal", "WS-1.inlet").Known)
}

func breakerOn(t *testing.T, state string) *skidrulev1.Design {
	return drawn(t, `
		IN: {boundary: {service: air, role: either, pressure: 0 bar(g)}, elevation: 1 m}
		HV-1: {hand_valve: {flow_coefficient: 0.05 Kv}, normal_position: open, elevation: 1 m}
		T-1: {tee: {loss_coefficient: 1}, elevation: 1 m}
		VB-1: {vacuum_breaker: {`+state+`}, elevation: 1 m, ports: {atmosphere: {reason: open to the room}}}
		OUT: {boundary: {service: air, role: either, pressure: -0.5 bar(g)}, elevation: 1 m}
		HV-2: {hand_valve: {flow_coefficient: 0.2 Kv}, normal_position: open, elevation: 1 m}`, `
		G-1: {route: [IN, HV-1, T-1], `+strings.Replace(gasLine, "off_gas", "air", 1)+`}
		G-2: {route: [T-1, HV-2, OUT], `+strings.Replace(gasLine, "off_gas", "air", 1)+`}
		G-3: {route: [VB-1.process, T-1.branch], `+strings.Replace(gasLine, "off_gas", "air", 1)+`}`)
}

// A vacuum breaker holds its set point as long as its capacity lets it, and lets in no more than that.
func TestVacuumBreaker(t *testing.T) {
	way := func(a *answer) float64 { return a.flow("normal", "VB-1.atmosphere", "VB-1.process").Flow.Best }
	shut := solveAll(t, breakerOn(t, "opening_pressure: -0.49 bar(g), capacity: 30 NL/min"))
	require.Zero(t, way(shut))
	low := shut.gauge("normal", "T-1.inlet")

	holds := solveAll(t, breakerOn(t, "opening_pressure: -0.1 bar(g), capacity: 1000 NL/min"))
	require.InDelta(t, -0.1e5, holds.gauge("normal", "VB-1.process"), 1)
	require.Positive(t, way(holds))

	const normal = 22.41397e-3 * 60 * 1000 // NL/min for a mol/s
	small := solveAll(t, breakerOn(t, "opening_pressure: -0.1 bar(g), capacity: 5 NL/min"))
	p := small.gauge("normal", "VB-1.process")
	require.Less(t, p, -0.1e5)
	require.Greater(t, p, low)
	require.Greater(t, way(small)*normal, 5.0, "more difference, more air")
	require.Less(t, way(small)*normal, 5*math.Sqrt(-p/0.1e5)+1e-6)

	// Without its capacity the state is unknown where it opens, by name, and known where it does not.
	a := solveAll(t, breakerOn(t, "opening_pressure: -0.1 bar(g)"))
	require.Equal(t, "components.VB-1.vacuum_breaker.capacity", a.state("normal", "T-1.inlet").Missing[0].Path(a.Plant))
	require.InDelta(t, low, solveAll(t, breakerOn(t, "opening_pressure: -0.49 bar(g)")).gauge("normal", "T-1.inlet"), 1e-3)
	a = solveAll(t, breakerOn(t, "capacity: 5 NL/min"))
	require.Equal(t, "components.VB-1.vacuum_breaker.opening_pressure", a.state("normal", "T-1.inlet").Beyond[0].Path(a.Plant))
}

// A rupture disc stays shut; a case that reaches its burst pressure is named.
func TestRuptureDisc(t *testing.T) {
	disc := func(pressure string) *answer {
		return solveAll(t, drawn(t, `
			IN: {boundary: {service: process_water, role: either, pressure: `+pressure+`}, elevation: 1 m}
			T-1: {tee: {loss_coefficient: 1}, elevation: 1 m}
			RD-1: {rupture_disc: {burst_pressure: 5 bar(g)}, elevation: 1 m, ports: {outlet: {reason: to the floor}}}
			OUT: {boundary: {service: process_water, role: either, pressure: 1 bar(g)}, elevation: 1 m}`, `
			W-1: {route: [IN, T-1], `+strings.Replace(pureLine, "cooling_water", "process_water", 1)+`}
			W-2: {route: [T-1, OUT], `+strings.Replace(pureLine, "cooling_water", "process_water", 1)+`}
			W-3: {route: [T-1.branch, RD-1], `+strings.Replace(pureLine, "cooling_water", "process_water", 1)+`}`))
	}
	a := disc("4 bar(g)")
	require.Empty(t, a.state("normal", "RD-1.inlet").Beyond)
	require.Empty(t, a.flow("normal", "RD-1.inlet", "RD-1.outlet").Beyond)
	a = disc("12 bar(g)")
	require.Greater(t, a.gauge("normal", "RD-1.inlet"), 5e5)
	require.Equal(t, "its burst pressure is reached", a.flow("normal", "RD-1.inlet", "RD-1.outlet").Beyond)
	require.Equal(t, "components.RD-1.rupture_disc.burst_pressure", a.state("normal", "RD-1.inlet").Beyond[0].Path(a.Plant))
	_, _, missing, ok := a.Pressure(a.port("RD-1.inlet"), a.at("normal"))
	assert.False(t, ok)
	assert.NotEmpty(t, missing)
}

// Cooling passages, both sides of heat exchangers and demisters lose their stated drop at their stated flow and a quarter of it at half
// the flow; what is not stated is unknown by name.
func TestStatedDrops(t *testing.T) {
	for _, c := range []struct {
		name, in, out, spec, line, flow string
		drop                            float64 // Pa at the stated flow
		lacks                           string
	}{
		{"cooling", "OG-1.cooling_inlet", "OG-1.cooling_outlet", "ozone_generator: {cooling_flow: 2 L/min, cooling_pressure_drop: 0.3 bar}",
			"cooling_water", "liquid_flow: %g L/min", 0.3e5, "ozone_generator.cooling_pressure_drop"},
		{"process side", "HX-1.inlet", "HX-1.outlet", "heat_exchanger: {rated_flow: 2 L/min, pressure_drop: 0.2 bar}",
			"process_water", "liquid_flow: %g L/min", 0.2e5, "heat_exchanger.pressure_drop"},
		{"service side", "HX-1.service_inlet", "HX-1.service_outlet", "heat_exchanger: {service_flow: 2 L/min, service_pressure_drop: 0.1 bar}",
			"cooling_water", "liquid_flow: %g L/min", 0.1e5, "heat_exchanger.service_pressure_drop"},
		{"gas side", "HX-1.inlet", "HX-1.outlet", "heat_exchanger: {rated_gas_flow: 2 NL/min, pressure_drop: 2 mbar}",
			"off_gas", "gas_flow: %g NL/min", 200, "heat_exchanger.pressure_drop"},
		{"demister", "DM-1.inlet", "DM-1.outlet", "demister: {rated_flow: 2 NL/min, pressure_drop: 2 mbar}",
			"off_gas", "gas_flow: %g NL/min", 200, "demister.pressure_drop"},
	} {
		tag, _, _ := strings.Cut(c.in, ".")
		loss := func(flow float64, spec string) *answer {
			line := "service: " + c.line + ", inner_diameter: 50 mm, length: 0 m, loss_coefficient: 0"
			return solveAll(t, drawn(t, `
				IN: {boundary: {service: `+c.line+`, role: source, `+fmt.Sprintf(c.flow, flow)+`}, elevation: 1 m}
				`+tag+`: {`+spec+`, elevation: 1 m}
				OUT: {boundary: {service: `+c.line+`, role: sink, pressure: 0 bar(g)}, elevation: 1 m}`, `
				L-1: {route: [IN, `+c.in+`], `+line+`}
				L-2: {route: [`+c.out+`, OUT], `+line+`}`))
		}
		full, half := loss(2, c.spec), loss(1, c.spec)
		require.InEpsilon(t, c.drop, full.gauge("normal", c.in)-full.gauge("normal", c.out), 1e-3, c.name)
		require.InEpsilon(t, c.drop/4, half.gauge("normal", c.in)-half.gauge("normal", c.out), 5e-3, c.name)
		kind, _, _ := strings.Cut(c.spec, ":")
		none := loss(2, kind+": {}")
		q := none.state("normal", c.in)
		require.False(t, q.Known, c.name)
		paths := ""
		for _, d := range q.Missing {
			paths += d.Path(none.Plant) + " "
		}
		require.Contains(t, paths, "components."+tag+"."+c.lacks, c.name)
	}
}
