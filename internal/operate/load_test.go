package operate_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// read gives a design of testdata.
func read(t testing.TB, name string) *skidrulev1.Design {
	t.Helper()
	path := filepath.Join("..", "..", "testdata", filepath.FromSlash(name), "design.yaml")
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	f, err := designfile.Read(path, data)
	require.NoError(t, err)
	return f.Design
}

// resolve prepares a design with its cases.
func resolve(t testing.TB, d *skidrulev1.Design) (*plant.Plant, []operate.Case) {
	t.Helper()
	p, problems := plant.Resolve(d, plant.Catalogues{catalogue.Parts()})
	require.Empty(t, problems)
	cases, wrong := operate.Cases(p)
	require.Empty(t, wrong)
	return p, cases
}

func load(t testing.TB, name string) (*plant.Plant, []operate.Case) {
	t.Helper()
	return resolve(t, read(t, name))
}

// answer is a solved design with look-ups by name.
type answer struct {
	t testing.TB
	*operate.States
}

func solveAll(t testing.TB, d *skidrulev1.Design) *answer {
	t.Helper()
	p, cases := resolve(t, d)
	s, err := operate.SolveAll(context.Background(), p, cases)
	require.NoError(t, err)
	return &answer{t, s}
}

func (a *answer) at(id string) int {
	for i := range a.Cases {
		if a.Cases[i].ID == id {
			return i
		}
	}
	require.Failf(a.t, "no case", "%s", id)
	return -1
}

func (a *answer) port(label string) int32 {
	for i := range a.Plant.Ports {
		if a.Plant.PortLabel(int32(i)) == label {
			return int32(i)
		}
	}
	require.Failf(a.t, "no port", "%s", label)
	return -1
}

// state is a port in a case.
func (a *answer) state(id, label string) *operate.PortState {
	return &a.States.States[a.at(id)].Ports[a.port(label)]
}

// gauge is the best gauge pressure of a port in a case.
func (a *answer) gauge(id, label string) float64 {
	a.t.Helper()
	st := a.States.States[a.at(id)]
	q := &st.Ports[a.port(label)]
	require.True(a.t, q.Known, "%s in %s: %s %v", label, id, q.Why, q.Missing)
	return q.Pressure.Best - st.Atmosphere
}

// flow is the best flow of the way between two ports in a case.
func (a *answer) flow(id, from, to string) *operate.WayState {
	a.t.Helper()
	f, g := a.port(from), a.port(to)
	for i := range a.Plant.Ways {
		if w := &a.Plant.Ways[i]; w.From == f && w.To == g {
			return &a.States.States[a.at(id)].Ways[i]
		}
	}
	require.Failf(a.t, "no way", "%s to %s", from, to)
	return nil
}
