package upkeep

import (
	"cmp"
	"slices"

	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// dueKinds are the parts that wear or protect, of which an interval of service is asked for.
var dueKinds = slices.Concat(moduleKinds, []plant.Kind{
	plant.KindGasReceiver, plant.KindReactionVessel, plant.KindContactVessel, plant.KindDegassingVessel, plant.KindOpenTank,
	plant.KindLevelSwitch, plant.KindTemperatureSwitch, plant.KindAmbientOzoneMonitor, plant.KindAmbientOxygenMonitor,
	plant.KindEmergencyStop, plant.KindEnclosureSwitch,
})

// dueServices lists what is serviced, the soonest first; of equal intervals, and where none is stated, in order of the design.
func dueServices(p *plant.Plant) []*skidrulev1.DueService {
	var out []*skidrulev1.DueService
	for i := range p.Components {
		c := &p.Components[i]
		stated := c.Data.ServiceIntervalS != nil || len(c.Data.GetWearingParts()) > 0
		if !slices.Contains(dueKinds, c.Kind) && !stated {
			continue
		}
		s := &skidrulev1.DueService{Tag: c.Tag, Kind: c.Kind.String(), Title: c.Data.GetTitle(), Part: c.Stated.GetPart(),
			IntervalS: c.Data.ServiceIntervalS, WearingParts: c.Data.GetWearingParts()}
		if s.IntervalS == nil {
			s.Missing = append(s.Missing, "components."+c.Tag+".service_interval")
		}
		if len(s.WearingParts) == 0 && wears(c.Kind) {
			s.Missing = append(s.Missing, "components."+c.Tag+".wearing_parts")
		}
		out = append(out, s)
	}
	slices.SortStableFunc(out, func(a, b *skidrulev1.DueService) int { return sooner(a.IntervalS, b.IntervalS) })
	return out
}

// wears tells the kinds that have parts which wear in any make.
func wears(k plant.Kind) bool {
	switch k {
	case plant.KindStaticMixer, plant.KindWaterSeal, plant.KindPressureGauge, plant.KindEmergencyStop, plant.KindEnclosureSwitch, plant.KindHandValve,
		plant.KindSamplePoint, plant.KindGasReceiver, plant.KindReactionVessel, plant.KindContactVessel, plant.KindDegassingVessel, plant.KindOpenTank,
		plant.KindGasSupply, plant.KindVenturiInjector, plant.KindFlowMeter, plant.KindLevelSwitch, plant.KindTemperatureSwitch, plant.KindPressureSwitch,
		plant.KindFlowSwitch, plant.KindFloatDrain:
		return false
	}
	return true
}

// sooner orders intervals, those that are not stated last.
func sooner(a, b *float64) int {
	switch {
	case a == nil && b == nil:
		return 0
	case a == nil:
		return 1
	case b == nil:
		return -1
	}
	return cmp.Compare(*a, *b)
}

// spareParts lists the parts to keep in store: each wearing part of each catalogue part, or of each component that names none.
func spareParts(p *plant.Plant) []*skidrulev1.SparePart {
	type key struct{ name, part, kind, tag string }
	var out []*skidrulev1.SparePart
	at := map[key]*skidrulev1.SparePart{}
	for i := range p.Components {
		c := &p.Components[i]
		for _, name := range c.Data.GetWearingParts() {
			k := key{name, c.Stated.GetPart(), c.Kind.String(), ""}
			if k.part == "" {
				// Nobody says that two parts of no name are alike.
				k.tag = c.Tag
			}
			s := at[k]
			if s == nil {
				s = &skidrulev1.SparePart{Name: name, Part: k.part, Kind: k.kind}
				at[k] = s
				out = append(out, s)
			}
			if slices.Contains(s.Tags, c.Tag) {
				continue
			}
			s.Tags = append(s.Tags, c.Tag)
			if x := c.Data.ServiceIntervalS; x == nil {
				s.Missing = append(s.Missing, "components."+c.Tag+".service_interval")
			} else if s.IntervalS == nil || *x < *s.IntervalS {
				s.IntervalS = x
			}
		}
	}
	slices.SortStableFunc(out, func(a, b *skidrulev1.SparePart) int { return sooner(a.IntervalS, b.IntervalS) })
	return out
}
