package designfile

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// spelling is a message in the file spelling, before it becomes YAML or JSON.
type spelling struct {
	kind  spellingKind
	text  string      // of a scalar
	bare  bool        // the scalar is a number or a truth value
	keys  []string    // of a mapping
	named bool        // the keys of the mapping are data, not names of fields
	parts []*spelling // of a mapping or list
}

type spellingKind int

const (
	scalarSpelling spellingKind = iota
	mappingSpelling
	listSpelling
)

// speller puts messages that have been checked into the file spelling.
type speller struct {
	// written holds the texts of the file that the message was read from, so
	// that numbers keep the unit that a person wrote. It may be nil.
	written *Positions
}

// message spells the fields of a message, but for the one that is the key.
func (w speller) message(m protoreflect.Message, leaveOut protoreflect.FieldDescriptor, t trail) (*spelling, error) {
	spec := specOf(m.Descriptor())
	s := &spelling{kind: mappingSpelling}
	// What a thing is comes before what is said about it.
	for _, choices := range []bool{true, false} {
		for _, place := range spec.places {
			if (place.choice != nil) != choices {
				continue
			}
			f := place.stated(m)
			if f == nil || f.field == leaveOut {
				continue
			}
			part, err := w.field(f, m, t.name(f.key))
			if err != nil {
				return nil, err
			}
			s.keys = append(s.keys, f.key)
			s.parts = append(s.parts, part)
		}
	}
	return s, nil
}

func (w speller) field(f *fieldSpec, m protoreflect.Message, t trail) (*spelling, error) {
	v := m.Get(f.field)
	switch {
	case f.field.IsMap():
		return w.mapping(f, v.Map(), t)
	case f.field.IsList() && f.keyedBy != nil:
		s := &spelling{kind: mappingSpelling, named: true}
		for i := range v.List().Len() {
			e := v.List().Get(i).Message()
			part, err := w.message(e, f.keyedBy, t.name(e.Get(f.keyedBy).String()))
			if err != nil {
				return nil, err
			}
			s.keys = append(s.keys, e.Get(f.keyedBy).String())
			s.parts = append(s.parts, part)
		}
		return s, nil
	case f.field.IsList():
		s := &spelling{kind: listSpelling}
		l := v.List()
		for i := range l.Len() {
			part, err := w.value(f, l.Get(i), m, i == 0, i == l.Len()-1, t.item(i))
			if err != nil {
				return nil, err
			}
			s.parts = append(s.parts, part)
		}
		return s, nil
	}
	return w.value(f, v, m, false, false, t)
}

// mapping spells a map field in the order of its keys.
func (w speller) mapping(f *fieldSpec, entries protoreflect.Map, t trail) (*spelling, error) {
	s := &spelling{kind: mappingSpelling, named: true}
	value := &fieldSpec{key: f.key, field: f.field.MapValue()}
	byText := make(map[string]protoreflect.Value, entries.Len())
	entries.Range(func(k protoreflect.MapKey, v protoreflect.Value) bool {
		s.keys = append(s.keys, k.String())
		byText[k.String()] = v
		return true
	})
	slices.Sort(s.keys)
	for _, key := range s.keys {
		part, err := w.value(value, byText[key], nil, false, false, t.name(key))
		if err != nil {
			return nil, err
		}
		s.parts = append(s.parts, part)
	}
	return s, nil
}

// value spells one value; first and last tell the ends of a list.
func (w speller) value(f *fieldSpec, v protoreflect.Value, m protoreflect.Message, first, last bool, t trail) (*spelling, error) {
	text := func(s string) (*spelling, error) { return &spelling{text: s}, nil }
	bare := func(s string) (*spelling, error) { return &spelling{text: s, bare: true}, nil }
	switch f.field.Kind() {
	case protoreflect.MessageKind, protoreflect.GroupKind:
		switch short := v.Message().Interface().(type) {
		case *skidrulev1.RouteStop:
			if s, ok := stopText(short, first, last); ok && f.form == skidrulev1.TextForm_TEXT_FORM_ROUTE_STOP {
				return text(s)
			}
		case *skidrulev1.NominalSize:
			if s, ok := sizeText(short); ok && f.form == skidrulev1.TextForm_TEXT_FORM_NOMINAL_SIZE {
				return text(s)
			}
		}
		return w.message(v.Message(), nil, t)
	case protoreflect.StringKind:
		return text(v.String())
	case protoreflect.BytesKind:
		return text(string(v.Bytes()))
	case protoreflect.BoolKind:
		return bare(strconv.FormatBool(v.Bool()))
	case protoreflect.EnumKind:
		d := f.field.Enum().Values().ByNumber(v.Enum())
		if d == nil || d.Number() == 0 {
			return nil, fmt.Errorf("%s has the value %d, which has no spelling", f.key, v.Enum())
		}
		return text(EnumName(d))
	case protoreflect.DoubleKind, protoreflect.FloatKind:
		unit := f.unit
		if f.form == skidrulev1.TextForm_TEXT_FORM_VALUE_AT_PATH {
			datum, err := datumAt(m.Get(m.Descriptor().Fields().ByName("path")).String())
			if err != nil {
				return nil, err
			}
			unit = datum.unit
		}
		s := w.number(v.Float(), unit, t)
		if _, err := plainNumber(s); err == nil {
			return bare(s)
		}
		return text(s)
	}
	return bare(v.String())
}

// number spells a number so that it is read back to the same bits: as it was
// written, when that is known, or with the unit that takes the fewest digits.
func (w speller) number(v float64, unit quantity.Dimension, t trail) string {
	if unit == 0 {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	if w.written != nil {
		if e, ok := w.written.entries[t.path()]; ok && e.scalar {
			if back, err := quantity.Parse(e.decoded, unit); err == nil && math.Float64bits(back) == math.Float64bits(v) {
				return e.decoded
			}
		}
	}
	return quantity.Exact(v, unit)
}
