package draft

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// slot is a component for which a part is wanted.
type slot struct {
	component *skidrulev1.Component
	wants     []want
	clean     bool // it stands in oxygen or ozone
	// also is a condition beyond the wants; nil where there is none. Its number ranks, the smallest first.
	also func(data *skidrulev1.Component) (rank float64, ok bool)
	// anySize lets ends be of another size than the line's, which is then drawn to them.
	anySize bool
}

// pickFor gives the smallest entry that fits a slot, and why. It is the one place where a part is chosen.
func pickFor(s slot, stock []*skidrulev1.CatalogueEntry) (*skidrulev1.CatalogueEntry, string) {
	type candidate struct {
		entry *skidrulev1.CatalogueEntry
		rank  float64
	}
	var fit []candidate
	for _, e := range stock {
		if plant.KindOf(s.component) != plant.KindOf(e.Data) || !agrees(s.component, e.Data) || !endsFit(s, e.Data) || s.clean && !e.Data.GetOxygenCleaned() {
			continue
		}
		ok := true
		for _, w := range s.wants {
			ok = ok && w.met(e.Data)
		}
		rank := 0.0
		for _, w := range s.wants {
			if x, stated := datum(e.Data, w.key); stated && !math.IsInf(w.low, -1) {
				rank = x
				break
			}
		}
		if ok && s.also != nil {
			rank, ok = s.also(e.Data)
		}
		if ok {
			fit = append(fit, candidate{e, rank})
		}
	}
	if len(fit) == 0 {
		return nil, ""
	}
	// The caller's own entries come first in the stock and keep that place among equals.
	sort.SliceStable(fit, func(i, j int) bool { return fit[i].rank < fit[j].rank })
	why := "the only entry that fits"
	if len(fit) > 1 {
		why = fmt.Sprintf("the smallest of %d entries that fit", len(fit))
	}
	return fit[0].entry, why
}

// agrees tells whether an entry states no choice otherwise than the draft does: principle, grade, direction, mode, seal.
func agrees(c, data *skidrulev1.Component) bool {
	spec, other := plant.SpecOf(c), plant.SpecOf(data)
	if spec == nil || other == nil {
		return false
	}
	same := true
	spec.Range(func(fd protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		if fd.IsList() || !other.Has(fd) {
			return true
		}
		switch fd.Kind() {
		case protoreflect.EnumKind, protoreflect.BoolKind:
			same = same && other.Get(fd).Equal(v)
		}
		return same
	})
	if c.FailPosition != 0 && data.FailPosition != 0 {
		same = same && c.FailPosition == data.FailPosition
	}
	return same
}

// endsFit tells whether the ends of an entry are those of the lines. An end that the entry does not state fits no line.
func endsFit(s slot, data *skidrulev1.Component) bool {
	for _, port := range s.component.Ports {
		if port.Size == nil {
			continue
		}
		fits := false
		for _, q := range data.Ports {
			// A second inlet, outlet or vent is made like the first.
			if q.Name == port.Name || strings.HasPrefix(port.Name, q.Name+"_") {
				fits = port.Connection == q.Connection && (s.anySize || proto.Equal(port.Size, q.Size)) || q.Name != port.Name
			}
		}
		if !fits {
			return false
		}
	}
	return true
}

// madeToMeasure are the kinds that a draft dimensions itself; a picked part brings its own dimensions.
var madeToMeasure = map[plant.Kind]bool{
	plant.KindContactVessel: true, plant.KindReactionVessel: true, plant.KindDegassingVessel: true, plant.KindOpenTank: true,
	plant.KindKnockOutPot: true, plant.KindPressureGauge: true, plant.KindWaterSeal: true, plant.KindVacuumBreaker: true,
}

// put gives a component its part, and takes out what the part itself states of dimensions and ends.
func put(c *skidrulev1.Component, e *skidrulev1.CatalogueEntry) {
	c.Part = e.Id
	spec, other := plant.SpecOf(c), plant.SpecOf(e.Data)
	if madeToMeasure[plant.KindOf(c)] {
		other.Range(func(fd protoreflect.FieldDescriptor, _ protoreflect.Value) bool {
			spec.Clear(fd)
			return true
		})
	} else {
		// A choice that part and draft share is stated once, by the part.
		other.Range(func(fd protoreflect.FieldDescriptor, v protoreflect.Value) bool {
			if !fd.IsList() && spec.Has(fd) && spec.Get(fd).Equal(v) {
				spec.Clear(fd)
			}
			return true
		})
	}
	if proto.Size(spec.Interface()) == 0 {
		// The part says what kind it is.
		c.Spec = nil
	}
	if e.Data.FailPosition == c.FailPosition {
		c.FailPosition = 0
	}
	if e.Data.NormalPosition == c.NormalPosition {
		c.NormalPosition = 0
	}
	var keep []*skidrulev1.Port
	for _, port := range c.Ports {
		for _, q := range e.Data.Ports {
			if q.Name != port.Name {
				continue
			}
			if q.Size != nil {
				port.Size = nil
			}
			if q.Connection != 0 {
				port.Connection = 0
			}
			if q.GetCapped() == port.GetCapped() && q.Capped != nil {
				port.Capped, port.Reason = nil, ""
			}
		}
		if port.Size != nil || port.Connection != 0 || port.ElevationM != nil || port.Capped != nil || port.Reason != "" {
			keep = append(keep, port)
		}
	}
	c.Ports = keep
}

// pickParts picks parts for everything that was drawn, the sizes that follow from others last, and draws the plan anew to the
// parts' own dimensions.
func (p *plan) pickParts(m *drawn, stock []*skidrulev1.CatalogueEntry) (*drawn, []*skidrulev1.DraftPick, error) {
	l := p.layout()
	// Generator and injector say how much gas and water there is; what is sized by them follows.
	if e, _ := pickFor(p.slot(m, "OG-1"), stock); e != nil {
		if flow := e.Data.GetOzoneGenerator().RatedFlowMolPerS; flow != nil {
			p.gasFlow = *flow
			p.size("gas flow of the picked generator", p.gasFlow, quantity.GasFlow, "rated flow of "+e.Id, "the catalogue")
			if err := p.findOffGas(); err != nil {
				return nil, nil, err
			}
		}
	}
	if e, _ := pickFor(p.slot(m, "INJ-1"), stock); e != nil {
		flow, ok := p.motiveOf(e.Data)
		if ok {
			p.takes = flow
			p.size("water through the picked injector", flow, quantity.LiquidFlow, "table of "+e.Id+" at the drafted pressures", "the catalogue")
		}
		// In a full-flow circuit the demand says how much water passes, whatever the injector would take.
		if ok && p.circuit != fullFlow {
			p.motive = flow
			if err := p.findVessels(); err != nil {
				return nil, nil, err
			}
		}
		l.water = endBore(e.Data, "motive_inlet", l.water)
	}
	if e, _ := pickFor(p.slot(m, "P-1"), stock); e != nil {
		if head := e.Data.GetPump().ShutOffHeadPa; head != nil {
			supply := p.demand.supply.high
			if p.circuit == tank {
				supply = 0.3e5
			}
			p.highest = max(p.highest, supply+*head)
			p.size("highest water pressure", p.highest, quantity.PressureGauge, "supply + "+e.Id+" at no flow, or return", "the catalogue")
			if p.circuit != tank {
				p.vesselHigh = p.highest
			}
			if err := p.findOffGas(); err != nil {
				return nil, nil, err
			}
		}
	}
	if s, ok := p.slotIn(m, "BL-1"); ok {
		if e, _ := pickFor(s, stock); e != nil {
			p.blows = e.Data.GetBlower().GetRatedFlowMolPerS()
			if err := p.findOffGas(); err != nil {
				return nil, nil, err
			}
		}
	}
	l.vesselHeight, l.vesselLevel, l.vesselVolume, l.vesselDiameter = p.layout().vesselHeight, p.layout().vesselLevel, p.volume, p.diameter
	if err := p.refusals.Err(); err != nil {
		return nil, nil, err
	}
	m, err := p.draw(nil, l)
	if err != nil {
		return nil, nil, err
	}
	// Vessels, pot and relief valve change the layout.
	picked := map[string]bool{}
	for _, tag := range []string{"CT-1", "RV-1", "DV-1", "T-1", "KO-1", "PSV-1"} {
		s, ok := p.slotIn(m, tag)
		if !ok {
			continue
		}
		e, _ := pickFor(s, stock)
		if e == nil {
			continue
		}
		picked[tag] = true
		p.layTo(&l, tag, e.Data)
	}
	if m, err = p.draw(picked, l); err != nil {
		return nil, nil, err
	}
	var picks []*skidrulev1.DraftPick
	chosen := map[string]*skidrulev1.CatalogueEntry{}
	for _, c := range m.design.Components {
		s := p.slot(m, c.Tag)
		if c.Tag == "PSU-1" {
			s.also = drives(chosen["OG-1"])
		}
		e, why := pickFor(s, stock)
		if e == nil {
			continue
		}
		chosen[c.Tag] = e
		picks = append(picks, &skidrulev1.DraftPick{Tag: c.Tag, Part: e.Id, Why: why})
	}
	for _, c := range m.design.Components {
		if e := chosen[c.Tag]; e != nil {
			put(c, e)
		}
	}
	return m, picks, nil
}

// layTo changes the layout to a part.
func (p *plan) layTo(l *layout, tag string, data *skidrulev1.Component) {
	set := func(to *float64, from *float64) {
		if from != nil {
			*to = *from
		}
	}
	switch tag {
	case "CT-1":
		v := data.GetContactVessel()
		set(&l.vesselHeight, v.HeightM)
		set(&l.vesselLevel, v.WaterLevelM)
	case "RV-1":
		set(&l.vesselHeight, data.GetReactionVessel().HeightM)
	case "DV-1":
		set(&l.degasHeight, data.GetDegassingVessel().HeightM)
	case "T-1":
		l.main = endBore(data, "inlet", l.main)
		l.drain = endBore(data, "drain", l.drain)
		l.offGas = endBore(data, "vent", l.offGas)
	case "KO-1":
		set(&l.potHeight, data.GetKnockOutPot().HeightM)
		set(&l.potInlet, data.GetKnockOutPot().InletHeightM)
	case "PSV-1":
		blowOff := 3e5
		if p.feed == driedAir {
			blowOff = 1.5e5
		}
		l.reliefCapacity = p.reliefCapacity(data, blowOff)
	}
}

// endBore is the bore of a line that is drawn to an end of a part; the line's own where the part does not say or a draft has no
// such pipe.
func endBore(data *skidrulev1.Component, port string, own bore) bore {
	for _, q := range data.Ports {
		if q.Name != port || q.Size.GetSystem() != skidrulev1.SizeSystem_SIZE_SYSTEM_DN {
			continue
		}
		for _, w := range pipes {
			if b := pipe(w); "DN "+q.Size.GetDesignation() == b.size.String() {
				return b
			}
		}
	}
	return own
}

// slotIn is the slot of a component that may not be there.
func (p *plan) slotIn(m *drawn, tag string) (slot, bool) {
	for _, c := range m.design.Components {
		if c.Tag == tag {
			return p.slot(m, tag), true
		}
	}
	return slot{}, false
}

// slot says what is wanted of a component.
func (p *plan) slot(m *drawn, tag string) slot {
	s := slot{component: &skidrulev1.Component{}}
	s.wants = slices.DeleteFunc(p.wants(), func(w want) bool { return w.tag != tag })
	for _, c := range m.design.Components {
		if c.Tag == tag {
			s.component = c
		}
	}
	for _, line := range m.design.Lines {
		if line.Service != skidrulev1.Service_SERVICE_OXYGEN && line.Service != skidrulev1.Service_SERVICE_OZONE_GAS {
			continue
		}
		for i, stop := range line.Route {
			// A vent at the end of a discharge leads outdoors and bears no rating.
			if stop.Tag == tag && !(i == len(line.Route)-1 && (plant.KindOf(s.component) == plant.KindAtmosphereVent || plant.KindOf(s.component) == plant.KindVenturiInjector)) {
				s.clean = true
			}
		}
	}
	switch plant.KindOf(s.component) {
	case plant.KindVenturiInjector:
		s.anySize, s.also = true, p.injectorFits
	case plant.KindPump:
		s.also = p.pumpFits
	case plant.KindOpenTank:
		s.anySize = true
	}
	return s
}

// drives is the condition on the power supply of a picked generator.
func drives(generator *skidrulev1.CatalogueEntry) func(*skidrulev1.Component) (float64, bool) {
	return func(data *skidrulev1.Component) (float64, bool) {
		s := data.GetPowerSupply()
		if generator == nil || s.RatedPowerW == nil {
			return 0, false
		}
		g := generator.Data.GetOzoneGenerator()
		fits := slices.Contains(s.DrivesCellTypes, g.GetCellType()) && *s.RatedPowerW >= g.GetRatedPowerW() && s.GetMaxCells() >= g.GetCells()
		return *s.RatedPowerW, fits
	}
}
