package plant

import (
	"context"
	"fmt"
	"sort"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Catalogues are parts that designs may name, by id. Earlier ones go before later ones; the design's own entries go before
// all of them.
type Catalogues []map[string]*skidrulev1.CatalogueEntry

// Index makes a look-up of a catalogue file. Two entries of one id are a problem.
func Index(c *skidrulev1.Catalogue) (map[string]*skidrulev1.CatalogueEntry, Problems) {
	out := make(map[string]*skidrulev1.CatalogueEntry, len(c.GetEntries()))
	var problems Problems
	for _, e := range c.GetEntries() {
		path := "entries." + e.GetId()
		if e.GetId() == "" {
			problems = append(problems, Problem{Path: "entries", Message: "an entry has no id"})
			continue
		}
		if _, twice := out[e.GetId()]; twice {
			problems = append(problems, Problem{Path: path, Message: "two entries have this id"})
			continue
		}
		if KindOf(e.GetData()) == KindNone {
			problems = append(problems, Problem{Path: path, Message: "the entry does not say what kind of component it is", Suggestion: "give its data a kind such as check_valve"})
		}
		out[e.GetId()] = e
	}
	return out, problems
}

// resolver carries the state of one Resolve.
type resolver struct {
	plant      *Plant
	own        map[string]*skidrulev1.CatalogueEntry
	catalogues Catalogues
	problems   Problems
	order      *order
	// compared counts the words that misspelt ones were compared with.
	compared int
	until    context.Context
}

// Resolve turns a design into a plant. Where references lead nowhere it returns every such problem and no plant.
func Resolve(design *skidrulev1.Design, catalogues Catalogues) (*Plant, Problems) {
	p, problems, _ := ResolveUntil(context.Background(), design, catalogues)
	return p, problems
}

// ResolveUntil is Resolve with an end: soon after the context has ended it returns the context's error and nothing else.
func ResolveUntil(ctx context.Context, design *skidrulev1.Design, catalogues Catalogues) (*Plant, Problems, error) {
	p := &Plant{Design: design, Basis: design.GetBasis()}
	if p.Basis == nil {
		p.Basis = &skidrulev1.Basis{}
	}
	r := &resolver{plant: p, catalogues: catalogues, until: ctx}
	if len(design.GetCatalogue()) > 0 {
		var problems Problems
		r.own, problems = Index(&skidrulev1.Catalogue{Entries: design.GetCatalogue()})
		for _, q := range problems {
			q.Path = "catalogue" + q.Path[len("entries"):]
			r.problems = append(r.problems, q)
		}
	}
	for _, step := range []func(){r.components, r.lines, r.cases, r.assumptions} {
		if step(); ctx.Err() != nil {
			return nil, nil, ctx.Err()
		}
	}
	if len(r.problems) > 0 {
		return nil, r.problems, nil
	}
	p.indexWays()
	return p, nil, nil
}

// ended tells that nobody waits for the plant any more. It costs next to nothing: loops ask it for each component and line.
func (r *resolver) ended() bool { return r.until.Err() != nil }

func (r *resolver) problem(path, suggestion, format string, args ...any) {
	r.problems = append(r.problems, Problem{Path: path, Message: fmt.Sprintf(format, args...), Suggestion: suggestion})
}

// components resolves kinds, catalogue entries and ports.
func (r *resolver) components() {
	p, design := r.plant, r.plant.Design
	n := len(design.GetComponents())
	p.Components = make([]Component, 0, n)
	p.Ports = make([]Port, 0, 3*n)
	p.Ways = make([]Way, 0, 3*n)
	p.tags = make(map[string]int32, n+len(design.GetLines()))
	components := design.GetComponents()
	r.order = r.arrange(p.tags)
	p.at = make([]int32, n)
	repeated := len(p.tags) < n // some tags are there twice
	for _, i := range r.order.components {
		if r.ended() {
			return
		}
		stated := components[i]
		p.at[i] = -1
		tag := stated.GetTag()
		if problem := checkTag(tag); problem != "" {
			r.problem(fmt.Sprintf("components[%d]", i), "tags are letters, digits, - _ and /, beginning with a letter or digit", "tag %q %s", tag, problem)
			continue
		}
		if repeated && p.tags[tag] != i {
			r.problem("components."+tag, "give each component a tag of its own", "two components have the tag %s", tag)
			continue
		}
		c := Component{Tag: tag, Stated: stated, Data: stated, FirstPort: int32(len(p.Ports))}
		if stated.GetPart() != "" {
			r.applyEntry(&c)
		}
		c.Kind = KindOf(c.Data)
		if c.Kind == KindNone && stated.GetPart() == "" {
			r.problem("components."+tag, "state a kind such as check_valve, or a part", "component %s does not say what it is", tag)
		}
		index := int32(len(p.Components))
		info := c.Kind.Info()
		for t := range info.Ports {
			q := &info.Ports[t]
			p.Ports = append(p.Ports, Port{Component: index, Trait: int16(t), Ordinal: 1, Phase: q.Phase, Direction: q.Direction})
		}
		c.NumPorts = int32(len(info.Ports))
		for s, passage := range info.Passages {
			p.Ways = append(p.Ways, Way{From: c.FirstPort + int32(passage[0]), To: c.FirstPort + int32(passage[1]), Component: index, Line: -1, Step: int32(s)})
		}
		p.at[i] = index
		p.Components = append(p.Components, c)
		// Repeated and free ports must lie beside the kind's own, so they are found before the next component starts.
		r.statedPorts(index)
	}
	r.repeatedPorts()
}

// applyEntry lays the component's own data over its catalogue entry's.
func (r *resolver) applyEntry(c *Component) {
	path, part := "components."+c.Tag, c.Stated.GetPart()
	entry := r.own[part]
	for i := 0; entry == nil && i < len(r.catalogues); i++ {
		entry = r.catalogues[i][part]
	}
	if entry == nil {
		r.problem(path+".part", r.guess(part, r.partIDs), "no catalogue has the part %q", part)
		return
	}
	data := entry.GetData()
	if data == nil {
		data = &skidrulev1.Component{}
	}
	stated, given := KindOf(c.Stated), KindOf(data)
	if stated != KindNone && given != KindNone && stated != given {
		r.problem(path+".part", "name a part of that kind, or change the kind", "%s is %s, but the part %q is %s", c.Tag, aKind(stated), part, aKind(given))
		return
	}
	c.Entry = entry
	c.Data = overlay(c.Stated, data)
}

// partIDs lists every id, sorted, for suggestions.
func (r *resolver) partIDs() []string {
	var ids []string
	for id := range r.own {
		ids = append(ids, id)
	}
	for _, c := range r.catalogues {
		for id := range c {
			ids = append(ids, id)
		}
	}
	sort.Strings(ids)
	return ids
}

// checkTag tells what is wrong with a tag; empty when nothing is.
func checkTag(tag string) string {
	if tag == "" {
		return "is empty"
	}
	if len(tag) > 64 {
		return "is longer than 64 characters"
	}
	for i := 0; i < len(tag); i++ {
		c := tag[i]
		letter := c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9'
		if !letter && (i == 0 || c != '-' && c != '_' && c != '/') {
			return fmt.Sprintf("has %q at place %d", c, i+1)
		}
	}
	return ""
}

// statedPorts attaches stated port data and adds stated ports of repeatable or free names.
func (r *resolver) statedPorts(index int32) {
	p := r.plant
	for _, stated := range p.Components[index].Data.GetPorts() {
		port, ok := r.port(index, stated.GetName(), true)
		if !ok {
			c := &p.Components[index]
			r.problem("components."+c.Tag+".ports."+stated.GetName(), portGuess(stated.GetName(), c.Kind.Info()), "%s has no port %q", aKind(c.Kind), stated.GetName())
			continue
		}
		p.Ports[port].Stated = stated
	}
}

// port finds a port by name and, where add is set and the component is the last one so far, adds a repeated or free one.
func (r *resolver) port(index int32, name string, add bool) (int32, bool) {
	p := r.plant
	c := &p.Components[index]
	info := c.Kind.Info()
	base, ordinal, ok := info.portIndex(name)
	if ok && ordinal == 1 {
		return c.FirstPort + int32(base), true
	}
	for i := c.FirstPort + int32(len(info.Ports)); i < c.FirstPort+c.NumPorts; i++ {
		q := &p.Ports[i]
		if ok && q.Ordinal == ordinal && int(q.Trait) == base || !ok && q.Trait < 0 && q.free == name {
			return i, true
		}
	}
	if !ok && !info.FreePorts || !add || name == "" {
		return 0, false
	}
	extra := Port{Component: index, Trait: -1, Ordinal: 1, Phase: skidrulev1.Phase_PHASE_ANY, Direction: skidrulev1.FlowDirection_FLOW_DIRECTION_EITHER, free: name}
	if ok {
		extra = Port{Component: index, Trait: int16(base), Ordinal: ordinal, Phase: info.Ports[base].Phase, Direction: info.Ports[base].Direction}
	}
	p.Ports = append(p.Ports, extra)
	c.NumPorts++
	return int32(len(p.Ports)) - 1, true
}
