package rulebook

import (
	"reflect"

	"cel.dev/cel-go/common/types"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/quantity"
)

// reader gives one field of a variable, by exactly one of its functions. Both ways of evaluating an expression use it.
type reader struct {
	dimension quantity.Dimension // of number
	number    func(*scope) fact.Number
	truth     func(*scope) fact.Truth
	text      func(*scope) fact.Text
	texts     func(*scope) []string
	path      func(*scope) fact.Path
}

func factReader(d *fact.Definition) *reader {
	switch d.Class {
	case fact.ClassQuantity:
		return &reader{dimension: d.Dimension, number: func(s *scope) fact.Number { return s.noted(d.Number(s.world, s.at)) }}
	case fact.ClassCount:
		return &reader{dimension: countDimension, number: func(s *scope) fact.Number { return s.noted(d.Number(s.world, s.at)) }}
	case fact.ClassTruth:
		return &reader{truth: func(s *scope) fact.Truth {
			t := d.Truth(s.world, s.at)
			s.rests(t.Assumed)
			return t
		}}
	case fact.ClassText:
		return &reader{text: func(s *scope) fact.Text { return d.Text(s.world, s.at) }}
	}
	return &reader{path: func(s *scope) fact.Path { return d.Path(s.world, s.at) }}
}

// noted leaves a note of the assumptions that a number rests on.
func (s *scope) noted(n fact.Number) fact.Number {
	s.rests(n.Assumed)
	return n
}

// rests remembers the assumptions that the evaluation rests on.
func (s *scope) rests(assumed []fact.Ref) {
	if len(assumed) > 0 {
		s.assumed = fact.JoinRefs(s.assumed, assumed)
	}
}

// statedReader reads a stated datum; one that is not stated is missing under its own name. It is nil for fields that
// expressions cannot use. Fields are read from the generated structs by their place: reflection of messages would take longer than
// most conditions.
func statedReader(f protoreflect.FieldDescriptor, read source) *reader {
	key, at := designfile.Key(f), goField(f)
	named := func(r fact.Ref) fact.Ref { r.Field = key; return r }
	switch {
	case f.IsMap() || at < 0:
		return nil
	case f.IsList():
		if f.Kind() != protoreflect.StringKind {
			return nil
		}
		return &reader{texts: func(s *scope) []string {
			m, _ := read(s)
			list := m.Field(at)
			texts := make([]string, list.Len())
			for i := range texts {
				texts[i] = list.Index(i).String()
			}
			return texts
		}}
	case f.Kind() == protoreflect.DoubleKind:
		dimension, ok := designfile.FieldDimension(f)
		if !ok {
			return nil
		}
		return &reader{dimension: dimension, number: func(s *scope) fact.Number {
			m, r := read(s)
			if x, ok := stated(m.Field(at)); ok {
				return fact.Exactly(x.Float())
			}
			return s.noted(s.world.Unstated(named(r)))
		}}
	case f.Kind() == protoreflect.Int32Kind:
		return &reader{dimension: countDimension, number: func(s *scope) fact.Number {
			m, r := read(s)
			if x, ok := stated(m.Field(at)); ok {
				return fact.Exactly(float64(x.Int()))
			}
			return fact.Missing(named(r))
		}}
	case f.Kind() == protoreflect.BoolKind:
		return &reader{truth: func(s *scope) fact.Truth {
			m, r := read(s)
			if x, ok := stated(m.Field(at)); ok {
				return fact.Is(x.Bool())
			}
			return fact.Open(named(r))
		}}
	case f.Kind() == protoreflect.EnumKind:
		words := designfile.EnumWords(f.Enum())
		return &reader{text: func(s *scope) fact.Text {
			m, r := read(s)
			if x, ok := stated(m.Field(at)); ok && words[protoreflect.EnumNumber(x.Int())] != "" {
				return fact.Text{Value: words[protoreflect.EnumNumber(x.Int())]}
			}
			return fact.Text{Missing: []fact.Ref{named(r)}}
		}}
	case f.Kind() == protoreflect.StringKind:
		return &reader{text: func(s *scope) fact.Text {
			m, r := read(s)
			if x, ok := stated(m.Field(at)); ok && x.String() != "" {
				return fact.Text{Value: x.String()}
			}
			return fact.Text{Missing: []fact.Ref{named(r)}}
		}}
	}
	return nil
}

// stated gives what a field of a generated struct holds, and whether anything was stated: a pointer that is set, or a value that is
// not the zero value where the message tells no more.
func stated(x reflect.Value) (reflect.Value, bool) {
	if x.Kind() == reflect.Pointer {
		return x.Elem(), !x.IsNil()
	}
	return x, !x.IsZero()
}

// field makes a field of the expression language of the reader.
func (r *reader) field() *types.FieldType {
	f := &types.FieldType{IsSet: func(any) bool { return true }}
	switch {
	case r.number != nil:
		f.Type = numberTypes[r.dimension]
		f.GetFrom = func(target any) (any, error) { return newNumber(r.dimension, r.number(target.(*scope))), nil }
	case r.truth != nil:
		f.Type = types.BoolType
		f.GetFrom = func(target any) (any, error) { return truthValue(r.truth(target.(*scope))), nil }
	case r.text != nil:
		f.Type = types.StringType
		f.GetFrom = func(target any) (any, error) {
			t := r.text(target.(*scope))
			if t.Value == "" && len(t.Missing) > 0 {
				return unknown(t.Missing), nil
			}
			return types.String(t.Value), nil
		}
	case r.texts != nil:
		f.Type = types.NewListType(types.StringType)
		f.GetFrom = func(target any) (any, error) {
			return types.NewStringList(types.DefaultTypeAdapter, r.texts(target.(*scope))), nil
		}
	default:
		f.Type = pathType
		f.GetFrom = func(target any) (any, error) { return &pathValue{r.path(target.(*scope))}, nil }
	}
	return f
}
