package plant

import (
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

// DimensionAt is what the number at an element path measures; no valid dimension where a design can state no number there.
func DimensionAt(path string) quantity.Dimension {
	parts := strings.Split(path, ".")
	var m protoreflect.MessageDescriptor
	switch {
	case len(parts) == 2 && parts[0] == "basis":
		m = (&skidrulev1.Basis{}).ProtoReflect().Descriptor()
	case len(parts) == 3 && parts[0] == "lines":
		m = (&skidrulev1.Line{}).ProtoReflect().Descriptor()
	case len(parts) == 3 && parts[0] == "components":
		m = (&skidrulev1.Component{}).ProtoReflect().Descriptor()
	case len(parts) == 4 && parts[0] == "components":
		kind, ok := KindByName(parts[2])
		if !ok {
			return 0
		}
		m = kind.Info().Field.Message()
	default:
		return 0
	}
	f := FindField(m, parts[len(parts)-1])
	if f == nil {
		return 0
	}
	d, _ := FieldDimension(f)
	return d
}
