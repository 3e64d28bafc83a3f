package suggest

import (
	"fmt"
	"slices"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// candidates lists changes near a finding in groups, those that change least first. Later groups are tried only where the
// earlier ones mend nothing.
func (s *state) candidates(f *skidrulev1.Finding) [][]*candidate {
	near := s.near(f)
	return [][]*candidate{
		slices.Concat(s.turns(near), s.locks(near)),
		s.moves(near),
		s.exchanges(near),
		s.bypasses(near),
		s.insertions(f, near),
	}
}

// vicinity is what a finding is about and passes through, that which it is about first.
type vicinity struct {
	components []string
	lines      []*skidrulev1.Line
}

func (s *state) near(f *skidrulev1.Finding) *vicinity {
	v := &vicinity{}
	tags, seen := []string{}, map[string]bool{}
	note := func(element string) {
		element, _, _ = strings.Cut(element, " at ")
		for _, list := range []string{"components.", "lines."} {
			if tag, ok := strings.CutPrefix(element, list); ok {
				tag, _, _ = strings.Cut(tag, ".")
				if !seen[list+tag] {
					seen[list+tag] = true
					if list == "components." {
						tags = append(tags, tag)
					}
				}
			}
		}
	}
	note(f.GetSubject())
	subject := slices.Clone(tags)
	for _, step := range f.GetPath() {
		note(step.GetElement())
	}
	for _, element := range f.GetRelated() {
		note(element)
	}
	v.components = tags
	// A line counts where the way leads through it, or where what the finding is about stands in it.
	for _, pass := range []func(*skidrulev1.Line) bool{
		func(l *skidrulev1.Line) bool { return seen["lines."+l.GetTag()] },
		func(l *skidrulev1.Line) bool {
			return slices.ContainsFunc(l.GetRoute(), func(stop *skidrulev1.RouteStop) bool { return slices.Contains(subject, stop.GetTag()) })
		},
	} {
		for _, l := range s.file.Design.GetLines() {
			if pass(l) && !slices.Contains(v.lines, l) {
				v.lines = append(v.lines, l)
			}
		}
	}
	return v
}

// component gives a component of the plant.
func (s *state) component(tag string) *plant.Component {
	if i, ok := s.plant.FindComponent(tag); ok {
		return &s.plant.Components[i]
	}
	return nil
}

func stopPath(l *skidrulev1.Line, i int) string {
	return designfile.Item(designfile.Child("lines", l.GetTag())+".route", i)
}

// stopText spells a stop as a design file does.
func stopText(stop *skidrulev1.RouteStop) string {
	switch {
	case stop.GetEnter() != "" && stop.GetLeave() != "":
		return stop.GetTag() + "." + stop.GetEnter() + ">" + stop.GetLeave()
	case stop.GetEnter() != "" || stop.GetLeave() != "":
		return stop.GetTag() + "." + stop.GetEnter() + stop.GetLeave()
	}
	return stop.GetTag()
}

// turns turns parts round that have one way through them.
func (s *state) turns(v *vicinity) (out []*candidate) {
	for _, l := range v.lines {
		for i := 1; i+1 < len(l.GetRoute()); i++ {
			stop := l.GetRoute()[i]
			c := s.component(stop.GetTag())
			if c == nil || len(c.Kind.Info().Passages) != 1 {
				continue
			}
			ports, way := c.Kind.Info().PortNames(), c.Kind.Info().Passages[0]
			in, leave := ports[way[0]], ports[way[1]]
			text := stop.GetTag()
			if stop.GetEnter() != leave {
				text += "." + leave + ">" + in
			}
			edit, ok := s.editor.Replace(stopPath(l, i), text)
			out = add(out, &candidate{words: fmt.Sprintf("turn the %s %s in line %s round", c.Kind.Info().Title, c.Tag, l.GetTag()), edits: []designfile.TextEdit{edit}}, ok)
		}
	}
	return out
}

// locks locks hand valves in their normal position, or closed, but for those of which it is stated that they cannot be locked.
func (s *state) locks(v *vicinity) (out []*candidate) {
	for _, tag := range v.components {
		c := s.component(tag)
		if c == nil || c.Kind != plant.KindHandValve {
			continue
		}
		if h := c.Data.GetHandValve(); h.Lockable != nil && !*h.Lockable {
			continue
		}
		path := designfile.Child("components", tag)
		lock, ok := s.editor.Set(path, "locked", "true")
		if !ok {
			continue
		}
		position := c.Data.GetNormalPosition()
		if word := designfile.EnumWord(position); word != "" {
			out = append(out, &candidate{words: "lock the hand valve " + tag + " " + word, edits: []designfile.TextEdit{lock}, takesOut: true})
		}
		if position != skidrulev1.ValvePosition_VALVE_POSITION_CLOSED && s.mayStandShut(tag) {
			closed, ok := s.editor.Set(path, "normal_position", "closed")
			out = add(out, &candidate{words: "close the hand valve " + tag + " and lock it", edits: []designfile.TextEdit{closed, lock}, takesOut: true}, ok)
		}
	}
	return out
}

// mayStandShut tells whether a valve may be shut for good: each line that it stands in leads round others, or ends where something is
// only let off. In any other line it would stop what the plant lives by, such as cooling water, and no rule need notice that.
func (s *state) mayStandShut(tag string) bool {
	is := func(r *skidrulev1.RouteStop) bool { return r.GetTag() == tag }
	letsOff := func(r *skidrulev1.RouteStop) bool {
		c := s.component(r.GetTag())
		return c != nil && slices.Contains([]plant.Kind{plant.KindAtmosphereVent, plant.KindDrainPoint, plant.KindSamplePoint}, c.Kind)
	}
	lines := 0
	for _, l := range s.file.Design.GetLines() {
		if route := l.GetRoute(); slices.ContainsFunc(route, is) {
			lines++
			if !letsOff(route[0]) && !letsOff(route[len(route)-1]) && !s.joinedWithout(l) {
				return false
			}
		}
	}
	return lines > 0
}

// moves moves traps, check valves, relief valves and the branches of relief valves to other places in their line; moving a
// part by one place swaps it with its neighbour.
func (s *state) moves(v *vicinity) (out []*candidate) {
	for _, l := range v.lines {
		route := l.GetRoute()
		for from := 1; from+1 < len(route); from++ {
			c := s.component(route[from].GetTag())
			if c == nil || !s.movable(c) {
				continue
			}
			for to := 1; to+1 < len(route); to++ {
				if to == from {
					continue
				}
				order := slices.Clone(route)
				order = slices.Insert(slices.Delete(order, from, from+1), to, route[from])
				var edits []designfile.TextEdit
				ok := true
				for i := min(from, to); i <= max(from, to) && ok; i++ {
					var edit designfile.TextEdit
					edit, ok = s.editor.Replace(stopPath(l, i), stopText(order[i]))
					edits = append(edits, edit)
				}
				words := fmt.Sprintf("move the %s %s in line %s between %s and %s", c.Kind.Info().Title, c.Tag, l.GetTag(), order[to-1].GetTag(), order[to+1].GetTag())
				if max(from, to)-min(from, to) == 1 {
					words = fmt.Sprintf("swap %s and %s in line %s", route[from].GetTag(), route[to].GetTag(), l.GetTag())
				}
				out = add(out, &candidate{words: words, edits: edits}, ok)
			}
		}
	}
	return out
}

// movable tells parts whose place in a line is chosen for what they guard.
func (s *state) movable(c *plant.Component) bool {
	switch c.Kind {
	case plant.KindCheckValve, plant.KindLiquidTrap, plant.KindReliefValve:
		return true
	case plant.KindTee:
		// The branch of a relief valve is moved in its stead.
		for _, l := range s.file.Design.GetLines() {
			route := l.GetRoute()
			if len(route) > 0 && route[0].GetTag() == c.Tag && slices.ContainsFunc(route, func(stop *skidrulev1.RouteStop) bool {
				r := s.component(stop.GetTag())
				return r != nil && r.Kind == plant.KindReliefValve
			}) {
				return true
			}
		}
	}
	return false
}

// exchanges takes other parts of the same kind from the catalogues. What the design states about the part goes where the
// catalogue states it, since it was said of the part that goes.
func (s *state) exchanges(v *vicinity) (out []*candidate) {
	for _, tag := range v.components[:min(len(v.components), 8)] {
		c := s.component(tag)
		if c == nil {
			continue
		}
		path := designfile.Child("components", tag)
		for _, e := range s.partsOf(c.Kind) {
			if e.GetId() == c.Stated.GetPart() {
				continue
			}
			edit, ok := s.editor.Set(path, "part", e.GetId())
			edits := []designfile.TextEdit{edit}
			for _, stated := range statedTwice(path, c.Stated, e.GetData()) {
				remove, can := s.editor.RemoveEntry(stated)
				ok = ok && can
				edits = append(edits, remove)
			}
			out = add(out, &candidate{words: fmt.Sprintf("take the part %s (%s) for %s", e.GetId(), e.GetTitle(), tag), edits: edits, touched: []string{path}, mustDecide: true}, ok)
		}
	}
	return out
}

// partsOf lists parts of a kind in the order of the catalogues.
func (s *state) partsOf(k plant.Kind) (out []*skidrulev1.CatalogueEntry) {
	seen := map[string]bool{}
	for _, c := range s.request.Catalogues {
		for _, e := range c.GetEntries() {
			if plant.KindOf(e.GetData()) == k && !seen[e.GetId()] && len(out) < maxParts {
				seen[e.GetId()] = true
				out = append(out, e)
			}
		}
	}
	return out
}

// statedTwice lists the data that a design states about a part and a catalogue entry states too.
func statedTwice(path string, stated, entry *skidrulev1.Component) (out []string) {
	var walk func(path string, a, b protoreflect.Message)
	walk = func(path string, a, b protoreflect.Message) {
		fields := a.Descriptor().Fields()
		for i := range fields.Len() {
			f := fields.Get(i)
			if !a.Has(f) || !b.Has(f) {
				continue
			}
			at := designfile.Child(path, designfile.Key(f))
			switch {
			case f.ContainingOneof() != nil && !f.ContainingOneof().IsSynthetic() && f.Message() != nil:
				walk(at, a.Get(f).Message(), b.Get(f).Message())
			case f.Message() == nil && !f.IsMap() && f.Name() != "title":
				out = append(out, at)
			}
		}
	}
	walk(path, stated.ProtoReflect(), entry.ProtoReflect())
	return out
}

// bypasses takes lines out that lead round others, with the parts that stand in them alone.
func (s *state) bypasses(v *vicinity) (out []*candidate) {
	for _, l := range v.lines {
		route := l.GetRoute()
		if len(route) < 2 || !s.joinedWithout(l) {
			continue
		}
		edit, ok := s.editor.RemoveEntry(designfile.Child("lines", l.GetTag()))
		edits := []designfile.TextEdit{edit}
		var gone []string
		for _, stop := range route[1 : len(route)-1] {
			if s.uses(stop.GetTag()) > 1 || slices.Contains(gone, stop.GetTag()) {
				continue
			}
			gone = append(gone, stop.GetTag())
			remove, can := s.editor.RemoveEntry(designfile.Child("components", stop.GetTag()))
			ok = ok && can
			edits = append(edits, remove)
		}
		words := "remove the bypass " + l.GetTag()
		if len(gone) > 0 {
			words += " with " + strings.Join(gone, ", ")
		}
		// The tees at its ends lose their branches; where nothing else needs them they go as well.
		tees, can := s.withoutTees(l)
		if can {
			out = add(out, &candidate{words: words + " and its tees", edits: append(slices.Clone(edits), tees...), takesOut: true}, ok)
		}
		out = add(out, &candidate{words: words, edits: edits, takesOut: true}, ok)
	}
	return out
}

// uses counts the lines that a component stands in.
func (s *state) uses(tag string) (n int) {
	for _, l := range s.file.Design.GetLines() {
		for _, stop := range l.GetRoute() {
			if stop.GetTag() == tag {
				n++
				break
			}
		}
	}
	return n
}

// withoutTees takes the tees at both ends of a line out of the one other line that each stands in.
func (s *state) withoutTees(bypass *skidrulev1.Line) (edits []designfile.TextEdit, ok bool) {
	ends := []string{bypass.GetRoute()[0].GetTag(), bypass.GetRoute()[len(bypass.GetRoute())-1].GetTag()}
	if ends[0] == ends[1] {
		return nil, false
	}
	for _, tag := range ends {
		c := s.component(tag)
		if c == nil || c.Kind != plant.KindTee || s.uses(tag) != 2 {
			return nil, false
		}
		for _, l := range s.file.Design.GetLines() {
			route := l.GetRoute()
			for i, stop := range route {
				if l == bypass || stop.GetTag() != tag {
					continue
				}
				if i == 0 || i == len(route)-1 {
					return nil, false
				}
				remove, can := s.editor.RemoveEntry(stopPath(l, i))
				if !can {
					return nil, false
				}
				edits = append(edits, remove)
			}
		}
		remove, can := s.editor.RemoveEntry(designfile.Child("components", tag))
		if !can {
			return nil, false
		}
		edits = append(edits, remove)
	}
	return edits, true
}

// joinedWithout tells whether the ends of a line are still joined by other lines when it is taken out.
func (s *state) joinedWithout(without *skidrulev1.Line) bool {
	next := map[string][]string{}
	for _, l := range s.file.Design.GetLines() {
		if l == without {
			continue
		}
		for i := 1; i < len(l.GetRoute()); i++ {
			a, b := l.GetRoute()[i-1].GetTag(), l.GetRoute()[i].GetTag()
			next[a] = append(next[a], b)
		}
	}
	route := without.GetRoute()
	from, to := route[0].GetTag(), route[len(route)-1].GetTag()
	// Either way counts, since a bypass may be drawn against the flow that it leads round.
	return reaches(next, from, to) || reaches(next, to, from)
}

func reaches(next map[string][]string, from, to string) bool {
	seen, queue := map[string]bool{from: true}, []string{from}
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		for _, n := range next[at] {
			if n == to {
				return true
			}
			if !seen[n] {
				seen[n] = true
				queue = append(queue, n)
			}
		}
	}
	return false
}

// insertions puts a check valve or a trap into a line, bare and as parts of the catalogues. They are tried where something
// goes where it should not; elsewhere one more part would only make the numbers unknown.
func (s *state) insertions(f *skidrulev1.Finding, v *vicinity) (out []*candidate) {
	switch f.GetHazard() {
	case skidrulev1.Hazard_HAZARD_WATER_AT_GENERATOR, skidrulev1.Hazard_HAZARD_LIQUID_ON_CATALYST, skidrulev1.Hazard_HAZARD_OZONE_TO_PEOPLE:
	default:
		return nil
	}
	for _, kind := range []plant.Kind{plant.KindCheckValve, plant.KindLiquidTrap} {
		for _, l := range v.lines {
			for i := 1; i < len(l.GetRoute()); i++ {
				c, ok := s.insertion(kind, l, i, "")
				if !ok {
					continue
				}
				for _, e := range s.partsOf(kind) {
					if part, ok := s.insertion(kind, l, i, e.GetId()); ok {
						c.parts = append(c.parts, part)
					}
				}
				out = append(out, c)
			}
		}
	}
	return out
}

// insertion puts one part before a stop of a line. A trap comes with a drain and a check valve in it.
func (s *state) insertion(kind plant.Kind, l *skidrulev1.Line, before int, part string) (*candidate, bool) {
	neighbour := l.GetRoute()[before-1].GetTag()
	prefix := map[plant.Kind]string{plant.KindCheckValve: "CV", plant.KindLiquidTrap: "LT"}[kind]
	tag := s.freeTag(prefix)
	spelt := fmt.Sprintf("{%s: {}}", kind)
	words := fmt.Sprintf("put the %s %s into line %s between %s and %s", kind.Info().Title, tag, l.GetTag(), neighbour, l.GetRoute()[before].GetTag())
	if part != "" {
		spelt = fmt.Sprintf("{part: %s}", part)
		words += ", as the part " + part
	}
	c := &candidate{words: words, putsIn: true, touched: []string{designfile.Child("components", tag)}}
	ok := true
	edit := func(e designfile.TextEdit, made bool) {
		ok = ok && made
		c.edits = append(c.edits, e)
	}
	edit(s.editor.InsertItem(stopPath(l, before), tag))
	behind := designfile.Child("components", neighbour)
	edit(s.editor.InsertEntry(behind, tag, spelt))
	if kind == plant.KindLiquidTrap {
		drain, valve, line := s.freeTag("DR"), s.freeTag("CV"), s.freeTag("D")
		edit(s.editor.InsertEntry(behind, drain, "{drain_point: {}}"))
		// Under vacuum the float alone would let air in.
		edit(s.editor.InsertEntry(behind, valve, "{check_valve: {}}"))
		edit(s.editor.InsertEntry(designfile.Child("lines", l.GetTag()), line, fmt.Sprintf("{route: [%s.drain, %s, %s], service: drain_water}", tag, valve, drain)))
		c.touched = append(c.touched, designfile.Child("components", drain), designfile.Child("components", valve), designfile.Child("lines", line))
		c.words += fmt.Sprintf(", with a drain %s behind a check valve %s", drain, valve)
		// Its level switch and what that stops are left to the designer.
		c.leadsTo = "trips"
	}
	return c, ok
}
