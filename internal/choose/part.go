package choose

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// part is a candidate for a slot.
type part struct {
	id, title string
	entry     *skidrulev1.CatalogueEntry
	// component is what stands in the design when the part is taken, gives what the design then no longer states.
	component *skidrulev1.Component
	gives     []string
	size      *skidrulev1.PartSize
	place     int64 // among the parts of the slot by size, from 0
	power     *float64
	pieces    int64
	demand    string   // what the design asks of the part and the part does not give; empty where there is none
	margin    float64  // the least margin that is known of it alone
	alone     *verdict // what rejects it alone; nil where nothing does
}

func newPart(s *slot, e *skidrulev1.CatalogueEntry) *part {
	p := &part{id: e.GetId(), title: e.GetTitle(), entry: e, pieces: 1, margin: math.Inf(1)}
	p.gives = givesWay(s.stated, e.GetData())
	p.component = without(s.stated, p.gives)
	p.component.Part = e.GetId()
	p.size = sizeOf(s.kind, e.GetData())
	p.power = powerOf(s.kind, e.GetData())
	if n := e.GetData().GetOzoneGenerator().GetCells(); n > 0 {
		p.pieces = int64(n)
	}
	if s.stated.GetPart() == "" {
		p.demand = unmetDemand(s.stated, e.GetData())
	}
	return p
}

// unmetDemand tells what a component without a part asks of it and an entry does not give: another word than the one that is
// stated in the spec, or a lower rating.
func unmetDemand(stated, entry *skidrulev1.Component) string {
	a, b := plant.SpecOf(stated), plant.SpecOf(entry)
	if a != nil && b != nil {
		fields := a.Descriptor().Fields()
		for i := range fields.Len() {
			f := fields.Get(i)
			if f.IsList() || f.Message() != nil || !a.Has(f) || !b.Has(f) {
				continue
			}
			switch f.Kind() {
			case protoreflect.EnumKind, protoreflect.BoolKind, protoreflect.StringKind:
				if !a.Get(f).Equal(b.Get(f)) {
					return fmt.Sprintf("its %s is not the one that the design asks for", designfile.Key(f))
				}
			}
		}
	}
	below := func(want, have *float64) bool { return want != nil && have != nil && *have < *want }
	switch {
	case below(stated.MaxPressurePaGauge, entry.MaxPressurePaGauge):
		return "its max_pressure is below what the design asks for"
	case below(entry.MinPressurePaGauge, stated.MinPressurePaGauge):
		return "its min_pressure is above what the design asks for"
	case below(stated.MaxTemperatureK, entry.MaxTemperatureK):
		return "its max_temperature is below what the design asks for"
	case below(entry.MinTemperatureK, stated.MinTemperatureK):
		return "its min_temperature is above what the design asks for"
	}
	return ""
}

// sizeFields are the data that parts of a kind are ordered by: the first that an entry states, of a table its largest value.
// Which of its data makes a part large is common practice, no source.
var sizeFields = map[plant.Kind][]string{
	plant.KindOzoneGenerator:     {"rated_output_kg_per_s", "output.output_kg_per_s", "rated_flow_mol_per_s"},
	plant.KindPowerSupply:        {"rated_power_w"},
	plant.KindOxygenConcentrator: {"rated_product_flow_mol_per_s", "product.product_flow_mol_per_s"},
	plant.KindCompressor:         {"curve.flow_mol_per_s", "power_w"},
	plant.KindBlower:             {"rated_flow_mol_per_s", "curve.flow_mol_per_s", "power_w"},
	plant.KindVenturiInjector:    {"performance.suction_flow_mol_per_s", "performance.motive_flow_m3_per_s"},
	plant.KindPump:               {"power_w", "shut_off_head_pa", "curve.head_pa"},
	plant.KindFloatVentValve:     {"orifice_diameter_m", "capacity_mol_per_s"},
	plant.KindKnockOutPot:        {"diameter_m", "hold_up_m3"},
	plant.KindOzoneDestruct:      {"rated_flow_mol_per_s", "bed_volume_m3"},
	plant.KindReliefValve:        {"orifice_area_m2", "gas_capacity_mol_per_s", "liquid_capacity_m3_per_s", "set_pressure_pa_gauge"},
	plant.KindRestrictionOrifice: {"diameter_m"},
}

// sizeOf reads the rated size of a part. Kinds without an entry in sizeFields are ordered by the first number that they state.
func sizeOf(kind plant.Kind, data *skidrulev1.Component) *skidrulev1.PartSize {
	spec := plant.SpecOf(data)
	if spec == nil {
		return nil
	}
	names := sizeFields[kind]
	if names == nil {
		for i := range spec.Descriptor().Fields().Len() {
			if f := spec.Descriptor().Fields().Get(i); f.Kind() == protoreflect.DoubleKind && !f.IsList() {
				names = append(names, string(f.Name()))
			}
		}
		// A volume says more of a vessel than what else it states.
		if i := slices.Index(names, "volume_m3"); i > 0 {
			names = slices.Insert(slices.Delete(names, i, i+1), 0, "volume_m3")
		}
	}
	for _, name := range names {
		table, column, inTable := strings.Cut(name, ".")
		f := spec.Descriptor().Fields().ByName(protoreflect.Name(table))
		if f == nil || !spec.Has(f) {
			continue
		}
		if !inTable {
			return sizeIn(f, spec.Get(f).Float())
		}
		best, found := math.Inf(-1), false
		g := f.Message().Fields().ByName(protoreflect.Name(column))
		for i := range spec.Get(f).List().Len() {
			if row := spec.Get(f).List().Get(i).Message(); g != nil && row.Has(g) {
				best, found = max(best, row.Get(g).Float()), true
			}
		}
		if found {
			return sizeIn(g, best)
		}
	}
	return nil
}

func sizeIn(f protoreflect.FieldDescriptor, value float64) *skidrulev1.PartSize {
	out := &skidrulev1.PartSize{Label: strings.ReplaceAll(designfile.Key(f), "_", " "), Value: value, Dimension: "count"}
	if d, ok := designfile.FieldDimension(f); ok {
		out.Dimension = d.Name()
	}
	return out
}

// powerFields are the electric powers of machines. A power supply is not among them: what it takes goes to its cells.
var powerFields = map[plant.Kind]string{
	plant.KindCompressor: "power_w", plant.KindBlower: "power_w", plant.KindOxygenConcentrator: "power_w", plant.KindPump: "power_w",
	plant.KindOzoneGenerator: "rated_power_w", plant.KindOzoneDestruct: "heater_power_w", plant.KindGasHeater: "power_w",
}

// powerOf is the stated electric power of a part in W; nil where its kind takes none or it does not state it.
func powerOf(kind plant.Kind, data *skidrulev1.Component) *float64 {
	spec := plant.SpecOf(data)
	if powerFields[kind] == "" || spec == nil {
		return nil
	}
	f := spec.Descriptor().Fields().ByName(protoreflect.Name(powerFields[kind]))
	if f == nil || !spec.Has(f) {
		return nil
	}
	w := spec.Get(f).Float()
	return &w
}

// rank gives parts their places by size. Those of equal size share a place; those that state none come behind the others.
func rank(parts []*part) {
	sorted := slices.Clone(parts)
	size := func(p *part) float64 {
		if p.size == nil {
			return math.Inf(1)
		}
		return p.size.GetValue()
	}
	slices.SortStableFunc(sorted, func(a, b *part) int { return cmp.Compare(size(a), size(b)) })
	for i, p := range sorted {
		p.place = int64(i)
		if i > 0 && size(p) == size(sorted[i-1]) {
			p.place = sorted[i-1].place
		}
	}
}

// cost is what ranks choices, the lower the better: the measure, then the places by size. Of power it counts milliwatts and of
// places whole numbers, so that sums come out the same in any order. The search by margin leaves the places out until a choice is
// found: the smallest margin and a sum do not grow together.
type cost struct {
	first  float64
	places int64
}

func (a cost) compare(b cost) int {
	return cmp.Or(cmp.Compare(a.first, b.first), cmp.Compare(a.places, b.places))
}

// join is the cost of parts together: margins take the smallest, everything else adds up.
func (a cost) join(b cost, m skidrulev1.ChoiceMeasure) cost {
	if m == skidrulev1.ChoiceMeasure_CHOICE_MEASURE_MARGIN {
		return cost{max(a.first, b.first), a.places + b.places}
	}
	return cost{a.first + b.first, a.places + b.places}
}

// cost of a part alone. By margin it is a bound: the margin of a choice is at most the least margin of its parts.
func (p *part) cost(m skidrulev1.ChoiceMeasure) cost {
	switch m {
	case skidrulev1.ChoiceMeasure_CHOICE_MEASURE_COUNT:
		return cost{float64(p.pieces), p.place}
	case skidrulev1.ChoiceMeasure_CHOICE_MEASURE_MARGIN:
		return cost{first: -p.margin}
	case skidrulev1.ChoiceMeasure_CHOICE_MEASURE_SIZE:
		return cost{float64(p.place), p.place}
	}
	if p.power == nil {
		return cost{0, p.place}
	}
	return cost{math.Round(*p.power * 1000), p.place}
}
