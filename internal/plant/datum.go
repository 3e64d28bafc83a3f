package plant

import (
	"fmt"
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// FieldKey is the name of a field in design files and element paths: its wire name without the unit suffix.
func FieldKey(f protoreflect.FieldDescriptor) string {
	name := string(f.Name())
	if d, ok := FieldDimension(f); ok {
		return strings.TrimSuffix(name, "_"+d.FieldSuffix())
	}
	return name
}

// FieldDimension is what a field measures; false for counts, texts and messages.
func FieldDimension(f protoreflect.FieldDescriptor) (quantity.Dimension, bool) {
	trait, _ := proto.GetExtension(f.Options(), skidrulev1.E_FieldTrait).(*skidrulev1.FieldTrait)
	if trait.GetDimension() == skidrulev1.Dimension_DIMENSION_UNSPECIFIED {
		return 0, false
	}
	name := strings.ToLower(strings.TrimPrefix(trait.GetDimension().String(), "DIMENSION_"))
	return quantity.DimensionByName(name)
}

// FindField finds a field of a message type by its key.
func FindField(m protoreflect.MessageDescriptor, key string) protoreflect.FieldDescriptor {
	for i := 0; i < m.Fields().Len(); i++ {
		if f := m.Fields().Get(i); FieldKey(f) == key {
			return f
		}
	}
	return nil
}

// Assumed gives the assumption about an element path; nil where there is none.
func (p *Plant) Assumed(path string) *skidrulev1.Assumption { return p.assumed[path] }

// HasAssumptions tells whether the design assumes anything.
func (p *Plant) HasAssumptions() bool { return len(p.assumed) > 0 }

// assumable tells what is wrong with the path of an assumption.
func (r *resolver) assumable(path string) string {
	p := r.plant
	parts := strings.Split(path, ".")
	if len(parts) > 1 && parts[0] == "lines" {
		if _, ok := p.FindLine(parts[1]); !ok {
			return fmt.Sprintf("%s is about a line that is not there", path)
		}
	}
	if len(parts) > 1 && parts[0] == "components" {
		i, ok := p.FindComponent(parts[1])
		if !ok {
			return fmt.Sprintf("%s is about a component that is not there", path)
		}
		if kind := p.Components[i].Kind; len(parts) == 4 && kind.Info().Name != parts[2] {
			return fmt.Sprintf("%s is %s; the path calls it %s", p.Components[i].Tag, aKind(kind), parts[2])
		}
	}
	if f := p.fieldAt(path); f != nil {
		if _, ok := FieldDimension(f); ok {
			return ""
		}
	}
	return fmt.Sprintf("%s is not a number that a design can state", path)
}

// fieldAt finds the field that an element path names; nil where there is none.
func (p *Plant) fieldAt(path string) protoreflect.FieldDescriptor {
	parts := strings.Split(path, ".")
	switch {
	case len(parts) == 2 && parts[0] == "basis":
		return FindField((&skidrulev1.Basis{}).ProtoReflect().Descriptor(), parts[1])
	case len(parts) == 3 && parts[0] == "lines":
		return FindField((&skidrulev1.Line{}).ProtoReflect().Descriptor(), parts[2])
	case len(parts) == 3 && parts[0] == "components":
		return FindField((&skidrulev1.Component{}).ProtoReflect().Descriptor(), parts[2])
	case len(parts) == 4 && parts[0] == "components":
		if kind, ok := KindByName(parts[2]); ok {
			return FindField(kind.Info().Field.Message(), parts[3])
		}
	}
	return nil
}

// DimensionAt names the dimension of the number at an element path; empty where there is none.
func (p *Plant) DimensionAt(path string) string {
	f := p.fieldAt(path)
	if f == nil {
		return ""
	}
	d, ok := FieldDimension(f)
	if !ok {
		return ""
	}
	return d.Name()
}
