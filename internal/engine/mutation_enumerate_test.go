package engine_test

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// mutant is a design that differs from a clean one in one thing.
type mutant struct {
	// name says what was done to which element.
	name string
	// watch names the datum or, for a change of structure, the change; alike ones share it.
	watch string
	// design makes the design; thousands of them would not be kept at once.
	design func() *skidrulev1.Design
}

// spelledOut writes the data of parts into the components that name them, and the ports into the routes, so that each datum
// and each port can be changed by itself.
func spelledOut(t *testing.T, e *engine.Engine, design *skidrulev1.Design) *skidrulev1.Design {
	t.Helper()
	w, err := e.World(context.Background(), &skidrulev1.CheckDesignRequest{Design: design})
	require.NoError(t, err)
	p := w.Plant
	out := proto.CloneOf(design)
	for i, c := range out.Components {
		at, ok := p.FindComponent(c.Tag)
		require.True(t, ok)
		out.Components[i] = proto.CloneOf(p.Components[at].Data)
		out.Components[i].Tag, out.Components[i].Part = c.Tag, ""
	}
	for _, l := range out.Lines {
		at, ok := p.FindLine(l.Tag)
		require.True(t, ok)
		for k := range p.Lines[at].NumWays {
			way := p.Ways[p.Lines[at].FirstWay+k]
			l.Route[k].Leave, l.Route[k+1].Enter = p.PortName(way.From), p.PortName(way.To)
		}
	}
	return out
}

// structural gives every design in which one component or line is deleted, reversed, swapped with its neighbour or bypassed.
func structural(design *skidrulev1.Design) []mutant {
	var out []mutant
	add := func(watch, element string, change func(d *skidrulev1.Design)) {
		out = append(out, mutant{watch + " " + element, watch, func() *skidrulev1.Design {
			d := proto.CloneOf(design)
			change(d)
			return d
		}})
	}
	kinds := map[string]string{}
	for i, c := range design.Components {
		kinds[c.Tag] = kindOf(c)
		add("delete "+kindOf(c), c.Tag, func(d *skidrulev1.Design) {
			d.Components = slices.Delete(d.Components, i, i+1)
			forget(d.ProtoReflect(), c.Tag)
			takeOut(d, c.Tag)
		})
	}
	for i, l := range design.Lines {
		service := strings.ToLower(strings.TrimPrefix(l.Service.String(), "SERVICE_"))
		add("delete line of "+service, l.Tag, func(d *skidrulev1.Design) { d.Lines = slices.Delete(d.Lines, i, i+1) })
		add("reverse line of "+service, l.Tag, func(d *skidrulev1.Design) {
			route := d.Lines[i].Route
			slices.Reverse(route)
			for _, s := range route {
				s.Enter, s.Leave = s.Leave, s.Enter
			}
		})
		for k := 1; k+1 < len(l.Route); k++ {
			s := l.Route[k]
			add("reverse "+kinds[s.Tag], s.Tag+" in "+l.Tag, func(d *skidrulev1.Design) {
				r := d.Lines[i].Route[k]
				r.Enter, r.Leave = r.Leave, r.Enter
			})
			if k+2 < len(l.Route) {
				next := l.Route[k+1]
				add("swap "+kinds[s.Tag]+" and "+kinds[next.Tag], s.Tag+" and "+next.Tag+" in "+l.Tag, func(d *skidrulev1.Design) {
					r := d.Lines[i].Route
					r[k], r[k+1] = r[k+1], r[k]
				})
			}
		}
	}
	return append(out, bypasses(design, kinds)...)
}

// bypasses leads a pipe with a tee at either end around every component, from each line that arrives to each that goes on.
func bypasses(design *skidrulev1.Design, kinds map[string]string) []mutant {
	type touch struct{ line, stop int }
	arrive, leave := map[string][]touch{}, map[string][]touch{}
	for i, l := range design.Lines {
		for k, s := range l.Route {
			if k > 0 {
				arrive[s.Tag] = append(arrive[s.Tag], touch{i, k})
			}
			if k+1 < len(l.Route) {
				leave[s.Tag] = append(leave[s.Tag], touch{i, k})
			}
		}
	}
	var out []mutant
	for _, c := range design.Components {
		for _, a := range arrive[c.Tag] {
			for _, b := range leave[c.Tag] {
				name := fmt.Sprintf("bypass %s %s from %s to %s", kinds[c.Tag], c.Tag, design.Lines[a.line].Tag, design.Lines[b.line].Tag)
				out = append(out, mutant{name, "bypass " + kinds[c.Tag], func() *skidrulev1.Design {
					d := proto.CloneOf(design)
					from, to := d.Lines[a.line], d.Lines[b.line]
					way := proto.CloneOf(from)
					way.Tag, way.Route = "BYPASS-1", []*skidrulev1.RouteStop{{Tag: "BT-1", Leave: "branch"}, {Tag: "BT-2", Enter: "branch"}}
					d.Lines = append(d.Lines, way)
					d.Components = append(d.Components, teeIn(from, c, "BT-1"), teeIn(to, c, "BT-2"))
					// The later place first, since both may be in one route.
					to.Route = slices.Insert(to.Route, b.stop+1, &skidrulev1.RouteStop{Tag: "BT-2", Enter: "inlet", Leave: "outlet"})
					from.Route = slices.Insert(from.Route, a.stop, &skidrulev1.RouteStop{Tag: "BT-1", Enter: "inlet", Leave: "outlet"})
					return d
				}})
				if a.stop+1 == len(design.Lines[a.line].Route) && b.stop == 0 {
					name := fmt.Sprintf("leave out %s %s between %s and %s", kinds[c.Tag], c.Tag, design.Lines[a.line].Tag, design.Lines[b.line].Tag)
					out = append(out, mutant{name, "leave out " + kinds[c.Tag], func() *skidrulev1.Design { return leftOut(design, c.Tag, a.line, b.line) }})
				}
			}
		}
	}
	return out
}

// leftOut joins a line that ends at a component to one that begins there, as if the part had never been drawn: its other lines
// go with whatever stands on them alone.
func leftOut(design *skidrulev1.Design, tag string, arrives, leaves int) *skidrulev1.Design {
	d := proto.CloneOf(design)
	from, to := d.Lines[arrives], d.Lines[leaves]
	from.Route = append(from.Route[:len(from.Route)-1], to.Route[1:]...)
	on := func(l *skidrulev1.Line) bool {
		return slices.ContainsFunc(l.Route, func(s *skidrulev1.RouteStop) bool { return s.Tag == tag })
	}
	gone := map[string]bool{tag: true}
	var kept []*skidrulev1.Line
	for _, l := range d.Lines {
		if l != to && !on(l) {
			kept = append(kept, l)
			continue
		}
		for _, s := range l.Route {
			gone[s.Tag] = true
		}
	}
	for _, l := range kept {
		for _, s := range l.Route {
			delete(gone, s.Tag)
		}
	}
	d.Lines = kept
	d.Components = slices.DeleteFunc(d.Components, func(c *skidrulev1.Component) bool { return gone[c.Tag] })
	for _, c := range design.Components {
		if gone[c.Tag] {
			forget(d.ProtoReflect(), c.Tag)
		}
	}
	return d
}

// teeIn is a tee that fits a line in everything, so that only the way that it opens is wrong.
func teeIn(l *skidrulev1.Line, near *skidrulev1.Component, tag string) *skidrulev1.Component {
	c := &skidrulev1.Component{
		Tag: tag, MaxPressurePaGauge: l.MaxPressurePaGauge, MinPressurePaGauge: l.MinPressurePaGauge, MaxTemperatureK: l.MaxTemperatureK, MinTemperatureK: proto.Float64(253.15),
		BodyMaterial: l.Material, OxygenCleaned: proto.Bool(true), ElevationM: near.ElevationM,
		Spec: &skidrulev1.Component_Tee{Tee: &skidrulev1.Tee{LossCoefficientRatio: proto.Float64(1)}},
	}
	for _, name := range []string{"inlet", "outlet", "branch"} {
		c.Ports = append(c.Ports, &skidrulev1.Port{Name: name, Size: l.Size, Connection: l.Connection})
	}
	return c
}

func kindOf(c *skidrulev1.Component) string {
	m := c.ProtoReflect()
	if f := m.WhichOneof(m.Descriptor().Oneofs().ByName("spec")); f != nil {
		return designfile.Spoken(string(f.Name()))
	}
	return "part"
}

// takeOut removes a component from the routes; a line that keeps one end alone goes too.
func takeOut(d *skidrulev1.Design, tag string) {
	for _, l := range d.Lines {
		l.Route = slices.DeleteFunc(l.Route, func(s *skidrulev1.RouteStop) bool { return s.Tag == tag })
	}
	d.Lines = slices.DeleteFunc(d.Lines, func(l *skidrulev1.Line) bool { return len(l.Route) < 2 })
}

// forget removes what refers to a component by its tag: words in lists, single words, and list items that are about it. A
// mutant would else be noticed for a word that leads nowhere.
func forget(m protoreflect.Message, tag string) {
	m.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		switch {
		case f.FullName() == "skidrule.v1.Line.route" || f.FullName() == "skidrule.v1.Component.tag" || f.FullName() == "skidrule.v1.Line.tag":
		case f.IsList() && f.Kind() == protoreflect.StringKind:
			keep(v.List(), func(x protoreflect.Value) bool { return x.String() != tag })
		case f.IsList() && f.Message() != nil:
			keep(v.List(), func(x protoreflect.Value) bool {
				about := false
				x.Message().Range(func(g protoreflect.FieldDescriptor, w protoreflect.Value) bool {
					about = about || g.Kind() == protoreflect.StringKind && !g.IsList() && w.String() == tag
					return !about
				})
				return !about || f.FullName() == "skidrule.v1.Design.components"
			})
			for i := range v.List().Len() {
				forget(v.List().Get(i).Message(), tag)
			}
		case f.Message() != nil:
			forget(v.Message(), tag)
		case f.Kind() == protoreflect.StringKind && v.String() == tag:
			m.Clear(f)
		}
		return true
	})
}

func keep(l protoreflect.List, wanted func(protoreflect.Value) bool) {
	n := 0
	for i := range l.Len() {
		if wanted(l.Get(i)) {
			l.Set(n, l.Get(i))
			n++
		}
	}
	l.Truncate(n)
}

// datum is one stated thing of a design, reached from the design by a way that holds in its clones too.
type datum struct {
	path  string
	watch string
	// get leads from a design to the message that holds it.
	get   func(protoreflect.Message) protoreflect.Message
	field protoreflect.FieldDescriptor
	index int // in a list; -1 for the field as a whole
}

// data lists every field that is stated, at any depth, each list as a whole and each item of it by itself.
func data(m protoreflect.Message, path, watch string, get func(protoreflect.Message) protoreflect.Message) []datum {
	var out []datum
	m.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		here, name := path+string(f.Name()), watch+string(f.Name())
		out = append(out, datum{here, name, get, f, -1})
		switch {
		case f.IsList():
			for i := range v.List().Len() {
				item := fmt.Sprintf("%s[%d]", here, i)
				if f.Message() != nil {
					inner := v.List().Get(i).Message()
					label := name
					if tag := f.Message().Fields().ByName("tag"); tag != nil {
						item = here + "." + inner.Get(tag).String()
					}
					if c, ok := inner.Interface().(*skidrulev1.Component); ok {
						label = kindOf(c)
					}
					out = append(out, datum{item, label, get, f, i})
					out = append(out, data(inner, item+".", label+".", func(d protoreflect.Message) protoreflect.Message { return get(d).Get(f).List().Get(i).Message() })...)
				} else {
					out = append(out, datum{item, name, get, f, i})
				}
			}
		case f.Message() != nil:
			// A kind is part of the name already.
			inner := name + "."
			if f.ContainingOneof() != nil {
				inner = watch
			}
			out = append(out, data(v.Message(), here+".", inner, func(d protoreflect.Message) protoreflect.Message { return get(d).Mutable(f).Message() })...)
		}
		return true
	})
	slices.SortStableFunc(out, func(a, b datum) int { return cmp.Compare(a.path, b.path) })
	return out
}

func dataOf(d *skidrulev1.Design) []datum {
	return data(d.ProtoReflect(), "", "", func(m protoreflect.Message) protoreflect.Message { return m })
}

// without gives the design less the datum.
func (x datum) without(design *skidrulev1.Design) *skidrulev1.Design {
	d := proto.CloneOf(design)
	m := x.get(d.ProtoReflect())
	if x.index < 0 {
		m.Clear(x.field)
		return d
	}
	list, n := m.Mutable(x.field).List(), 0
	for i := range list.Len() {
		if i != x.index {
			list.Set(n, list.Get(i))
			n++
		}
	}
	list.Truncate(n)
	return d
}

// rerated gives every design in which one number of a component or line is multiplied by a factor.
func rerated(design *skidrulev1.Design, factors map[string]float64) []mutant {
	var out []mutant
	for _, x := range dataOf(design) {
		if x.field.Kind() != protoreflect.DoubleKind || x.index >= 0 && !x.field.IsList() ||
			!strings.HasPrefix(x.path, "components.") && !strings.HasPrefix(x.path, "lines.") || strings.Contains(x.path, ".position.") || x.field.IsList() && x.index < 0 {
			continue
		}
		for _, how := range slices.Sorted(keys(factors)) {
			if x.number(design).Float() == 0 {
				continue
			}
			out = append(out, mutant{how + " " + x.path, how + " " + x.watch, func() *skidrulev1.Design {
				d := proto.CloneOf(design)
				v := protoreflect.ValueOfFloat64(x.number(d).Float() * factors[how])
				if m := x.get(d.ProtoReflect()); x.index < 0 {
					m.Set(x.field, v)
				} else {
					m.Mutable(x.field).List().Set(x.index, v)
				}
				return d
			}})
		}
	}
	return out
}

// number is the value of a datum that is one.
func (x datum) number(d *skidrulev1.Design) protoreflect.Value {
	v := x.get(d.ProtoReflect()).Get(x.field)
	if x.index >= 0 {
		return v.List().Get(x.index)
	}
	return v
}

func keys(m map[string]float64) func(yield func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}
