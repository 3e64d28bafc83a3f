package fact

import (
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// meansAny tells whether a signal of the instrument has the meaning.
func meansAny(condition skidrulev1.TripCondition) func(*World, At) Truth {
	return func(w *World, at At) Truth {
		signals := w.signals()
		var t Truth
		for _, i := range w.stopIndex().of.of(at.Index) {
			switch signals[i].condition {
			case condition:
				return Truth{Value: True}
			case skidrulev1.TripCondition_TRIP_CONDITION_UNSPECIFIED:
				t = t.Or(Open(w.actionsRef(signals[i].Owner)))
			}
		}
		return t
	}
}

// actionsRef names the list of cause and effect of a component.
func (w *World) actionsRef(owner int32) Ref {
	if w.Plant.Components[owner].Kind == plant.KindController {
		return specRef(owner, "trips")
	}
	return specRef(owner, "acts")
}

// effects counts what the signals of an instrument do.
func (w *World) effects(instrument int32) int {
	n := 0
	signals := w.signals()
	for _, i := range w.stopIndex().of.of(instrument) {
		n += int(signals[i].effects)
	}
	return n
}

// wantedDirection is the way in which an instrument of a kind must act so that its signal has the meaning; unspecified where
// the meaning does not tell.
func wantedDirection(k plant.Kind, condition skidrulev1.TripCondition) skidrulev1.SwitchDirection {
	const rising, falling = skidrulev1.SwitchDirection_SWITCH_DIRECTION_RISING, skidrulev1.SwitchDirection_SWITCH_DIRECTION_FALLING
	switch condition {
	case skidrulev1.TripCondition_TRIP_CONDITION_LOSS_OF_WATER_FLOW, skidrulev1.TripCondition_TRIP_CONDITION_LOW_BED_TEMPERATURE,
		skidrulev1.TripCondition_TRIP_CONDITION_LOW_FEED_PRESSURE, skidrulev1.TripCondition_TRIP_CONDITION_LOW_PRESSURE:
		return falling
	case skidrulev1.TripCondition_TRIP_CONDITION_HIGH_TRAP_LEVEL, skidrulev1.TripCondition_TRIP_CONDITION_HIGH_POT_LEVEL,
		skidrulev1.TripCondition_TRIP_CONDITION_HIGH_BED_TEMPERATURE, skidrulev1.TripCondition_TRIP_CONDITION_HIGH_PRESSURE:
		return rising
	case skidrulev1.TripCondition_TRIP_CONDITION_LOSS_OF_SUCTION:
		// Pressure rises towards the atmosphere where the suction is lost; flow falls.
		if k == plant.KindFlowSwitch {
			return falling
		}
		return rising
	case skidrulev1.TripCondition_TRIP_CONDITION_LOSS_OF_COOLING:
		if k == plant.KindTemperatureSwitch {
			return rising
		}
		return falling
	}
	return skidrulev1.SwitchDirection_SWITCH_DIRECTION_UNSPECIFIED
}

// actsOn is the stated direction of a switch.
func (w *World) actsOn(instrument int32) skidrulev1.SwitchDirection {
	data := w.data(instrument)
	switch w.Plant.Components[instrument].Kind {
	case plant.KindPressureSwitch:
		return data.GetPressureSwitch().GetActsOn()
	case plant.KindFlowSwitch:
		return data.GetFlowSwitch().GetActsOn()
	case plant.KindLevelSwitch:
		return data.GetLevelSwitch().GetActsOn()
	case plant.KindTemperatureSwitch:
		return data.GetTemperatureSwitch().GetActsOn()
	}
	return skidrulev1.SwitchDirection_SWITCH_DIRECTION_UNSPECIFIED
}

// actsTheRightWay compares the stated direction of a switch with what its signals are said to mean, and gives the direction
// that the first signal demands which does not agree.
func (w *World) actsTheRightWay(instrument int32) (Truth, string) {
	all, way := Truth{Value: True}, ""
	signals := w.signals()
	of := w.stopIndex().of.of(instrument)
	if len(of) == 0 {
		return w.meaningOpen(instrument), ""
	}
	for _, i := range of {
		if signals[i].condition == skidrulev1.TripCondition_TRIP_CONDITION_UNSPECIFIED {
			all = all.And(Open(w.actionsRef(signals[i].Owner)))
			continue
		}
		wanted := wantedDirection(w.Plant.Components[instrument].Kind, signals[i].condition)
		if wanted == skidrulev1.SwitchDirection_SWITCH_DIRECTION_UNSPECIFIED {
			continue
		}
		stated := w.actsOn(instrument)
		t := Is(stated == wanted)
		if stated == skidrulev1.SwitchDirection_SWITCH_DIRECTION_UNSPECIFIED {
			t = Open(specRef(instrument, "acts_on"))
		}
		if t.Value != True && way == "" {
			way = designfile.EnumWord(wanted)
		}
		all = all.And(t)
	}
	return all, way
}

// meaningOpen names where the meaning of a signal that nothing uses would be stated: at the controllers of its island, or, where it
// has none, of the drawing.
func (w *World) meaningOpen(instrument int32) Truth {
	return (*w.trips.meaning.get(func() *[]Truth {
		open := byIsland(w, Truth{Value: Undecided})
		for _, c := range w.OfKind(plant.KindController) {
			at := w.island(c)
			open[at].Missing = append(open[at].Missing, specRef(c, "trips"))
		}
		var all []Ref
		for _, c := range w.Whole().OfKind(plant.KindController) {
			all = append(all, specRef(c, "trips"))
		}
		all = w.fromWhole(all[:min(len(all), mostNamed)])
		for at := range open {
			if len(open[at].Missing) == 0 {
				open[at].Missing = all
			}
		}
		return &open
	}))[w.island(instrument)]
}

// signalMeaning spells the meaning of an instrument's first signal for people.
func (w *World) signalMeaning(instrument int32) Text {
	of := w.stopIndex().of.of(instrument)
	if len(of) == 0 {
		return Text{}
	}
	condition := w.signals()[of[0]].condition
	for k := range trips {
		if trips[k].condition == condition {
			return Text{Value: trips[k].words}
		}
	}
	return Text{Value: designfile.EnumWord(condition)}
}
