package designfile

import (
	"bytes"
	"strings"
	"sync"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// fieldSpec says how a field is spelt.
type fieldSpec struct {
	key       string
	field     protoreflect.FieldDescriptor
	dimension skidrulev1.Dimension
	unit      quantity.Dimension // of dimension; 0 for none
	keyedBy   protoreflect.FieldDescriptor
	form      skidrulev1.TextForm
	example   string
	choice    protoreflect.OneofDescriptor // nil for a field that is in no oneof
}

// messageSpec says how the fields of a message are spelt.
type messageSpec struct {
	descriptor protoreflect.MessageDescriptor
	fields     []*fieldSpec // in the order of the schema
	places     []place      // in the same order, with a oneof as one
	byKey      map[string]*fieldSpec
	byName     map[protoreflect.Name]*fieldSpec
}

// place is a field, or a oneof with its members by number: a component has more than forty, and one look tells of all.
type place struct {
	field   *fieldSpec
	choice  protoreflect.OneofDescriptor
	members map[protoreflect.FieldNumber]*fieldSpec
}

// stated returns the field of the place that the message states, nil for none.
func (p *place) stated(m protoreflect.Message) *fieldSpec {
	if p.choice != nil {
		if chosen := m.WhichOneof(p.choice); chosen != nil {
			return p.members[chosen.Number()]
		}
		return nil
	}
	if m.Has(p.field.field) {
		return p.field
	}
	return nil
}

var messageSpecs sync.Map // protoreflect.MessageDescriptor to *messageSpec

// Key returns the key of a field in design files and in paths: its name without
// the unit suffix of its dimension.
func Key(fd protoreflect.FieldDescriptor) string {
	return specOf(fd.ContainingMessage()).byName[fd.Name()].key
}

// FieldByKey finds a field of a message type by its key; nil where it has none.
func FieldByKey(m protoreflect.MessageDescriptor, key string) protoreflect.FieldDescriptor {
	if f := specOf(m).byKey[key]; f != nil {
		return f.field
	}
	return nil
}

// FieldDimension returns what a field measures; false for counts, texts and messages.
func FieldDimension(fd protoreflect.FieldDescriptor) (quantity.Dimension, bool) {
	unit := specOf(fd.ContainingMessage()).byName[fd.Name()].unit
	return unit, unit != 0
}

// Example spells a value of a field as a file might; empty where the schema has none.
func Example(fd protoreflect.FieldDescriptor) string {
	return specOf(fd.ContainingMessage()).byName[fd.Name()].example
}

// KeyedBy returns the field by which files name the items of a list; nil where they are counted.
func KeyedBy(fd protoreflect.FieldDescriptor) protoreflect.FieldDescriptor {
	return specOf(fd.ContainingMessage()).byName[fd.Name()].keyedBy
}

// specOf returns the spelling of a message.
func specOf(d protoreflect.MessageDescriptor) *messageSpec {
	if s, ok := messageSpecs.Load(d); ok {
		return s.(*messageSpec)
	}
	s := &messageSpec{
		descriptor: d,
		byKey:      make(map[string]*fieldSpec),
		byName:     make(map[protoreflect.Name]*fieldSpec),
	}
	for i := range d.Fields().Len() {
		f := newFieldSpec(d.Fields().Get(i))
		s.fields = append(s.fields, f)
		s.byKey[f.key] = f
		s.byName[f.field.Name()] = f
		s.place(f)
	}
	kept, _ := messageSpecs.LoadOrStore(d, s)
	return kept.(*messageSpec)
}

// place adds a field to the places; members of a oneof stand together in the schema.
func (s *messageSpec) place(f *fieldSpec) {
	if f.choice == nil {
		s.places = append(s.places, place{field: f})
		return
	}
	if n := len(s.places); n == 0 || s.places[n-1].choice != f.choice {
		s.places = append(s.places, place{choice: f.choice, members: make(map[protoreflect.FieldNumber]*fieldSpec)})
	}
	s.places[len(s.places)-1].members[f.field.Number()] = f
}

func newFieldSpec(fd protoreflect.FieldDescriptor) *fieldSpec {
	f := &fieldSpec{field: fd, key: string(fd.Name())}
	if o := fd.ContainingOneof(); o != nil && !o.IsSynthetic() {
		f.choice = o
	}
	trait, _ := proto.GetExtension(fd.Options(), skidrulev1.E_FieldTrait).(*skidrulev1.FieldTrait)
	if trait == nil {
		return f
	}
	f.form, f.example, f.dimension = trait.GetTextForm(), trait.GetExample(), trait.GetDimension()
	if by := trait.GetKeyedBy(); by != "" && fd.Message() != nil {
		f.keyedBy = fd.Message().Fields().ByName(protoreflect.Name(by))
	}
	if f.unit = quantityDimension(f.dimension); f.unit != 0 {
		f.key = strings.TrimSuffix(f.key, "_"+f.unit.FieldSuffix())
	}
	return f
}

// quantityDimension returns the dimension that the unit parser knows, 0 for none.
func quantityDimension(d skidrulev1.Dimension) quantity.Dimension {
	if d == skidrulev1.Dimension_DIMENSION_UNSPECIFIED {
		return 0
	}
	unit, _ := quantity.DimensionByName(strings.ToLower(strings.TrimPrefix(d.String(), "DIMENSION_")))
	return unit
}

// chosen returns the set members of the message's oneofs.
func (s *messageSpec) chosen(m protoreflect.Message) []*fieldSpec {
	var set []*fieldSpec
	for i := range s.descriptor.Oneofs().Len() {
		o := s.descriptor.Oneofs().Get(i)
		if o.IsSynthetic() {
			continue
		}
		if fd := m.WhichOneof(o); fd != nil {
			set = append(set, s.byName[fd.Name()])
		}
	}
	return set
}

// EnumNames returns the spellings of the values of an enum, without the zero
// value, which is spelt by leaving the key out.
func EnumNames(d protoreflect.EnumDescriptor) []string {
	var names []string
	for i := range d.Values().Len() {
		if v := d.Values().Get(i); v.Number() != 0 {
			names = append(names, EnumName(v))
		}
	}
	return names
}

// EnumWord returns the spelling of an enum value; empty for the unspecified one and for numbers that have none.
func EnumWord(e protoreflect.Enum) string { return EnumWords(e.Descriptor())[e.Number()] }

var enumWords sync.Map // protoreflect.EnumDescriptor to map[protoreflect.EnumNumber]string

// EnumWords returns the spellings of the values of an enum by number, without
// the zero value. Others use the map as well: it must not be changed.
func EnumWords(d protoreflect.EnumDescriptor) map[protoreflect.EnumNumber]string {
	words, ok := enumWords.Load(d)
	if !ok {
		own := make(map[protoreflect.EnumNumber]string)
		for i := range d.Values().Len() {
			if v := d.Values().Get(i); v.Number() != 0 {
				own[v.Number()] = EnumName(v)
			}
		}
		words, _ = enumWords.LoadOrStore(d, own)
	}
	return words.(map[protoreflect.EnumNumber]string)
}

// EnumName returns the spelling of an enum value: its name in lower case without the enum's prefix.
func EnumName(v protoreflect.EnumValueDescriptor) string {
	return strings.ToLower(strings.TrimPrefix(string(v.Name()), enumPrefix(string(v.Parent().Name()))))
}

// enumPrefix turns "FailPosition" into "FAIL_POSITION_".
func enumPrefix(name string) string {
	b := make([]byte, 0, 2*len(name)+1)
	for i := range len(name) {
		if i > 0 && name[i] >= 'A' && name[i] <= 'Z' {
			b = append(b, '_')
		}
		b = append(b, name[i])
	}
	return string(append(bytes.ToUpper(b), '_'))
}
