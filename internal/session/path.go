package session

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// place is where a path leads: a field of a message, or an item of a list that is such a field.
type place struct {
	parent protoreflect.Message
	field  protoreflect.FieldDescriptor
	item   int // -1 for the field itself
	// name is the field that names the parent in its list; nil where it is no named item.
	name protoreflect.FieldDescriptor
}

// errNowhere stands for a path that leads to nothing in this design.
type errNowhere struct{ message, suggestion string }

// Error says where the path leads nowhere.
func (e *errNowhere) Error() string { return e.message }

func nowhere(suggestion, format string, args ...any) error {
	return &errNowhere{fmt.Sprintf(format, args...), suggestion}
}

// find follows a path to what it names. Elements on the way that are shared with the design before are copied. With create
// set, parts that hold data without being elements of the drawing, such as the basis or the data of a port, are made where
// they are not there.
func (d *draft) find(path string, create bool) (place, error) {
	steps := strings.Split(path, ".")
	m := d.design.ProtoReflect()
	var named protoreflect.FieldDescriptor
	for i := 0; i < len(steps); i++ {
		name, index, err := cutIndex(steps[i])
		if err != nil {
			return place{}, err
		}
		f := designfile.FieldByKey(m.Descriptor(), name)
		if f == nil {
			return place{}, nowhere("", "%q has no %q", orDesign(steps[:i]), name)
		}
		here := place{m, f, -1, named}
		keyed := designfile.KeyedBy(f)
		switch {
		case index >= 0 && (!f.IsList() || keyed != nil || index >= m.Get(f).List().Len()):
			return place{}, nowhere("", "%q has no item %d", strings.Join(append(steps[:i:i], name), "."), index)
		case index >= 0:
			here.item = index
		case keyed != nil && i < len(steps)-1:
			i++
			if here.item = itemOf(m.Get(f).List(), keyed, steps[i]); here.item < 0 {
				if !create || m == d.design.ProtoReflect() {
					return place{}, nowhere("", "there is no %q", strings.Join(steps[:i+1], "."))
				}
				l := m.Mutable(f).List()
				item := l.NewElement()
				item.Message().Set(keyed, protoreflect.ValueOfString(steps[i]))
				l.Append(item)
				here.item = l.Len() - 1
			}
		}
		if i == len(steps)-1 {
			return here, nil
		}
		if m, err = d.enter(here, strings.Join(steps[:i+1], "."), create); err != nil {
			return place{}, err
		}
		named = keyed
	}
	return place{}, nowhere("write it as components.CV-2.max_pressure", "the path is empty")
}

// enter gives the message at a place for changing.
func (d *draft) enter(p place, path string, create bool) (protoreflect.Message, error) {
	switch {
	case p.field.Message() == nil || p.field.IsMap() || (p.field.IsList() && p.item < 0):
		return nil, nowhere("", "the path goes on behind %q, which has no parts", path)
	case p.item >= 0:
		l := p.parent.Mutable(p.field).List()
		m := l.Get(p.item).Message()
		if p.parent == d.design.ProtoReflect() {
			m = d.owned(m)
			l.Set(p.item, protoreflect.ValueOfMessage(m))
		}
		return m, nil
	case !p.parent.Has(p.field):
		if p.field.ContainingOneof() != nil {
			return nil, nowhere("put the component whole to make it of another kind", "there is no %q", path)
		}
		if !create {
			return nil, nowhere("", "%q is not stated", path)
		}
		return p.parent.Mutable(p.field).Message(), nil
	}
	m := p.parent.Mutable(p.field).Message()
	if p.parent == d.design.ProtoReflect() {
		m = d.owned(m)
		p.parent.Set(p.field, protoreflect.ValueOfMessage(m))
	}
	return m, nil
}

// owned gives a copy of an element of the design, or itself where it is one already.
func (d *draft) owned(m protoreflect.Message) protoreflect.Message {
	if d.own[m.Interface()] {
		return m
	}
	c := proto.Clone(m.Interface())
	d.own[c] = true
	return c.ProtoReflect()
}

// set states one datum.
func (d *draft) set(datum *skidrulev1.Datum) *EditError {
	at, err := d.find(datum.GetPath(), true)
	if err != nil {
		return editError("set.path", err)
	}
	if at.item >= 0 {
		return &EditError{Field: "set.path", Message: fmt.Sprintf("%q is an element, no datum", datum.GetPath()), Suggestion: "put it whole, or name one of its data"}
	}
	if at.parent == d.design.ProtoReflect() && at.field.Message() != nil {
		return &EditError{Field: "set.path", Message: fmt.Sprintf("%q is no datum", datum.GetPath()), Suggestion: "put its elements one by one"}
	}
	if at.field == at.name {
		return &EditError{Field: "set.path", Message: fmt.Sprintf("%q is what names the element", datum.GetPath()), Suggestion: "remove the element and put one of the other name"}
	}
	value, err := read(at, datum)
	if err != nil {
		return editError("set.value", err)
	}
	at.parent.Set(at.field, value)
	return nil
}

// read decodes the value of a datum as a design file would state it.
func read(at place, datum *skidrulev1.Datum) (protoreflect.Value, error) {
	text := strings.TrimSpace(datum.GetValue())
	switch {
	case text == "":
		return protoreflect.Value{}, nowhere("remove the datum to state nothing", "the value is empty")
	case strings.ContainsAny(text, "\r\n"):
		return protoreflect.Value{}, nowhere("write lists as [a, b] and texts in quotes", "the value has several lines")
	}
	m := at.parent.New()
	_, err := designfile.Decode([]byte(designfile.Key(at.field)+": "+text+"\n"), "value", m.Interface(), designfile.Options{})
	var problems *designfile.Problems
	if errors.As(err, &problems) && len(problems.List) > 0 {
		return protoreflect.Value{}, &errNowhere{problems.List[0].Message, problems.List[0].Suggestion}
	}
	if err != nil {
		return protoreflect.Value{}, err
	}
	if !m.Has(at.field) {
		return protoreflect.Value{}, nowhere("remove the datum to state nothing", "the value states nothing")
	}
	return m.Get(at.field), nil
}

// remove takes an element or a datum out.
func (d *draft) remove(path string) *EditError {
	at, err := d.find(path, false)
	if err != nil {
		return editError("remove", err)
	}
	switch {
	case at.item >= 0:
		l := at.parent.Mutable(at.field).List()
		for i := at.item; i < l.Len()-1; i++ {
			l.Set(i, l.Get(i+1))
		}
		l.Truncate(l.Len() - 1)
	case !at.parent.Has(at.field):
		return &EditError{Field: "remove", Message: fmt.Sprintf("%q is not stated", path)}
	case at.field.ContainingOneof() != nil && !at.field.HasOptionalKeyword():
		return &EditError{Field: "remove", Message: fmt.Sprintf("%q says what the component is", path), Suggestion: "put the component whole to make it of another kind"}
	case at.parent == d.design.ProtoReflect() && at.field.IsList():
		return &EditError{Field: "remove", Message: fmt.Sprintf("%q names all of its elements", path), Suggestion: "remove them one by one"}
	default:
		at.parent.Clear(at.field)
	}
	return nil
}

func editError(field string, err error) *EditError {
	e := &EditError{Field: field, Message: err.Error()}
	var n *errNowhere
	if errors.As(err, &n) {
		e.Suggestion = n.suggestion
	}
	return e
}

// cutIndex splits "route[1]" into its name and number, -1 where there is none.
func cutIndex(step string) (string, int, error) {
	name, rest, indexed := strings.Cut(step, "[")
	if !indexed {
		return step, -1, nil
	}
	digits, ok := strings.CutSuffix(rest, "]")
	n, err := strconv.Atoi(digits)
	if !ok || err != nil || n < 0 {
		return "", 0, nowhere("write it as components.CV-2.max_pressure", "%q is no step of a path", step)
	}
	return name, n, nil
}

func itemOf(l protoreflect.List, key protoreflect.FieldDescriptor, name string) int {
	for i := range l.Len() {
		if l.Get(i).Message().Get(key).String() == name {
			return i
		}
	}
	return -1
}

func orDesign(steps []string) string {
	if len(steps) == 0 {
		return "the design"
	}
	return strings.Join(steps, ".")
}
