package fact_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// asked asks facts of a small design.
type asked struct {
	t     *testing.T
	world *fact.World
}

// drawn reads a design from text without its first key. What states no elevation stands at 0 m.
func drawn(t *testing.T, text string) asked {
	t.Helper()
	return drawnAt(t, proto.Float64(0), text)
}

// drawnAt reads a design in which what states no elevation stands at one; nil leaves it unknown.
func drawnAt(t *testing.T, elevation *float64, text string) asked {
	t.Helper()
	file, err := designfile.Read("design.yaml", []byte("skidrule: v1\n"+strings.ReplaceAll(strings.TrimSpace(text), "\t", "  ")+"\n"))
	require.NoError(t, err)
	if elevation != nil {
		level(file.Design, *elevation)
	}
	p, problems := plant.Resolve(file.Design, nil)
	require.Empty(t, problems)
	cases, wrong := operate.Cases(p)
	require.Empty(t, wrong)
	return asked{t, fact.NewWorld(p, cases)}
}

// level puts every component and port that states no elevation at one.
func level(d *skidrulev1.Design, elevation float64) {
	second := slices.ContainsFunc(d.GetLines(), func(l *skidrulev1.Line) bool { return strings.Contains(l.String(), "vent_2") })
	for _, c := range d.GetComponents() {
		if c.ElevationM == nil {
			c.ElevationM = &elevation
		}
		names := []string{"inlet", "outlet", "vent", "gas_outlet"}
		if second && c.GetContactVessel() != nil {
			names = append(names, "vent_2")
		}
		for _, name := range names {
			at := slices.IndexFunc(c.GetPorts(), func(p *skidrulev1.Port) bool { return p.GetName() == name })
			switch {
			case at >= 0 && c.Ports[at].ElevationM == nil:
				c.Ports[at].ElevationM = &elevation
			case at < 0 && name == "outlet" && c.GetKnockOutPot() != nil, at < 0 && name == "vent" && c.GetKnockOutPot() != nil:
			case at < 0 && (c.GetContactVessel() != nil || c.GetDegassingVessel() != nil || c.GetOpenTank() != nil || c.GetKnockOutPot() != nil):
				if name != "gas_outlet" || c.GetKnockOutPot() != nil {
					c.Ports = append(c.Ports, &skidrulev1.Port{Name: name, ElevationM: &elevation})
				}
			}
		}
	}
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
	return tagsOf(a.world, d.Path(a.world, at))
}

// tagsOf gives the tags of the components on a path.
func tagsOf(w *fact.World, path fact.Path) []string {
	var tags []string
	for _, s := range path {
		if s.Component >= 0 {
			tags = append(tags, w.Plant.Components[s.Component].Tag)
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
