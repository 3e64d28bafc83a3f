package plant

import (
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
