package rulebook

import (
	"maps"
	"reflect"
	"slices"
	"sort"
	"strings"

	"cel.dev/cel-go/common/types"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// vocabulary is the fields that one rule's variables have. It is a type provider and adapter of the expression language.
type vocabulary struct {
	types.Provider
	types.Adapter
	rule   *Compiled
	params map[string]*reader
	byCase bool // a fact by case was looked up
	summed bool // a sum over the design, or a way through it, was looked up
	facts  map[string]*fact.Definition
}

// newVocabulary gathers what a rule, of which the things that it is asked of are known, may use.
func newVocabulary(rule *Compiled, params map[string]*reader) (*vocabulary, error) {
	registry, err := types.NewRegistry()
	if err != nil {
		return nil, err
	}
	v := &vocabulary{Provider: registry, Adapter: registry, rule: rule, params: params, facts: map[string]*fact.Definition{}}
	for i := range allFacts {
		d := &allFacts[i]
		if d.On == rule.on && offered(d.Kinds, rule.kinds) || d.On == fact.OnDesign {
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
	case v.rule.itType.TypeName(), v.rule.specType.TypeName(), designType.TypeName(), basisType.TypeName(), paramType.TypeName():
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
			names = append(names, designfile.Key(m.Fields().Get(i)))
		}
	}
	if head == "param" {
		names = slices.AppendSeq(names, maps.Keys(v.params))
	}
	sort.Strings(names)
	return names, true
}

// FindStructFieldType gives type and getter of a field.
func (v *vocabulary) FindStructFieldType(name, field string) (*types.FieldType, bool) {
	if !v.known(name) {
		return v.Provider.FindStructFieldType(name, field)
	}
	r := v.reader(name, field)
	if r == nil {
		return nil, false
	}
	return r.field(), true
}

// reader finds a field of a variable's type: a parameter, a fact, or a stated datum; nil where there is none.
func (v *vocabulary) reader(typeName, field string) *reader {
	head, _, _ := strings.Cut(typeName, ".")
	if head == "param" {
		return v.params[field]
	}
	if d := v.facts[head+"."+field]; d != nil {
		v.byCase = v.byCase || d.ByCase
		v.summed = v.summed || d.On == fact.OnDesign && (d.ByCase || d.Class == fact.ClassPath)
		return factReader(d)
	}
	m, read := v.message(head)
	if m == nil {
		return nil
	}
	f := designfile.FieldByKey(m, field)
	if f == nil {
		return nil
	}
	return statedReader(f, read)
}

// source reads the struct of the message that a stated datum lies in, and names the datum.
type source func(s *scope) (reflect.Value, fact.Ref)

// message gives the message type behind a variable and how to read it.
func (v *vocabulary) message(head string) (protoreflect.MessageDescriptor, source) {
	switch head {
	case "basis":
		return (&skidrulev1.Basis{}).ProtoReflect().Descriptor(), func(s *scope) (reflect.Value, fact.Ref) {
			return reflect.ValueOf(s.world.Plant.Basis).Elem(), fact.Ref{Kind: fact.RefBasis}
		}
	case "component":
		return (&skidrulev1.Component{}).ProtoReflect().Descriptor(), func(s *scope) (reflect.Value, fact.Ref) {
			return reflect.ValueOf(s.world.Plant.Components[s.at.Index].Data).Elem(), fact.Ref{Kind: fact.RefComponent, Index: s.at.Index}
		}
	case "line":
		return (&skidrulev1.Line{}).ProtoReflect().Descriptor(), func(s *scope) (reflect.Value, fact.Ref) {
			return reflect.ValueOf(s.world.Plant.Lines[s.at.Index].Data).Elem(), fact.Ref{Kind: fact.RefLine, Index: s.at.Index}
		}
	case "spec":
		if v.rule.on != fact.OnComponent || len(v.rule.kinds) != 1 {
			return nil, nil
		}
		message := v.rule.kinds[0].Info().Field.Message()
		unstated := reflect.New(goType(message)).Elem()
		return message, func(s *scope) (reflect.Value, fact.Ref) {
			ref := fact.Ref{Kind: fact.RefSpec, Index: s.at.Index}
			// The choice holds a pointer to a struct of one field, the spec.
			choice := reflect.ValueOf(s.world.Plant.Components[s.at.Index].Data.GetSpec())
			if spec := choice.Elem().Field(0); !spec.IsNil() {
				return spec.Elem(), ref
			}
			return unstated, ref
		}
	}
	return nil, nil
}

// goType is the generated struct of a message.
func goType(m protoreflect.MessageDescriptor) reflect.Type {
	t, err := protoregistry.GlobalTypes.FindMessageByName(m.FullName())
	if err != nil {
		panic(err) // the messages are compiled in
	}
	return reflect.TypeOf(t.Zero().Interface()).Elem()
}

// goField is the place of a field in its generated struct; -1 where it has none of its own, as one of a choice has.
func goField(f protoreflect.FieldDescriptor) int {
	t := goType(f.ContainingMessage())
	for i := range t.NumField() {
		for _, part := range strings.Split(t.Field(i).Tag.Get("protobuf"), ",") {
			if part == "name="+string(f.Name()) {
				return i
			}
		}
	}
	return -1
}
