package designfile

import (
	"go.yaml.in/yaml/v4"
	"google.golang.org/protobuf/reflect/protoreflect"
)

// wirePlaces notes where the elements of protobuf's JSON stand. The library has
// read the text already, so whatever does not fit the schema is passed over.
func (s *source) wirePlaces(d protoreflect.MessageDescriptor, o Options) *Positions {
	w := &walker{source: s, options: o, positions: &Positions{file: s.name, source: s, entries: make(map[string]entry)}, problems: &Problems{}}
	root, err := s.parseJSON(o.MaxDepth)
	if err != nil {
		return w.positions
	}
	w.positions.entries[""] = entry{value: span{0, len(s.text)}}
	w.wireMessage(root, d, "")
	return w.positions
}

func (w *walker) wireMessage(n *yaml.Node, d protoreflect.MessageDescriptor, path string) {
	if n.Kind != yaml.MappingNode {
		return
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		key, value := n.Content[i], n.Content[i+1]
		fd := d.Fields().ByJSONName(key.Value)
		if fd == nil {
			fd = d.Fields().ByTextName(key.Value)
		}
		if fd == nil || isNull(value) {
			continue
		}
		f := specOf(d).byName[fd.Name()]
		at := Child(path, f.key)
		w.enter(at, key, value)
		w.wireField(f, value, at)
	}
}

func (w *walker) wireField(f *fieldSpec, n *yaml.Node, path string) {
	switch {
	case f.field.IsMap():
		for i := 0; i+1 < len(n.Content); i += 2 {
			w.enter(Child(path, n.Content[i].Value), n.Content[i], n.Content[i+1])
		}
	case f.field.IsList():
		for i, e := range n.Content {
			at, named := Item(path, i), e
			if f.keyedBy != nil {
				if key := wireKey(e, f.keyedBy); key != nil {
					at, named = Child(path, key.Value), key
				}
			}
			w.enter(at, named, e)
			if f.field.Message() != nil {
				w.wireMessage(e, f.field.Message(), at)
			}
		}
	case f.field.Message() != nil:
		w.wireMessage(n, f.field.Message(), path)
	}
}

// wireKey returns the node that holds the key of an item; nil for none.
func wireKey(n *yaml.Node, by protoreflect.FieldDescriptor) *yaml.Node {
	if n.Kind != yaml.MappingNode {
		return nil
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		if k := n.Content[i].Value; k == by.JSONName() || k == by.TextName() {
			return n.Content[i+1]
		}
	}
	return nil
}
