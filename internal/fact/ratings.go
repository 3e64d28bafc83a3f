package fact

import (
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// ratingsMemo is what the pressure rating facts compute once.
type ratingsMemo struct {
	graph        lazy[pressureGraph]
	columns      lazy[columns]
	levels       lazy[span]
	bare         lazy[pressures]
	highest      lazy[pressures]
	failing      lazy[pressures]
	series       lazy[series]
	reliefs      lazy[reliefs]
	temperatures lazy[temperatures]
	loads        lazy[loads]
	setPressures lazy[reliefSpread]
	vacuums      lazy[vacuums]
	shutIns      lazy[shutIns]
	bearing      lazy[flowpath.Set]
}

// pressureSourceKinds can bring pressure into a zone.
var pressureSourceKinds = []plant.Kind{
	plant.KindBoundary, plant.KindGasSupply, plant.KindCompressor, plant.KindBlower, plant.KindOxygenConcentrator, plant.KindPump,
	plant.KindOpenTank, plant.KindDrainPoint, plant.KindOther,
}

// pressureBarrierKinds can keep pressure back.
var pressureBarrierKinds = []plant.Kind{
	plant.KindCheckValve, plant.KindHandValve, plant.KindActuatedValve, plant.KindLiquidTrap, plant.KindVenturiInjector,
	plant.KindFloatVentValve, plant.KindVacuumBreaker,
}

var ratingsFacts = slices.Concat([]Definition{
	truthFact("bears_pressure", "It is a joined part that pressure can burst: none that stands open, carries no fluid or is the edge of the drawing.",
		func(w *World, at At) Truth { return Is(w.bearsPressure(at.Index)) }),
	truthFact("bears_vacuum", "It is a joined part that vacuum can crush: one that pressure can burst, or a covered tank.",
		func(w *World, at At) Truth { return w.bearsVacuum(at.Index) }),
	quantityFact("highest_pressure", quantity.PressureGauge, "Highest pressure that can come to it in any case while every barrier holds.",
		func(w *World, at At) Number { return w.loads().components[at.Index].pressure }),
	quantityFact("rating", quantity.PressureGauge, "Highest working pressure that it bears at its highest temperature.",
		func(w *World, at At) Number { return w.loads().components[at.Index].rating }),
	pathFact("highest_pressure_path", "How the highest pressure comes to it.",
		func(w *World, at At) Path { return w.partPath(&w.loads().components[at.Index]) }),
	quantityFact("highest_temperature", quantity.Temperature, "Highest temperature that it takes: of the room, of its water, of hot gas that flows to it.",
		func(w *World, at At) Number { return w.componentTemperature(at.Index) }),
	quantityFact("lowest_temperature", quantity.Temperature, "Lowest temperature that it takes.",
		func(w *World, at At) Number { return w.lowestTemperature(w.wet(at.Index)) }),

	quantityFact("highest_pressure", quantity.PressureGauge, "Highest pressure that can come to the line in any case while every barrier holds.",
		func(w *World, at At) Number { return w.loads().lines[at.Index].pressure }).on(OnLine),
	quantityFact("rating", quantity.PressureGauge, "Highest working pressure that the line bears: as stated, at its temperature; what its wall bears where none is stated.",
		func(w *World, at At) Number { return w.loads().lines[at.Index].rating }).on(OnLine),
	quantityFact("highest_temperature", quantity.Temperature, "Highest temperature that the line takes: of the room, of its water, of hot gas that flows in it.",
		func(w *World, at At) Number { return w.lineTemperature(at.Index) }).on(OnLine),
	truthFact("wall_is_pipe", "It is a pipe or tube of metal or plastic, whose wall can be judged.",
		func(w *World, at At) Truth { return w.wallIsPipe(at.Index) }).on(OnLine),
	quantityFact("wall_rating", quantity.PressureGauge, "Pressure that the wall of the line bears, by its diameter, thickness and allowable stress.",
		func(w *World, at At) Number { return w.wallRating(at.Index) }).on(OnLine),
	pathFact("highest_pressure_path", "How the highest pressure comes to the line.",
		func(w *World, at At) Path { return w.partPath(&w.loads().lines[at.Index]) }).on(OnLine),

	quantityFact("highest_pressure", quantity.PressureGauge, "Highest pressure that can come to the port in any case while every barrier holds.",
		func(w *World, at At) Number { return w.highestPressure(at.Index, 0) }).on(OnPort),

	truthFact("holds_back", "It is taken to hold pressure back: any check or automatic valve, trap, injector or float, and a hand valve that is locked closed.",
		func(w *World, at At) Truth { return w.holdsBack(at.Index) }, pressureBarrierKinds...),

	truthFact("is_joined", "A line meets it.",
		func(w *World, at At) Truth { return Is(w.isJoined(at.Index)) }),
},
	reliefFacts, vacuumFacts, endFacts, gasPressureFacts, shutInFacts, surgeFacts, solvedRatingFacts,
	exposureFacts("overloaded", "it loads, while everything holds,",
		func(w *World, c int32) *exposure { return w.loads().bySource[c] },
		func(w *World, e exposed) Path { return w.pathTo(w.pressures(), e, 0) }, pressureSourceKinds...),
	exposureFacts("exposed", "its failure exposes to pressure other than that of water up a gas line",
		func(w *World, c int32) *exposure { return w.loads().byBarrier[c] },
		func(w *World, e exposed) Path { return w.pathTo(w.pressures(), e, 1) }, pressureBarrierKinds...),
	exposureFacts("flooded", "its failure exposes to the pressure of water up a gas line",
		func(w *World, c int32) *exposure { return w.loads().byWaterBarrier[c] },
		func(w *World, e exposed) Path { return w.pathTo(w.pressures(), e, 1) }, pressureBarrierKinds...),
	exposureFacts("unprotected", "bear less than it lets stand",
		func(w *World, c int32) *exposure { return w.loads().byRelief[c] },
		func(w *World, e exposed) Path { return w.reliefPath(e) }, reliefKinds...),
	exposureFacts("unregulated", "it exposes when it fails open",
		func(w *World, c int32) *exposure { return w.loads().byRegulator[c] },
		func(w *World, e exposed) Path { return w.pathTo(w.failingRegulators(), e, 1) }, plant.KindPressureRegulator),
)

// isJoined tells whether a line meets a component.
func (w *World) isJoined(component int32) bool {
	c := &w.Plant.Components[component]
	for i := range c.NumPorts {
		if w.Plant.Ports[c.FirstPort+i].Joints > 0 {
			return true
		}
	}
	return false
}

// holdsBack tells whether a barrier counts as one: a hand valve only while it is locked closed. Else it is open at times, and what
// lies behind it sees the pressure anyway.
func (w *World) holdsBack(component int32) Truth {
	c := &w.Plant.Components[component]
	if c.Kind != plant.KindHandValve {
		return Truth{Value: True}
	}
	switch c.Data.GetNormalPosition() {
	case skidrulev1.ValvePosition_VALVE_POSITION_CLOSED:
		return w.truth(c.Data.Locked, componentRef(component, "locked"))
	case skidrulev1.ValvePosition_VALVE_POSITION_UNSPECIFIED:
		return Open(componentRef(component, "normal_position"))
	}
	return Truth{}
}

// partPath shows how the highest pressure comes to a part.
func (w *World) partPath(p *part) Path {
	x := w.pressures()
	node, _, _ := x.highestOf(p.nodes, 0)
	if node < 0 {
		return nil
	}
	return w.pathTo(x, exposed{part: p, node: node}, 0)
}
