package choose_test

import (
	"fmt"
	"math"
	"math/rand/v2"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// scaled are the data of a spec that grow with the size of a part, columns of tables included.
var scaled = map[string]bool{
	"rated_output_kg_per_s": true, "rated_flow_mol_per_s": true, "rated_power_w": true, "min_flow_mol_per_s": true, "max_flow_mol_per_s": true,
	"flow_mol_per_s": true, "power_w": true, "output_kg_per_s": true, "rated_product_flow_mol_per_s": true, "product_flow_mol_per_s": true,
	"feed_air_flow_mol_per_s": true, "motive_flow_m3_per_s": true, "suction_flow_mol_per_s": true, "flow_m3_per_s": true,
	"volume_m3": true, "heater_power_w": true, "bed_volume_m3": true, "face_area_m2": true, "hold_up_m3": true, "capacity_mol_per_s": true,
	"orifice_area_m2": true, "gas_capacity_mol_per_s": true, "liquid_capacity_m3_per_s": true, "drain_capacity_m3_per_s": true,
}

// lengths grow with the cube root of it.
var lengths = map[string]bool{"diameter_m": true, "orifice_diameter_m": true}

// scale makes a part larger or smaller; head scales the head of a pump by itself.
func scale(m protoreflect.Message, factor, head float64) {
	m.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		name := string(f.Name())
		switch {
		case f.IsList() && f.Message() != nil:
			for i := range v.List().Len() {
				scale(v.List().Get(i).Message(), factor, head)
			}
		case f.Kind() != protoreflect.DoubleKind:
		case scaled[name]:
			m.Set(f, protoreflect.ValueOfFloat64(v.Float()*factor))
		case lengths[name]:
			m.Set(f, protoreflect.ValueOfFloat64(v.Float()*math.Cbrt(factor)))
		case name == "head_pa" || name == "shut_off_head_pa":
			m.Set(f, protoreflect.ValueOfFloat64(v.Float()*head))
		}
		return true
	})
}

// generated makes n parts of each of some kinds out of those of the demo catalogue: larger and smaller ones, some with other
// connections, some that lack a datum. All are invented.
func generated(random *rand.Rand, n int, span float64, kinds ...plant.Kind) *skidrulev1.Catalogue {
	out := &skidrulev1.Catalogue{Name: "Generated parts"}
	for _, kind := range kinds {
		var models []*skidrulev1.CatalogueEntry
		for _, e := range catalogue.Demo().GetEntries() {
			if plant.KindOf(e.GetData()) == kind {
				models = append(models, e)
			}
		}
		for i := range n {
			e := proto.CloneOf(models[random.IntN(len(models))])
			e.Id = fmt.Sprintf("made/%s-%04d", kind, i)
			e.Title, e.Origin = e.GetId(), "generated"
			factor, head := math.Exp((2*random.Float64()-1)*math.Log(span)), 0.7+0.6*random.Float64()
			data := e.GetData().ProtoReflect()
			spec := data.Mutable(kind.Info().Field).Message()
			scale(spec, factor, head)
			if kind == plant.KindPump && e.GetData().GetPump().PowerW != nil {
				*e.GetData().GetPump().PowerW *= head
			}
			for _, p := range e.GetData().GetPorts() {
				resize(p, factor)
			}
			if random.IntN(8) == 0 {
				for _, p := range e.GetData().GetPorts() {
					if p.GetConnection() == skidrulev1.EndConnectionType_END_CONNECTION_TYPE_FLANGE {
						p.Connection = skidrulev1.EndConnectionType_END_CONNECTION_TYPE_SANITARY_CLAMP
					}
				}
			}
			if random.IntN(12) == 0 {
				drop(random, spec)
			}
			out.Entries = append(out.Entries, e)
		}
	}
	return out
}

// The nominal sizes of the trade as far as generated parts need them.
var (
	nominal = []int{15, 20, 25, 32, 40, 50, 65, 80, 100, 125, 150}
	outside = []int{4, 6, 8, 10, 12, 15, 18, 22, 28}
)

// resize gives a port the size whose area grows with the part.
func resize(p *skidrulev1.Port, factor float64) {
	var was int
	list, format := nominal, "%d"
	if p.GetSize().GetSystem() == skidrulev1.SizeSystem_SIZE_SYSTEM_OUTSIDE_DIAMETER {
		list, format = outside, "%d mm"
	}
	if n, err := fmt.Sscanf(p.GetSize().GetDesignation(), format, &was); n != 1 || err != nil {
		return
	}
	best := list[0]
	for _, size := range list {
		if want := float64(was) * math.Sqrt(factor); math.Abs(float64(size)-want) < math.Abs(float64(best)-want) {
			best = size
		}
	}
	p.Size.Designation = fmt.Sprintf(format, best)
}

// drop takes one datum out of a spec.
func drop(random *rand.Rand, spec protoreflect.Message) {
	var has []protoreflect.FieldDescriptor
	fields := spec.Descriptor().Fields()
	for i := range fields.Len() {
		if spec.Has(fields.Get(i)) {
			has = append(has, fields.Get(i))
		}
	}
	if len(has) > 0 {
		spec.Clear(has[random.IntN(len(has))])
	}
}

func demoEntries() []*skidrulev1.CatalogueEntry { return catalogue.Demo().GetEntries() }
