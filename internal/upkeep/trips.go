package upkeep

import (
	"slices"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// expectedTrips lists the lines of cause and effect that taking the module out sets off.
func expectedTrips(w *fact.World, s *standstill) []*skidrulev1.ExpectedTrip {
	var out []*skidrulev1.ExpectedTrip
	for _, l := range w.CauseAndEffect() {
		if l.Source < 0 {
			continue
		}
		why := s.setsOff(&l)
		if why == "" {
			continue
		}
		out = append(out, &skidrulev1.ExpectedTrip{Signal: w.Plant.Components[l.Source].Tag, Condition: l.Action.GetCondition(),
			Stops: l.Action.GetStops(), Closes: l.Action.GetCloses(), Reason: why})
	}
	return out
}

// setsOff says why a line of cause and effect acts; empty where it does not.
func (s *standstill) setsOff(l *fact.CauseLine) string {
	p := s.w.Plant
	tag, source := p.Components[s.module].Tag, l.Source
	data := p.Components[source].Data
	shutIn := slices.Contains(s.iso.With, source)
	if source == s.module {
		return tag + " itself is out"
	}
	switch l.Action.GetCondition() {
	case skidrulev1.TripCondition_TRIP_CONDITION_LOSS_OF_WATER_FLOW, skidrulev1.TripCondition_TRIP_CONDITION_LOSS_OF_COOLING:
		if p.Components[source].Kind == plant.KindFlowSwitch && (shutIn || s.lost(source) != "") {
			return "no water passes it"
		}
	case skidrulev1.TripCondition_TRIP_CONDITION_LOSS_OF_SUCTION:
		for _, j := range s.drawnBy(source) {
			if j == s.module || s.stopped[j] != "" && s.motiveLost(j) {
				return p.Components[j].Tag + " draws nothing"
			}
		}
	case skidrulev1.TripCondition_TRIP_CONDITION_LOW_BED_TEMPERATURE:
		if data.GetTemperatureSwitch().GetWatches() == tag {
			return tag + " is without power and cools down"
		}
	case skidrulev1.TripCondition_TRIP_CONDITION_OPEN_ENCLOSURE:
		if data.GetEnclosureSwitch().GetWatches() == tag || s.driverOf(data.GetEnclosureSwitch().GetWatches()) {
			return "its enclosure is opened"
		}
	case skidrulev1.TripCondition_TRIP_CONDITION_BLOWER_FAILURE:
		if p.Components[s.module].Kind == plant.KindBlower || shutIn {
			return "no gas is drawn"
		}
	case skidrulev1.TripCondition_TRIP_CONDITION_LOW_FEED_PRESSURE, skidrulev1.TripCondition_TRIP_CONDITION_LOW_PRESSURE:
		if shutIn {
			return "it is let down with " + tag
		}
	}
	return ""
}

// driverOf tells whether the module is a power supply of the generator with a tag.
func (s *standstill) driverOf(generator string) bool {
	c, ok := s.w.Plant.FindComponent(generator)
	return ok && slices.Contains(s.w.Plant.Components[c].Data.GetOzoneGenerator().GetPowerSupplies(), s.w.Plant.Components[s.module].Tag)
}

// motiveLost tells whether an injector has no motive water.
func (s *standstill) motiveLost(injector int32) bool {
	if slices.Contains(s.iso.With, injector) {
		return true
	}
	port, ok := s.w.Plant.FindPort(injector, "motive_inlet")
	return ok && s.before.fed.Reached(port) && (!s.after.fed.Reached(port) || !s.after.led.Reached(port))
}

// drawnBy lists the injectors whose suction lies in the stretch of line of an instrument: over pipes, tees and headers.
func (s *standstill) drawnBy(instrument int32) []int32 {
	p := s.w.Plant
	seen := map[int32]bool{}
	var queue, out []int32
	push := func(port int32) {
		if !seen[port] {
			seen[port] = true
			queue = append(queue, port)
		}
	}
	for _, port := range joined(p, instrument) {
		push(port)
	}
	for k := 0; k < len(queue); k++ {
		c := p.Ports[queue[k]].Component
		if p.Components[c].Kind == plant.KindVenturiInjector && p.PortName(queue[k]) == "suction" {
			out = append(out, c)
			continue
		}
		for _, way := range p.WaysAt(queue[k]) {
			q := &p.Ways[way]
			if !q.IsPipe() {
				switch p.Components[q.Component].Kind {
				case plant.KindTee, plant.KindHeader, plant.KindJunction, plant.KindAdapter, plant.KindUnion:
				default:
					continue
				}
			}
			push(q.From + q.To - queue[k])
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}
