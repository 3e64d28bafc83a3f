package designfile

import (
	"fmt"

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
	root, err := s.parse(o)
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
	if w.problems.full() {
		w.problems.More++
		return
	}
	w.problems.add(w.source.problem(at, path, message, suggestion))
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
	w.fields(content, m, "", nil)
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
		switch key := content[0].Value; key {
		case DesignHeader:
			message = "this is a design"
		case CatalogueHeader:
			message = "this is a catalogue"
		default:
			message = "the first key is " + quote(key)
		}
	}
	w.problemAt(at, "", message, suggestion)
	return nil, false
}

// message reads a mapping into m. No value at all stands for an empty message.
// key is the field that the mapping around it states; nil for none.
func (w *walker) message(n *yaml.Node, m protoreflect.Message, path string, key protoreflect.FieldDescriptor) {
	if isNull(n) {
		return
	}
	if n.Kind != yaml.MappingNode {
		w.problem(n, path, "a mapping of keys to values is needed here", "known keys are "+list(specOf(m.Descriptor()).plainKeys(key), 12))
		return
	}
	w.fields(n.Content, m, path, key)
}

// fields reads keys and values into the fields of m.
func (w *walker) fields(content []*yaml.Node, m protoreflect.Message, path string, by protoreflect.FieldDescriptor) {
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
	type pair struct{ key, value *yaml.Node }
	var unknown []pair
	for i := 0; i+1 < len(content); i += 2 {
		key, value := content[i], content[i+1]
		if !w.key(key, path, seen) {
			continue
		}
		f, ok := spec.byKey[key.Value]
		if !ok {
			unknown = append(unknown, pair{key, value})
			continue
		}
		at := Child(path, f.key)
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
		w.valueAtPath(p.field, p.value, m, Child(path, p.field.key))
	}
	for _, u := range unknown {
		w.unknownKey(u.key, u.value, by, path)
	}
}

// reference names an element that stands elsewhere in the file.
func (w *walker) reference(n *yaml.Node) string {
	return fmt.Sprintf("%s at %s:%d:%d", quote(n.Value), w.source.name, n.Line, n.Column)
}

// key checks a key of a mapping.
func (w *walker) key(key *yaml.Node, path string, seen map[string]*yaml.Node) bool {
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
		if w.problems.full() {
			w.problems.More++
			return false
		}
		w.problem(key, Child(path, key.Value), "the key "+quote(key.Value)+" for the second time",
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
			w.message(n, sub, path, nil)
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
	w.entries(n, path, func(key, value *yaml.Node, at string) {
		e := l.NewElement()
		w.message(value, e.Message(), at, f.keyedBy)
		if inner := e.Message().Get(f.keyedBy).String(); inner != "" && inner != key.Value {
			if p, ok := w.positions.entries[Child(at, by.key)]; ok {
				w.problemAt(p.value, at, fmt.Sprintf("%s is %s, but the key is %s", by.key, quote(inner), quote(key.Value)), "leave "+by.key+" out; the key states it")
			}
		}
		e.Message().Set(f.keyedBy, protoreflect.ValueOfString(key.Value))
		l.Append(e)
	})
}

// entries gives the entries of a mapping that can be read, each with its path. The others are reported.
func (w *walker) entries(n *yaml.Node, path string, read func(key, value *yaml.Node, at string)) {
	seen := make(map[string]*yaml.Node, len(n.Content)/2)
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		if !w.key(key, path, seen) {
			continue
		}
		at := Child(path, key.Value)
		w.enter(at, key, value)
		if !w.plainNode(value, at) {
			continue
		}
		read(key, value, at)
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
		at := Item(path, i)
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
			continue
		default:
			w.message(n, e.Message(), at, nil)
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
	w.entries(n, path, func(key, value *yaml.Node, at string) {
		k, ok := w.scalar(keySpec, key, at)
		if !ok {
			return
		}
		if valueSpec.field.Message() != nil {
			v := entries.NewValue()
			w.message(value, v.Message(), at, nil)
			entries.Set(k.MapKey(), v)
		} else if v, ok := w.scalar(valueSpec, value, at); ok {
			entries.Set(k.MapKey(), v)
		}
	})
}
