package fact_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
)

// asked asks facts of a small design.
type asked struct {
	t     *testing.T
	world *fact.World
}

// drawn reads a design from text without its first key.
func drawn(t *testing.T, text string) asked {
	t.Helper()
	file, err := designfile.Read("design.yaml", []byte("skidrule: v1\n"+strings.ReplaceAll(strings.TrimSpace(text), "\t", "  ")+"\n"))
	require.NoError(t, err)
	p, problems := plant.Resolve(file.Design, nil)
	require.Empty(t, problems)
	cases, wrong := operate.Cases(p)
	require.Empty(t, wrong)
	return asked{t, fact.NewWorld(p, cases)}
}

// find gives the definition of a fact and the thing that it is asked of: a component or line by tag, else the design.
func (a asked) find(name, tag string) (*fact.Definition, fact.At) {
	a.t.Helper()
	at, on, kind := fact.At{Case: -1}, fact.OnDesign, plant.KindNone
	if c, ok := a.world.Plant.FindComponent(tag); ok {
		at.Index, on, kind = c, fact.OnComponent, a.world.Plant.Components[c].Kind
	} else if l, ok := a.world.Plant.FindLine(tag); ok {
		at.Index, on = l, fact.OnLine
	} else {
		require.Empty(a.t, tag, "nothing has this tag")
	}
	definitions := fact.Definitions()
	for i := range definitions {
		d := &definitions[i]
		if d.Name != name || d.On != on {
			continue
		}
		if len(d.Kinds) == 0 {
			return d, at
		}
		for _, k := range d.Kinds {
			if k == kind {
				return d, at
			}
		}
	}
	require.Fail(a.t, "no such fact", "%s of %q", name, tag)
	return nil, at
}

func (a asked) truth(name, tag string) fact.Truth {
	a.t.Helper()
	d, at := a.find(name, tag)
	return d.Truth(a.world, at)
}

func (a asked) number(name, tag string) fact.Number {
	a.t.Helper()
	d, at := a.find(name, tag)
	return d.Number(a.world, at)
}

func (a asked) text(name, tag string) string {
	a.t.Helper()
	d, at := a.find(name, tag)
	return d.Text(a.world, at).Value
}

// way gives the tags of the components on a path.
func (a asked) way(name, tag string) []string {
	a.t.Helper()
	d, at := a.find(name, tag)
	var tags []string
	for _, s := range d.Path(a.world, at) {
		if s.Component >= 0 {
			tags = append(tags, a.world.Plant.Components[s.Component].Tag)
		}
	}
	return tags
}

// missing spells the data that a truth or number lacks.
func (a asked) missing(refs []fact.Ref) []string {
	var out []string
	for _, r := range refs {
		out = append(out, r.Path(a.world.Plant))
	}
	return out
}
