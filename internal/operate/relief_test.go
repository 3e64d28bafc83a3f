package operate_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/operate"
)

// A relief valve that the pressure holds wide open passes what its orifice does: Cd A √(2 Δp/ρ), Torricelli's theorem with a
// coefficient of discharge. Its pipes are wide and short.
func TestReliefValvePassesWhatItsOrificeDoes(t *testing.T) {
	f, err := designfile.Read("relief.yaml", []byte(`skidrule: v1
name: a main into a relief valve
basis: {atmospheric_pressure: 1.013 bar(a), water_temperature: 15 degC}
components:
  WI-1: {boundary: {service: process_water, role: source, pressure: 6 bar(g)}, elevation: 0 m}
  PSV-1: {relief_valve: {set_pressure: 2 bar(g), orifice_area: 20 mm2, discharge_coefficient: 0.65}, elevation: 0 m}
  WO-1: {boundary: {service: drain_water, role: sink, pressure: 0 bar(g)}, elevation: 0 m}
lines:
  W-1: {route: [WI-1, PSV-1], service: process_water, size: DN 100, inner_diameter: 100 mm, length: 0.1 m, roughness: 0.01 mm, loss_coefficient: 0}
  W-2: {route: [PSV-1, WO-1], service: drain_water, size: DN 100, inner_diameter: 100 mm, length: 0.1 m, roughness: 0.01 mm, loss_coefficient: 0}
`))
	require.NoError(t, err)
	a := solveAll(t, f.Design)
	w := a.flow("normal", "WI-1.process", "PSV-1.inlet")
	require.True(t, w.Known, "%s %v", w.Why, w.Missing)
	assert.InEpsilon(t, 0.65*20e-6*math.Sqrt(2*6e5/999.1), w.Flow.Best, 1e-3)
}

// The height of a port is its own where it has one, else that of its component.
func TestHeightOfAPort(t *testing.T) {
	f, err := designfile.Read("heights.yaml", []byte(`skidrule: v1
components:
  CT-1: {contact_vessel: {}, elevation: 1 m, ports: {outlet: {elevation: 0.3 m}}}
  CT-2: {contact_vessel: {}}
`))
	require.NoError(t, err)
	p, _ := resolve(t, f.Design)
	heights := map[string]float64{}
	for i := range p.Ports {
		if z, ok := operate.Height(p, int32(i)); ok {
			heights[p.PortLabel(int32(i))] = z
		}
	}
	assert.Equal(t, 0.3, heights["CT-1.outlet"])
	assert.Equal(t, 1.0, heights["CT-1.inlet"])
	assert.NotContains(t, heights, "CT-2.inlet")
}
