package designfile

import (
	"fmt"
	"strings"

	"go.yaml.in/yaml/v4"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Decode reads a file in the file spelling, in YAML or JSON syntax, into a
// message and returns where each of its elements stands. The message may be of
// any type; its field options say how it is spelt. The error is a *[Problems]
// with everything that is wrong; the positions are valid beside an error as far
// as the file could be read, and so is the message.
func Decode(data []byte, name string, msg proto.Message, o Options) (*Positions, error) {
	o = o.withDefaults()
	positions, problems, err := decode(data, name, msg, o)
	if err != nil {
		return positions, err
	}
	return positions, problems.finish(o.MaxProblems)
}

func decode(data []byte, name string, msg proto.Message, o Options) (*Positions, *Problems, error) {
	if err := checkSize(name, data, o); err != nil {
		return nil, nil, err
	}
	s, err := newSource(name, data)
	if err != nil {
		return nil, nil, err
	}
	root, err := s.parseYAML(o)
	if err != nil {
		return nil, nil, err
	}
	w := &walker{
		source:    s,
		options:   o,
		positions: &Positions{file: name, source: s, entries: make(map[string]entry)},
		problems:  &Problems{},
		values:    make(map[valueKey]value),
	}
	w.root(root, msg.ProtoReflect())
	check(msg, w.positions, w.problems, o)
	return w.positions, w.problems, nil
}

// walker fills a message from the nodes of a file.
type walker struct {
	source    *source
	options   Options
	positions *Positions
	problems  *Problems
	values    map[valueKey]value
	above     []frame // the messages around the one that is read
}

// frame is a message that is being read.
type frame struct {
	spec    *messageSpec
	message protoreflect.Message
	path    string
}

// problem notes what is wrong at a node.
func (w *walker) problem(n *yaml.Node, path, message, suggestion string) {
	w.problemAt(w.extent(n), path, message, suggestion)
}

func (w *walker) problemAt(at span, path, message, suggestion string) {
	w.problems.add(w.source.problem(at, path, message, suggestion))
}

// extent returns where a scalar stands, and the first character of anything else.
func (w *walker) extent(n *yaml.Node) span {
	from := w.source.offset(n.Line, n.Column)
	if n.Kind != yaml.ScalarNode {
		return span{from, min(from+1, len(w.source.text))}
	}
	if n.Value == "" && n.Style&quoted == 0 {
		return span{from, from}
	}
	return span{from, w.source.scalarEnd(from, n.Style, n.Value)}
}

const quoted = yaml.DoubleQuotedStyle | yaml.SingleQuotedStyle | yaml.LiteralStyle | yaml.FoldedStyle

// isNull reports whether a node states no value.
func isNull(n *yaml.Node) bool {
	if n.Kind != yaml.ScalarNode || n.Style&quoted != 0 {
		return false
	}
	switch n.Value {
	case "", "~", "null", "Null", "NULL":
		return true
	}
	return false
}

// plainNode refuses what a design file may not contain.
func (w *walker) plainNode(n *yaml.Node, path string) bool {
	switch {
	case n.Kind == yaml.AliasNode:
		w.problem(n, path, "an alias (*"+n.Value+")", "write the value where it belongs; anchors and aliases are not used in these files")
	case n.Anchor != "":
		w.problem(n, path, "an anchor (&"+n.Anchor+")", "write the value where it belongs; anchors and aliases are not used in these files")
	case n.Style&yaml.TaggedStyle != 0:
		w.problem(n, path, "a YAML tag ("+n.Tag+")", "leave the tag out; the key says what the value is")
	case n.Kind == yaml.ScalarNode && len(n.Value) > w.options.MaxScalar:
		w.problem(n, path, fmt.Sprintf("a value of %d bytes; the limit is %d", len(n.Value), w.options.MaxScalar), "shorten it")
	default:
		return true
	}
	return false
}

// enter notes where an element stands. value is nil for an element of which
// only the key is known.
func (w *walker) enter(path string, key, value *yaml.Node) {
	e := entry{value: w.extent(value), style: value.Style, scalar: value.Kind == yaml.ScalarNode && !isNull(value)}
	if value.Kind == yaml.ScalarNode {
		e.decoded = value.Value
	} else {
		e.value.to = w.end(value)
	}
	e.key = e.value
	if key != nil {
		e.key = w.extent(key)
		if isNull(value) {
			e.value = e.key
		}
	}
	w.positions.entries[path] = e
}

// end returns the byte behind a node.
func (w *walker) end(n *yaml.Node) int {
	from := w.source.offset(n.Line, n.Column)
	if n.Kind == yaml.ScalarNode || n.Kind == yaml.AliasNode {
		return w.extent(n).to
	}
	end := from
	if len(n.Content) > 0 {
		last := n.Content[len(n.Content)-1]
		if end = w.end(last); isNull(last) && len(n.Content) > 1 && n.Kind == yaml.MappingNode {
			end = max(end, w.end(n.Content[len(n.Content)-2]))
		}
	}
	t := w.source.text
	if n.Style&yaml.FlowStyle == 0 || from >= len(t) || t[from] != '[' && t[from] != '{' {
		return end
	}
	for i := max(end, from+1); i < len(t); i++ {
		switch t[i] {
		case ']', '}':
			return i + 1
		case '#':
			for i < len(t) && t[i] != '\n' && t[i] != '\r' {
				i++
			}
		}
	}
	return len(t)
}

// root reads the document.
func (w *walker) root(n *yaml.Node, m protoreflect.Message) {
	if !w.plainNode(n, "") {
		return
	}
	header := fmt.Sprintf("begin the file with \"%s: %s\"", w.options.Header, w.options.Version)
	if n.Kind != yaml.MappingNode {
		suggestion := "write keys and values"
		if w.options.Header != "" {
			suggestion = header
		}
		w.problem(n, "", "the file is no mapping of keys to values", suggestion)
		return
	}
	content := n.Content
	if w.options.Header != "" {
		var ok bool
		if content, ok = w.header(content, header); !ok {
			return
		}
	}
	w.positions.entries[""] = entry{key: span{0, 0}, value: span{0, len(w.source.text)}}
	w.fields(content, m, "")
}

// header reads the first key and returns the other ones.
func (w *walker) header(content []*yaml.Node, suggestion string) ([]*yaml.Node, bool) {
	for i := 0; i+1 < len(content); i += 2 {
		key, value := content[i], content[i+1]
		if key.Value != w.options.Header {
			continue
		}
		if i > 0 {
			w.problem(key, "", quote(key.Value)+" is not the first key", suggestion)
		}
		if value.Kind != yaml.ScalarNode || value.Value != w.options.Version {
			w.problem(value, "", "version "+quote(value.Value)+" is not known", "write \""+w.options.Header+": "+w.options.Version+"\"")
			return nil, false
		}
		return append(append([]*yaml.Node{}, content[:i]...), content[i+2:]...), true
	}
	at := span{}
	message := "the first key is missing"
	if len(content) > 0 {
		at = w.extent(content[0])
		message = "the first key is " + quote(content[0].Value)
	}
	w.problemAt(at, "", message, suggestion)
	return nil, false
}

// message reads a mapping into m. No value at all stands for an empty message.
func (w *walker) message(n *yaml.Node, m protoreflect.Message, path string) {
	if isNull(n) {
		return
	}
	if n.Kind != yaml.MappingNode {
		keys := specOf(m.Descriptor()).keys(nil)
		w.problem(n, path, "a mapping of keys to values is needed here", "known keys are "+list(keys, 12))
		return
	}
	w.fields(n.Content, m, path)
}

// fields reads keys and values into the fields of m.
func (w *walker) fields(content []*yaml.Node, m protoreflect.Message, path string) {
	spec := specOf(m.Descriptor())
	w.above = append(w.above, frame{spec, m, path})
	defer func() { w.above = w.above[:len(w.above)-1] }()
	type pending struct {
		field *fieldSpec
		value *yaml.Node
	}
	var later []pending
	seen := make(map[string]*yaml.Node, len(content)/2)
	chosen := make(map[protoreflect.FullName]*yaml.Node)
	var unknown []*yaml.Node
	for i := 0; i+1 < len(content); i += 2 {
		key, value := content[i], content[i+1]
		if !w.key(key, value, path, seen) {
			continue
		}
		f, ok := spec.byKey[key.Value]
		if !ok {
			unknown = append(unknown, key)
			continue
		}
		at := child(path, f.key)
		w.enter(at, key, value)
		if f.choice != nil {
			if first, twice := chosen[f.choice.FullName()]; twice {
				w.problem(key, at, fmt.Sprintf("%s beside %s: only one of the kinds may be stated", quote(key.Value), w.reference(first)),
					"remove one of the two")
				continue
			}
			chosen[f.choice.FullName()] = key
		}
		if !w.plainNode(value, at) {
			continue
		}
		if f.form == skidrulev1.TextForm_TEXT_FORM_VALUE_AT_PATH {
			later = append(later, pending{f, value})
			continue
		}
		w.field(f, value, m, at)
	}
	// These fields need what others state, and hints need the kind.
	for _, p := range later {
		w.valueAtPath(p.field, p.value, m, child(path, p.field.key))
	}
	for _, key := range unknown {
		w.unknownKey(key, spec, m, path)
	}
}

// reference names an element that stands elsewhere in the file.
func (w *walker) reference(n *yaml.Node) string {
	return fmt.Sprintf("%s at %s:%d:%d", quote(n.Value), w.source.name, n.Line, n.Column)
}

// key checks a key of a mapping.
func (w *walker) key(key, value *yaml.Node, path string, seen map[string]*yaml.Node) bool {
	if key.Kind == yaml.ScalarNode && key.Value == "<<" && key.Style&quoted == 0 {
		w.problem(key, path, "a merge key (<<)", "write the keys where they belong; anchors, aliases and merges are not used in these files")
		return false
	}
	if !w.plainNode(key, path) {
		return false
	}
	if key.Kind != yaml.ScalarNode {
		w.problem(key, path, "a key that is no plain word", "write one word and a colon")
		return false
	}
	if first, twice := seen[key.Value]; twice {
		w.problem(key, child(path, key.Value), "the key "+quote(key.Value)+" for the second time",
			fmt.Sprintf("the first one is at %s:%d:%d; remove or rename one", w.source.name, first.Line, first.Column))
		return false
	}
	seen[key.Value] = key
	return true
}

// field reads one value into a field.
func (w *walker) field(f *fieldSpec, n *yaml.Node, m protoreflect.Message, path string) {
	fd := f.field
	switch {
	case fd.IsMap():
		w.mapping(f, n, m, path)
	case fd.IsList() && f.keyedBy != nil:
		w.keyed(f, n, m, path)
	case fd.IsList():
		w.list(f, n, m, path)
	case fd.Message() != nil:
		sub := m.Mutable(fd).Message()
		if !w.short(f, n, sub, path) {
			w.message(n, sub, path)
		}
	default:
		if v, ok := w.scalar(f, n, path); ok {
			m.Set(fd, v)
		}
	}
}

// keyed reads a mapping into a list of messages that hold their key.
func (w *walker) keyed(f *fieldSpec, n *yaml.Node, m protoreflect.Message, path string) {
	if isNull(n) {
		return
	}
	by := specOf(f.field.Message()).byName[f.keyedBy.Name()]
	if n.Kind != yaml.MappingNode {
		w.problem(n, path, "a mapping is needed here, with one entry for each "+by.key, "write \""+by.key+": {...}\" without dashes")
		return
	}
	l := m.Mutable(f.field).List()
	seen := make(map[string]*yaml.Node, len(n.Content)/2)
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		if !w.key(key, value, path, seen) {
			continue
		}
		at := child(path, key.Value)
		w.enter(at, key, value)
		if !w.plainNode(value, at) {
			continue
		}
		e := l.NewElement()
		w.message(value, e.Message(), at)
		if inner := e.Message().Get(f.keyedBy).String(); inner != "" && inner != key.Value {
			if p, ok := w.positions.entries[child(at, by.key)]; ok {
				w.problemAt(p.value, at, fmt.Sprintf("%s is %s, but the key is %s", by.key, quote(inner), quote(key.Value)), "leave "+by.key+" out; the key states it")
			}
		}
		e.Message().Set(f.keyedBy, protoreflect.ValueOfString(key.Value))
		l.Append(e)
	}
}

// list reads a list, or a single scalar, into a repeated field.
func (w *walker) list(f *fieldSpec, n *yaml.Node, m protoreflect.Message, path string) {
	if isNull(n) {
		return
	}
	items, one := n.Content, false
	switch {
	case n.Kind == yaml.SequenceNode:
	case n.Kind == yaml.ScalarNode && (f.field.Message() == nil || f.form != skidrulev1.TextForm_TEXT_FORM_UNSPECIFIED):
		items, one = []*yaml.Node{n}, true
	default:
		w.problem(n, path, "a list is needed here", "write each item after a dash, or all in [ ]")
		return
	}
	l := m.Mutable(f.field).List()
	for i, n := range items {
		at := item(path, i)
		w.enter(at, nil, n)
		if !one && !w.plainNode(n, at) {
			continue
		}
		if f.field.Message() == nil {
			if v, ok := w.scalar(f, n, at); ok {
				l.Append(v)
			}
			continue
		}
		e := l.NewElement()
		switch {
		case f.form == skidrulev1.TextForm_TEXT_FORM_ROUTE_STOP && n.Kind == yaml.ScalarNode:
			w.stop(n, e.Message(), i == 0, i == len(items)-1, at)
		case w.short(f, n, e.Message(), at):
		case isNull(n):
			w.problem(n, at, "an item without a value", "write the value or remove the dash")
		default:
			w.message(n, e.Message(), at)
		}
		l.Append(e)
	}
}

// mapping reads a mapping into a map field.
func (w *walker) mapping(f *fieldSpec, n *yaml.Node, m protoreflect.Message, path string) {
	if isNull(n) {
		return
	}
	if n.Kind != yaml.MappingNode {
		w.problem(n, path, "a mapping of keys to values is needed here", "")
		return
	}
	entries := m.Mutable(f.field).Map()
	keySpec := &fieldSpec{key: f.key, field: f.field.MapKey()}
	valueSpec := &fieldSpec{key: f.key, field: f.field.MapValue()}
	seen := make(map[string]*yaml.Node, len(n.Content)/2)
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		if !w.key(key, value, path, seen) {
			continue
		}
		at := child(path, key.Value)
		w.enter(at, key, value)
		if !w.plainNode(value, at) {
			continue
		}
		k, ok := w.scalar(keySpec, key, at)
		if !ok {
			continue
		}
		if valueSpec.field.Message() != nil {
			v := entries.NewValue()
			w.message(value, v.Message(), at)
			entries.Set(k.MapKey(), v)
		} else if v, ok := w.scalar(valueSpec, value, at); ok {
			entries.Set(k.MapKey(), v)
		}
	}
}

// keys lists the keys of a message, leaving out the members of its oneofs when
// one of them is set.
func (s *messageSpec) keys(m protoreflect.Message) []string {
	var keys []string
	for _, f := range s.fields {
		if f.choice == nil || m == nil || m.WhichOneof(f.choice) == nil {
			keys = append(keys, f.key)
		}
	}
	return keys
}

// unknownKey explains a key that the message does not have.
func (w *walker) unknownKey(key *yaml.Node, spec *messageSpec, m protoreflect.Message, path string) {
	at := child(path, key.Value)
	message := "unknown key " + quote(key.Value)
	if title := spec.title(); title != "" {
		message += " in " + title
	}
	if f, ok := spec.byName[protoreflect.Name(key.Value)]; ok {
		w.problem(key, at, message, fmt.Sprintf("write %s and a value with its unit, such as %s", quote(f.key), f.unit.Noun()))
		return
	}
	if near := nearest(key.Value, spec.keys(nil)); near != "" {
		w.problem(key, at, message, "did you mean "+quote(near)+"?")
		return
	}
	if hint := w.misplaced(key.Value, spec, m); hint != "" {
		w.problem(key, at, message, hint)
		return
	}
	w.problem(key, at, message, "known keys are "+list(spec.keys(m), 40))
}

// title names a message for people: the title of a kind, or the message's name.
func (s *messageSpec) title() string {
	name := string(s.descriptor.Name())
	if trait, _ := proto.GetExtension(s.descriptor.Options(), skidrulev1.E_KindTrait).(*skidrulev1.KindTrait); trait.GetTitle() != "" {
		return "a " + trait.GetTitle()
	}
	return "a " + strings.ToLower(strings.ReplaceAll(strings.Trim(enumPrefix(name), "_"), "_", " "))
}

// misplaced looks for a key on the other levels around a message.
func (w *walker) misplaced(key string, spec *messageSpec, m protoreflect.Message) string {
	// Inside: the kind that is stated, and plain messages.
	for _, f := range spec.chosen(m) {
		if inner := specOf(f.field.Message()); f.field.Message() != nil && inner.has(key) {
			return fmt.Sprintf("%s belongs inside %s: {...}", quote(key), f.key)
		}
	}
	var within []string
	for _, f := range spec.fields {
		if f.field.Message() != nil && !f.field.IsList() && !f.field.IsMap() && specOf(f.field.Message()).has(key) {
			within = append(within, f.key)
		}
	}
	// Around: the messages that contain this one.
	for i := len(w.above) - 2; i >= 0; i-- {
		outer := w.above[i]
		if outer.spec.has(key) {
			where := outer.path
			if where == "" {
				where = "the top of the file"
			}
			return fmt.Sprintf("%s belongs %d level(s) further out, to %s", quote(key), len(w.above)-1-i, where)
		}
	}
	// Beside: the other members of the oneof that this message is in.
	if len(within) == 0 && len(w.above) > 1 {
		outer := w.above[len(w.above)-2].spec
		for _, f := range outer.fields {
			if f.choice != nil && f.field.Message() != nil && f.field.Message() != spec.descriptor && specOf(f.field.Message()).has(key) {
				within = append(within, f.key)
			}
		}
		if len(within) > 0 {
			return fmt.Sprintf("%s is a key of %s; known here are %s", quote(key), list(within, 6), list(spec.keys(m), 40))
		}
		return ""
	}
	if len(within) > 0 {
		return fmt.Sprintf("%s is a key inside %s", quote(key), list(within, 6))
	}
	return ""
}

func (s *messageSpec) has(key string) bool {
	_, ok := s.byKey[key]
	return ok
}
