package fact

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// destructFeed lists which generators and float vents come to which destructs and pots.
type destructFeed struct {
	generators table[[]int32]  // by destruct
	vents      table[[]int32]  // by destruct or pot
	freely     table[[]int32]  // of those, the vents with a way there that meets no orifice
	orifices   table[[]int32]  // by vent, the restriction orifices that its gas comes to first
	bursts     *flowpath.Reach // from all float vents
	unvented   *flowpath.Reach // from sources of gas, by ways that no float vent closes
}

func (w *World) destructFeed() *destructFeed { return w.offGas.feed.get(w.traceDestructFeed) }

func (w *World) traceDestructFeed() *destructFeed {
	p := w.Plant
	x := &destructFeed{generators: newTable[[]int32](w, 0), vents: newTable[[]int32](w, 0), freely: newTable[[]int32](w, 0), orifices: newTable[[]int32](w, 0)}
	// Gas goes through pots, and in vessels from the water to the vent; it ends at a destruct. A check valve that is drawn the
	// wrong way round has a rule of its own, and load is looked for behind it too.
	class := w.gasClass()
	passes := func(way int32, forward bool) bool {
		k, h := w.kindOfWay(way), class[arcOf(way, forward)]
		switch {
		case k == plant.KindCheckValve:
			return true
		case h == noWay || h == holds:
			return false
		}
		return forward || !isGasVessel(k) && k != plant.KindFloatVentValve && k != plant.KindKnockOutPot
	}
	unrestricted := func(way int32, forward bool) bool {
		return w.kindOfWay(way) != plant.KindRestrictionOrifice && passes(way, forward)
	}
	destructs := append(w.portsOf(plant.KindOzoneDestruct, "inlet"), w.portsOf(plant.KindOzoneDestruct, "outlet")...)
	subjects := slices.Concat(w.portsOf(plant.KindKnockOutPot, "inlet"), w.portsOf(plant.KindDemister, "inlet", "outlet"), destructs)
	var r flowpath.ReachMany
	trace := func(open func(way int32, forward bool) bool, kind plant.Kind, name string, subjects []int32, found func(source, subject int32)) {
		of := w.OfKind(kind)
		var sources []int32
		for _, c := range of {
			port, _ := p.FindPort(c, name)
			sources = append(sources, port)
		}
		w.pause()
		must(r.Follow(w.Graph(), flowpath.Forward, sources, subjects, func(arc int32) bool { return open(arc>>1, arc&1 == 0) }))
		for i, c := range of {
			for _, port := range r.Subjects(i) {
				found(c, p.Ports[port].Component)
			}
		}
	}
	// Sources come in ascending order, and two ports of one subject one after the other.
	list := func(into *table[[]int32]) func(source, subject int32) {
		return func(source, subject int32) {
			if have := into.at(subject); len(*have) == 0 || (*have)[len(*have)-1] != source {
				*have = append(*have, source)
			}
		}
	}
	trace(passes, plant.KindOzoneGenerator, "ozone_gas", destructs, list(&x.generators))
	trace(passes, plant.KindFloatVentValve, "outlet", subjects, list(&x.vents))
	if len(w.OfKind(plant.KindRestrictionOrifice)) > 0 {
		trace(unrestricted, plant.KindFloatVentValve, "outlet", subjects, list(&x.freely))
		trace(unrestricted, plant.KindFloatVentValve, "outlet", w.portsOf(plant.KindRestrictionOrifice, "inlet", "outlet"), func(vent, orifice int32) {
			list(&x.orifices)(orifice, vent)
		})
	} else {
		x.freely = x.vents
	}
	x.bursts = w.spread(flowpath.Forward, w.portsOf(plant.KindFloatVentValve, "outlet"), passes)
	x.unvented = w.spread(flowpath.Forward, w.gasEntries(), func(way int32, forward bool) bool {
		return w.kindOfWay(way) != plant.KindFloatVentValve && passes(way, forward)
	})
	return x
}

// gasEntries lists the ports by which gas comes into the ways of off-gas, whatever drives it: sources, machines, generators, the edges of
// the drawing and the gas spaces of vessels.
func (w *World) gasEntries() []int32 {
	var out []int32
	for i := range w.Plant.Components {
		c := &w.Plant.Components[i]
		switch c.Kind {
		case plant.KindGasSupply, plant.KindBoundary, plant.KindCompressor, plant.KindOxygenConcentrator, plant.KindOzoneGenerator:
			for k := range c.NumPorts {
				out = append(out, c.FirstPort+k)
			}
		}
		if isGasVessel(c.Kind) {
			out = append(out, w.ventPorts(int32(i))...)
		}
	}
	return out
}

// burstPath is the way from the nearest float vent to a pot or destruct.
func (w *World) burstPath(component int32) Path {
	r := w.destructFeed().bursts
	for trait := range 2 {
		port := w.Plant.PortByTrait(component, trait)
		if arcs, ok := r.Path(port); ok {
			return w.reachPath(arcs, port, w.gasRole)
		}
	}
	return nil
}

// ozoneArrives tells whether ozone-bearing gas comes to a destruct.
func (w *World) ozoneArrives(destruct int32) Truth {
	o := w.ozone()
	in, out := w.Plant.PortByTrait(destruct, 0), w.Plant.PortByTrait(destruct, 1)
	return Is(o.behind.Reached(in) || o.may.Reached(out))
}

// fullGasFlow is the gas that comes to a destruct while nothing dissolves: that of its generators as stated, or what a solved case that
// brings ozone sends through it where that is more, with the air that a blower draws. Where such a case lacks data it may be all that the
// float vents before it let through.
func (w *World) fullGasFlow(destruct int32) Number {
	total := w.generatedGasFlow(destruct)
	solved, set, open := w.solvedThrough(destruct)
	if set >= 0 {
		total.Low, total.High = max(total.Low, solved.High), max(total.High, solved.High)
	}
	if len(open) == 0 {
		return total
	}
	if most := w.ventedInto(destruct); most.High > total.High {
		total.High = most.High
		total.Missing, total.Assumed = JoinRefs(total.Missing, most.Missing, open), joinRefs(total.Assumed, most.Assumed)
	}
	return total
}

// blowerNear tells whether a blower stands in the island of a component.
func (w *World) blowerNear(component int32) bool {
	return slices.ContainsFunc(w.OfKind(plant.KindBlower), func(b int32) bool { return w.island(b) == w.island(component) })
}

// ventedInto is the most gas in mol/s that comes to a destruct by float vents alone; without bound where gas comes in another way too, or
// where a blower pulls.
func (w *World) ventedInto(destruct int32) Number {
	feed := w.destructFeed()
	if len(feed.vents.of(destruct)) == 0 || w.blowerNear(destruct) || feed.unvented.Reached(w.Plant.PortByTrait(destruct, 0)) {
		return Missing()
	}
	return w.burstInto(destruct)
}

// generatedGasFlow is the whole flow of every generator that a destruct serves.
func (w *World) generatedGasFlow(destruct int32) Number {
	generators := w.destructFeed().generators.of(destruct)
	if len(generators) == 0 {
		return Missing(elementRef(destruct))
	}
	total := Exactly(0)
	for _, g := range generators {
		spec := w.data(g).GetOzoneGenerator()
		if spec.MaxFlowMolPerS != nil {
			total = total.Add(Exactly(max(*spec.MaxFlowMolPerS, spec.GetRatedFlowMolPerS())))
			continue
		}
		total = total.Add(w.number(spec.RatedFlowMolPerS, specRef(g, "rated_flow")))
	}
	return total
}

// fullConcentration is the strongest ozone, as a mass fraction, that any generator of a destruct can make as stated, or that a solved
// case brings to it.
func (w *World) fullConcentration(destruct int32) Number {
	generators := w.destructFeed().generators.of(destruct)
	if len(generators) == 0 {
		return Missing(elementRef(destruct))
	}
	strongest := Exactly(0)
	for _, g := range generators {
		spec := w.data(g).GetOzoneGenerator()
		own := w.number(spec.RatedConcentrationMassFraction, specRef(g, "rated_concentration"))
		for _, point := range spec.GetOutput() {
			own = own.Max(pointStrength(g, point))
		}
		strongest = strongest.Max(own)
	}
	return strongest.Max(Exactly(w.solvedStrength(destruct)))
}

// pointStrength is the ozone, as a mass fraction, at a point of a generator's table: as stated, or its output over the mass of the feed,
// which lies between that of air and that of oxygen. A point that states neither leaves it open.
//
// Source: balance of mass.
func pointStrength(generator int32, point *skidrulev1.OutputPoint) Number {
	if point.ConcentrationMassFraction != nil {
		return Exactly(*point.ConcentrationMassFraction)
	}
	n := Number{Low: 0, High: math.Inf(1), Missing: []Ref{specRef(generator, "output")}}
	if point.OutputKgPerS == nil || point.GetFlowMolPerS() <= 0 {
		return n
	}
	n.Low, n.High = math.Inf(1), 0
	for _, gas := range feedGases() {
		m, err := gas.MolarMass()
		must(err)
		x := *point.OutputKgPerS / (*point.FlowMolPerS * m)
		n.Low, n.High = min(n.Low, x), max(n.High, x)
	}
	return n
}

// feedGases are the driest mixtures between which every feed of a generator lies.
func feedGases() [2]fluid.Gas {
	oxygen, err := fluid.DryOxygen(1, 0)
	must(err)
	return [2]fluid.Gas{fluid.DryAir(), oxygen}
}

// hottestBed is the temperature that the bed reaches while the strongest ozone decomposes in it without loss of heat, from its
// set temperature or, without a heater, from that of the warmest water. Beyond 1000 K, where the model ends, it is unbounded.
func (w *World) hottestBed(destruct int32) Number {
	spec := w.data(destruct).GetOzoneDestruct()
	bed := w.number(spec.SetTemperatureK, specRef(destruct, "set_temperature"))
	if spec.Heated != nil && !*spec.Heated && spec.SetTemperatureK == nil {
		bed = w.number(w.Plant.Basis.MaxWaterTemperatureK, basisRef("max_water_temperature"))
	}
	strength := w.fullConcentration(destruct)
	if math.IsInf(bed.Low, 0) || math.IsInf(bed.High, 0) || math.IsInf(strength.High, 0) {
		return bed.with(strength, bed.Low, math.Inf(1))
	}
	return bed.with(strength, w.hotEnd(bed.Low, strength.Low), w.hotEnd(bed.High, strength.High))
}

// hotEnd gives the temperature that gas of an ozone mass fraction reaches from an inlet temperature, at the adverse end of
// every feed; once for each pair.
func (w *World) hotEnd(inlet, ozone float64) float64 {
	return w.offGas.hotEnds.of([2]float64{inlet, ozone}, func() float64 { return hotEnd(inlet, ozone) })
}

func hotEnd(inlet, ozone float64) float64 {
	hottest := inlet
	for _, gas := range feedGases() {
		product, err := gas.WithOzone(ozone)
		if err != nil {
			continue // air holds less oxygen than such ozone needs
		}
		rise, err := unitop.AdiabaticRise(product, inlet, 1)
		if err != nil {
			return math.Inf(1)
		}
		hottest = max(hottest, inlet+rise)
	}
	return hottest
}

// heaterDuty gives, at the adverse end of every feed, the power in W that warms the full gas flow, saturated with water, from the coldest
// water to the bed's set temperature, and the power that evaporates a mass of water equal to the mass of the gas.
func (w *World) heaterDuty(destruct int32) (gas, water Number) {
	spec := w.data(destruct).GetOzoneDestruct()
	flow := w.generatedGasFlow(destruct)
	bed := w.number(spec.SetTemperatureK, specRef(destruct, "set_temperature"))
	cold := w.number(w.Plant.Basis.MinWaterTemperatureK, basisRef("min_water_temperature"))
	open := restingOn(0, math.Inf(1), flow, bed, cold)
	if math.IsInf(flow.High, 0) || math.IsInf(bed.High, 0) || math.IsInf(cold.Low, 0) || bed.High <= cold.Low || flow.Low <= 0 {
		return open, open
	}
	at := func(base fluid.Gas, flow, bed, cold float64) (float64, float64, bool) {
		d := w.offGas.duties.of(dutyInput{base, flow, bed, cold}, func() duty {
			gas, water, ok := heaterDutyOf(base, flow, bed, cold)
			return duty{gas, water, ok}
		})
		return d.gas, d.water, d.ok
	}
	gas, water = Exactly(0), Exactly(0)
	for _, base := range feedGases() {
		lowGas, lowWater, ok := at(base, flow.Low, bed.Low, cold.High)
		highGas, highWater, ok2 := at(base, flow.High, bed.High, cold.Low)
		if !ok || !ok2 {
			return open, open
		}
		gas.Low, gas.High = max(gas.Low, lowGas), max(gas.High, highGas)
		water.Low, water.High = max(water.Low, lowWater), max(water.High, highWater)
	}
	gas.Missing, water.Missing = open.Missing, open.Missing
	gas.Assumed, water.Assumed = open.Assumed, open.Assumed
	return gas, water
}

// standardAtmosphere is the pressure in Pa abs at which off-gas is taken to be warmed; the duty hardly depends on it.
// Source: standard atmosphere, ISO 2533:1975.
const standardAtmosphere = 101325

// oxygenFed tells whether ozone at a destruct is made from oxygen: what its generators' feed is traced to, whatever they are
// built for.
func (w *World) oxygenFed(destruct int32) Truth {
	generators := w.destructFeed().generators.of(destruct)
	if len(generators) == 0 {
		return Open(elementRef(destruct))
	}
	t := Truth{}
	for _, g := range generators {
		t = t.Or(w.feedsOxygen(g))
	}
	return t
}

// feedTrace tells what the feed port of a generator is led to: oxygen, air, or an edge of unknown gas.
type feedTrace struct{ oxygen, air, unknown *flowpath.Reach }

func (w *World) feedsOxygen(generator int32) Truth {
	x := w.offGas.trace.get(w.traceFeeds)
	port := w.Plant.PortByTrait(generator, 0)
	if x.oxygen.Reached(port) {
		return Truth{Value: True}
	}
	if x.unknown.Reached(port) {
		arcs, _ := x.unknown.Path(port)
		source := w.Plant.Ports[w.Graph().From(arcs[0])].Component
		if w.Plant.Components[source].Kind == plant.KindGasSupply {
			return Open(specRef(source, "gas"))
		}
		return Open(specRef(source, "service"))
	}
	spec := w.data(generator).GetOzoneGenerator()
	if x.air.Reached(port) {
		return Truth{}
	}
	return w.truth(spec.FedByAir, specRef(generator, "fed_by_air")).Not()
}

func (w *World) traceFeeds() *feedTrace {
	p := w.Plant
	var oxygen, air, unknown []int32
	for i := range p.Components {
		c := &p.Components[i]
		switch c.Kind {
		case plant.KindOxygenConcentrator:
			oxygen = append(oxygen, w.portsNamed(int32(i), "outlet")...)
		case plant.KindGasSupply:
			switch c.Data.GetGasSupply().GetGas() {
			case skidrulev1.SuppliedGas_SUPPLIED_GAS_OXYGEN:
				oxygen = append(oxygen, c.FirstPort)
			case skidrulev1.SuppliedGas_SUPPLIED_GAS_UNSPECIFIED:
				unknown = append(unknown, c.FirstPort)
			case skidrulev1.SuppliedGas_SUPPLIED_GAS_AIR:
				air = append(air, c.FirstPort)
			}
		case plant.KindBoundary:
			switch c.Data.GetBoundary().GetService() {
			case skidrulev1.Service_SERVICE_OXYGEN:
				oxygen = append(oxygen, c.FirstPort)
			case skidrulev1.Service_SERVICE_UNSPECIFIED:
				unknown = append(unknown, c.FirstPort)
			case skidrulev1.Service_SERVICE_AIR, skidrulev1.Service_SERVICE_INSTRUMENT_AIR:
				air = append(air, c.FirstPort)
			}
		case plant.KindCompressor:
			air = append(air, w.portsNamed(int32(i), "outlet")...)
		}
	}
	from := func(sources []int32) *flowpath.Reach {
		return w.spreadGas(flowpath.Forward, sources, func(way int32, _ bool, h holding) bool {
			k := w.kindOfWay(way)
			return h != noWay && k != plant.KindOzoneGenerator && !isGasVessel(k)
		})
	}
	return &feedTrace{oxygen: from(oxygen), air: from(air), unknown: from(unknown)}
}

// bedSwitches counts the temperature switches that watch a destruct and act on a falling temperature.
func (w *World) bedSwitches(destruct int32) Number {
	n := Exactly(0)
	for _, s := range w.watchers()[w.Plant.Components[destruct].Tag] {
		switch w.data(s).GetTemperatureSwitch().GetActsOn() {
		case skidrulev1.SwitchDirection_SWITCH_DIRECTION_FALLING:
			n.Low, n.High = n.Low+1, n.High+1
		case skidrulev1.SwitchDirection_SWITCH_DIRECTION_UNSPECIFIED:
			n.High++
			n.Missing = joinRefs(n.Missing, []Ref{specRef(s, "acts_on")})
		}
	}
	return n
}

// bedSetPoint is the highest set point of those switches; of none it is below everything.
func (w *World) bedSetPoint(destruct int32) Number {
	highest := between(math.Inf(-1), math.Inf(-1))
	for _, s := range w.watchers()[w.Plant.Components[destruct].Tag] {
		spec := w.data(s).GetTemperatureSwitch()
		if spec.GetActsOn() != skidrulev1.SwitchDirection_SWITCH_DIRECTION_RISING {
			highest = highest.Max(w.number(spec.SetPointK, specRef(s, "set_point")))
		}
	}
	return highest
}

// watchers lists temperature switches by the tag that they watch.
func (w *World) watchers() map[string][]int32 { return *w.offGas.watchers.get(w.indexWatchers) }

func (w *World) indexWatchers() *map[string][]int32 {
	list := map[string][]int32{}
	for _, s := range w.OfKind(plant.KindTemperatureSwitch) {
		if tag := w.watchedTag(s); tag != "" {
			list[tag] = append(list[tag], s)
		}
	}
	return &list
}

// analysed tells whether an ozone analyser takes the gas behind a destruct, before anything else joins it through a destruct.
func (w *World) analysed(destruct int32) Truth {
	return Is(w.offGas.analysers.get(w.reachAnalysers).Reached(w.Plant.PortByTrait(destruct, 1)))
}

func (w *World) reachAnalysers() *flowpath.Reach {
	return w.spreadGas(flowpath.Backward, w.portsOf(plant.KindGasAnalyser, "process"), func(_ int32, _ bool, h holding) bool { return passesGas(h) != False })
}

// dutyInput is what the heater's duty depends on: the dry gas, its flow in mol/s, and the temperatures in K of bed and gas.
type dutyInput struct {
	gas             fluid.Gas
	flow, bed, cold float64
}

// duty is power in W for the gas and for the water; ok is false outside the model's range.
type duty struct {
	gas, water float64
	ok         bool
}

// heaterDutyOf runs the model of a heated destruct on one gas.
func heaterDutyOf(base fluid.Gas, flow, bed, cold float64) (float64, float64, bool) {
	wet, err := fluid.SaturatedWaterFraction(cold, standardAtmosphere)
	if err != nil {
		return 0, 0, false
	}
	if base, err = base.WithWater(wet); err != nil {
		return 0, 0, false
	}
	m, err := base.MolarMass()
	if err != nil {
		return 0, 0, false
	}
	// The duty does not depend on the size of the bed.
	d, err := unitop.HeatedDestruct(unitop.DestructInput{
		Gas: base, Flow: fluid.Exact(flow), Temperature: cold, Pressure: standardAtmosphere, CarryOver: fluid.Exact(flow * m),
		BedTemperature: bed, BedVolume: 1, FaceArea: 1, HeatLoss: fluid.Exact(0),
	})
	if err != nil {
		return 0, 0, false
	}
	return d.SensibleDuty.Best, d.EvaporateDuty.Best, true
}

// spaceVelocity is the gas that comes to a destruct while nothing dissolves, at normal conditions, over the volume of its bed in 1/s.
func (w *World) spaceVelocity(destruct int32) Number {
	bed := w.number(w.data(destruct).GetOzoneDestruct().BedVolumeM3, specRef(destruct, "bed_volume"))
	return w.generatedGasFlow(destruct).Scale(fluid.NormalMolarVolume).Div(bed)
}
