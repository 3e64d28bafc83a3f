package rulebook

import (
	"slices"
	"sort"
	"strings"

	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// vocabulary is the fields that one rule's variables have. It is a type provider and adapter of the expression language.
type vocabulary struct {
	types.Provider
	types.Adapter
	on     fact.On
	kinds  []plant.Kind
	params *paramTable
	used   map[string]bool // names of facts by case that were looked up
	facts  map[string]*fact.Definition
}

// newVocabulary gathers what a rule about these things may use.
func newVocabulary(on fact.On, kinds []plant.Kind, params *paramTable) (*vocabulary, error) {
	registry, err := types.NewRegistry()
	if err != nil {
		return nil, err
	}
	v := &vocabulary{Provider: registry, Adapter: registry, on: on, kinds: kinds, params: params, used: map[string]bool{}, facts: map[string]*fact.Definition{}}
	for i := range allFacts {
		d := &allFacts[i]
		if d.On == on && offered(d.Kinds, kinds) || d.On == fact.OnDesign {
			v.facts[onNames[d.On]+"."+d.Name] = d
		}
	}
	return v, nil
}

var allFacts = fact.Definitions()

// offered tells whether a fact of some kinds may be used by a rule about other kinds: it must be a fact of each of them.
func offered(of, asked []plant.Kind) bool {
	if len(of) == 0 {
		return true
	}
	if len(asked) == 0 {
		return false
	}
	for _, k := range asked {
		if !slices.Contains(of, k) {
			return false
		}
	}
	return true
}

// FindStructType knows the variables' types.
func (v *vocabulary) FindStructType(name string) (*types.Type, bool) {
	if v.known(name) {
		return types.NewTypeTypeWithParam(types.NewObjectType(name)), true
	}
	return v.Provider.FindStructType(name)
}

// known tells the types of this rule's variables, by their whole names: a name such as param.margin is a field, not a type.
func (v *vocabulary) known(name string) bool {
	switch name {
	case itType(v.on, v.kinds).TypeName(), specType(v.kinds).TypeName(), itType(fact.OnDesign, nil).TypeName(), basisType.TypeName(), "param":
		return true
	}
	return false
}

// FindStructFieldNames lists the fields of a variable's type.
func (v *vocabulary) FindStructFieldNames(name string) ([]string, bool) {
	if !v.known(name) {
		return v.Provider.FindStructFieldNames(name)
	}
	var names []string
	head, _, _ := strings.Cut(name, ".")
	for key := range v.facts {
		if strings.HasPrefix(key, head+".") {
			names = append(names, key[len(head)+1:])
		}
	}
	if m, _ := v.message(head); m != nil {
		for i := 0; i < m.Fields().Len(); i++ {
			names = append(names, plant.FieldKey(m.Fields().Get(i)))
		}
	}
	if head == "param" {
		names = append(names, v.params.names...)
	}
	sort.Strings(names)
	return names, true
}

// FindStructFieldType gives type and getter of a field: a parameter, a fact, or a stated datum.
func (v *vocabulary) FindStructFieldType(name, field string) (*types.FieldType, bool) {
	head, _, _ := strings.Cut(name, ".")
	if !v.known(name) {
		return v.Provider.FindStructFieldType(name, field)
	}
	if head == "param" {
		return v.params.field(field)
	}
	if d := v.facts[head+"."+field]; d != nil {
		if d.ByCase {
			v.used[d.Name] = true
		}
		return factField(d), true
	}
	m, read := v.message(head)
	if m == nil {
		return nil, false
	}
	f := plant.FindField(m, field)
	if f == nil {
		return nil, false
	}
	return statedField(f, read)
}

// source reads the message that a stated datum lies in, and names the datum.
type source func(s *scope) (protoreflect.Message, fact.Ref)

// message gives the message type behind a variable and how to read it.
func (v *vocabulary) message(head string) (protoreflect.MessageDescriptor, source) {
	switch head {
	case "basis":
		return (&skidrulev1.Basis{}).ProtoReflect().Descriptor(), func(s *scope) (protoreflect.Message, fact.Ref) {
			return s.world.Plant.Basis.ProtoReflect(), fact.Ref{Kind: fact.RefBasis}
		}
	case "component":
		return (&skidrulev1.Component{}).ProtoReflect().Descriptor(), func(s *scope) (protoreflect.Message, fact.Ref) {
			return s.world.Plant.Components[s.at.Index].Data.ProtoReflect(), fact.Ref{Kind: fact.RefComponent, Index: s.at.Index}
		}
	case "line":
		return (&skidrulev1.Line{}).ProtoReflect().Descriptor(), func(s *scope) (protoreflect.Message, fact.Ref) {
			return s.world.Plant.Lines[s.at.Index].Data.ProtoReflect(), fact.Ref{Kind: fact.RefLine, Index: s.at.Index}
		}
	case "spec":
		if v.on != fact.OnComponent || len(v.kinds) != 1 {
			return nil, nil
		}
		field := v.kinds[0].Info().Field
		return field.Message(), func(s *scope) (protoreflect.Message, fact.Ref) {
			return s.world.Plant.Components[s.at.Index].Data.ProtoReflect().Get(field).Message(), fact.Ref{Kind: fact.RefSpec, Index: s.at.Index}
		}
	}
	return nil, nil
}

// factField makes a field of a fact.
func factField(d *fact.Definition) *types.FieldType {
	f := &types.FieldType{IsSet: alwaysSet}
	switch d.Class {
	case fact.ClassQuantity, fact.ClassCount:
		dimension := d.Dimension
		if d.Class == fact.ClassCount {
			dimension = countDimension
		}
		f.Type = numberTypes[dimension]
		f.GetFrom = func(target any) (any, error) {
			s := target.(*scope)
			return s.number(dimension, d.Number(s.world, s.at)), nil
		}
	case fact.ClassTruth:
		f.Type = types.BoolType
		f.GetFrom = func(target any) (any, error) {
			s := target.(*scope)
			t := d.Truth(s.world, s.at)
			s.rests(t.Assumed)
			return truthValue(t), nil
		}
	case fact.ClassText:
		f.Type = types.StringType
		f.GetFrom = func(target any) (any, error) {
			s := target.(*scope)
			return textValue(d.Text(s.world, s.at)), nil
		}
	case fact.ClassPath:
		f.Type = pathType
		f.GetFrom = func(target any) (any, error) {
			s := target.(*scope)
			return &pathValue{d.Path(s.world, s.at)}, nil
		}
	}
	return f
}

func alwaysSet(any) bool { return true }

// number leaves a note of assumptions and wraps the number.
func (s *scope) number(d quantity.Dimension, n fact.Number) ref.Val {
	s.rests(n.Assumed)
	return newNumber(d, n)
}

// rests remembers the assumptions that the evaluation rests on.
func (s *scope) rests(assumed []fact.Ref) {
	if len(assumed) > 0 {
		s.assumed = fact.JoinRefs(s.assumed, assumed)
	}
}

func textValue(t fact.Text) ref.Val {
	if t.Value == "" && len(t.Missing) > 0 {
		return unknown(t.Missing)
	}
	return types.String(t.Value)
}

// statedField makes a field of a stated datum; one that is not stated is unknown under its own name.
func statedField(f protoreflect.FieldDescriptor, read source) (*types.FieldType, bool) {
	key := plant.FieldKey(f)
	missing := func(r fact.Ref) fact.Ref { r.Field = key; return r }
	out := &types.FieldType{IsSet: alwaysSet}
	switch {
	case f.IsMap():
		return nil, false
	case f.IsList():
		if f.Kind() != protoreflect.StringKind {
			return nil, false
		}
		out.Type = types.NewListType(types.StringType)
		out.GetFrom = func(target any) (any, error) {
			m, _ := read(target.(*scope))
			list := m.Get(f).List()
			texts := make([]string, list.Len())
			for i := range texts {
				texts[i] = list.Get(i).String()
			}
			return types.NewStringList(types.DefaultTypeAdapter, texts), nil
		}
	case f.Kind() == protoreflect.DoubleKind:
		dimension, ok := plant.FieldDimension(f)
		if !ok {
			return nil, false
		}
		out.Type = numberTypes[dimension]
		out.GetFrom = func(target any) (any, error) {
			s := target.(*scope)
			m, r := read(s)
			if m.Has(f) {
				return newNumber(dimension, fact.Exactly(m.Get(f).Float())), nil
			}
			return s.number(dimension, s.world.Unstated(missing(r))), nil
		}
	case f.Kind() == protoreflect.Int32Kind:
		out.Type = numberTypes[countDimension]
		out.GetFrom = func(target any) (any, error) {
			m, r := read(target.(*scope))
			if m.Has(f) {
				return newNumber(countDimension, fact.Exactly(float64(m.Get(f).Int()))), nil
			}
			return newNumber(countDimension, fact.Missing(missing(r))), nil
		}
	case f.Kind() == protoreflect.BoolKind:
		out.Type = types.BoolType
		out.GetFrom = func(target any) (any, error) {
			m, r := read(target.(*scope))
			if m.Has(f) {
				return types.Bool(m.Get(f).Bool()), nil
			}
			return unknown([]fact.Ref{missing(r)}), nil
		}
	case f.Kind() == protoreflect.EnumKind:
		words := enumWords(f.Enum())
		out.Type = types.StringType
		out.GetFrom = func(target any) (any, error) {
			m, r := read(target.(*scope))
			if word := words[m.Get(f).Enum()]; word != "" {
				return types.String(word), nil
			}
			return unknown([]fact.Ref{missing(r)}), nil
		}
	case f.Kind() == protoreflect.StringKind:
		out.Type = types.StringType
		out.GetFrom = func(target any) (any, error) {
			m, r := read(target.(*scope))
			if text := m.Get(f).String(); text != "" {
				return types.String(text), nil
			}
			return unknown([]fact.Ref{missing(r)}), nil
		}
	default:
		return nil, false
	}
	return out, true
}

// enumWords maps enum numbers to their file spelling; zero has none.
func enumWords(e protoreflect.EnumDescriptor) map[protoreflect.EnumNumber]string {
	prefix := ""
	zero := string(e.Values().ByNumber(0).Name())
	if cut, ok := strings.CutSuffix(zero, "UNSPECIFIED"); ok {
		prefix = cut
	}
	words := map[protoreflect.EnumNumber]string{}
	for i := 0; i < e.Values().Len(); i++ {
		value := e.Values().Get(i)
		if value.Number() != 0 {
			words[value.Number()] = strings.ToLower(strings.TrimPrefix(string(value.Name()), prefix))
		}
	}
	return words
}
