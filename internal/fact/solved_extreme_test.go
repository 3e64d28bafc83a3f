package fact_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
)

// portFact finds a fact of ports.
func portFact(t *testing.T, name string) func(w *fact.World, port int) fact.Number {
	t.Helper()
	for _, d := range fact.Definitions() {
		if d.Name == name && d.On == fact.OnPort {
			return func(w *fact.World, port int) fact.Number { return d.Number(w, fact.At{Index: int32(port), Case: -1}) }
		}
	}
	require.Fail(t, "no such fact of ports", name)
	return nil
}

// TestSolvedPressuresStayWithinTheBounds solves all cases of whole designs, good and bad: what any case settles lies between the
// bounds that rest on what is stated. Above it lies only what a flow makes on its way into the open, of which the bound says nothing;
// below it only what a pump or a column of water pulls, which the bound does not know.
func TestSolvedPressuresStayWithinTheBounds(t *testing.T) {
	const tolerance = 150     // Pa, of the solver and of the density of warm water over a few metres
	const made = 0.3 * bar    // most that flows make on their way into the open in these designs
	const pulled = 0.35 * bar // most that pumps and columns pull in them
	const lost = 0.03         // of the set pressure, on the way to a relief valve that blows
	const drawn = 0.06        // of the set vacuum, on the way from a breaker that lets in
	paths, err := filepath.Glob("../../testdata/*/design.yaml")
	require.NoError(t, err)
	wrong, err := filepath.Glob("../../testdata/mistakes/*/design.yaml")
	require.NoError(t, err)
	for i := 0; i < len(wrong); i += 6 { // mistakes differ little from each other
		paths = append(paths, wrong[i])
	}
	highest, lowest := portFact(t, "highest_pressure"), portFact(t, "lowest_pressure")
	solvedHigh, solvedLow := portFact(t, "solved_pressure"), portFact(t, "solved_lowest_pressure")
	compared, low := 0, 0
	for _, path := range paths {
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		file, err := designfile.Read(path, data)
		require.NoError(t, err)
		p, _ := plant.Resolve(file.Design, plant.Catalogues{catalogue.Parts()})
		cases, _ := operate.Cases(p)
		stated, solved := fact.NewWorld(p, cases), fact.NewWorld(p, cases)
		stated.StatedOnly = true
		breakers := map[float64]bool{} // pressures at which they let in
		for i := range p.Components {
			if b := p.Components[i].Data.GetVacuumBreaker(); b != nil {
				breakers[b.GetOpeningPressurePaGauge()] = true
			}
		}
		for port := range p.Ports {
			if p.Ports[port].Joints == 0 {
				continue
			}
			label := path + ": " + p.PortLabel(int32(port))
			if n := solvedHigh(solved, port); !n.Unknown() {
				compared++
				bound := highest(stated, port).High
				if bound == 0 {
					bound = made
				}
				assert.LessOrEqual(t, n.High, bound*(1+lost)+tolerance, label)
			}
			if n := solvedLow(solved, port); !n.Unknown() {
				low++
				bound := lowest(stated, port).Low
				if bound == 0 {
					bound = -pulled
				}
				if breakers[bound] {
					bound *= 1 + drawn
				}
				assert.GreaterOrEqual(t, n.Low, bound-tolerance, label)
			}
		}
	}
	assert.Greater(t, compared, 1500)
	assert.Greater(t, low, 1500)
}
