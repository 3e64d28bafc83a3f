package fact

import (
	"math"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// backflowMemo is what the backflow facts compute once.
type backflowMemo struct {
	guard          lazy[guard]
	traps          lazy[flowpath.Runs]
	shutOffSure    lazy[flowpath.Reach]
	shutOffHoped   lazy[flowpath.Reach]
	bypasses       lazy[flowpath.Bypasses]
	fromGenerators lazy[flowpath.Reach]
	toGenerators   lazy[flowpath.Reach]
	water          lazy[[]Number] // by island, as the next
	shutOff        lazy[[]Number]
	gasSide        lazy[flowpath.Reach]
	leaks          answers[int32, trapLeak] // by trap
}

var backflowFacts = append(guardFacts, []Definition{
	truthFact("trap_behind_check_valves", "On every gas path from process water a liquid trap lies between the last check valve and the generator.",
		func(w *World, at At) Truth { return w.trapBehindCheckValves(at.Index) }, plant.KindOzoneGenerator),
	pathFact("path_without_trap", "A path from process water on which no trap lies between the last check valve and the generator.",
		func(w *World, at At) Path { return w.pathWithoutTrap(at.Index) }, plant.KindOzoneGenerator),
	truthFact("shut_off_on_every_path", "Every gas path from process water to the generator meets an automatic valve that closes without power and holds the water pressure.",
		func(w *World, at At) Truth { return w.shutOffOnEveryPath(at.Index) }, plant.KindOzoneGenerator),
	pathFact("path_without_shut_off", "A path from process water to the generator that meets no such valve.",
		func(w *World, at At) Path { return w.pathWithoutShutOff(at.Index) }, plant.KindOzoneGenerator),
	truthFact("guards_generator", "The part lies on a gas path between process water and a generator.",
		func(w *World, at At) Truth { return w.guardsGenerator(at.Index) }, plant.KindCheckValve, plant.KindLiquidTrap, plant.KindActuatedValve),
	truthFact("has_way_around", "An open way leads around the part.",
		func(w *World, at At) Truth { return Is(w.wayAround(at.Index) >= 0) }, plant.KindCheckValve, plant.KindLiquidTrap, plant.KindActuatedValve),
	pathFact("way_around", "The open way around the part.",
		func(w *World, at At) Path { return w.wayAroundPath(at.Index) }, plant.KindCheckValve, plant.KindLiquidTrap, plant.KindActuatedValve),
	truthFact("closes_on_loss_of_water_flow", "A signal of lost water flow closes it.",
		closesOn(skidrulev1.TripCondition_TRIP_CONDITION_LOSS_OF_WATER_FLOW), plant.KindActuatedValve),
	truthFact("closes_on_loss_of_suction", "A signal of lost suction closes it.",
		closesOn(skidrulev1.TripCondition_TRIP_CONDITION_LOSS_OF_SUCTION), plant.KindActuatedValve),
	truthFact("closes_on_high_trap_level", "A signal of a high level in the trap closes it.",
		closesOn(skidrulev1.TripCondition_TRIP_CONDITION_HIGH_TRAP_LEVEL), plant.KindActuatedValve),
	truthFact("lines_pass_forward", "Every line passes the check valve from inlet to outlet.",
		func(w *World, at At) Truth { return w.linesPassForward(at.Index) }, plant.KindCheckValve),
	truthFact("connected", "Both ends are connected.",
		func(w *World, at At) Truth { return w.bothConnected(at.Index) }, plant.KindCheckValve),
	truthFact("behind_generator", "Gas from a generator passes the trap.",
		func(w *World, at At) Truth { return w.generatorBehind(at.Index) }, plant.KindLiquidTrap),
	truthFact("drain_connected", "Its drain is connected.",
		func(w *World, at At) Truth { return w.drainJoined(at.Index) }, plant.KindLiquidTrap),
	truthFact("drain_sealed", "Gas cannot leave by the drain, nor air be sucked in: a float that opens on liquid only, a float drain or a water seal.",
		func(w *World, at At) Truth { return w.drainOf(at.Index, w.trapSeal(at.Index)).sealed }, plant.KindLiquidTrap),
	truthFact("drain_cannot_push_back", "Every end of the drain lies open or behind a check valve.",
		func(w *World, at At) Truth { return w.drainOf(at.Index, Truth{}).safe }, plant.KindLiquidTrap),
	pathFact("drain_path", "The way of the drain.",
		func(w *World, at At) Path { return w.drainOf(at.Index, Truth{}).path }, plant.KindLiquidTrap),
	quantityFact("run_low_point", quantity.Length, "Lowest point of the gas lines that meet at the trap.",
		func(w *World, at At) Number { return w.trapRun(at.Index) }, plant.KindLiquidTrap),
	quantityFact("highest_water_pressure", quantity.PressureGauge, "Highest pressure that process water can have: the highest boundary and, behind it, the strongest pumps in series against a closed outlet.",
		func(w *World, at At) Number { return w.highestWaterPressure(at.Index) }, plant.KindLiquidTrap, plant.KindActuatedValve, plant.KindOzoneGenerator),
	quantityFact("leak_pressure", quantity.PressureGauge, "Highest pressure that water can have at it behind a failed check valve, with the column down to it.",
		func(w *World, at At) Number { return w.leakTo(at.Index).pressure }, plant.KindLiquidTrap),
	quantityFact("leak_difference", quantity.PressureDifference, "What drives a leak through a failed check valve: that pressure against the lowest that its gas line can keep.",
		func(w *World, at At) Number { return w.leakTo(at.Index).difference }, plant.KindLiquidTrap),
	quantityFact("solved_water_pressure", quantity.PressureGauge, "Highest pressure at the water ports of the injectors over the solved cases.",
		func(w *World, at At) Number { n, _ := w.solvedWater(); return n }, plant.KindLiquidTrap),
	textFact("solved_water_case", "The case in which that comes about.",
		func(w *World, at At) Text { _, set := w.solvedWater(); return w.caseText(set) }, plant.KindLiquidTrap),
	quantityFact("failed_valve_flow", quantity.LiquidFlow, "Water that one failed check valve next to the trap lets through at the highest difference that can drive it.",
		func(w *World, at At) Number { return w.leakTo(at.Index).flow }, plant.KindLiquidTrap),
	quantityFact("leak_until_shut_off", quantity.Volume, "Water that comes through one failed check valve until the automatic valve has closed; unbounded where no signal closes one.",
		func(w *World, at At) Number { return w.leakTo(at.Index).flow.Mul(w.shutOffTime(at.Index)) }, plant.KindLiquidTrap),
}...)

func closesOn(condition skidrulev1.TripCondition) func(*World, At) Truth {
	return func(w *World, at At) Truth { return Is(w.closedBy(at.Index, condition)) }
}

// Labels of passages for the order of traps and check valves.
const (
	checkValveLabel = 1
	trapLabel       = 2
)

func (w *World) trapRuns() *flowpath.Runs {
	return w.backflow.traps.get(func() *flowpath.Runs {
		p := w.Plant
		labels := make([]uint8, w.Graph().NumArcs())
		for i := range p.Ways {
			q := &p.Ways[i]
			if q.IsPipe() {
				continue
			}
			switch p.Components[q.Component].Kind {
			case plant.KindCheckValve:
				labels[2*i+1] = checkValveLabel
			case plant.KindLiquidTrap:
				labels[2*i], labels[2*i+1] = trapLabel, trapLabel
			}
		}
		r := &flowpath.Runs{}
		must(r.Sweep(w.anyWays(), flowpath.Since(checkValveLabel, trapLabel), flowpath.Labels{Arcs: labels}, w.guard().sources, flowpath.NoTurnBack, flowpath.Avoid{Arcs: w.passagesOf(plant.KindOzoneGenerator)}))
		return r
	})
}

// passagesOf gathers the arcs inside all components of a kind.
func (w *World) passagesOf(kind plant.Kind) *flowpath.Set {
	arcs := flowpath.NewSet(w.Graph().NumArcs())
	for _, c := range w.OfKind(kind) {
		for _, way := range w.passages(c) {
			arcs.Add(2 * way)
			arcs.Add(2*way + 1)
		}
	}
	return arcs
}

// gasSide marks what is joined to a generator's gas ports without passing an injector: the gas side of the plant.
func (w *World) gasSide() *flowpath.Reach {
	return w.backflow.gasSide.get(func() *flowpath.Reach {
		r := &flowpath.Reach{}
		must(r.Sweep(w.anyWays(), flowpath.Forward, w.guard().subject, flowpath.Avoid{Arcs: w.passagesOf(plant.KindVenturiInjector)}))
		return r
	})
}

// anyWays is every way that water can take with all barriers failed.
func (w *World) anyWays() *flowpath.Ways { return w.guard().open }

func (w *World) trapBehindCheckValves(generator int32) Truth {
	r := w.trapRuns()
	for _, port := range w.gasPorts(generator) {
		if r.States(port)&(1<<flowpath.SinceMissing) != 0 {
			return Truth{}
		}
	}
	return Truth{Value: True}
}

func (w *World) pathWithoutTrap(generator int32) Path {
	r := w.trapRuns()
	for _, port := range w.gasPorts(generator) {
		if arcs, _ := r.Path(port, flowpath.SinceMissing); len(arcs) > 0 {
			return w.arcsPath(arcs, w.waterRole)
		}
	}
	return nil
}

// gasPorts gives both gas ports of a generator, the ozone side first: water comes from there.
func (w *World) gasPorts(generator int32) [2]int32 {
	return [2]int32{w.Plant.PortByTrait(generator, 1), w.Plant.PortByTrait(generator, 0)}
}

// reachPastShutOffs marks what water reaches without meeting an automatic valve that holds; with sure set only those that
// are known to hold count.
func (w *World) reachPastShutOffs(sure bool) *flowpath.Reach {
	avoid := flowpath.NewSet(w.Graph().NumArcs())
	for i := range w.Plant.Ways {
		q := &w.Plant.Ways[i]
		if q.IsPipe() || w.Plant.Components[q.Component].Kind != plant.KindActuatedValve {
			continue
		}
		for d := range int32(2) {
			h, _, _ := w.waterHolding(int32(i), d == 0)
			if h == holds || h == noWay || h == maybeHolds && !sure {
				avoid.Add(2*int32(i) + d)
			}
		}
	}
	r := &flowpath.Reach{}
	must(r.Sweep(w.anyWays(), flowpath.Forward, w.guard().sources, flowpath.Avoid{Arcs: avoid}))
	return r
}

func (w *World) pastShutOffs(sure bool) *flowpath.Reach {
	memo := &w.backflow.shutOffHoped
	if sure {
		memo = &w.backflow.shutOffSure
	}
	return memo.get(func() *flowpath.Reach { return w.reachPastShutOffs(sure) })
}

func (w *World) shutOffOnEveryPath(generator int32) Truth {
	sure, hoped := w.pastShutOffs(true), w.pastShutOffs(false)
	t := Truth{Value: True}
	for _, port := range w.gasPorts(generator) {
		switch {
		case !sure.Reached(port):
		case hoped.Reached(port):
			return Truth{}
		default:
			arcs, _ := sure.Path(port)
			t = t.And(Open(w.doubts(arcs)...))
		}
	}
	return t
}

func (w *World) pathWithoutShutOff(generator int32) Path {
	r := w.pastShutOffs(true)
	for _, port := range w.gasPorts(generator) {
		if arcs, _ := r.Path(port); len(arcs) > 0 {
			return w.arcsPath(arcs, w.waterRole)
		}
	}
	return nil
}

// guardsGenerator tells whether the part stands on the gas side and water that passes it can come to a generator.
func (w *World) guardsGenerator(component int32) Truth {
	to := w.backflow.toGenerators.get(func() *flowpath.Reach {
		r := &flowpath.Reach{}
		must(r.Sweep(w.anyWays(), flowpath.Backward, w.guard().subject, flowpath.Avoid{}))
		return r
	})
	from := w.guard()
	for i := range w.Plant.Components[component].NumPorts {
		port := w.Plant.Components[component].FirstPort + i
		if from.sure.Reached(port) && to.Reached(port) && w.gasSide().Reached(port) {
			return Truth{Value: True}
		}
	}
	return Truth{}
}

// wayAround gives the barrier arc of the component that an open way leads around; -1 where none does.
func (w *World) wayAround(component int32) int32 {
	b := w.backflow.bypasses.get(func() *flowpath.Bypasses {
		b := &flowpath.Bypasses{}
		must(b.Sweep(w.guard().sureWays))
		return b
	})
	for _, way := range w.passages(component) {
		for d := range int32(2) {
			if b.Bypassed(2*way + d) {
				return 2*way + d
			}
		}
	}
	return -1
}

func (w *World) wayAroundPath(component int32) Path {
	arc := w.wayAround(component)
	if arc < 0 {
		return nil
	}
	arcs, _ := w.backflow.bypasses.value.Path(arc)
	return w.arcsPath(arcs, nil)
}

// passages lists the ways inside a component.
func (w *World) passages(component int32) []int32 {
	var out []int32
	c := &w.Plant.Components[component]
	for i := range c.NumPorts {
		for _, way := range w.Plant.WaysAt(c.FirstPort + i) {
			q := &w.Plant.Ways[way]
			if q.Component == component && q.From == c.FirstPort+i {
				out = append(out, way)
			}
		}
	}
	return out
}

func (w *World) linesPassForward(component int32) Truth {
	p := w.Plant
	inlet, outlet := p.PortByTrait(component, 0), p.PortByTrait(component, 1)
	for _, way := range p.WaysAt(inlet) {
		if q := &p.Ways[way]; q.IsPipe() && q.To != inlet {
			return Truth{}
		}
	}
	for _, way := range p.WaysAt(outlet) {
		if q := &p.Ways[way]; q.IsPipe() && q.From != outlet {
			return Truth{}
		}
	}
	return Truth{Value: True}
}

func (w *World) bothConnected(component int32) Truth {
	p := w.Plant
	return Is(p.Ports[p.PortByTrait(component, 0)].Joints > 0 && p.Ports[p.PortByTrait(component, 1)].Joints > 0)
}

// findLeakFlow is the water that a check valve beside the trap lets through when it is stuck open, Kv·√(Δp/1 bar) in
// cubic metres per hour, after the definition of the flow coefficient in IEC 60534-2-1.
func (w *World) findLeakFlow(trap int32, difference Number) Number {
	p := w.Plant
	flow, found := Exactly(0), false
	difference = difference.Max(Exactly(0))
	for _, valve := range w.onLinesOf(trap) {
		if p.Components[valve].Kind != plant.KindCheckValve {
			continue
		}
		found = true
		kv := w.number(p.Components[valve].Data.GetCheckValve().FlowCoefficientKvM3PerH, specRef(valve, "flow_coefficient"))
		root := Number{Low: math.Sqrt(max(difference.Low, 0) / 1e5), High: math.Sqrt(max(difference.High, 0) / 1e5), Missing: difference.Missing, Assumed: difference.Assumed}
		flow = flow.Max(kv.Mul(root).Scale(1.0 / 3600))
	}
	if !found {
		return Missing(elementRef(trap))
	}
	return flow
}

// trapLeak is what comes to a trap through a failed check valve: the pressure in Pa gauge, the difference in Pa that drives it, and its
// flow in m3/s. A rule asks each several times over.
type trapLeak struct{ pressure, difference, flow Number }

func (w *World) leakTo(trap int32) trapLeak {
	return w.backflow.leaks.of(trap, func() trapLeak {
		l := trapLeak{pressure: w.findLeakPressure(trap)}
		l.difference = w.findLeakDifference(trap, l.pressure)
		l.flow = w.findLeakFlow(trap, l.difference)
		return l
	})
}

// findLeakPressure is the highest pressure that water can have at a trap behind a failed check valve: that of the water itself, and of
// the column down to the trap and its valves where that is more. Behind the first barrier the next one may hold; the trap is asked to
// take the leak all the same.
func (w *World) findLeakPressure(trap int32) Number {
	pressure := w.highestWaterPressure(trap)
	for _, valve := range w.onLinesOf(trap) {
		if w.Plant.Components[valve].Kind == plant.KindCheckValve {
			pressure = pressure.Max(w.highestPressure(w.Plant.PortByTrait(valve, 1), 1))
		}
	}
	for _, port := range w.joinedPorts(trap, "inlet", "outlet") {
		pressure = pressure.Max(w.highestPressure(port, 1))
	}
	return pressure
}

// findLeakDifference is the difference that drives a leak to a trap: the water against the deepest vacuum that the line keeps when the
// injector stops.
func (w *World) findLeakDifference(trap int32, pressure Number) Number {
	vacuum := Exactly(0)
	for _, port := range w.joinedPorts(trap, "inlet", "outlet") {
		vacuum = vacuum.Min(w.lowestPressure(port))
	}
	return pressure.Sub(vacuum)
}

// solvedWater is the highest pressure at the water ports of the injectors over the solved cases.
func (w *World) solvedWater() (Number, int32) {
	var ports []int32
	for _, injector := range w.OfKind(plant.KindVenturiInjector) {
		ports = append(ports, w.Plant.PortByTrait(injector, 0), w.Plant.PortByTrait(injector, 2))
	}
	return w.solvedHighest(ports)
}

// onLinesOf lists the components that the lines at a component run through, with repeats.
func (w *World) onLinesOf(component int32) []int32 {
	p := w.Plant
	var out []int32
	c := &p.Components[component]
	last := int32(-1)
	for i := range c.NumPorts {
		for _, way := range p.WaysAt(c.FirstPort + i) {
			line := p.Ways[way].Line
			if line < 0 || line == last {
				continue
			}
			last = line
			l := &p.Lines[line]
			for k := range l.NumWays {
				q := &p.Ways[l.FirstWay+k]
				out = append(out, p.Ports[q.From].Component, p.Ports[q.To].Component)
			}
		}
	}
	return out
}

// shutOffTime is the longest closing time of the valves in the island of a trap that lost water flow or a high trap level closes; without
// end where it has none.
func (w *World) shutOffTime(trap int32) Number {
	return (*w.backflow.shutOff.get(w.findShutOffTimes))[w.island(trap)]
}

func (w *World) findShutOffTimes() *[]Number {
	longest, found := byIsland(w, Exactly(0)), byIsland(w, false)
	for _, v := range w.OfKind(plant.KindActuatedValve) {
		if !w.closedBy(v, skidrulev1.TripCondition_TRIP_CONDITION_LOSS_OF_WATER_FLOW) && !w.closedBy(v, skidrulev1.TripCondition_TRIP_CONDITION_HIGH_TRAP_LEVEL) {
			continue
		}
		at := w.island(v)
		found[at] = true
		longest[at] = longest[at].Max(w.number(w.data(v).GetActuatedValve().ResponseTimeS, specRef(v, "response_time")))
	}
	for at := range longest {
		if !found[at] {
			longest[at] = between(math.Inf(1), math.Inf(1))
		}
	}
	return &longest
}
