package fact

import (
	"slices"

	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// trip is one danger that must stop a generator: the condition that signals it, what of the plant it may arise at, and which
// instrument tells it there.
type trip struct {
	name      string // of its facts: stops_on_<name>, lacks_<name>_trip, <name>_trip_path
	words     string
	condition skidrulev1.TripCondition
	// places lists where it may arise for a generator.
	places func(w *World, generator int32) []int32
	// tells says whether an instrument tells it at a place.
	tells func(w *World, generator, place, instrument int32) Truth
}

// itself is the place of dangers that arise at the generator or around it.
func itself(_ *World, generator int32) []int32 { return []int32{generator} }

// atEvery gives the components of a kind that the generator's gas comes to.
func atEvery(k plant.Kind) func(*World, int32) []int32 {
	return func(w *World, generator int32) []int32 { return w.comesTo(generator, k) }
}

// byKind takes any instrument of a kind as telling.
func byKind(k plant.Kind) func(*World, int32, int32, int32) Truth {
	return func(w *World, _, _, instrument int32) Truth { return Is(w.Plant.Components[instrument].Kind == k) }
}

var trips = []trip{
	{"lost_water", "lost motive water", skidrulev1.TripCondition_TRIP_CONDITION_LOSS_OF_WATER_FLOW, atEvery(plant.KindVenturiInjector),
		func(w *World, _, injector, instrument int32) Truth {
			return seesFlow(&w.sight().injectors, injector, instrument)
		}},
	{"lost_suction", "lost suction", skidrulev1.TripCondition_TRIP_CONDITION_LOSS_OF_SUCTION, atEvery(plant.KindVenturiInjector),
		func(w *World, _, injector, instrument int32) Truth { return w.feelsSuction(injector, instrument) }},
	{"trap_level", "a high level in the trap", skidrulev1.TripCondition_TRIP_CONDITION_HIGH_TRAP_LEVEL, atEvery(plant.KindLiquidTrap),
		func(w *World, _, trap, instrument int32) Truth {
			return w.watches(instrument, plant.KindLevelSwitch, trap)
		}},
	{"pot_level", "a high level in the pot", skidrulev1.TripCondition_TRIP_CONDITION_HIGH_POT_LEVEL, atEvery(plant.KindKnockOutPot),
		func(w *World, _, pot, instrument int32) Truth {
			return w.watches(instrument, plant.KindLevelSwitch, pot)
		}},
	{"cold_destruct", "a cold destruct bed", skidrulev1.TripCondition_TRIP_CONDITION_LOW_BED_TEMPERATURE, heatedDestructs,
		func(w *World, _, destruct, instrument int32) Truth {
			return w.watches(instrument, plant.KindTemperatureSwitch, destruct)
		}},
	{"breakthrough", "ozone behind the destruct", skidrulev1.TripCondition_TRIP_CONDITION_DESTRUCT_BREAKTHROUGH, atEvery(plant.KindOzoneDestruct),
		func(w *World, _, destruct, instrument int32) Truth { return w.analyses(destruct, instrument) }},
	{"lost_cooling", "lost cooling", skidrulev1.TripCondition_TRIP_CONDITION_LOSS_OF_COOLING, itself,
		func(w *World, _, generator, instrument int32) Truth {
			return seesFlow(&w.sight().cooled, generator, instrument).Or(w.watches(instrument, plant.KindTemperatureSwitch, generator))
		}},
	{"open_enclosure", "an open enclosure", skidrulev1.TripCondition_TRIP_CONDITION_OPEN_ENCLOSURE, itself,
		func(w *World, _, generator, instrument int32) Truth { return w.guardsDoor(generator, instrument) }},
	{"ambient_ozone", "ozone in the room", skidrulev1.TripCondition_TRIP_CONDITION_AMBIENT_OZONE, itself, byKind(plant.KindAmbientOzoneMonitor)},
	{"oxygen_high", "high oxygen in the room", skidrulev1.TripCondition_TRIP_CONDITION_AMBIENT_OXYGEN_HIGH, itself, byKind(plant.KindAmbientOxygenMonitor)},
	{"oxygen_low", "low oxygen in the room", skidrulev1.TripCondition_TRIP_CONDITION_AMBIENT_OXYGEN_LOW, itself, byKind(plant.KindAmbientOxygenMonitor)},
	{"emergency_stop", "the emergency stop", skidrulev1.TripCondition_TRIP_CONDITION_EMERGENCY_STOP, itself, byKind(plant.KindEmergencyStop)},
	{"blower_failure", "a failed blower", skidrulev1.TripCondition_TRIP_CONDITION_BLOWER_FAILURE, atEvery(plant.KindBlower),
		func(w *World, _, blower, instrument int32) Truth { return w.provesBlower(blower, instrument) }},
}

// generatorTripFacts makes the facts of every danger: whether it can arise, whether it stops the generator at every place,
// where it does not, and what is drawn there.
func generatorTripFacts() []Definition {
	var out []Definition
	for i := range trips {
		t := &trips[i]
		out = append(out,
			truthFact("meets_"+t.name, "There is a place where "+t.words+" can arise for the generator.",
				func(w *World, at At) Truth { return w.meets(t, at.Index) }, plant.KindOzoneGenerator),
			truthFact("stops_on_"+t.name, "At every such place an instrument that tells "+t.words+" stops the generator.",
				func(w *World, at At) Truth { s, _ := w.stopsOn(t, at.Index); return s }, plant.KindOzoneGenerator),
			textFact("lacks_"+t.name+"_trip", "The first such place where none does.",
				func(w *World, at At) Text {
					if s, place := w.stopsOn(t, at.Index); s.Value != True {
						return Text{Value: w.Plant.Components[place].Tag}
					}
					return Text{}
				}, plant.KindOzoneGenerator),
			pathFact(t.name+"_trip_path", "From that place by what is drawn there to the generator.",
				func(w *World, at At) Path { return w.tripPath(t, at.Index) }, plant.KindOzoneGenerator),
		)
	}
	return out
}

// meets tells whether a danger has a place.
func (w *World) meets(t *trip, generator int32) Truth {
	if w.tripReach().lost {
		return Open(elementRef(generator))
	}
	return Is(len(t.places(w, generator)) > 0)
}

// stopsOn tells whether a danger stops a generator at every place, and the first place where it does not.
func (w *World) stopsOn(t *trip, generator int32) (Truth, int32) {
	if w.tripReach().lost {
		return Open(elementRef(generator)), generator
	}
	all, worst := Truth{Value: True}, generator
	for _, place := range t.places(w, generator) {
		told := w.toldAt(t, generator, place)
		if told.Value == False || told.Value == Undecided && all.Value == True {
			worst = place
		}
		if all = all.And(told); all.Value == False {
			return all, worst
		}
	}
	return all, worst
}

// toldAt tells whether some signal of the danger stops the generator whose instrument tells it at the place.
func (w *World) toldAt(t *trip, generator, place int32) Truth {
	var told Truth
	signals := w.signals()
	for _, i := range w.stopIndex().stopsOf(w, generator) {
		if s := &signals[i]; s.condition == t.condition {
			told = told.Or(t.tells(w, generator, place, s.Source))
		}
	}
	return told
}

// tripPath shows where a danger arises that does not stop the generator: the place, the gas way between where there is one,
// instruments that tell it there and do nothing, the controllers, the generator.
func (w *World) tripPath(t *trip, generator int32) Path {
	told, place := w.stopsOn(t, generator)
	if told.Value == True {
		return nil
	}
	var path Path
	step := func(c int32, role skidrulev1.StepRole, note string) {
		path = append(path, Step{Component: c, Line: -1, Role: role, Note: note})
	}
	if place != generator {
		step(place, skidrulev1.StepRole_STEP_ROLE_SOURCE, "where it arises")
	}
	shown := 0
	for _, c := range w.near(generator, place) {
		if shown < mostShown && t.tells(w, generator, place, c).Value == True {
			step(c, skidrulev1.StepRole_STEP_ROLE_NOT_COUNTED, "does not stop "+w.Plant.Components[generator].Tag+" on "+t.words)
			shown++
		}
	}
	for _, c := range w.controllersOf(generator) {
		step(c, skidrulev1.StepRole_STEP_ROLE_PASSES, w.whatItLists(t, generator, c))
	}
	for _, v := range w.shutOffsBehind(generator) {
		step(v, skidrulev1.StepRole_STEP_ROLE_PASSES, "")
	}
	step(generator, skidrulev1.StepRole_STEP_ROLE_TARGET, "keeps running")
	return path
}

// whatItLists says what a controller does about a danger that nothing tells it of.
func (w *World) whatItLists(t *trip, generator, controller int32) string {
	signals := w.signals()
	for _, i := range w.stopIndex().stopsOf(w, generator) {
		if s := &signals[i]; s.Owner == controller && s.condition == t.condition {
			return "acts on " + w.Plant.Components[s.Source].Tag + ", which does not tell it there"
		}
	}
	return "lists no such line"
}

// mostShown bounds the instruments that a path shows.
const mostShown = 8

// shutOffsBehind lists the automatic valves next behind a generator in its gas line: they close on the same signals.
func (w *World) shutOffsBehind(generator int32) []int32 {
	var out []int32
	for _, c := range w.onLinesOf(generator) {
		if w.Plant.Components[c].Kind == plant.KindActuatedValve {
			out = appendMissing(out, c)
		}
	}
	return out
}

// heatedDestructs lists the destructs that a generator's gas comes to and whose bed is heated, or may be.
func heatedDestructs(w *World, generator int32) []int32 {
	var out []int32
	for _, d := range w.comesTo(generator, plant.KindOzoneDestruct) {
		if h := w.data(d).GetOzoneDestruct().Heated; h == nil || *h {
			out = append(out, d)
		}
	}
	return out
}

// watches tells whether an instrument of a kind watches a component.
func (w *World) watches(instrument int32, k plant.Kind, component int32) Truth {
	if w.Plant.Components[instrument].Kind != k {
		return Truth{}
	}
	tag := w.watchedTag(instrument)
	if tag == "" {
		return Open(specRef(instrument, "watches"))
	}
	return Is(tag == w.Plant.Components[component].Tag)
}

// seesFlow tells whether the flow that something needs passes a flow switch or flow meter.
func seesFlow(seen *table[[]int32], component, instrument int32) Truth {
	return Is(slices.Contains(seen.of(instrument), component))
}

// feelsSuction tells whether a pressure switch, or an instrument of gas flow, lies in the stretch of gas line that leads to an
// injector's suction port.
func (w *World) feelsSuction(injector, instrument int32) Truth {
	return w.feelsGasAt(instrument, w.Plant.PortByTrait(injector, 1))
}

// feelsGasAt tells whether a pressure switch, or an instrument of gas flow, lies in the stretch of gas line at a port.
func (w *World) feelsGasAt(instrument, port int32) Truth {
	switch w.Plant.Components[instrument].Kind {
	case plant.KindPressureSwitch, plant.KindFlowSwitch, plant.KindFlowMeter:
	default:
		return Truth{}
	}
	zones := &w.sight().gas
	return Is(zones.Zone(w.Plant.Components[instrument].FirstPort) == zones.Zone(port))
}

// analyses tells whether an analyser takes the gas behind a destruct.
func (w *World) analyses(destruct, instrument int32) Truth {
	if w.Plant.Components[instrument].Kind != plant.KindGasAnalyser {
		return Truth{}
	}
	zones := &w.sight().gas
	return Is(zones.Zone(w.Plant.Components[instrument].FirstPort) == zones.Zone(w.Plant.PortByTrait(destruct, 1)))
}

// guardsDoor tells whether an enclosure switch watches a generator or one of its power supplies.
func (w *World) guardsDoor(generator, instrument int32) Truth {
	if w.Plant.Components[instrument].Kind != plant.KindEnclosureSwitch {
		return Truth{}
	}
	tag := w.watchedTag(instrument)
	if tag == "" {
		return Open(specRef(instrument, "watches"))
	}
	return Is(tag == w.Plant.Components[generator].Tag || slices.Contains(w.data(generator).GetOzoneGenerator().GetPowerSupplies(), tag))
}

// provesBlower tells whether an instrument lies beside a blower in the gas line, or is the blower's own contact.
func (w *World) provesBlower(blower, instrument int32) Truth {
	if blower == instrument {
		return Truth{Value: True}
	}
	return w.feelsGasAt(instrument, w.Plant.PortByTrait(blower, 0))
}

// controllersOf lists the controllers that command a generator or list what stops it, ascending.
func (w *World) controllersOf(generator int32) []int32 {
	var out []int32
	if c, ok := w.Plant.FindComponent(w.data(generator).GetCommandedBy()); ok && w.Plant.Components[c].Kind == plant.KindController {
		out = append(out, c)
	}
	signals := w.signals()
	for _, i := range w.stopIndex().stopsOf(w, generator) {
		if o := signals[i].Owner; w.Plant.Components[o].Kind == plant.KindController {
			out = appendMissing(out, o)
		}
	}
	return out
}

// controllerWatched tells whether a failure of every controller of a generator stops it.
func (w *World) controllerWatched(generator int32) Truth {
	all := Truth{Value: True}
	for _, c := range w.controllersOf(generator) {
		all = all.And(w.truth(w.data(c).GetController().Watchdog, specRef(c, "watchdog")))
	}
	return all
}

// purgeEnd picks one of a controller's two purges.
type purgeEnd uint8

const (
	purgeBefore purgeEnd = iota
	purgeAfter
)

// purge is the longest purge that a generator's controllers see to; without a controller there is none.
func (w *World) purge(generator int32, end purgeEnd) Number {
	controllers := w.controllersOf(generator)
	if len(controllers) == 0 {
		return Exactly(0)
	}
	// The first is the one that commands it, where that is stated.
	if w.data(generator).GetCommandedBy() != "" {
		controllers = controllers[:1]
	}
	longest := Exactly(0)
	for _, c := range controllers {
		s := w.data(c).GetController()
		stated, field := s.PurgeBeforeS, "purge_before"
		if end == purgeAfter {
			stated, field = s.PurgeAfterS, "purge_after"
		}
		longest = longest.Max(w.number(stated, specRef(c, field)))
	}
	return longest
}
