package operate

import (
	"crypto/sha256"
	"hash"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// caseKey stands for all that the state of a case rests on: where two keys are equal the states are, but for the case that they name.
type caseKey [sha256.Size]byte

// unsolvedFields are the data of components that no state rests on: what a part bears, what it is made of, how it is supplied, drawn
// and looked after. Everything else of a design goes into the keys of its cases.
var unsolvedFields = []string{"title", "max_pressure_pa_gauge", "pressure_table", "min_pressure_pa_gauge", "min_temperature_k", "max_temperature_k",
	"body_material", "seat_material", "seal_material", "oxygen_cleaned", "locked", "shares_cause", "power_feed", "air_feed",
	"service_interval_s", "wearing_parts", "position", "model", "pressure_class", "train"}

// unsolved is the same by the numbers of the fields.
var unsolved = func() map[protoreflect.FieldNumber]bool {
	out := map[protoreflect.FieldNumber]bool{}
	fields := (&skidrulev1.Component{}).ProtoReflect().Descriptor().Fields()
	for _, name := range unsolvedFields {
		out[fields.ByName(protoreflect.Name(name)).Number()] = true
	}
	return out
}()

// caseKeys gives the key of each case of a plant.
func caseKeys(p *plant.Plant, cases []Case) ([]caseKey, error) {
	h := sha256.New()
	parts := []proto.Message{p.Basis}
	for i := range p.Components {
		parts = append(parts, solving(p.Components[i].Data))
	}
	for i := range p.Lines {
		parts = append(parts, p.Lines[i].Data)
	}
	for _, a := range p.Design.GetAssumptions() {
		parts = append(parts, a)
	}
	for _, m := range parts {
		if err := write(h, m); err != nil {
			return nil, err
		}
	}
	plantSum := h.Sum(nil)
	keys := make([]caseKey, len(cases))
	for i := range cases {
		h.Reset()
		h.Write(plantSum)
		h.Write([]byte{byte(cases[i].Standard)})
		if cases[i].Design != nil {
			if err := write(h, cases[i].Design); err != nil {
				return nil, err
			}
		}
		h.Sum(keys[i][:0])
	}
	return keys, nil
}

// solving is a component without what no state rests on. It shares the rest with the component.
func solving(c *skidrulev1.Component) *skidrulev1.Component {
	out := &skidrulev1.Component{}
	to := out.ProtoReflect()
	c.ProtoReflect().Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		if !unsolved[f.Number()] {
			to.Set(f, v)
		}
		return true
	})
	return out
}

// write adds a message with its kind and length, so that no two lists of messages read the same.
func write(h hash.Hash, m proto.Message) error {
	data, err := proto.MarshalOptions{Deterministic: true}.Marshal(m)
	if err != nil {
		return err
	}
	sum := sha256.Sum256(data)
	h.Write([]byte(m.ProtoReflect().Descriptor().Name()))
	h.Write(sum[:])
	return nil
}
