package choose

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/misspelt"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// maxSlots is the highest number of slots: common practice, no source.
const maxSlots = 100

// slot is one component whose part is chosen.
type slot struct {
	tag  string
	at   int // place in the design's components
	kind plant.Kind
	// stated is the component as the design states it, open the same without its part and without what any candidate states.
	stated, open *skidrulev1.Component
	// parts are the candidates, the best by the measure first.
	parts []*part
}

// inUse are the common data that say how a component is used in this design, and not what its part is.
var inUse = map[string]bool{
	"tag": true, "title": true, "part": true, "elevation_m": true, "power_feed": true, "air_feed": true, "commanded_by": true,
	"shares_cause": true, "position": true, "train": true, "out_of_use": true, "normal_position": true, "locked": true,
}

// givesWay lists the element paths of what a component states about its part and an entry states too, as seen from the component:
// `max_pressure`, `pump.curve`, `ports.inlet.size`. A choice takes such statements out, for they were said of another part.
func givesWay(stated, entry *skidrulev1.Component) []string {
	var out []string
	var walk func(path string, a, b protoreflect.Message, top bool)
	walk = func(path string, a, b protoreflect.Message, top bool) {
		fields := a.Descriptor().Fields()
		for i := range fields.Len() {
			f := fields.Get(i)
			if !a.Has(f) || !b.Has(f) || top && inUse[string(f.Name())] {
				continue
			}
			at := designfile.Key(f)
			if path != "" {
				at = designfile.Child(path, at)
			}
			switch {
			case f.ContainingOneof() != nil && !f.ContainingOneof().IsSynthetic() && f.Message() != nil:
				walk(at, a.Get(f).Message(), b.Get(f).Message(), false)
			case top && f.Name() == "ports":
				for _, p := range stated.GetPorts() {
					for _, q := range entry.GetPorts() {
						if p.GetName() != q.GetName() {
							continue
						}
						port := designfile.Child(at, p.GetName())
						if p.GetSize() != nil && q.GetSize() != nil {
							out = append(out, designfile.Child(port, "size"))
						}
						if p.GetConnection() != 0 && q.GetConnection() != 0 {
							out = append(out, designfile.Child(port, "connection"))
						}
					}
				}
			default:
				out = append(out, at)
			}
		}
	}
	walk("", stated.ProtoReflect(), entry.ProtoReflect(), true)
	return out
}

// without gives a copy of a component less the data at paths that givesWay gives.
func without(c *skidrulev1.Component, paths []string) *skidrulev1.Component {
	out := proto.CloneOf(c)
	for _, path := range paths {
		words := strings.Split(path, ".")
		m := out.ProtoReflect()
		if words[0] == "ports" && len(words) == 3 {
			for _, p := range out.GetPorts() {
				if p.GetName() != words[1] {
					continue
				}
				if words[2] == "size" {
					p.Size = nil
				} else {
					p.Connection = 0
				}
			}
			continue
		}
		for i, word := range words {
			f := designfile.FieldByKey(m.Descriptor(), word)
			if f == nil || !m.Has(f) {
				break
			}
			if i == len(words)-1 {
				m.Clear(f)
				break
			}
			m = m.Mutable(f).Message()
		}
	}
	return out
}

// findSlots gives the slots that a request means.
func (c *chooser) findSlots() ([]*slot, error) {
	var wrong engine.RequestError
	named := map[string]bool{}
	var tags []string
	place := map[string]int{}
	for i, q := range c.design.GetComponents() {
		place[q.GetTag()] = i
		tags = append(tags, q.GetTag())
	}
	for i, tag := range c.request.GetSlots() {
		path := fmt.Sprintf("slots[%d]", i)
		at, ok := place[tag]
		switch {
		case !ok:
			wrong.Add(path, misspelt.DidYouMean(tag, tags), "the design has no component %q", tag)
			continue
		case named[tag]:
			wrong.Add(path, "name it once", "%s is named twice", tag)
			continue
		}
		named[tag] = true
		if kind := c.kindOf(c.design.GetComponents()[at]); len(c.ofKind[kind]) == 0 {
			wrong.Add(path, "bring a catalogue that has one", "%s: no catalogue has a part of the kind %s", tag, kind)
		}
	}
	var out []*slot
	for at, q := range c.design.GetComponents() {
		kind := c.kindOf(q)
		if len(c.ofKind[kind]) == 0 {
			continue
		}
		if len(c.request.GetSlots()) > 0 && !named[q.GetTag()] || len(c.request.GetSlots()) == 0 && (q.GetPart() != "" || c.describes(q, kind)) {
			continue
		}
		out = append(out, &slot{tag: q.GetTag(), at: at, kind: kind, stated: q})
	}
	switch {
	case len(wrong.Violations) > 0:
	case len(out) > maxSlots:
		wrong.Add("slots", "choose for fewer components at once", "%d slots given, %d allowed", len(out), maxSlots)
	case len(out) == 0:
		wrong.Add("slots", "name the components whose parts are to be chosen", "every component of a kind that the catalogues have names its part or states its data")
	}
	return out, wrong.Err()
}

// describes tells whether a component describes itself as a part of its kind would: it states a table that parts of its
// kind state, or every datum of its spec that all of them state.
func (c *chooser) describes(q *skidrulev1.Component, kind plant.Kind) bool {
	spec := plant.SpecOf(q)
	if spec == nil {
		return false
	}
	fields := spec.Descriptor().Fields()
	common, missing := 0, 0
	for i := range fields.Len() {
		f := fields.Get(i)
		table := f.IsList() && f.Message() != nil && spec.Has(f)
		if table && slices.ContainsFunc(c.ofKind[kind], func(e *skidrulev1.CatalogueEntry) bool {
			part := plant.SpecOf(e.GetData())
			return part != nil && part.Has(f)
		}) {
			return true
		}
		all := !slices.ContainsFunc(c.ofKind[kind], func(e *skidrulev1.CatalogueEntry) bool {
			part := plant.SpecOf(e.GetData())
			return part == nil || !part.Has(f)
		})
		if !all {
			continue
		}
		if common++; !spec.Has(f) {
			missing++
		}
	}
	return common > 0 && missing == 0
}

// kindOf tells the kind of a component, by its part where it states none.
func (c *chooser) kindOf(q *skidrulev1.Component) plant.Kind {
	if k := plant.KindOf(q); k != plant.KindNone || q.GetPart() == "" {
		return k
	}
	return plant.KindOf(c.entries[q.GetPart()].GetData())
}

// prepare lists a slot's candidates and leaves the slot open.
func (c *chooser) prepare(s *slot) {
	for _, e := range c.ofKind[s.kind] {
		s.parts = append(s.parts, newPart(s, e))
	}
	rank(s.parts)
	var gone []string
	for _, p := range s.parts {
		gone = append(gone, p.gives...)
	}
	slices.Sort(gone)
	s.open = without(s.stated, slices.Compact(gone))
	s.open.Part = ""
	if plant.KindOf(s.open) == plant.KindNone {
		s.open.ProtoReflect().Mutable(s.kind.Info().Field)
	}
	slices.SortStableFunc(s.parts, func(a, b *part) int {
		return cmp.Or(a.cost(c.measure).compare(b.cost(c.measure)), cmp.Compare(a.id, b.id))
	})
}
