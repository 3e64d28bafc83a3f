package fact_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
)

// TestPumpsInSeriesAddUp asks for the highest water pressure that a trap is told of.
func TestPumpsInSeriesAddUp(t *testing.T) {
	const around = `
  WI: {boundary: {service: process_water, role: source, max_pressure: 1 bar(g)}}
  P-1: {pump: {shut_off_head: 3 bar}}
  P-2: {pump: {shut_off_head: 2 bar}}
  T-1: {tee: {}}
  T-2: {tee: {}}
  OT: {open_tank: {}}
  WO: {boundary: {service: process_water, role: sink, max_pressure: 0 bar(g)}}
  LT: {liquid_trap: {}}
  T-0: {tee: {}}
lines:
  0: {route: [WI, T-0]}
  Z: {route: [T-0.branch, LT]}
`
	for _, row := range []struct {
		name, lines string
		bar         float64
	}{
		{"one behind the other", "  A: {route: [T-0, P-1, P-2, WO]}", 1 + 3 + 2},
		{"side by side", "  A: {route: [T-0, T-1, P-1, T-2, WO]}\n  B: {route: [T-1.branch, P-2, T-2.branch]}", 1 + 3},
		{"an open tank between", "  A: {route: [T-0, P-1, OT.inlet]}\n  B: {route: [OT.outlet, P-2, WO]}", 1 + 3},
		{"in a circle", "  A: {route: [P-1, P-2, T-1, P-1]}\n  B: {route: [T-0, T-1.branch]}", 1 + 3 + 2},
	} {
		t.Run(row.name, func(t *testing.T) {
			f, err := designfile.Read("d.yaml", []byte("skidrule: v1\ncomponents:"+around+row.lines+"\n"))
			require.NoError(t, err)
			p, problems := plant.Resolve(f.Design, nil)
			require.Empty(t, problems)
			cases, wrong := operate.Cases(p)
			require.Empty(t, wrong)
			w := fact.NewWorld(p, cases)
			trap, ok := p.FindComponent("LT")
			require.True(t, ok)
			asked := 0
			for _, d := range fact.Definitions() {
				if d.Name != "highest_water_pressure" {
					continue
				}
				asked++
				n := d.Number(w, fact.At{Index: trap, Case: -1})
				assert.InDelta(t, row.bar*1e5, n.Low, 1)
				assert.InDelta(t, row.bar*1e5, n.High, 1)
			}
			assert.Equal(t, 1, asked)
		})
	}
}
