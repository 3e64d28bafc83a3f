package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// oxygenKinds are the parts with a wetted inside that oxygen-rich gas on its way to the water can meet.
var oxygenKinds = []plant.Kind{
	plant.KindCompressor, plant.KindBlower, plant.KindGasReceiver, plant.KindGasFilter, plant.KindGasDryer,
	plant.KindOxygenConcentrator, plant.KindGasSupply, plant.KindPressureRegulator, plant.KindBackPressureValve,
	plant.KindMoistureMonitor, plant.KindGasHeater, plant.KindOzoneGenerator, plant.KindActuatedValve, plant.KindThreeWayValve,
	plant.KindCheckValve, plant.KindLiquidTrap, plant.KindReliefValve, plant.KindRuptureDisc, plant.KindVacuumBreaker,
	plant.KindHandValve, plant.KindRestrictionOrifice, plant.KindPressureGauge, plant.KindPressureSwitch, plant.KindFlowSwitch,
	plant.KindFlowMeter, plant.KindGasAnalyser, plant.KindSamplePoint, plant.KindAdapter, plant.KindTee, plant.KindHeader,
	plant.KindUnion,
}

// oxygenSealKinds are those of them that have seals to be stated.
var oxygenSealKinds = []plant.Kind{
	plant.KindGasFilter, plant.KindGasDryer, plant.KindOxygenConcentrator, plant.KindPressureRegulator, plant.KindBackPressureValve,
	plant.KindMoistureMonitor, plant.KindOzoneGenerator, plant.KindActuatedValve, plant.KindThreeWayValve, plant.KindCheckValve,
	plant.KindLiquidTrap, plant.KindReliefValve, plant.KindVacuumBreaker, plant.KindHandValve, plant.KindPressureSwitch,
	plant.KindFlowSwitch, plant.KindFlowMeter, plant.KindUnion,
}

// oxygenSeatKinds are those of them that have a seat.
var oxygenSeatKinds = []plant.Kind{
	plant.KindPressureRegulator, plant.KindBackPressureValve, plant.KindActuatedValve, plant.KindThreeWayValve, plant.KindCheckValve,
	plant.KindReliefValve, plant.KindHandValve,
}

var oxygenFacts = []Definition{
	truthFact("in_oxygen", "Oxygen-rich gas stands in it on its way to the water, with or without ozone.",
		func(w *World, at At) Truth { return w.componentInOxygen(at.Index) }, oxygenKinds...),
	truthFact("in_oxygen", "Oxygen-rich gas stands in it on its way to the water, with or without ozone.",
		func(w *World, at At) Truth { return w.lineInOxygen(at.Index) }).on(OnLine),
	truthFact("moves_oxygen", "Oxygen-rich gas passes it, before the water or in the off-gas.",
		func(w *World, at At) Truth { return w.movesOxygen(at.Index) }, airMachines...),
	truthFact("oxygen_free_of_oil", "Its compression space is free of oil.",
		func(w *World, at At) Truth { return w.machineOilFree(at.Index) }, airMachines...),
	truthFact("seal_fit_for_oxygen", "Its seals are not of a rubber that oxygen sets alight easily.",
		func(w *World, at At) Truth {
			return fitForOxygen(w.parts()[at.Index].seal, componentRef(at.Index, "seal_material"))
		}, oxygenSealKinds...),
	truthFact("seat_fit_for_oxygen", "Its seat is not of a plastic or rubber that oxygen sets alight easily.",
		func(w *World, at At) Truth {
			return fitForOxygen(w.parts()[at.Index].seat, componentRef(at.Index, "seat_material"))
		}, oxygenSeatKinds...),
	truthFact("oxygen_fed", "Its feed is richer in oxygen than air.",
		func(w *World, at At) Truth { return w.portInOxygen(w.Plant.PortByTrait(at.Index, 0)) }, plant.KindOzoneGenerator),

	truthFact("exhaust_joined", "A line meets its exhaust.",
		func(w *World, at At) Truth {
			port, ok := w.Plant.FindPort(at.Index, "exhaust")
			return Is(ok && w.Plant.Ports[port].Joints > 0)
		}, plant.KindOxygenConcentrator),
	truthFact("exhaust_leads_out", "Every end of the line from its exhaust is outdoors or in an exhaust system.",
		func(w *World, at At) Truth { t, _ := w.endsOutdoors(at.Index, "exhaust"); return t }, plant.KindOxygenConcentrator),
	pathFact("exhaust_path", "The way of its exhaust to an end that is not.",
		func(w *World, at At) Path { _, path := w.endsOutdoors(at.Index, "exhaust"); return path }, plant.KindOxygenConcentrator),
	truthFact("relieves_oxygen", "What it lets off is oxygen-rich gas without ozone.",
		func(w *World, at At) Truth {
			return w.portInOxygen(w.Plant.PortByTrait(at.Index, 0)).And(Is(!w.bearsOzone(at.Index)))
		}, plant.KindReliefValve, plant.KindRuptureDisc),
	truthFact("discharge_leads_out", "A line meets its outlet, and every end of it is outdoors or in an exhaust system.",
		func(w *World, at At) Truth { t, _ := w.endsOutdoors(at.Index, "outlet"); return t }, plant.KindReliefValve, plant.KindRuptureDisc),
	pathFact("discharge_path", "The way of the discharge to an end that is not.",
		func(w *World, at At) Path { _, path := w.endsOutdoors(at.Index, "outlet"); return path }, plant.KindReliefValve, plant.KindRuptureDisc),

	truthFact("carries_oxygen_under_pressure", "Oxygen on its way to generators passes it at a pressure at which published velocity limits hold.",
		func(w *World, at At) Truth { return w.velocityMatters(at.Index) }).on(OnLine),
	quantityFact("oxygen_velocity", quantity.Velocity, "Highest gas velocity in it with every generator behind it at its highest flow, at the lowest pressure at which the limits hold.",
		func(w *World, at At) Number { v, _ := w.oxygenVelocity(at.Index); return v }).on(OnLine),
	quantityFact("oxygen_velocity_limit", quantity.Velocity, "Highest velocity of oxygen in metal pipe at that pressure where gas strikes a wall, as at tees, elbows and valves.",
		func(w *World, at At) Number { _, limit := w.oxygenVelocity(at.Index); return limit }).on(OnLine),
	truthFact("metal", "Its material is metal.",
		func(w *World, at At) Truth { return w.lineIsMetal(at.Index) }).on(OnLine),

	truthFact("carries_ozone_gas", "Ozone gas from a generator comes into it before it meets the water.",
		func(w *World, at At) Truth { return Is(w.lineBeforeWater(at.Index)) }).on(OnLine),
	quantityFact("ozone_capacity", quantity.MassFlow, "Ozone that all generators make at their ratings.",
		func(w *World, at At) Number { return w.ozoneCapacity() }).on(OnDesign),
}

// oxygenReach tells where oxygen-rich gas stands: must as known, may also behind sources whose gas is not stated. onward
// follows it in normal flow through the water into the off-gas.
type oxygenReach struct {
	must, may, onward *flowpath.Reach
	beforeWater       *flowpath.Reach // gas from generators alone
	doubts            map[int32][]Ref // by port of a source whose gas is not stated
	parts, lines      []Verdict       // whether it stands in components and lines: many rules ask it of all of them
}

func (w *World) oxygenReach() *oxygenReach { return w.feed.oxygen.get(w.spreadOxygen) }

func (w *World) spreadOxygen() *oxygenReach {
	p := w.Plant
	x := &oxygenReach{doubts: map[int32][]Ref{}}
	known := w.portsOf(plant.KindOxygenConcentrator, "outlet")
	var doubted []int32
	doubt := func(port int32, ref Ref) {
		doubted = append(doubted, port)
		x.doubts[port] = []Ref{ref}
	}
	for _, c := range w.OfKind(plant.KindGasSupply) {
		switch w.data(c).GetGasSupply().GetGas() {
		case skidrulev1.SuppliedGas_SUPPLIED_GAS_OXYGEN:
			known = append(known, p.Components[c].FirstPort)
		case skidrulev1.SuppliedGas_SUPPLIED_GAS_UNSPECIFIED:
			doubt(p.Components[c].FirstPort, specRef(c, "gas"))
		}
	}
	for _, c := range w.OfKind(plant.KindBoundary) {
		switch w.data(c).GetBoundary().GetService() {
		case skidrulev1.Service_SERVICE_OXYGEN:
			known = append(known, p.Components[c].FirstPort)
		case skidrulev1.Service_SERVICE_UNSPECIFIED:
			doubt(p.Components[c].FirstPort, specRef(c, "service"))
		}
	}
	for i := range p.Ways {
		if q := &p.Ways[i]; q.IsPipe() && w.lines()[q.Line].service == skidrulev1.Service_SERVICE_OXYGEN {
			known = append(known, q.From, q.To)
		}
	}
	passes := func(way int32, forward bool) bool {
		if w.kindOfWay(way) == plant.KindOzoneGenerator {
			return forward && !w.touchesLiquid(&p.Ways[way])
		}
		return w.oxygenPasses(way, forward)
	}
	for _, g := range w.OfKind(plant.KindOzoneGenerator) {
		if fed := w.data(g).GetOzoneGenerator().FedByAir; fed != nil && !*fed {
			known = append(known, p.PortByTrait(g, 0))
		}
	}
	x.must = w.spread(flowpath.Forward, known, passes)
	traced := x.must
	if len(doubted) > 0 {
		traced = w.spread(flowpath.Forward, append(doubted, known...), passes)
	}
	traceable := len(doubted)
	for _, g := range w.OfKind(plant.KindOzoneGenerator) {
		// Where nothing tells what feeds a cell, what it is built for would.
		port := p.PortByTrait(g, 0)
		if w.data(g).GetOzoneGenerator().FedByAir == nil && !traced.Reached(port) && !w.filterReach().airTo.Reached(port) {
			doubt(port, specRef(g, "fed_by_air"))
		}
	}
	if x.may = traced; len(doubted) > traceable {
		x.may = w.spread(flowpath.Forward, append(doubted, known...), passes)
	}
	x.onward = w.spread(flowpath.Forward, known, func(way int32, forward bool) bool {
		return forward && !w.touchesLiquid(&p.Ways[way]) && !w.shutForGood(way)
	})
	x.beforeWater = w.spread(flowpath.Forward, w.portsOf(plant.KindOzoneGenerator, "ozone_gas"), w.oxygenPasses)
	x.judge(p)
	return x
}

// judge tells of every component and line whether oxygen-rich gas stands in it.
func (x *oxygenReach) judge(p *plant.Plant) {
	x.parts, x.lines = make([]Verdict, len(p.Components)), make([]Verdict, len(p.Lines))
	note := func(v *Verdict, must, may bool) {
		switch {
		case must:
			*v = True
		case may && *v == False:
			*v = Undecided
		}
	}
	for i := range p.Ports {
		if q, port := &p.Ports[i], int32(i); q.Joints > 0 && q.Phase != skidrulev1.Phase_PHASE_LIQUID {
			note(&x.parts[q.Component], x.must.Reached(port), x.may.Reached(port))
		}
	}
	for i := range p.Ways {
		if q := &p.Ways[i]; q.IsPipe() {
			note(&x.lines[q.Line], x.must.Reached(q.From) && x.must.Reached(q.To), x.may.Reached(q.From) && x.may.Reached(q.To))
		}
	}
}

// oxygenPasses tells whether gas on its way to the water spreads along a way, branches and dead legs included.
func (w *World) oxygenPasses(way int32, forward bool) bool {
	q := &w.Plant.Ways[way]
	if q.IsPipe() {
		return true
	}
	switch k := w.kindOfWay(way); {
	case k == plant.KindVenturiInjector, k == plant.KindOzoneGenerator, k == plant.KindOxygenConcentrator, k == plant.KindOzoneDestruct,
		k == plant.KindFloatVentValve, k == plant.KindKnockOutPot, isGasVessel(k):
		return false
	case k == plant.KindCheckValve, k == plant.KindCompressor, k == plant.KindBlower, k == plant.KindReliefValve,
		k == plant.KindRuptureDisc, k == plant.KindVacuumBreaker:
		return forward && !w.touchesLiquid(q)
	}
	return !w.touchesLiquid(q) && !w.shutForGood(way)
}

// portInOxygen tells whether oxygen-rich gas stands at a port.
func (w *World) portInOxygen(port int32) Truth {
	x := w.oxygenReach()
	switch {
	case x.must.Reached(port):
		return Truth{Value: True}
	case x.may.Reached(port):
		arcs, _ := x.may.Path(port)
		return Open(x.doubts[w.begins(arcs, port)]...)
	}
	return Truth{}
}

// componentInOxygen tells it of any gas port of a component that a line meets.
func (w *World) componentInOxygen(component int32) Truth {
	if v := w.oxygenReach().parts[component]; v != Undecided {
		return Truth{Value: v}
	}
	c := &w.Plant.Components[component]
	var t Truth
	for port := c.FirstPort; port < c.FirstPort+c.NumPorts; port++ {
		if q := &w.Plant.Ports[port]; q.Joints > 0 && q.Phase != skidrulev1.Phase_PHASE_LIQUID {
			t = t.Or(w.portInOxygen(port))
		}
	}
	return t
}

// lineInOxygen tells it of any pipe of a line.
func (w *World) lineInOxygen(line int32) Truth {
	if v := w.oxygenReach().lines[line]; v != Undecided {
		return Truth{Value: v}
	}
	l := &w.Plant.Lines[line]
	var t Truth
	for i := l.FirstWay; i < l.FirstWay+l.NumWays; i++ {
		q := &w.Plant.Ways[i]
		t = t.Or(w.portInOxygen(q.From).And(w.portInOxygen(q.To)))
	}
	return t
}

// lineBeforeWater tells whether gas of a generator comes into a line before it meets the water.
func (w *World) lineBeforeWater(line int32) bool {
	x, l := w.oxygenReach(), &w.Plant.Lines[line]
	for i := l.FirstWay; i < l.FirstWay+l.NumWays; i++ {
		if q := &w.Plant.Ways[i]; x.beforeWater.Reached(q.From) && x.beforeWater.Reached(q.To) {
			return true
		}
	}
	return false
}

// movesOxygen tells whether a machine is in oxygen-rich gas, its off-gas included.
func (w *World) movesOxygen(machine int32) Truth {
	if w.oxygenReach().onward.Reached(w.Plant.PortByTrait(machine, 0)) {
		return Truth{Value: True}
	}
	return w.componentInOxygen(machine)
}

func (w *World) machineOilFree(machine int32) Truth {
	ref := specRef(machine, "oil_free")
	if w.Plant.Components[machine].Kind == plant.KindBlower {
		return w.truth(w.data(machine).GetBlower().OilFree, ref)
	}
	return w.truth(w.data(machine).GetCompressor().OilFree, ref)
}

// fitForOxygen names the rubbers and plastics that are kept out of oxygen service: common practice, no source.
func fitForOxygen(m skidrulev1.Material, ref Ref) Truth {
	switch m {
	case skidrulev1.Material_MATERIAL_UNSPECIFIED:
		return Open(ref)
	case skidrulev1.Material_MATERIAL_NBR, skidrulev1.Material_MATERIAL_NATURAL_RUBBER, skidrulev1.Material_MATERIAL_CHLOROPRENE,
		skidrulev1.Material_MATERIAL_POLYURETHANE, skidrulev1.Material_MATERIAL_POLYAMIDE, skidrulev1.Material_MATERIAL_ACETAL,
		skidrulev1.Material_MATERIAL_POLYETHYLENE, skidrulev1.Material_MATERIAL_POLYPROPYLENE:
		return Truth{}
	}
	return Truth{Value: True}
}

// endsOutdoors follows what leaves a component by a port in normal flow to its ends, and shows the way to the first that is
// not outdoors.
func (w *World) endsOutdoors(component int32, name string) (Truth, Path) {
	p := w.Plant
	port, ok := p.FindPort(component, name)
	if !ok {
		return Truth{}, nil
	}
	from := map[int32]int32{port: -1}
	queue := []int32{port}
	all, ends := Truth{Value: True}, 0
	var path Path
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		onward := false
		for _, way := range p.WaysAt(at) {
			q := &p.Ways[way]
			if q.From != at || q.Component == component || w.shutForGood(way) {
				continue
			}
			onward = true
			if _, seen := from[q.To]; !seen {
				from[q.To] = 2 * way
				queue = append(queue, q.To)
			}
		}
		if onward || at == port {
			continue
		}
		ends++
		t := w.isOutdoors(p.Ports[at].Component)
		if t.Value != True && path == nil {
			var arcs []int32
			for v := at; from[v] >= 0; v = w.Graph().From(from[v]) {
				arcs = append([]int32{from[v]}, arcs...)
			}
			path = w.wayPath(port, arcs, nil)
		}
		all = all.And(t)
	}
	if ends == 0 {
		return Truth{}, nil
	}
	return all, path
}

// isOutdoors tells whether gas that comes to an end is away from people.
func (w *World) isOutdoors(component int32) Truth {
	data := w.data(component)
	switch w.Plant.Components[component].Kind {
	case plant.KindAtmosphereVent:
		switch data.GetAtmosphereVent().GetLocation() {
		case skidrulev1.VentLocation_VENT_LOCATION_UNSPECIFIED:
			return Open(specRef(component, "location"))
		case skidrulev1.VentLocation_VENT_LOCATION_INDOORS:
			return Truth{}
		}
		return Truth{Value: True}
	case plant.KindBoundary:
		// What lies beyond the edge of the drawing takes it.
		switch data.GetBoundary().GetService() {
		case skidrulev1.Service_SERVICE_UNSPECIFIED:
			return Open(specRef(component, "service"))
		case skidrulev1.Service_SERVICE_EXHAUST_GAS, skidrulev1.Service_SERVICE_OXYGEN:
			return Truth{Value: True}
		}
	}
	return Truth{}
}

// ozoneCapacity sums the rated outputs of all generators.
func (w *World) ozoneCapacity() Number {
	return *w.feed.capacity.get(w.sumCapacity)
}

func (w *World) sumCapacity() *Number {
	sum := Exactly(0)
	for _, g := range w.OfKind(plant.KindOzoneGenerator) {
		rated := w.number(w.data(g).GetOzoneGenerator().RatedOutputKgPerS, specRef(g, "rated_output"))
		rated.Low = max(rated.Low, 0)
		sum = addNaming(sum, rated)
	}
	return &sum
}

// mostNamed bounds the missing data that a sum over many parts names: the first few are asked for first.
const mostNamed = 16

// addNaming adds a number to a sum; the result names no more missing data than is useful.
func addNaming(sum, n Number) Number {
	if len(sum.Missing) >= mostNamed {
		n.Missing = nil
	}
	return sum.Add(n)
}
