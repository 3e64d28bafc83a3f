package fact

import (
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// gasTripFacts are about what stops the making of oxygen, and about flow switches in gas lines.
var gasTripFacts = []Definition{
	truthFact("stops_on_room_oxygen", "A high and a low alarm of an ambient oxygen monitor both stop it.",
		func(w *World, at At) Truth {
			return Is(w.stoppedOn(at.Index, skidrulev1.TripCondition_TRIP_CONDITION_AMBIENT_OXYGEN_HIGH) &&
				w.stoppedOn(at.Index, skidrulev1.TripCondition_TRIP_CONDITION_AMBIENT_OXYGEN_LOW))
		}, plant.KindOxygenConcentrator),
	truthFact("concentrator_in_use", "It is not stated to be out of use.",
		func(w *World, at At) Truth { return Is(!w.data(at.Index).GetOutOfUse()) }, plant.KindOxygenConcentrator),
	truthFact("tells_lost_suction", "Its signal means that the suction is lost.",
		meansAny(skidrulev1.TripCondition_TRIP_CONDITION_LOSS_OF_SUCTION), plant.KindFlowSwitch),
	quantityFact("design_gas_flow", quantity.GasFlow, "Gas that passes it in normal operation, by the design flow of the generators.",
		func(w *World, at At) Number { return w.designGasFlow(at.Index) }, plant.KindFlowSwitch),
	quantityFact("gas_set_point_share", quantity.Ratio, "Its set point for gas over that flow.",
		func(w *World, at At) Number {
			set := w.number(w.data(at.Index).GetFlowSwitch().GasSetPointMolPerS, specRef(at.Index, "gas_set_point"))
			return set.Div(w.designGasFlow(at.Index))
		}, plant.KindFlowSwitch),
}

// stoppedOn tells whether a signal of the condition from an instrument in use stops a component.
func (w *World) stoppedOn(component int32, condition skidrulev1.TripCondition) bool {
	all := *w.trips.halts.get(func() *[]uint64 {
		out := make([]uint64, len(w.Plant.Components))
		for _, s := range w.signals() {
			if s.Source < 0 || w.data(s.Source).GetOutOfUse() {
				continue
			}
			for _, target := range s.stops {
				out[target] |= 1 << s.condition
			}
		}
		return &out
	})
	return all[component]&(1<<condition) != 0
}

// designGasFlow is the design gas flow through a switch.
func (w *World) designGasFlow(component int32) Number {
	if n, found := w.gasThrough(component); found {
		return n
	}
	return Missing(elementRef(component))
}
