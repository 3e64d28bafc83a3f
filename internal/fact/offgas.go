package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

// offGasMemo is what the off-gas facts compute once.
type offGasMemo struct {
	hotEnds   answers[[2]float64, float64]
	duties    answers[dutyInput, duty]
	scaled    answers[[4]float64, float64]
	orifices  answers[[3]float64, float64]
	souders   lazy[[2]float64]
	lightest  lazy[unitop.Gas]
	ways      lazy[[]holding]
	ozone     lazy[ozoneReach]
	leaks     lazy[table[[]leak]]
	vents     lazy[ventWays]
	droplets  lazy[dropletReach]
	lines     lazy[offGasLines]
	runs      lazy[flowpath.Ways]
	feed      lazy[destructFeed]
	trace     lazy[feedTrace]
	watchers  lazy[map[string][]int32]
	analysers lazy[flowpath.Reach]
	loads     lazy[ventLoads]
	vessels   lazy[table[Number]]
	pots      lazy[potIndex]
	potStates answers[potInput, potState]
	dissolved lazy[dissolvedReach]
}

var offGasFacts = []Definition{
	// Where ozone gets out.
	truthFact("gas_can_leave", "Gas that comes to it is set free there: a vent, an open drain, an open tank, an edge of the drawing.",
		func(w *World, at At) Truth { return w.gasCanLeave(at.Index) }, exitKinds...),
	truthFact("untreated_ozone_arrives", "Ozone-bearing gas comes to it that has not passed a destruct and that no gas seal holds.",
		func(w *World, at At) Truth { return w.untreatedAtExit(at.Index) }, exitKinds...),
	pathFact("untreated_ozone_path", "The way by which it comes.",
		func(w *World, at At) Path { return w.untreatedExitPath(at.Index) }, exitKinds...),
	truthFact("has_open_end", "Gas that comes to it gets into the room at a port that no line meets and nothing closes, or may do so.",
		func(w *World, at At) Truth { return w.hasLeak(at.Index) }),
	truthFact("ozone_at_open_end", "Ozone-bearing gas comes to such a port that has not passed a destruct and that no gas seal holds.",
		func(w *World, at At) Truth { _, t := w.worstLeak(at.Index); return t }),
	textFact("open_end", "That port.",
		func(w *World, at At) Text { l, _ := w.worstLeak(at.Index); return Text{Value: l.name} }),
	pathFact("open_end_path", "The way by which it comes.",
		func(w *World, at At) Path { l, _ := w.worstLeak(at.Index); return w.untreatedPath(l.port) }),
	truthFact("ozone_was_there", "Gas that bore ozone comes to it, treated or not.",
		func(w *World, at At) Truth { return w.ozoneWasThere(at.Index) }, plant.KindAtmosphereVent),
	truthFact("holds_ozone", "Ozone-bearing gas that has not passed a destruct stands before it.",
		func(w *World, at At) Truth { return w.untreated(w.Plant.Components[at.Index].FirstPort) }, plant.KindWaterSeal, plant.KindFloatDrain),

	// Water that gives ozone off.
	truthFact("gives_off_ozone", "Ozonated water leaves the drawing there, or stands open.",
		func(w *World, at At) Truth { return w.givesOffOzone(at.Index) }, plant.KindBoundary, plant.KindOpenTank, plant.KindDrainPoint),
	quantityFact("residual", quantity.MassConcentration, "Most ozone in the water there: what is wanted at the end of contact, less what decays in the vessels behind it.",
		func(w *World, at At) Number { return w.exitResidual(at.Index) }, plant.KindBoundary, plant.KindOpenTank, plant.KindDrainPoint),
	pathFact("ozonated_water_path", "The way by which ozonated water comes there.",
		func(w *World, at At) Path { return w.exitWaterPath(at.Index) }, plant.KindBoundary, plant.KindOpenTank, plant.KindDrainPoint),

	// Gas spaces of vessels.
	truthFact("gas_gathers", "Gas stays in the vessel unless a vent lets it off.",
		func(w *World, at At) Truth { return w.gasGathers(at.Index) }, gasVessels...),
	truthFact("vents_by_itself", "Gas leaves it by a float vent or, where it is not under pressure, by an open pipe.",
		func(w *World, at At) Truth { return w.ventsByItself(at.Index) }, gasVessels...),
	truthFact("vent_joined", "A line meets one of its vent ports.",
		func(w *World, at At) Truth { return w.ventJoined(at.Index) }, gasVessels...),
	quantityFact("vent_elevation", quantity.Length, "Elevation of its highest vent port.",
		func(w *World, at At) Number { return w.ventHeight(at.Index) }, gasVessels...),
	quantityFact("highest_flow_port", quantity.Length, "Elevation of the highest of its inlets and outlets that lines meet.",
		func(w *World, at At) Number { return w.otherHeight(at.Index) }, gasVessels...),
	truthFact("under_pressure", "It stands under pressure, so that an open pipe would let its water out.",
		func(w *World, at At) Truth { return w.underPressure(at.Index) }, gasVessels...),
	truthFact("water_leaves_by_vent", "A way leads from a vent port to a separator, a destruct or out of the drawing that no float vent closes.",
		func(w *World, at At) Truth { _, ok := w.leavesWithoutFloat(at.Index); return Is(ok) }, gasVessels...),
	pathFact("way_without_float", "That way.",
		func(w *World, at At) Path { path, _ := w.leavesWithoutFloat(at.Index); return path }, gasVessels...),
	truthFact("has_vent_way", "A way leads from its gas space to where gas leaves the drawing on purpose, through valves or not.",
		func(w *World, at At) Truth { return w.hasVentWay(at.Index) }, gasVessels...),
	countFact("shut_offs", "Valves that can shut the best of those ways: a hand valve that is not locked open, and every valve that something moves.",
		func(w *World, at At) Number { return w.shutOffs(at.Index) }, gasVessels...),
	textFact("shut_off", "The first of them.",
		func(w *World, at At) Text { return w.shutOff(at.Index) }, gasVessels...),
	pathFact("vent_path", "The best of those ways.",
		func(w *World, at At) Path { return w.ventPath(at.Index) }, gasVessels...),

	// Float vents.
	quantityFact("highest_difference", quantity.PressureDifference, "Highest pressure difference against which the float must open.",
		func(w *World, at At) Number { return w.ventDifference(at.Index) }, plant.KindFloatVentValve),
	quantityFact("opens_up_to", quantity.PressureDifference, "Pressure difference up to which the float opens: what is stated, and no more than float, lever and orifice allow.",
		func(w *World, at At) Number { return w.ventOpens(at.Index) }, plant.KindFloatVentValve),
	quantityFact("vessel_pressure", quantity.PressureGauge, "Highest pressure of the vessel that it lets off.",
		func(w *World, at At) Number { return w.ventedPressure(at.Index) }, plant.KindFloatVentValve),
	quantityFact("burst_flow", quantity.GasFlow, "Gas that it lets out fully open at the highest pressure of its vessel.",
		func(w *World, at At) Number { return w.burst(at.Index) }, plant.KindFloatVentValve),
	quantityFact("back_pressure", quantity.PressureDifference, "What the parts behind it hold back at the burst, pipes not counted.",
		func(w *World, at At) Number {
			return w.backPressure(at.Index, w.Plant.PortByTrait(at.Index, 1), w.ventLoads())
		}, plant.KindFloatVentValve),

	// Knock-out pots.
	truthFact("drain_connected", "A line meets its drain.",
		func(w *World, at At) Truth { return w.drainJoined(at.Index) }, plant.KindKnockOutPot, plant.KindOzoneDestruct),
	quantityFact("inner_height", quantity.Length, "Its inner height: of a lying pot its diameter.",
		func(w *World, at At) Number { return w.potHeight(at.Index) }, plant.KindKnockOutPot),
	quantityFact("slug", quantity.Volume, "What the lines before it hold.",
		func(w *World, at At) Number { return w.potSlug(at.Index) }, plant.KindKnockOutPot),
	quantityFact("burst_flow", quantity.GasFlow, "Gas that comes to it while every float vent before it stands fully open at the highest pressure of its vessel.",
		func(w *World, at At) Number { return w.burstInto(at.Index) }, plant.KindKnockOutPot, plant.KindOzoneDestruct),
	quantityFact("burst_velocity", quantity.Velocity, "Gas velocity in its free cross-section at that flow.",
		func(w *World, at At) Number { v, _ := w.potBurst(at.Index); return v }, plant.KindKnockOutPot),
	quantityFact("burst_droplet", quantity.Length, "Smallest droplet that it holds back at that flow.",
		func(w *World, at At) Number { _, d := w.potBurst(at.Index); return d }, plant.KindKnockOutPot),
	quantityFact("highest_velocity", quantity.Velocity, "Gas velocity up to which it separates by the equation of Souders and Brown.",
		func(w *World, at At) Number { return w.soudersBrown(at.Index) }, plant.KindKnockOutPot),
	textFact("burst_basis", "Whether that flow is solved with the lines behind the vents or bounded by their orifices.",
		func(w *World, at At) Text { return w.burstBasis(w.destructFeed().vents.of(at.Index)...) }, plant.KindKnockOutPot, plant.KindOzoneDestruct),
	textFact("back_pressure_basis", "Whether its back pressure is solved with the lines behind it or is that of the parts alone.",
		func(w *World, at At) Text { return w.backPressureBasis(at.Index) }, plant.KindFloatVentValve),
	quantityFact("solved_gas_flow", quantity.GasFlow, "Highest gas flow through it in the solved cases that bring ozone, that of zero transfer among them.",
		func(w *World, at At) Number { n, _, _ := w.solvedThrough(at.Index); return n }, plant.KindOzoneDestruct),
	textFact("solved_gas_case", "The case in which that comes about.",
		func(w *World, at At) Text { _, set, _ := w.solvedThrough(at.Index); return w.caseText(set) }, plant.KindOzoneDestruct),
	pathFact("burst_path", "The way by which the burst comes from the nearest float vent.",
		func(w *World, at At) Path { return w.burstPath(at.Index) }, plant.KindKnockOutPot, plant.KindOzoneDestruct),
	truthFact("vent_before", "A float vent lets gas off into it.",
		func(w *World, at At) Truth { return Is(len(w.destructFeed().vents.of(at.Index)) > 0) }, plant.KindKnockOutPot, plant.KindOzoneDestruct),
	quantityFact("gas_pressure", quantity.PressureDifference, "Highest pressure over the atmosphere that off-gas brings to it.",
		func(w *World, at At) Number { return w.gasPressure(w.Plant.Components[at.Index].FirstPort) }, plant.KindKnockOutPot, plant.KindWaterSeal, plant.KindFloatDrain),
	pathFact("gas_pressure_path", "The way by which that pressure comes.",
		func(w *World, at At) Path { return w.gasPressurePath(w.Plant.Components[at.Index].FirstPort) }, plant.KindKnockOutPot, plant.KindWaterSeal, plant.KindFloatDrain),
	quantityFact("depth_needed", quantity.Length, "Depth of water that holds that pressure.",
		func(w *World, at At) Number { return w.sealDepth(at.Index) }, plant.KindWaterSeal),

	// Lines to a destruct.
	truthFact("leads_to_destruct", "Gas runs through it to a destruct, and no separator comes after it.",
		func(w *World, at At) Truth { return Is(w.offGasLines().toDestruct[at.Index]) }).on(OnLine),
	truthFact("liquid_can_stand", "Liquid can stand in it: a low point without a drain that is drawn.",
		func(w *World, at At) Truth { return w.liquidCanStand(at.Index) }).on(OnLine),

	// Destructs.
	truthFact("ozone_arrives", "Ozone-bearing gas comes to it.",
		func(w *World, at At) Truth { return w.ozoneArrives(at.Index) }, plant.KindOzoneDestruct),
	truthFact("wet_gas_arrives", "Gas that was over water comes to it, through a separator or not.",
		func(w *World, at At) Truth { return w.wetGasArrives(at.Index) }, plant.KindOzoneDestruct),
	truthFact("separated", "Every way of such gas to it passes a knock-out pot that works.",
		func(w *World, at At) Truth { return w.separated(at.Index) }, plant.KindOzoneDestruct),
	pathFact("way_without_separator", "A way of such gas that meets no working knock-out pot.",
		func(w *World, at At) Path { return w.dropletPath(at.Index) }, plant.KindOzoneDestruct),
	quantityFact("full_gas_flow", quantity.GasFlow, "Gas that comes to it while nothing dissolves: the highest flow of every generator that it serves.",
		func(w *World, at At) Number { return w.fullGasFlow(at.Index) }, plant.KindOzoneDestruct),
	quantityFact("space_velocity", quantity.Rate, "That flow at 0 degC and 1.01325 bar over the volume of its bed.",
		func(w *World, at At) Number { return w.spaceVelocity(at.Index) }, plant.KindOzoneDestruct),
	quantityFact("full_concentration", quantity.MassFraction, "Strongest ozone that any of those generators makes.",
		func(w *World, at At) Number { return w.fullConcentration(at.Index) }, plant.KindOzoneDestruct),
	quantityFact("hottest_bed", quantity.Temperature, "Bed temperature after the rise while that ozone decomposes without loss of heat.",
		func(w *World, at At) Number { return w.hottestBed(at.Index) }, plant.KindOzoneDestruct),
	quantityFact("gas_heating_power", quantity.Power, "Power that warms the full gas flow from the coldest water to the set temperature.",
		func(w *World, at At) Number { gas, _ := w.heaterDuty(at.Index); return gas }, plant.KindOzoneDestruct),
	quantityFact("water_heating_power", quantity.Power, "Power that evaporates as much water as the full gas flow weighs and warms its vapour.",
		func(w *World, at At) Number { _, water := w.heaterDuty(at.Index); return water }, plant.KindOzoneDestruct),
	truthFact("oxygen_fed", "Ozone that comes to it is made from oxygen, as the feed of its generators is traced.",
		func(w *World, at At) Truth { return w.oxygenFed(at.Index) }, plant.KindOzoneDestruct),
	countFact("bed_switches", "Temperature switches that watch it and act on a falling temperature.",
		func(w *World, at At) Number { return w.bedSwitches(at.Index) }, plant.KindOzoneDestruct),
	quantityFact("bed_switch_set_point", quantity.Temperature, "Highest set point of those.",
		func(w *World, at At) Number { return w.bedSetPoint(at.Index) }, plant.KindOzoneDestruct),
	truthFact("analysed", "An ozone analyser takes the gas behind it.",
		func(w *World, at At) Truth { return w.analysed(at.Index) }, plant.KindOzoneDestruct),
	truthFact("condensate_drains", "What condenses behind it runs off to a drain that is drawn.",
		func(w *World, at At) Truth { return w.condensateDrains(at.Index) }, plant.KindOzoneDestruct),
}
