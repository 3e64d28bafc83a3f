package fact

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// stopIndex lists the lines of cause and effect by what they stop and by what causes them, as places in signals().
type stopIndex struct {
	stops listed // by place of the generator among generators: what stops it or all of its power supplies
	of    listed // by source
}

func (w *World) stopIndex() *stopIndex { return w.trips.stops.get(w.indexStops) }

// stopsOf lists what stops a generator.
func (x *stopIndex) stopsOf(w *World, generator int32) []int32 {
	return x.stops.of(w.placeOf(generator))
}

// placeOf is the place of a component among those of its kind.
func (w *World) placeOf(component int32) int32 {
	place, _ := slices.BinarySearch(w.OfKind(w.Plant.Components[component].Kind), component)
	return int32(place)
}

func (w *World) indexStops() *stopIndex {
	p, signals := w.Plant, w.signals()
	generators := w.OfKind(plant.KindOzoneGenerator)
	// The power supplies of each generator, -1 for one that is not there, and the generators of each supply, all by place.
	var owners, named, supplies, driven []int32
	for g, c := range generators {
		for _, tag := range w.data(c).GetOzoneGenerator().GetPowerSupplies() {
			s, ok := p.FindComponent(tag)
			if !ok {
				s = -1
			} else {
				supplies, driven = append(supplies, s), append(driven, int32(g))
			}
			owners, named = append(owners, int32(g)), append(named, s)
		}
	}
	suppliesOf, drives := listBy(len(generators), owners, named), listBy(len(p.Components), supplies, driven)

	var sources, caused []int32
	var stopped, stoppers []int32
	last := make([]int32, len(generators)) // the line behind the last one that was noted for a generator
	halted := flowpath.NewSet(len(p.Components))
	for i := range signals {
		s := &signals[i]
		if s.Source < 0 {
			continue
		}
		sources, caused = append(sources, s.Source), append(caused, int32(i))
		if len(s.stops) == 0 || w.data(s.Source).GetOutOfUse() {
			continue
		}
		for _, target := range s.stops {
			halted.Add(target)
		}
		stop := func(g int32) {
			if last[g] != int32(i)+1 {
				last[g] = int32(i) + 1
				stopped, stoppers = append(stopped, g), append(stoppers, int32(i))
			}
		}
		for _, target := range s.stops {
			if p.Components[target].Kind == plant.KindOzoneGenerator {
				stop(w.placeOf(target))
			}
			for _, g := range drives.of(target) {
				if allIn(halted, suppliesOf.of(g)) {
					stop(g)
				}
			}
		}
		for _, target := range s.stops {
			halted.Remove(target)
		}
	}
	return &stopIndex{stops: listBy(len(generators), stopped, stoppers), of: listBy(len(p.Components), sources, caused)}
}

// allIn tells whether a set holds all of the ids.
func allIn(set *flowpath.Set, ids []int32) bool {
	for _, id := range ids {
		if !set.Has(id) {
			return false
		}
	}
	return true
}

// tripReach lists for each generator what its gas comes to, in normal flow.
type tripReach struct {
	many flowpath.ReachMany // from each generator, by its place among them
	lost bool               // the drawing is too entangled to tell
}

// The bound of the search: node visits for each port of the plant, and a floor for small plants.
const (
	tripWorkPerPort = 400
	tripWorkFloor   = 1_000_000
)

func (w *World) tripReach() *tripReach { return w.trips.reach.get(w.reachFromCells) }

func (w *World) reachFromCells() *tripReach {
	p := w.Plant
	x := &tripReach{}
	passes := func(arc int32) bool {
		way, forward := arc>>1, arc&1 == 0
		if !forward || w.shutForGood(way) {
			return false
		}
		switch w.kindOfWay(way) {
		case plant.KindOzoneGenerator:
			return false
		case plant.KindVenturiInjector:
			// Ozone that is dissolved already asks nothing of the injector that it passes.
			return p.PortName(p.Ways[way].From) == "suction"
		}
		return true
	}
	var from []int32
	for _, g := range w.OfKind(plant.KindOzoneGenerator) {
		from = append(from, p.PortByTrait(g, 1))
	}
	subjects := w.portsOf(plant.KindVenturiInjector, "suction")
	for _, k := range [...]plant.Kind{plant.KindLiquidTrap, plant.KindKnockOutPot, plant.KindOzoneDestruct, plant.KindBlower} {
		subjects = append(subjects, w.portsOf(k, "inlet")...)
	}
	x.many.Limit = tripWorkFloor + tripWorkPerPort*int64(len(p.Ports))
	w.pause()
	if x.many.Follow(w.Graph(), flowpath.Forward, from, subjects, passes) != nil {
		x.lost = true
	}
	return x
}

// comesTo lists the components of a kind that a generator's gas comes to, ascending.
func (w *World) comesTo(generator int32, k plant.Kind) []int32 {
	x := w.tripReach()
	var out []int32
	for _, port := range x.many.Subjects(int(w.placeOf(generator))) {
		if c := w.Plant.Ports[port].Component; w.Plant.Components[c].Kind == k {
			out = append(out, c)
		}
	}
	return out
}

// nearIndex lists instruments by what they can tell something of: the tag that they watch, the stretch of gas line that they
// lie in, the component whose water passes them; and those of the room.
type nearIndex struct {
	tag   map[string][]int32
	zone  map[int32][]int32
	water map[int32][]int32
	room  [][]int32 // by island
}

func (w *World) nearIndex() *nearIndex { return w.trips.near.get(w.indexNear) }

func (w *World) indexNear() *nearIndex {
	x := &nearIndex{tag: map[string][]int32{}, zone: map[int32][]int32{}, water: map[int32][]int32{}, room: byIsland[[]int32](w, nil)}
	seen := w.sight()
	for i := range w.Plant.Components {
		c := &w.Plant.Components[i]
		id := int32(i)
		if tag := w.watchedTag(id); tag != "" {
			x.tag[tag] = append(x.tag[tag], id)
		}
		switch c.Kind {
		case plant.KindPressureSwitch, plant.KindGasAnalyser, plant.KindFlowSwitch, plant.KindFlowMeter:
			zone := seen.gas.Zone(c.FirstPort)
			x.zone[zone] = append(x.zone[zone], id)
			for _, served := range [...][]int32{seen.injectors.of(id), seen.cooled.of(id)} {
				for _, s := range served {
					x.water[s] = append(x.water[s], id)
				}
			}
		case plant.KindAmbientOzoneMonitor, plant.KindAmbientOxygenMonitor, plant.KindEmergencyStop:
			if room := &x.room[w.island(id)]; len(*room) < 8*mostShown {
				*room = append(*room, id)
			}
		}
	}
	return x
}

// near lists the instruments that may tell something of a place that a generator's gas comes to.
func (w *World) near(generator, place int32) []int32 {
	x, seen := w.nearIndex(), w.sight()
	var out []int32
	add := func(list []int32) {
		for _, c := range list[:min(len(list), 4*mostShown)] {
			out = appendMissing(out, c)
		}
	}
	c := &w.Plant.Components[place]
	add(x.tag[c.Tag])
	add(x.water[place])
	for port := c.FirstPort; port < c.FirstPort+c.NumPorts; port++ {
		if w.Plant.Ports[port].Joints > 0 {
			add(x.zone[seen.gas.Zone(port)])
		}
	}
	if place == generator {
		for _, supply := range w.data(generator).GetOzoneGenerator().GetPowerSupplies() {
			add(x.tag[supply])
		}
		add(x.room[w.island(generator)])
	}
	return out
}

// sight tells what instruments see: by flow instrument the injectors whose motive water passes it and the generators whose
// cooling water does, and by port the stretch of gas line that it lies in.
type sight struct {
	injectors table[[]int32]
	cooled    table[[]int32]
	gas       flowpath.Zones
	astray    *flowpath.Reach // from where water runs off without passing an injector
}

func (w *World) sight() *sight { return w.trips.sight.get(w.look) }

func (w *World) look() *sight {
	p := w.Plant
	x := &sight{injectors: newTable[[]int32](w, 0), cooled: newTable[[]int32](w, 0)}
	var instruments, in, out []int32
	for _, k := range [...]plant.Kind{plant.KindFlowSwitch, plant.KindFlowMeter} {
		for _, c := range w.OfKind(k) {
			instruments, in, out = append(instruments, c), append(in, p.PortByTrait(c, 0)), append(out, p.PortByTrait(c, 1))
		}
	}
	var many flowpath.ReachMany
	many.Limit = tripWorkFloor + tripWorkPerPort*int64(len(p.Ports))
	w.pause()
	run := func(arc int32) bool { return arc&1 == 0 && w.runPasses(arc>>1) }
	gather := func(into *table[[]int32], upstream, downstream []int32) {
		sweep := func(d flowpath.Direction, from, subjects []int32) bool {
			if many.Follow(w.Graph(), d, from, subjects, run) != nil {
				return false
			}
			for i, c := range instruments {
				for _, port := range many.Subjects(i) {
					list := into.at(c)
					*list = appendMissing(*list, p.Ports[port].Component)
				}
			}
			return true
		}
		if !sweep(flowpath.Forward, out, upstream) || !sweep(flowpath.Backward, in, downstream) {
			// Half of what is seen must not pass for all of it.
			*into = newTable[[]int32](w, 0)
		}
	}
	gather(&x.injectors, w.portsOf(plant.KindVenturiInjector, "motive_inlet"), w.portsOf(plant.KindVenturiInjector, "outlet"))
	gather(&x.cooled, w.joinedOf(plant.KindOzoneGenerator, "cooling_inlet"), w.joinedOf(plant.KindOzoneGenerator, "cooling_outlet"))

	open := make([]bool, w.Graph().NumArcs())
	for i := range p.Ways {
		k := w.kindOfWay(int32(i))
		pass := p.Ways[i].IsPipe() || k != plant.KindOzoneGenerator && k != plant.KindVenturiInjector && k != plant.KindOzoneDestruct &&
			!isGasVessel(k) && !w.touchesLiquid(&p.Ways[i])
		open[2*i], open[2*i+1] = pass, pass
	}
	must(x.gas.Sweep(w.Graph(), open))
	x.astray = w.spread(flowpath.Backward, w.waterEnds(), func(way int32, forward bool) bool {
		return forward && w.kindOfWay(way) != plant.KindVenturiInjector && w.waterRuns(way)
	})
	return x
}

// appendMissing adds an id to a short list that does not have it.
func appendMissing(list []int32, id int32) []int32 {
	if slices.Contains(list, id) {
		return list
	}
	return append(list, id)
}

// joinedOf lists the ports of a name of all components of a kind that lines meet.
func (w *World) joinedOf(k plant.Kind, name string) []int32 {
	var out []int32
	for _, port := range w.portsOf(k, name) {
		if w.Plant.Ports[port].Joints > 0 {
			out = append(out, port)
		}
	}
	return out
}

// runPasses tells whether the water of one run passes a way: vessels, injectors and generators end it.
func (w *World) runPasses(way int32) bool {
	switch k := w.kindOfWay(way); {
	case k == plant.KindVenturiInjector, k == plant.KindOzoneGenerator, isGasVessel(k):
		return false
	}
	return !w.shutForGood(way)
}

// waterRuns tells whether water takes a way in normal operation: valves that are closed then let none pass.
func (w *World) waterRuns(way int32) bool {
	c := w.Plant.Ways[way].Component
	if c < 0 {
		return true
	}
	switch w.Plant.Components[c].Kind {
	case plant.KindReliefValve, plant.KindRuptureDisc, plant.KindFloatVentValve, plant.KindSamplePoint, plant.KindFloatDrain:
		return false
	case plant.KindHandValve, plant.KindActuatedValve:
		return w.data(c).GetNormalPosition() != skidrulev1.ValvePosition_VALVE_POSITION_CLOSED
	}
	// A drain that a port leads to is opened to empty what it belongs to.
	return w.Plant.PortName(w.Plant.Ways[way].To) != "drain" && w.Plant.PortName(w.Plant.Ways[way].To) != "sample"
}

// waterEnds lists where water goes to: edges of the drawing, vessels and drains.
func (w *World) waterEnds() []int32 {
	var out []int32
	for _, c := range w.OfKind(plant.KindBoundary) {
		b := w.data(c).GetBoundary()
		if b.GetRole() == skidrulev1.BoundaryRole_BOUNDARY_ROLE_SOURCE {
			continue
		}
		if gas, stated := isGas(b.GetService()); !stated || !gas {
			out = append(out, w.Plant.Components[c].FirstPort)
		}
	}
	for _, k := range gasVessels {
		out = append(out, w.portsOf(k, "inlet")...)
	}
	return append(out, w.portsOf(plant.KindDrainPoint, "inlet")...)
}

// leastMotiveFlow sums, over the injectors that a flow switch sees, the least motive flow of their tables.
func (w *World) leastMotiveFlow(flowSwitch int32) Number {
	sum := Exactly(0)
	for _, i := range w.sight().injectors.of(flowSwitch) {
		least := math.Inf(1)
		for _, point := range w.data(i).GetVenturiInjector().GetPerformance() {
			if point.MotiveFlowM3PerS != nil {
				least = min(least, *point.MotiveFlowM3PerS)
			}
		}
		if math.IsInf(least, 1) {
			n := Missing(specRef(i, "performance"))
			n.Low = 0
			sum = addNaming(sum, n)
			continue
		}
		sum = sum.Add(Exactly(least))
	}
	return sum
}

// coolingNeeded sums the cooling water of the generators whose cooling passes a flow switch.
func (w *World) coolingNeeded(flowSwitch int32) Number {
	sum := Exactly(0)
	for _, g := range w.sight().cooled.of(flowSwitch) {
		flow := w.number(w.data(g).GetOzoneGenerator().CoolingFlowM3PerS, specRef(g, "cooling_flow"))
		flow.Low = max(flow.Low, 0)
		sum = addNaming(sum, flow)
	}
	return sum
}

// lowestCellBehind is the lowest cell pressure of the vacuum-drawn generators whose gas comes to the stretch of line that a
// pressure switch lies in; of none it is below everything.
func (w *World) lowestCellBehind(pressureSwitch int32) Number {
	cells := w.trips.cells.get(w.cellsByZone)
	if lowest, ok := (*cells)[w.sight().gas.Zone(w.Plant.Components[pressureSwitch].FirstPort)]; ok {
		return lowest
	}
	return between(math.Inf(-1), math.Inf(-1))
}

// cellsByZone is the highest of the lowest pressures of the vacuum-drawn cells, by the stretch of line that their gas comes to.
func (w *World) cellsByZone() *map[int32]Number {
	cells := map[int32]Number{}
	for _, g := range w.OfKind(plant.KindOzoneGenerator) {
		spec := w.data(g).GetOzoneGenerator()
		if spec.GetMode() == skidrulev1.FeedMode_FEED_MODE_PRESSURE_FED {
			continue
		}
		zone := w.sight().gas.Zone(w.Plant.PortByTrait(g, 1))
		own := w.number(spec.MinCellPressurePaGauge, specRef(g, "min_cell_pressure"))
		if have, ok := cells[zone]; ok {
			own = own.Max(have)
		}
		cells[zone] = own
	}
	return &cells
}

// watchesGenerator tells whether a temperature switch watches a generator.
func (w *World) watchesGenerator(temperatureSwitch int32) Truth {
	tag := w.watchedTag(temperatureSwitch)
	if tag == "" {
		return Open(specRef(temperatureSwitch, "watches"))
	}
	c, ok := w.Plant.FindComponent(tag)
	return Is(ok && w.Plant.Components[c].Kind == plant.KindOzoneGenerator)
}

func (w *World) watchedTemperature(temperatureSwitch int32) Number {
	c, ok := w.Plant.FindComponent(w.watchedTag(temperatureSwitch))
	if !ok {
		return Missing(specRef(temperatureSwitch, "watches"))
	}
	return w.number(w.data(c).MaxTemperatureK, componentRef(c, "max_temperature"))
}
