package designfile

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Check looks for what no spelling of a message may contain: numbers that are
// not finite, absurd or of an impossible sign, keys that are malformed or occur
// twice, numbers of enums that are not known, assumptions about nothing. It
// returns nil or a *[Problems] whose problems have paths, and places where
// positions are given; positions may be nil. It knows nothing of physics.
func Check(msg proto.Message, positions *Positions, o Options) error {
	o = o.withDefaults()
	problems := &Problems{}
	check(msg, positions, problems, o)
	return problems.finish(o.MaxProblems)
}

func check(msg proto.Message, positions *Positions, problems *Problems, o Options) {
	c := &checker{positions: positions, problems: problems, options: o, design: headerOf(msg) != ""}
	c.message(msg.ProtoReflect(), newTrail())
	if design, ok := msg.(*skidrulev1.Design); ok {
		c.routes(design)
	}
}

type checker struct {
	positions *Positions
	problems  *Problems
	options   Options
	design    bool // every whole number of designs and catalogues is a count
	looked    int  // messages and values looked at
	stopped   bool
}

// stopEvery is how many messages and values are looked at between two questions whether to stop: far below a millisecond of work.
const stopEvery = 256

// stop tells whether the check ends early.
func (c *checker) stop() bool {
	if c.options.Stop == nil || c.stopped {
		return c.stopped
	}
	if c.looked++; c.looked%stopEvery == 0 {
		c.stopped = c.options.Stop()
	}
	return c.stopped
}

func (c *checker) problem(t trail, message, suggestion string) {
	if c.problems.full() {
		c.problems.More++
		return
	}
	p := Problem{File: c.positions.File(), Path: t.path(), Message: message, Suggestion: suggestion}
	if at, ok := c.positions.Find(p.Path); ok {
		p.PlaceAt(at)
	}
	c.problems.add(p)
}

// message checks the fields that are stated.
func (c *checker) message(m protoreflect.Message, t trail) {
	for _, place := range specOf(m.Descriptor()).places {
		f := place.stated(m)
		if f == nil {
			continue
		}
		if c.stop() {
			return
		}
		at := t.name(f.key)
		v := m.Get(f.field)
		switch {
		case f.field.IsMap():
			c.mapping(f, v.Map(), at)
		case f.field.IsList() && f.keyedBy != nil:
			c.keyed(f, v.List(), at)
		case f.field.IsList():
			l := v.List()
			for i := range l.Len() {
				if c.stop() {
					return
				}
				c.value(f, l.Get(i), m, at.item(i))
			}
		default:
			c.value(f, v, m, at)
		}
	}
}

func (c *checker) value(f *fieldSpec, v protoreflect.Value, m protoreflect.Message, t trail) {
	switch f.field.Kind() {
	case protoreflect.MessageKind, protoreflect.GroupKind:
		c.message(v.Message(), t)
		if a, ok := v.Message().Interface().(*skidrulev1.Assumption); ok {
			c.assumption(a, t)
		}
	case protoreflect.DoubleKind, protoreflect.FloatKind:
		if f.form == skidrulev1.TextForm_TEXT_FORM_VALUE_AT_PATH {
			return // checked with the datum that the assumption names
		}
		if message, suggestion := outOfBounds(f, v.Float()); message != "" {
			c.problem(t, message, suggestion)
		}
	case protoreflect.Int32Kind, protoreflect.Int64Kind:
		if v.Int() < 0 && c.design {
			c.problem(t, fmt.Sprintf("%s is negative (%d)", f.key, v.Int()), "write a count of zero or more")
		}
	case protoreflect.EnumKind:
		if f.field.Enum().Values().ByNumber(v.Enum()) == nil {
			c.problem(t, fmt.Sprintf("%s has the unknown value %d", f.key, v.Enum()), "known are "+list(EnumNames(f.field.Enum()), 60))
		}
	case protoreflect.StringKind:
		c.text(v.String(), t)
		if m == nil {
			return
		}
		if r, ok := m.Interface().(*skidrulev1.RouteStop); ok && f.field.Name() == "tag" && !validTag(r.GetTag()) {
			c.problem(t, quote(r.GetTag())+" is no tag", tagForm)
		}
	}
}

func (c *checker) text(s string, t trail) {
	switch {
	case len(s) > c.options.MaxScalar:
		c.problem(t, fmt.Sprintf("a text of %d bytes; the limit is %d", len(s), c.options.MaxScalar), "shorten it")
	case !utf8.ValidString(s):
		c.problem(t, "the text is not valid UTF-8", "encode it as UTF-8")
	}
}

const tagForm = "use letters, digits, \"-\", \"_\" and \"/\", first a letter or digit, at most 64 characters"

// keyed checks the keys of a list that files spell as a mapping.
func (c *checker) keyed(f *fieldSpec, l protoreflect.List, t trail) {
	seen := make(map[string]bool, l.Len())
	for i := range l.Len() {
		if c.stop() {
			return
		}
		m := l.Get(i).Message()
		key := m.Get(f.keyedBy).String()
		switch {
		case key == "":
			c.problem(t.item(i), fmt.Sprintf("an item of %s without %s", f.key, f.keyedBy.Name()), tagForm)
		case !validTag(key):
			c.problem(t.name(key), fmt.Sprintf("%s is no %s", quote(key), f.keyedBy.Name()), tagForm)
		case seen[key]:
			c.problem(t.name(key), fmt.Sprintf("two items of %s with the %s %s", f.key, f.keyedBy.Name(), quote(key)), "rename or remove one")
		}
		seen[key] = true
		c.message(m, t.name(key))
	}
}

func (c *checker) mapping(f *fieldSpec, entries protoreflect.Map, t trail) {
	value := &fieldSpec{key: f.key, field: f.field.MapValue()}
	var keys []protoreflect.MapKey
	entries.Range(func(k protoreflect.MapKey, _ protoreflect.Value) bool {
		keys = append(keys, k)
		return true
	})
	slices.SortFunc(keys, func(a, b protoreflect.MapKey) int { return strings.Compare(a.String(), b.String()) })
	for _, k := range keys {
		if c.stop() {
			return
		}
		at := t.name(k.String())
		c.text(k.String(), at)
		c.value(value, entries.Get(k), nil, at)
	}
}

// assumption checks that the path leads to a number and that the ends fit it.
func (c *checker) assumption(a *skidrulev1.Assumption, t trail) {
	at := t.name("path")
	if a.GetPath() == "" {
		c.problem(t, "an assumption without a path", "write path: and the datum that is assumed, such as components.CV-2.max_pressure")
		return
	}
	f, err := datumAt(a.GetPath())
	if err != nil {
		message, suggestion, _ := strings.Cut(err.Error(), "; ")
		c.problem(at, message, suggestion)
		return
	}
	for _, end := range []struct {
		key   string
		value *float64
	}{{"low", a.Low}, {"high", a.High}} {
		if end.value == nil {
			continue
		}
		if message, suggestion := outOfBounds(f, *end.value); message != "" {
			c.problem(t.name(end.key), message, suggestion)
		}
	}
	if a.Low != nil && a.High != nil && *a.Low > *a.High {
		c.problem(t.name("low"), fmt.Sprintf("the low end %s lies above the high end %s", show(f, *a.Low), show(f, *a.High)), "swap them")
	}
}

// routes finds stops in the middle of a line that name one port for both ways
// although the component has several.
func (c *checker) routes(design *skidrulev1.Design) {
	var ports map[string][2]string
	for _, line := range design.GetLines() {
		if c.stop() {
			return
		}
		for i, stop := range line.GetRoute() {
			if i == 0 || i == len(line.GetRoute())-1 || stop.GetEnter() == "" || stop.GetEnter() != stop.GetLeave() {
				continue
			}
			if ports == nil {
				ports = throughPorts(design)
			}
			through, ok := ports[stop.GetTag()]
			if !ok {
				continue
			}
			t := trail{}.name("lines").name(line.GetTag()).name("route").item(i)
			c.problem(t, fmt.Sprintf("the line enters and leaves %s by the same port %s", stop.GetTag(), quote(stop.GetEnter())),
				fmt.Sprintf("name both ports, as %s.%s>%s", stop.GetTag(), through[0], through[1]))
		}
	}
}

// throughPorts returns two ports by which a line may pass each component whose kind has more than one.
func throughPorts(design *skidrulev1.Design) map[string][2]string {
	all := make(map[string][2]string, len(design.GetComponents()))
	for _, component := range design.GetComponents() {
		m := component.ProtoReflect()
		for _, f := range specOf(m.Descriptor()).chosen(m) {
			ports, names := kindTrait(f.field.Message()).GetPorts(), portNames(f.field.Message())
			switch {
			case len(ports) > 1:
				all[component.GetTag()] = [2]string{ports[0].GetName(), ports[1].GetName()}
			case len(names) > 1:
				all[component.GetTag()] = [2]string{names[0], names[1]}
			}
		}
	}
	return all
}

// portNames are the ports of a kind, of those that may be repeated the second too.
func portNames(kind protoreflect.MessageDescriptor) []string {
	var names []string
	for _, port := range kindTrait(kind).GetPorts() {
		names = append(names, port.GetName())
		if port.GetRepeatable() {
			names = append(names, port.GetName()+"_2")
		}
	}
	return names
}

// kindTrait is what the proto says of a component kind; nil of any other message.
func kindTrait(d protoreflect.MessageDescriptor) *skidrulev1.KindTrait {
	trait, _ := proto.GetExtension(d.Options(), skidrulev1.E_KindTrait).(*skidrulev1.KindTrait)
	return trait
}
