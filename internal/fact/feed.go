package fact

import (
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// feedMemo is what the feed gas, material and oxygen facts compute once.
type feedMemo struct {
	strictest lazy[strictest]
	sources   lazy[feedSources]
	passes    lazy[[]bool]
	ways      lazy[flowpath.Ways]
	dew       lazy[dewTrace]
	carried   answers[dewInput, dewAnswer]
	oil       lazy[carried]
	particles lazy[carried]
	filters   lazy[filterReach]
	meters    lazy[meterIndex]
	air       lazy[openToAir]
	exposed   lazy[ozoneExposure]
	oxygen    lazy[oxygenReach]
	flows     lazy[oxygenFlows]
	capacity  lazy[Number]
}

// airMachines are the machines that may bring oil into gas.
var airMachines = []plant.Kind{plant.KindCompressor, plant.KindBlower}

var feedFacts = slices.Concat([]Definition{
	truthFact("feed_dried", "Every way of feed gas to the generator passes a dryer or a concentrator, or comes from a supply of dry gas.",
		func(w *World, at At) Truth { return w.feedDried(at.Index) }, plant.KindOzoneGenerator),
	pathFact("undried_path", "A way of compressed air to it that meets neither.",
		func(w *World, at At) Path {
			return w.reachedPath(w.feedSources().wet, w.Plant.PortByTrait(at.Index, 0))
		}, plant.KindOzoneGenerator),
	quantityFact("feed_dew_point", quantity.Temperature, "Dew point of the feed at the pressure of the cell: that of the dampest dryer, concentrator or supply that leads to it.",
		func(w *World, at At) Number { return w.feedDewPoint(at.Index) }, plant.KindOzoneGenerator),
	pathFact("dampest_path", "The way from that dryer, concentrator or supply.",
		func(w *World, at At) Path { return w.dampestPath(at.Index) }, plant.KindOzoneGenerator),
	quantityFact("feed_oil", quantity.MassConcentration, "Oil in the feed: none where every machine before it is free of oil, else what the best filter of the worst way leaves.",
		func(w *World, at At) Number { return w.carriedTo(w.oil(), at.Index) }, plant.KindOzoneGenerator),
	pathFact("oil_path", "The way by which it comes.",
		func(w *World, at At) Path { return w.carriedPath(w.oil(), at.Index) }, plant.KindOzoneGenerator),
	quantityFact("feed_particle", quantity.Length, "Largest particle in the feed: what passes the finest filter of the worst way.",
		func(w *World, at At) Number { return w.carriedTo(w.particles(), at.Index) }, plant.KindOzoneGenerator),
	pathFact("particle_path", "The way by which it comes.",
		func(w *World, at At) Path { return w.carriedPath(w.particles(), at.Index) }, plant.KindOzoneGenerator),
	truthFact("feed_open_to_air", "The feed between dryer and cell is open to the air around it: a vent, an open end or a vacuum breaker.",
		func(w *World, at At) Truth { return w.feedOpenToAir(at.Index) }, plant.KindOzoneGenerator),
	pathFact("air_path", "The way by which air comes in.",
		func(w *World, at At) Path { return w.airPath(at.Index) }, plant.KindOzoneGenerator),
	truthFact("flow_shown", "A flow meter shows the gas of this generator alone, before or behind the cell.",
		func(w *World, at At) Truth { return Is(w.meters().own.Has(at.Index)) }, plant.KindOzoneGenerator),
	truthFact("flow_shown_for_several", "A flow meter shows its gas together with that of others.",
		func(w *World, at At) Truth { return Is(w.meters().shared.Has(at.Index)) }, plant.KindOzoneGenerator),

	truthFact("feeds_generator", "Its gas goes to a generator.",
		func(w *World, at At) Truth {
			return Is(w.filterReach().any.Reached(w.Plant.PortByTrait(at.Index, 1)))
		}, plant.KindCompressor, plant.KindOxygenConcentrator),
	truthFact("droplets_filtered", "Every way of its gas to a generator passes a coalescing filter.",
		func(w *World, at At) Truth { return w.filtered(at.Index, &w.filterReach().coalescing) }, plant.KindCompressor),
	truthFact("vapour_filtered", "Every way of its gas to a generator passes an activated carbon filter.",
		func(w *World, at At) Truth { return w.filtered(at.Index, &w.filterReach().carbon) }, plant.KindCompressor),
	pathFact("unfiltered_path", "A way to a generator that lacks one of the two.",
		func(w *World, at At) Path { return w.unfilteredPath(at.Index) }, plant.KindCompressor),
	truthFact("air_joined", "Feed air is led to its inlet.",
		func(w *World, at At) Truth { return Is(w.Plant.Ports[w.Plant.PortByTrait(at.Index, 0)].Joints > 0) }, plant.KindOxygenConcentrator),
	truthFact("feed_air_filtered", "Every way of feed air to its inlet passes a coalescing filter.",
		func(w *World, at At) Truth { return w.feedAirFiltered(at.Index) }, plant.KindOxygenConcentrator),
	pathFact("unfiltered_air_path", "A way of feed air to it without one.",
		func(w *World, at At) Path {
			return w.reachedPath(w.filterReach().toConcentrator.sure, w.Plant.PortByTrait(at.Index, 0))
		}, plant.KindOxygenConcentrator),
	truthFact("gathers_condensate", "Water gathers in it: it stands in compressed air that nothing has dried, as a receiver or a coalescing filter.",
		func(w *World, at At) Truth { return w.gathersCondensate(at.Index) }, plant.KindGasReceiver, plant.KindGasFilter),
	truthFact("condensate_led_off", "A line meets its drain, or it is stated how the condensate is let off.",
		func(w *World, at At) Truth { return w.condensateLedOff(at.Index) }, plant.KindGasReceiver, plant.KindGasFilter),
	truthFact("condensate_drain_holds_air", "Its drain lets no air out while there is no water: a float drain, a water seal, a timed valve or one that stands shut.",
		func(w *World, at At) Truth { return w.drainHoldsAir(at.Index) }, plant.KindGasReceiver, plant.KindGasFilter),
	truthFact("condensate_drain_joined", "A line meets its drain.",
		func(w *World, at At) Truth { return w.drainJoined(at.Index) }, plant.KindGasReceiver, plant.KindGasFilter),
	pathFact("condensate_path", "The way of its drain.",
		func(w *World, at At) Path { return w.drainOf(at.Index, Truth{}).path }, plant.KindGasReceiver, plant.KindGasFilter),
}, materialFacts, oxygenFacts)

// feedSources tells where feed gas comes from and how far it goes in normal flow without being dried: wet gas from machines
// that draw from the room, and gas of unknown dryness from the edges of the drawing.
type feedSources struct {
	wet, unknown *flowpath.Reach
}

func (w *World) feedSources() *feedSources { return w.feed.sources.get(w.findFeedSources) }

func (w *World) findFeedSources() *feedSources {
	x := &feedSources{unknown: w.spread(flowpath.Forward, w.gasEdges(), w.undriedPasses)}
	var wet []int32
	for _, c := range w.OfKind(plant.KindCompressor) {
		// A machine draws from the room unless something in the drawing leads to its inlet.
		inlet := w.Plant.PortByTrait(c, 0)
		if !x.unknown.Reached(inlet) && w.dewTrace().dampest.Source(inlet, 0) == flowpath.None {
			wet = append(wet, w.Plant.PortByTrait(c, 1))
		}
	}
	x.wet = w.spread(flowpath.Forward, wet, w.undriedPasses)
	return x
}

// undriedPasses tells whether feed gas takes a way in normal flow without being dried on it.
func (w *World) undriedPasses(way int32, forward bool) bool {
	if !forward || !w.feedPasses(way) {
		return false
	}
	k := w.kindOfWay(way)
	return k != plant.KindGasDryer && k != plant.KindOxygenConcentrator
}

// feedWays are the ways of feed gas in normal flow.
func (w *World) feedWays() *flowpath.Ways {
	return w.feed.ways.get(func() *flowpath.Ways {
		return w.openWays(func(way int32, forward bool) bool { return forward && w.feedPasses(way) })
	})
}

// feedPasses tells whether feed gas takes a way: gas passages of what stands before a generator. Every search of the feed asks it of
// every way, so each way is judged once.
func (w *World) feedPasses(way int32) bool { return (*w.feed.passes.get(w.judgeFeedWays))[way] }

func (w *World) judgeFeedWays() *[]bool {
	passes := make([]bool, len(w.Plant.Ways))
	for i := range passes {
		passes[i] = w.takesFeed(int32(i))
	}
	return &passes
}

func (w *World) takesFeed(way int32) bool {
	q := &w.Plant.Ways[way]
	if q.IsPipe() {
		return true
	}
	switch k := w.kindOfWay(way); {
	case k == plant.KindOzoneGenerator, k == plant.KindVenturiInjector, k == plant.KindOzoneDestruct, k == plant.KindKnockOutPot, isGasVessel(k):
		return false
	case k == plant.KindOxygenConcentrator:
		return w.Plant.PortName(q.To) == "outlet"
	}
	return !w.touchesLiquid(q) && !w.shutForGood(way)
}

// gasEdges lists the edges of the drawing where gas that is not ozone may come in.
func (w *World) gasEdges() []int32 {
	var out []int32
	for _, c := range w.OfKind(plant.KindBoundary) {
		b := w.data(c).GetBoundary()
		if b.GetRole() == skidrulev1.BoundaryRole_BOUNDARY_ROLE_SINK {
			continue
		}
		switch b.GetService() {
		case skidrulev1.Service_SERVICE_UNSPECIFIED, skidrulev1.Service_SERVICE_AIR, skidrulev1.Service_SERVICE_INSTRUMENT_AIR,
			skidrulev1.Service_SERVICE_OXYGEN, skidrulev1.Service_SERVICE_NITROGEN:
			out = append(out, w.Plant.Components[c].FirstPort)
		}
	}
	return out
}

// feedDried tells whether everything that comes to a generator's feed port was dried.
func (w *World) feedDried(generator int32) Truth {
	x, port := w.feedSources(), w.Plant.PortByTrait(generator, 0)
	switch {
	case x.wet.Reached(port):
		return Truth{}
	case x.unknown.Reached(port):
		arcs, _ := x.unknown.Path(port)
		return Open(elementRef(w.Plant.Ports[w.Graph().From(arcs[0])].Component))
	case w.dewTrace().dampest.Source(port, 0) == flowpath.None:
		return Open(elementRef(generator))
	}
	return Truth{Value: True}
}

// gathersCondensate tells whether water gathers in a receiver or filter.
func (w *World) gathersCondensate(component int32) Truth {
	if !w.feedSources().wet.Reached(w.Plant.PortByTrait(component, 0)) {
		return Truth{}
	}
	if w.Plant.Components[component].Kind == plant.KindGasFilter {
		switch w.data(component).GetGasFilter().GetGrade() {
		case skidrulev1.GasFilterGrade_GAS_FILTER_GRADE_UNSPECIFIED:
			return Open(specRef(component, "grade"))
		case skidrulev1.GasFilterGrade_GAS_FILTER_GRADE_COALESCING:
		default:
			return Truth{}
		}
	}
	return Truth{Value: True}
}

// condensateLedOff tells whether water that gathers in a receiver or filter is let off.
func (w *World) condensateLedOff(component int32) Truth {
	port, ok := w.Plant.FindPort(component, "drain")
	if !ok {
		return Truth{}
	}
	q := &w.Plant.Ports[port]
	return Is(q.Joints > 0 || !q.Stated.GetCapped() && q.Stated.GetReason() != "")
}

// drainHoldsAir tells whether the drain of a receiver or filter lets out water only.
func (w *World) drainHoldsAir(component int32) Truth {
	drain := w.drainOf(component, Truth{})
	held := drain.sealed
	for _, step := range drain.path {
		if step.Component < 0 {
			continue
		}
		switch w.Plant.Components[step.Component].Kind {
		case plant.KindActuatedValve:
			held = held.Or(Truth{Value: True})
		case plant.KindHandValve:
			position := w.data(step.Component).GetNormalPosition()
			if position == 0 {
				held = held.Or(Open(componentRef(step.Component, "normal_position")))
			}
			held = held.Or(Is(position == skidrulev1.ValvePosition_VALVE_POSITION_CLOSED))
		}
	}
	return held
}
