package designfile

import (
	"fmt"

	"google.golang.org/protobuf/reflect/protoreflect"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Field is a datum of a design that a path names.
type Field struct {
	// Descriptor is the field in its message.
	Descriptor protoreflect.FieldDescriptor
	// parent is the message of the design that holds the field; nil where the
	// design does not contain that element.
	parent protoreflect.Message
}

// Number returns the value of a numeric field in its wire unit. It returns
// false when the field is not stated or is no number.
func (f Field) Number() (float64, bool) {
	if f.parent == nil || !f.parent.Has(f.Descriptor) || f.Descriptor.IsList() || f.Descriptor.IsMap() {
		return 0, false
	}
	v := f.parent.Get(f.Descriptor)
	switch f.Descriptor.Kind() {
	case protoreflect.DoubleKind:
		return v.Float(), true
	case protoreflect.Int32Kind:
		return float64(v.Int()), true
	}
	return 0, false
}

// FieldAt finds the datum that a path names, such as
// "components.CV-2.check_valve.opening_pressure" or "basis.bromide". The design
// need not contain the element: a path is an error only if no design could have
// such a datum, and the error says at which step.
func FieldAt(design *skidrulev1.Design, path string) (Field, error) {
	m := design.ProtoReflect()
	f, parent, err := follow(m.Descriptor(), m, path)
	if err != nil {
		return Field{}, err
	}
	return Field{f.field, parent}, nil
}

var designDescriptor = (*skidrulev1.Design)(nil).ProtoReflect().Descriptor()

// datumAt finds the numeric field of a design that a path names.
func datumAt(path string) (*fieldSpec, error) {
	f, _, err := follow(designDescriptor, nil, path)
	if err != nil {
		return nil, err
	}
	if f.field.Kind() != protoreflect.DoubleKind || f.field.IsList() || f.form == skidrulev1.TextForm_TEXT_FORM_VALUE_AT_PATH {
		return nil, fmt.Errorf("%s is no number that can be assumed", quote(f.key))
	}
	return f, nil
}

// follow walks a path through the schema, and through a message as far as it
// goes. It returns the field and the message that holds it, nil where the
// message has no such element.
func follow(d protoreflect.MessageDescriptor, m protoreflect.Message, path string) (*fieldSpec, protoreflect.Message, error) {
	all, ok := steps(path)
	if !ok {
		return nil, nil, fmt.Errorf("%s is no path; write it as components.CV-2.max_pressure", quote(path))
	}
	if m != nil && !m.IsValid() {
		m = nil
	}
	for i := 0; i < len(all); i++ {
		spec := specOf(d)
		f, ok := spec.byKey[all[i].name]
		if !ok || all[i].index >= 0 {
			return nil, nil, fmt.Errorf("the path has no %s in %s; %s", quote(all[i].text()), WithArticle(spec.title()), didYouMean(all[i].name, spec.keys()))
		}
		end := i == len(all)-1
		if f.field.Message() == nil || f.field.IsMap() {
			if !end {
				return nil, nil, fmt.Errorf("the path goes on behind %s, which has no parts", quote(f.key))
			}
			return f, m, nil
		}
		if end {
			return nil, nil, fmt.Errorf("the path ends at %s, which has parts; name one of %s", quote(f.key), list(specOf(f.field.Message()).keys(), 40))
		}
		var inner protoreflect.Message
		if f.field.IsList() {
			i++
			if f.keyedBy == nil && all[i].index < 0 {
				return nil, nil, fmt.Errorf("the path needs the number of an item behind %s, such as %s[0]", quote(f.key), f.key)
			}
			if f.keyedBy != nil && all[i].index >= 0 {
				return nil, nil, fmt.Errorf("the path needs the %s of an item behind %s", f.keyedBy.Name(), quote(f.key))
			}
			if m != nil {
				inner = listItem(f, m.Get(f.field).List(), all[i])
			}
			if i == len(all)-1 {
				return nil, nil, fmt.Errorf("the path ends at an item of %s; name one of its parts: %s", quote(f.key), list(specOf(f.field.Message()).keys(), 40))
			}
		} else if m != nil && m.Has(f.field) {
			inner = m.Get(f.field).Message()
		}
		d, m = f.field.Message(), inner
	}
	return nil, nil, fmt.Errorf("%s is no path of a datum", quote(path))
}

// listItem finds an item by key or number; nil for none.
func listItem(f *fieldSpec, l protoreflect.List, s step) protoreflect.Message {
	if s.index >= 0 {
		if s.index < l.Len() {
			return l.Get(s.index).Message()
		}
		return nil
	}
	for i := range l.Len() {
		if e := l.Get(i).Message(); e.Get(f.keyedBy).String() == s.name {
			return e
		}
	}
	return nil
}

func (s step) text() string {
	if s.index >= 0 {
		return Item("", s.index)
	}
	return s.name
}
