package operate_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plantgen"
)

// Two skids on one sheet that have nothing to do with each other: in every case the state of the first is the same as without the
// second, what it lacks and rests on included, and nothing of the second is left out.
func TestIslandsAreSolvedByThemselves(t *testing.T) {
	others := []string{"inline-degassing", "wall-unit-air-fed", demo, "atmospheric-tank"}
	for k, name := range []string{demo, "inline-degassing", "twin-generator-manifold", "cylinder-pressure-fed"} {
		a, b := read(t, name), read(t, others[k])
		alone, both := solveAll(t, a), solveAll(t, plantgen.Beside(a, b))
		for at, st := range alone.States.States {
			other := both.States.States[at]
			if st == nil {
				assert.Nil(t, other)
				continue
			}
			require.NotNil(t, other, both.Cases[at].ID)
			inWhole := func(data []operate.Datum) (paths []string) {
				for _, d := range data {
					paths = append(paths, d.Path(both.Plant))
				}
				return paths
			}
			inOne := func(data []operate.Datum) (paths []string) {
				for _, d := range data {
					paths = append(paths, d.Path(alone.Plant))
				}
				return paths
			}
			for i := range st.Ports {
				label := alone.Plant.PortLabel(int32(i))
				want, got := st.Ports[i], other.Ports[both.port(label)]
				assert.ElementsMatch(t, inOne(want.Missing), inWhole(got.Missing), label)
				assert.ElementsMatch(t, inOne(want.Assumed), inWhole(got.Assumed), label)
				assert.ElementsMatch(t, inOne(want.Beyond), inWhole(got.Beyond), label)
				want.Missing, want.Assumed, want.Beyond, got.Missing, got.Assumed, got.Beyond = nil, nil, nil, nil, nil, nil
				assert.Equal(t, fmt.Sprintf("%+v", want), fmt.Sprintf("%+v", got), "%s %s %s", name, alone.Cases[at].ID, label) // NaN is no NaN
			}
			known := 0
			for i := range other.Ports {
				if tag := both.Plant.Components[both.Plant.Ports[i].Component].Tag; strings.HasSuffix(tag, "-b") && other.Ports[i].Known {
					known++
				}
			}
			assert.Positive(t, known, "%s beside %s, %s", others[k], name, alone.Cases[at].ID)
			assert.Greater(t, len(other.Exchanges), len(st.Exchanges))
			assert.Greater(t, other.Solves, st.Solves)
		}
	}
}
