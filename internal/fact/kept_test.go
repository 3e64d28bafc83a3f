package fact

import (
	"context"
	"fmt"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// A case is solved again where its data has changed and not elsewhere; what nobody asks for is forgotten.
func TestSolvedCasesAreKept(t *testing.T) {
	data, err := os.ReadFile("../../testdata/hatchery-side-stream/design.yaml")
	require.NoError(t, err)
	f, err := designfile.Read("design.yaml", data)
	require.NoError(t, err)
	kept := &operate.Kept{}
	world := func(change func(*skidrulev1.Design)) *World {
		d := proto.CloneOf(f.Design)
		change(d)
		p, problems := plant.Resolve(d, plant.Catalogues{catalogue.Parts()})
		require.Empty(t, problems)
		cases, wrong := operate.Cases(p)
		require.Empty(t, wrong)
		w := NewWorld(p, cases)
		w.Keep(kept)
		return w
	}
	nothing := func(*skidrulev1.Design) {}
	first := world(nothing)
	normal := first.solvedCase(0)
	require.NotNil(t, normal)
	rated := world(func(d *skidrulev1.Design) { d.Components[1].MaxPressurePaGauge = proto.Float64(7e5) })
	again := rated.solvedCase(0)
	assert.Same(t, &normal.Ports[0], &again.Ports[0], "what a part bears changes no state")
	assert.Same(t, &rated.Cases[0], again.Case, "a state names the case of its own world")
	assert.Same(t, &normal.Ports[0], &world(nothing).solvedCase(0).Ports[0])
	warm := world(func(d *skidrulev1.Design) { d.Basis.WaterTemperatureK = proto.Float64(299) })
	assert.NotSame(t, &normal.Ports[0], &warm.solvedCase(0).Ports[0])
	assert.NotEqual(t, normal.WaterK, warm.solvedCase(0).WaterK)
	assert.NotSame(t, &normal.Ports[0], &world(nothing).solvedCase(0).Ports[0])

	stated := world(nothing)
	stated.StatedOnly = true
	assert.Nil(t, stated.solvedCase(0))
}

// Facts and whoever else asks share what is solved, and a world whose facts solve nothing still solves what it is asked for.
func TestCasesAreSolvedOnce(t *testing.T) {
	data, err := os.ReadFile("../../testdata/wall-unit-air-fed/design.yaml")
	require.NoError(t, err)
	f, err := designfile.Read("design.yaml", data)
	require.NoError(t, err)
	demo, problems := plant.Index(catalogue.Demo())
	require.Empty(t, problems)
	p, problems := plant.Resolve(f.Design, plant.Catalogues{demo})
	require.Empty(t, problems)
	cases, wrong := operate.Cases(p)
	require.Empty(t, wrong)
	w := NewWorld(p, cases)
	states, err := w.States([]int{0})
	require.NoError(t, err)
	require.NotNil(t, states.States[0])
	assert.Same(t, states.States[0], w.solvedCase(0))
	for _, other := range states.States[1:] {
		assert.Nil(t, other, "nobody asked for it")
	}

	w = NewWorld(p, cases)
	w.StatedOnly = true
	own, err := w.Solve(0)
	require.NoError(t, err)
	assert.Equal(t, fmt.Sprint(states.States[0].Ports), fmt.Sprint(own.Ports), "compared as text: some numbers are NaN")
	assert.Nil(t, w.solvedCase(0))

	ended, cancel := context.WithCancel(context.Background())
	cancel()
	w = NewWorld(p, cases)
	w.Until(ended)
	_, err = w.States([]int{0})
	assert.ErrorIs(t, err, context.Canceled)
}
