package plant

import (
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

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
	f := designfile.FieldByKey(m, parts[len(parts)-1])
	if f == nil {
		return 0
	}
	d, _ := designfile.FieldDimension(f)
	return d
}

// Paths spells data by element path, in the order they are listed.
func Paths[D interface{ Path(p *Plant) string }](p *Plant, data []D) []string {
	var out []string
	for _, d := range data {
		out = append(out, d.Path(p))
	}
	return out
}
