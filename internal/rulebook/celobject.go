package rulebook

import (
	"fmt"
	"reflect"
	"strings"

	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"
	"cel.dev/cel-go/interpreter"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/plant"
)

// scope is what one evaluation sees. It is the activation of the expression and the target of every field, so that a fact
// that rests on an assumption can leave a note.
type scope struct {
	world                          *fact.World
	at                             fact.At
	assumed                        []fact.Ref
	it, spec, basis, design, param object
}

// newScope gives what a rule sees of a world.
func (c *Compiled) newScope(w *fact.World) *scope {
	s := &scope{world: w}
	s.bind(c)
	return s
}

// bind gives the variables the types that they have in a rule; the thing asked about changes between evaluations.
func (s *scope) bind(c *Compiled) {
	s.it = object{c.itType, s}
	s.spec = object{c.specType, s}
	s.basis = object{basisType, s}
	s.design = object{designType, s}
	s.param = object{paramType, s}
}

// ResolveName gives a variable.
func (s *scope) ResolveName(name string) (any, bool) {
	switch name {
	case "it":
		return &s.it, true
	case "spec":
		return &s.spec, true
	case "basis":
		return &s.basis, true
	case "design":
		return &s.design, true
	case "param":
		return &s.param, true
	case "case_id":
		return types.String(s.caseID()), true
	}
	return nil, false
}

// caseID is the id of the case that is asked about; empty where the rule does not depend on cases.
func (s *scope) caseID() string {
	if s.at.Case < 0 {
		return ""
	}
	return s.world.Cases[s.at.Case].ID
}

// Parent is none.
func (s *scope) Parent() interpreter.Activation { return nil }

// object is a variable with fields.
type object struct {
	typ   *types.Type
	scope *scope
}

// ConvertToNative is not offered.
func (o *object) ConvertToNative(t reflect.Type) (any, error) {
	return nil, fmt.Errorf("%s cannot become %v", o.typ.TypeName(), t)
}

// ConvertToType gives the object's own type; there is nothing else that it could become.
func (o *object) ConvertToType(t ref.Type) ref.Val {
	if t == types.TypeType {
		return o.typ
	}
	return types.NewErr("no conversion from %s to %s", o.typ.TypeName(), t.TypeName())
}

// Equal compares identity.
func (o *object) Equal(other ref.Val) ref.Val { return types.Bool(ref.Val(o) == other) }

// Type is the object's type.
func (o *object) Type() ref.Type { return o.typ }

// Value is what field getters receive.
func (o *object) Value() any { return o.scope }

// unknown is a value that names data which would decide it.
func unknown(refs []fact.Ref) ref.Val {
	if len(refs) == 0 {
		return types.NewUnknown(1, types.NewAttributeTrail(undecidedByModel))
	}
	var u *types.Unknown
	for _, r := range refs {
		u = types.MergeUnknowns(u, types.NewUnknown(1, types.NewAttributeTrail(encodeRef(r))))
	}
	return u
}

// undecidedByModel stands for a comparison that no stated datum would decide: the model's own uncertainty spans the limit.
const undecidedByModel = "model"

// encodeRef spells a ref inside an unknown.
func encodeRef(r fact.Ref) string { return fmt.Sprintf("%d:%d:%s", r.Kind, r.Index, r.Field) }

// decodeRef reads it back.
func decodeRef(s string) (fact.Ref, bool) {
	var kind uint8
	var index int32
	parts := strings.SplitN(s, ":", 3)
	if len(parts) != 3 {
		return fact.Ref{}, false
	}
	if _, err := fmt.Sscan(parts[0], &kind); err != nil {
		return fact.Ref{}, false
	}
	if _, err := fmt.Sscan(parts[1], &index); err != nil {
		return fact.Ref{}, false
	}
	return fact.Ref{Kind: fact.RefKind(kind), Index: index, Field: parts[2]}, true
}

// pathValue is a way through the drawing as a value of an expression.
type pathValue struct{ fact.Path }

var pathType = types.NewObjectType("path")

// ConvertToNative is not offered.
func (p *pathValue) ConvertToNative(t reflect.Type) (any, error) {
	return nil, fmt.Errorf("a path cannot become %v", t)
}

// ConvertToType gives the type of ways; there is nothing else that one could become.
func (p *pathValue) ConvertToType(t ref.Type) ref.Val {
	if t == types.TypeType {
		return pathType
	}
	return types.NewErr("no conversion from path to %s", t.TypeName())
}

// Equal compares identity.
func (p *pathValue) Equal(other ref.Val) ref.Val { return types.Bool(ref.Val(p) == other) }

// Type is the path type.
func (p *pathValue) Type() ref.Type { return pathType }

// Value is the path.
func (p *pathValue) Value() any { return p.Path }

// itType names the type of `it` for the things that a rule is asked of.
func itType(on fact.On, kinds []plant.Kind) *types.Type {
	return types.NewObjectType(onNames[on] + kindSuffix(kinds))
}

// specType names the type of `spec`; it has fields only where the rule is asked of a single kind.
func specType(kinds []plant.Kind) *types.Type { return types.NewObjectType("spec" + kindSuffix(kinds)) }

var (
	basisType  = types.NewObjectType("basis")
	designType = itType(fact.OnDesign, nil)
	paramType  = types.NewObjectType("param")
)

var onNames = map[fact.On]string{
	fact.OnComponent: "component", fact.OnLine: "line", fact.OnJoint: "joint", fact.OnDesign: "design", fact.OnPort: "port",
}

func kindSuffix(kinds []plant.Kind) string {
	if len(kinds) == 0 {
		return ""
	}
	names := make([]string, len(kinds))
	for i, k := range kinds {
		names[i] = k.String()
	}
	return "." + strings.Join(names, "__")
}
