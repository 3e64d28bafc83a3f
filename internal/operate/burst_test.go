package operate_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/unitop"
)

// bursts solves the burst of the vent of the demo at a gauge pressure.
func bursts(t *testing.T, drop, gauge float64) (*operate.Burst, int32, *answer) {
	t.Helper()
	p, cases := resolve(t, read(t, demo))
	c, ok := p.FindComponent("OD-1")
	require.True(t, ok)
	p.Components[c].Data.GetOzoneDestruct().PressureDropPa = &drop
	s, err := operate.NewSolver(p, cases)
	require.NoError(t, err)
	vent, ok := p.FindComponent("VV-1")
	require.True(t, ok)
	b, err := s.Bursts(context.Background(), map[int32]float64{vent: gauge})
	require.NoError(t, err)
	return b, vent, &answer{t, &operate.States{Plant: p, Cases: cases}}
}

// TestBurstIntoTheOpen compares a burst that almost nothing holds back with the orifice alone (gas dynamics, isentropic flow of an
// ideal gas), as package unitop computes it.
func TestBurstIntoTheOpen(t *testing.T) {
	const gauge = 3e5
	b, vent, a := bursts(t, 1, gauge)
	flow, ok := b.Flow[vent]
	require.True(t, ok, "%v", b.Missing[vent])
	air := fluid.DryAir()
	m, err := air.MolarMass()
	require.NoError(t, err)
	k, err := air.HeatCapacityRatio(273.15)
	require.NoError(t, err)
	spec := a.Plant.Components[vent].Data.GetFloatVentValve()
	gas := unitop.Gas{MolarMass: m, HeatRatio: k, Compressibility: 1}
	area, err := unitop.OrificeGasArea(spec.GetCapacityMolPerS()*m, 1, b.Atmosphere+spec.GetCapacityDifferencePa(), b.Atmosphere, 273.15, gas)
	require.NoError(t, err)
	alone, err := unitop.OrificeGasFlow(area, 1, b.Atmosphere+gauge, b.Atmosphere, 273.15, gas)
	require.NoError(t, err)
	assert.InEpsilon(t, alone.Molar, flow.Best, 1e-3)
}

// TestBurstAgainstADestruct takes a destruct that holds the burst back: what stands before it follows from the difference of the
// squared pressures, which goes with the square of the flow.
func TestBurstAgainstADestruct(t *testing.T) {
	const gauge, drop = 3e5, 0.5e5
	b, vent, a := bursts(t, drop, gauge)
	open, _, _ := bursts(t, 1, gauge)
	flow := b.Flow[vent].Best
	assert.Less(t, flow, open.Flow[vent].Best*(1+1e-9))
	back := b.Ports[a.port("OD-1.inlet")]
	require.True(t, back.Known)
	rated := a.Plant.Components[a.Plant.Ports[a.port("OD-1.inlet")].Component].Data.GetOzoneDestruct().GetRatedFlowMolPerS()
	squares := (math.Pow(b.Atmosphere+drop, 2) - math.Pow(b.Atmosphere, 2)) * math.Pow(flow/rated, 2)
	behind := b.Ports[a.port("OD-1.outlet")].Pressure.Best
	assert.InEpsilon(t, math.Sqrt(behind*behind+squares), back.Pressure.Best, 1e-3)
}
