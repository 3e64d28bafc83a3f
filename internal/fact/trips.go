package fact

import (
	"slices"

	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// tripsMemo is what the instrument and trip facts compute once.
type tripsMemo struct {
	halts lazy[[]uint64]
	stops lazy[stopIndex]
	// monitors are the counts of ambient monitors in use.
	ozoneMonitors, oxygenMonitors lazy[Number]
	meaning                       lazy[[]Truth] // by island
	reach                         lazy[tripReach]
	sight                         lazy[sight]
	near                          lazy[nearIndex]
	cells                         lazy[map[int32]Number]
}

// switchKinds are the instruments that act at a limit, signalKinds all whose signal is meant to do something.
var (
	switchKinds = []plant.Kind{plant.KindPressureSwitch, plant.KindFlowSwitch, plant.KindLevelSwitch, plant.KindTemperatureSwitch}
	signalKinds = append([]plant.Kind{
		plant.KindAmbientOzoneMonitor, plant.KindAmbientOxygenMonitor, plant.KindEmergencyStop, plant.KindEnclosureSwitch,
	}, switchKinds...)
	letteredKinds = []plant.Kind{
		plant.KindMoistureMonitor, plant.KindPressureGauge, plant.KindPressureSwitch, plant.KindFlowSwitch, plant.KindLevelSwitch,
		plant.KindTemperatureSwitch, plant.KindFlowMeter, plant.KindOzoneProbe, plant.KindOrpProbe, plant.KindGasAnalyser,
		plant.KindAmbientOzoneMonitor, plant.KindAmbientOxygenMonitor,
	}
)

var tripsFacts = slices.Concat(generatorTripFacts(), []Definition{
	truthFact("stopped_by_controller", "A controller commands the generator or lists what stops it.",
		func(w *World, at At) Truth { return Is(len(w.controllersOf(at.Index)) > 0) }, plant.KindOzoneGenerator),
	truthFact("controller_watched", "A failure of every such controller stops the generator.",
		func(w *World, at At) Truth { return w.controllerWatched(at.Index) }, plant.KindOzoneGenerator),
	quantityFact("purge_before", quantity.Duration, "How long feed gas flows before the cell is powered; zero where no controller sees to it.",
		func(w *World, at At) Number { return w.purge(at.Index, purgeBefore) }, plant.KindOzoneGenerator),
	quantityFact("purge_after", quantity.Duration, "How long feed gas flows after the cell is off; zero where no controller sees to it.",
		func(w *World, at At) Number { return w.purge(at.Index, purgeAfter) }, plant.KindOzoneGenerator),

	truthFact("in_use", "It is not stated to be out of use.",
		func(w *World, at At) Truth { return Is(!w.data(at.Index).GetOutOfUse()) }, switchKinds...),
	truthFact("causes_something", "A line of cause and effect names it or stands at it.",
		func(w *World, at At) Truth { return Is(len(w.stopIndex().of.of(at.Index)) > 0) }, signalKinds...),
	countFact("effects", "What its signals stop, close, open or announce.",
		func(w *World, at At) Number { return Exactly(float64(w.effects(at.Index))) }, signalKinds...),
	truthFact("acts_the_right_way", "It acts on a rising or falling value as the meaning of its signals demands.",
		func(w *World, at At) Truth { t, _ := w.actsTheRightWay(at.Index); return t }, switchKinds...),
	textFact("right_way", "The way in which it should act: rising or falling.",
		func(w *World, at At) Text { _, way := w.actsTheRightWay(at.Index); return Text{Value: way} }, switchKinds...),
	textFact("signal_meaning", "What its first signal is said to mean.",
		func(w *World, at At) Text { return w.signalMeaning(at.Index) }, switchKinds...),

	truthFact("tells_lost_water", "Its signal means that the motive water is lost.",
		meansAny(skidrulev1.TripCondition_TRIP_CONDITION_LOSS_OF_WATER_FLOW), plant.KindFlowSwitch),
	truthFact("tells_lost_cooling", "Its signal means that cooling is lost.",
		meansAny(skidrulev1.TripCondition_TRIP_CONDITION_LOSS_OF_COOLING), plant.KindFlowSwitch, plant.KindTemperatureSwitch),
	truthFact("tells_breakthrough", "Its signal means that ozone passes a destruct.",
		meansAny(skidrulev1.TripCondition_TRIP_CONDITION_DESTRUCT_BREAKTHROUGH), plant.KindGasAnalyser),
	truthFact("tells_lost_suction", "Its signal means that the suction is lost.",
		meansAny(skidrulev1.TripCondition_TRIP_CONDITION_LOSS_OF_SUCTION), plant.KindPressureSwitch),
	truthFact("sees_injector", "The motive water of an injector passes it.",
		func(w *World, at At) Truth { return Is(len(w.sight().injectors.of(at.Index)) > 0) }, plant.KindFlowSwitch),
	quantityFact("least_motive_flow", quantity.LiquidFlow, "Least motive water of all injectors whose water passes it, as their tables give it.",
		func(w *World, at At) Number { return w.leastMotiveFlow(at.Index) }, plant.KindFlowSwitch),
	truthFact("water_passes_by", "Water that passes it can run off without passing an injector.",
		func(w *World, at At) Truth { return Is(w.sight().astray.Reached(w.Plant.PortByTrait(at.Index, 1))) }, plant.KindFlowSwitch),
	pathFact("water_by_path", "The way of that water.",
		func(w *World, at At) Path {
			return w.reachedPath(w.sight().astray, w.Plant.PortByTrait(at.Index, 1))
		}, plant.KindFlowSwitch),
	quantityFact("lowest_cell_pressure", quantity.PressureGauge, "Lowest pressure that a vacuum-drawn cell whose suction it watches bears.",
		func(w *World, at At) Number { return w.lowestCellBehind(at.Index) }, plant.KindPressureSwitch),
	quantityFact("cooling_needed", quantity.LiquidFlow, "Cooling water that the generators need whose cooling passes it.",
		func(w *World, at At) Number { return w.coolingNeeded(at.Index) }, plant.KindFlowSwitch),
	truthFact("watches_generator", "It watches a generator.",
		func(w *World, at At) Truth { return w.watchesGenerator(at.Index) }, plant.KindTemperatureSwitch),
	quantityFact("highest_generator_temperature", quantity.Temperature, "Highest temperature that the generator bears which it watches.",
		func(w *World, at At) Number { return w.watchedTemperature(at.Index) }, plant.KindTemperatureSwitch),

	truthFact("makes_ozone", "A generator stands in the drawing.",
		func(w *World, _ At) Truth { return Is(len(w.OfKind(plant.KindOzoneGenerator)) > 0) }).on(OnDesign),
	truthFact("keeps_oxygen", "The drawing holds a concentrator or a supply of oxygen or nitrogen, whose leak or exhaust changes the air of the room.",
		func(w *World, _ At) Truth { return w.keepsOxygen() }).on(OnDesign),
	countFact("ozone_monitors", "Ambient ozone monitors.",
		func(w *World, _ At) Number {
			return w.inUse(&w.trips.ozoneMonitors, plant.KindAmbientOzoneMonitor)
		}).on(OnDesign),
	countFact("oxygen_monitors", "Ambient oxygen monitors.",
		func(w *World, _ At) Number {
			return w.inUse(&w.trips.oxygenMonitors, plant.KindAmbientOxygenMonitor)
		}).on(OnDesign),

	truthFact("place_stated", "It is stated where it hangs.",
		func(w *World, at At) Truth { return w.placeStated(at.Index) }, plant.KindAmbientOzoneMonitor, plant.KindAmbientOxygenMonitor),
	textFact("tag_letters", "The letters that its tag begins with.",
		func(w *World, at At) Text { return Text{Value: tagLetters(w.Plant.Components[at.Index].Tag)} }, letteredKinds...),
	truthFact("first_letter_fits", "The first letter of its tag names what it measures, by the letter scheme of the site, or is left to the user.",
		func(w *World, at At) Truth { return w.firstLetterFits(at.Index) }, letteredKinds...),
	textFact("right_letter", "The first letter that it should have.",
		func(w *World, at At) Text { return Text{Value: w.rightLetter(at.Index)} }, letteredKinds...),
	truthFact("limit_letter_fits", "High or low in its tag agrees with the way in which it acts.",
		func(w *World, at At) Truth { return w.limitLetterFits(at.Index) }, switchKinds...),
	truthFact("has_limit_letter", "Its tag says that it acts at a high or a low limit.",
		func(w *World, at At) Truth {
			high, low := limitLetters(tagLetters(w.Plant.Components[at.Index].Tag))
			return Is(high != low)
		}, switchKinds...),
})

// keepsOxygen tells whether gas stands in the drawing that makes the air of a room rich or poor in oxygen.
func (w *World) keepsOxygen() Truth {
	if len(w.OfKind(plant.KindOxygenConcentrator)) > 0 {
		return Truth{Value: True}
	}
	var t Truth
	for _, c := range w.OfKind(plant.KindGasSupply) {
		switch w.data(c).GetGasSupply().GetGas() {
		case skidrulev1.SuppliedGas_SUPPLIED_GAS_UNSPECIFIED:
			t = t.Or(Open(specRef(c, "gas")))
		case skidrulev1.SuppliedGas_SUPPLIED_GAS_OXYGEN, skidrulev1.SuppliedGas_SUPPLIED_GAS_NITROGEN:
			return Truth{Value: True}
		}
	}
	for _, c := range w.OfKind(plant.KindBoundary) {
		switch w.data(c).GetBoundary().GetService() {
		case skidrulev1.Service_SERVICE_OXYGEN, skidrulev1.Service_SERVICE_NITROGEN:
			return Truth{Value: True}
		}
	}
	for i := range w.Plant.Lines {
		if w.lines()[i].service == skidrulev1.Service_SERVICE_OXYGEN {
			return Truth{Value: True}
		}
	}
	return t
}

// inUse counts the components of a kind that are not out of use, once for all that ask.
func (w *World) inUse(memo *lazy[Number], k plant.Kind) Number {
	return *memo.get(func() *Number {
		n := 0.0
		for _, c := range w.OfKind(k) {
			if !w.data(c).GetOutOfUse() {
				n++
			}
		}
		return &Number{Low: n, High: n}
	})
}

// placeStated tells whether it is stated where a monitor hangs.
func (w *World) placeStated(monitor int32) Truth {
	data := w.data(monitor)
	if data.GetAmbientOzoneMonitor().GetLocation()+data.GetAmbientOxygenMonitor().GetLocation() == "" {
		return Open(specRef(monitor, "location"))
	}
	return Truth{Value: True}
}
