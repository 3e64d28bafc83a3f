package designfile

import (
	"fmt"

	"go.yaml.in/yaml/v4"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/misspelt"
)

// keys lists the keys of a message.
func (s *messageSpec) keys() []string {
	keys := make([]string, 0, len(s.fields))
	for _, f := range s.fields {
		keys = append(keys, f.key)
	}
	return keys
}

// plainKeys lists the keys of a message without the members of its oneofs and
// without the field that the mapping around it states.
func (s *messageSpec) plainKeys(by protoreflect.FieldDescriptor) []string {
	var keys []string
	for _, f := range s.fields {
		if f.choice == nil && f.field != by {
			keys = append(keys, f.key)
		}
	}
	return keys
}

// choiceKeys lists the members of the oneofs of a message.
func (s *messageSpec) choiceKeys() []string {
	var keys []string
	for _, f := range s.fields {
		if f.choice != nil {
			keys = append(keys, f.key)
		}
	}
	return keys
}

func (s *messageSpec) has(key string) bool {
	_, ok := s.byKey[key]
	return ok
}

// title names a message for people: the title of a kind, or the message's name.
func (s *messageSpec) title() string {
	if trait := kindTrait(s.descriptor); trait.GetTitle() != "" {
		return trait.GetTitle()
	}
	return spaced(string(s.descriptor.Name()))
}

// unknownKey explains a key that the innermost message does not have. by is the
// field of that message which the mapping around it states.
func (w *walker) unknownKey(key, value *yaml.Node, by protoreflect.FieldDescriptor, path string) {
	if w.problems.full() {
		w.problems.More++
		return
	}
	spec := w.above[len(w.above)-1].spec
	message := "unknown key " + quote(key.Value) + " in " + WithArticle(spec.title())
	w.problem(key, Child(path, key.Value), message, w.keyHint(key.Value, value, by))
}

// keyHint says what an unknown key probably should be.
func (w *walker) keyHint(key string, value *yaml.Node, by protoreflect.FieldDescriptor) string {
	inner := w.above[len(w.above)-1]
	spec := inner.spec
	if f, ok := spec.byName[protoreflect.Name(key)]; ok && f.unit != 0 {
		example := f.example
		if example == "" {
			example = "a number in " + list(f.unit.Units(), 4)
		}
		return fmt.Sprintf("write %s and a value with its unit: %s", quote(f.key), example)
	}
	if near := misspelt.Nearest(key, spec.keys()); near != "" {
		return "did you mean " + quote(near) + "?"
	}
	if hint := w.misplaced(key, inner); hint != "" {
		return hint
	}
	choices := spec.choiceKeys()
	if len(choices) > 0 && len(spec.chosen(inner.message)) == 0 && (value.Kind == yaml.MappingNode || isNull(value)) {
		return "known kinds are " + list(choices, 80)
	}
	return "known keys are " + list(spec.plainKeys(by), 40)
}

// misplaced looks for a key on the other levels around a message.
func (w *walker) misplaced(key string, at frame) string {
	// Inside: the kind that is stated, and plain messages.
	for _, f := range at.spec.chosen(at.message) {
		if f.field.Message() != nil && specOf(f.field.Message()).has(key) {
			return fmt.Sprintf("%s belongs inside of %s: {...}", quote(key), f.key)
		}
	}
	var inside []string
	for _, f := range at.spec.fields {
		if f.field.Message() != nil && !f.field.IsList() && !f.field.IsMap() && specOf(f.field.Message()).has(key) {
			inside = append(inside, f.key)
		}
	}
	// Around: the messages that contain this one.
	for i := len(w.above) - 2; i >= 0; i-- {
		if outer := w.above[i]; outer.spec.has(key) {
			where := outer.path
			if where == "" {
				where = "the top of the file"
			}
			return fmt.Sprintf("%s belongs to %s, outside of %s", quote(key), where, w.above[i+1].path)
		}
	}
	if len(inside) > 0 {
		return fmt.Sprintf("%s is a key inside of %s", quote(key), list(inside, 6))
	}
	// Beside: the other members of the oneof that this message is in.
	if len(w.above) < 2 {
		return ""
	}
	var beside []string
	for _, f := range w.above[len(w.above)-2].spec.fields {
		if f.choice != nil && f.field.Message() != nil && f.field.Message() != at.spec.descriptor && specOf(f.field.Message()).has(key) {
			beside = append(beside, f.key)
		}
	}
	if len(beside) == 0 {
		return ""
	}
	return fmt.Sprintf("%s is a key of %s; known here are %s", quote(key), list(beside, 6), list(at.spec.plainKeys(nil), 40))
}
