package plant

import (
	"context"
	"fmt"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

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
		if !r.canBeTag(tag, "components", i) {
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

// canBeTag reports what is wrong with the tag of an element of a list.
func (r *resolver) canBeTag(tag, list string, place int32) bool {
	problem := checkTag(tag)
	if problem != "" {
		r.problem(fmt.Sprintf("%s[%d]", list, place), "tags are letters, digits, - _ and /, beginning with a letter or digit", "tag %q %s", tag, problem)
	}
	return problem == ""
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

// cases checks the references of operating cases.
func (r *resolver) cases() {
	seen := map[string]bool{}
	for _, c := range r.plant.Design.GetCases() {
		path := "cases." + c.GetId()
		if seen[c.GetId()] {
			r.problem(path, "give each case an id of its own", "two cases have the id %q", c.GetId())
		}
		seen[c.GetId()] = true
		for _, s := range c.GetStates() {
			if r.ended() {
				return
			}
			if _, ok := r.plant.FindComponent(s.GetTag()); !ok {
				r.problem(path+".states."+s.GetTag(), r.guess(s.GetTag(), r.componentTags), "case %s sets the state of %q, which is not there", c.GetId(), s.GetTag())
			}
		}
	}
}

// componentTags lists the tags for suggestions.
func (r *resolver) componentTags() []string {
	out := make([]string, len(r.plant.Components))
	for i := range r.plant.Components {
		out[i] = r.plant.Components[i].Tag
	}
	return out
}
