package fact

import (
	"slices"

	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/unitop"
)

var sizingFacts = slices.Concat(injectorFacts, generatorFacts, supplyFacts, pumpFacts, instrumentFacts, doseFacts)

// runningFact tells of kinds whether the case is one in which water flows.
func runningFact(kinds ...plant.Kind) Definition {
	return truthFact("runs", "Water flows and gas is drawn in the case: normal, lowest and highest flow, and own cases based on them.", running, kinds...).byCase()
}

var injectorFacts = []Definition{
	runningFact(plant.KindVenturiInjector),
	truthFact("draws_ozone", "Gas of a generator comes to its suction.",
		func(w *World, at At) Truth { return Is(len(w.gasNet().injectors.of(at.Index)) > 0) }, plant.KindVenturiInjector),
	truthFact("inside_table", "Its performance table holds its inlet, outlet and suction pressure.",
		func(w *World, at At) Truth { t, _ := w.insideTable(at.Index, at.Case); return t }, plant.KindVenturiInjector).byCase(),
	textFact("outside_table", "The pressure that the table does not hold, and on which side it lies.",
		func(w *World, at At) Text { _, s := w.insideTable(at.Index, at.Case); return Text{Value: s} }, plant.KindVenturiInjector).byCase(),
	quantityFact("lowest_inlet_pressure", quantity.PressureGauge, "Lowest pressure at its motive inlet.",
		func(w *World, at At) Number { return atLowest(w.operatingAt(at.Index, at.Case).inlet) }, plant.KindVenturiInjector).byCase(),
	quantityFact("highest_inlet_pressure", quantity.PressureGauge, "Highest pressure at its motive inlet.",
		func(w *World, at At) Number { return atHighest(w.operatingAt(at.Index, at.Case).inlet) }, plant.KindVenturiInjector).byCase(),
	quantityFact("lowest_outlet_pressure", quantity.PressureGauge, "Lowest pressure at its outlet.",
		func(w *World, at At) Number { return atLowest(w.operatingAt(at.Index, at.Case).outlet) }, plant.KindVenturiInjector).byCase(),
	quantityFact("highest_outlet_pressure", quantity.PressureGauge, "Highest pressure at its outlet.",
		func(w *World, at At) Number { return atHighest(w.operatingAt(at.Index, at.Case).outlet) }, plant.KindVenturiInjector).byCase(),
	quantityFact("table_lowest_inlet", quantity.PressureGauge, "Lowest inlet pressure of its table.",
		func(w *World, at At) Number { n, _, _ := w.tableEnds(at.Index, at.Case); return n }, plant.KindVenturiInjector).byCase(),
	quantityFact("table_highest_inlet", quantity.PressureGauge, "Highest inlet pressure of its table.",
		func(w *World, at At) Number { _, n, _ := w.tableEnds(at.Index, at.Case); return n }, plant.KindVenturiInjector).byCase(),
	quantityFact("table_highest_outlet", quantity.PressureGauge, "Highest outlet pressure of its table at the lowest inlet pressure of the case.",
		func(w *World, at At) Number { _, _, n := w.tableEnds(at.Index, at.Case); return n }, plant.KindVenturiInjector).byCase(),
	quantityFact("lowest_motive_flow", quantity.LiquidFlow, "Lowest motive flow.",
		func(w *World, at At) Number { return atLowest(w.operatingAt(at.Index, at.Case).motive) }, plant.KindVenturiInjector).byCase(),
	quantityFact("outlet_ratio", quantity.Ratio, "Highest outlet over inlet pressure, gauge to gauge.",
		func(w *World, at At) Number { return w.outletRatio(at.Index, at.Case) }, plant.KindVenturiInjector).byCase(),
	quantityFact("stall_ratio", quantity.Ratio, "Outlet over inlet pressure, gauge to gauge, up to which it draws: stated, else where its table ends in no suction.",
		func(w *World, at At) Number { return w.stallRatio(at.Index, at.Case) }, plant.KindVenturiInjector).byCase(),
	quantityFact("gas_to_liquid", quantity.Ratio, "Highest gas over motive water by volume, at the pressure of its outlet and the warmest water.",
		func(w *World, at At) Number { return w.gasToLiquid(at.Index, at.Case) }, plant.KindVenturiInjector).byCase(),
	countFact("inlet_gauges", "Pressure gauges that show the pressure at its motive inlet.",
		func(w *World, at At) Number { return Exactly(float64(w.taps().count.of(at.Index)[0])) }, plant.KindVenturiInjector),
	countFact("outlet_gauges", "Pressure gauges that show the pressure at its outlet.",
		func(w *World, at At) Number { return Exactly(float64(w.taps().count.of(at.Index)[2])) }, plant.KindVenturiInjector),
	countFact("suction_instruments", "Gauges and pressure switches at its suction, behind the last check valve.",
		func(w *World, at At) Number { return Exactly(float64(len(w.taps().vacua.of(at.Index)))) }, plant.KindVenturiInjector),
	pathFact("water_way", "The water's way to it and on.",
		func(w *World, at At) Path { return w.waterPathOf(at.Index, at.Case) }, plant.KindVenturiInjector).byCase(),
}

var generatorFacts = []Definition{
	runningFact(plant.KindOzoneGenerator),
	truthFact("in_use", "It is not stated to stand out of use.",
		func(w *World, at At) Truth { return Is(w.gasNet().of.of(at.Index) != nil) }, plant.KindOzoneGenerator),
	truthFact("has_injector", "Its gas comes to an injector.",
		func(w *World, at At) Truth { return Is(w.hasInjector(at.Index)) }, plant.KindOzoneGenerator),
	truthFact("heads_group", "It is the first, by its tag, of the generators that draw on the same injectors, and speaks for them.",
		func(w *World, at At) Truth {
			for _, other := range w.gasNet().group.of(at.Index) {
				// By tag, so that the order of the drawing does not matter.
				if w.Plant.Components[other].Tag < w.Plant.Components[at.Index].Tag {
					return Truth{}
				}
			}
			return Is(w.hasInjector(at.Index))
		}, plant.KindOzoneGenerator),
	quantityFact("group_gas_flow", quantity.GasFlow, "Rated gas flow of all generators that draw on the same injectors.",
		func(w *World, at At) Number { return w.groupGas(at.Index, at.Case).need }, plant.KindOzoneGenerator).byCase(),
	quantityFact("best_suction_flow", quantity.GasFlow, "Least gas that those injectors draw if nothing is lost between cell and injector.",
		func(w *World, at At) Number { return w.groupGas(at.Index, at.Case).best }, plant.KindOzoneGenerator).byCase(),
	quantityFact("suction_flow", quantity.GasFlow, "Least gas that those injectors draw at the suction pressure that check valves and lines leave.",
		func(w *World, at At) Number { return w.groupGas(at.Index, at.Case).drawn }, plant.KindOzoneGenerator).byCase(),
	quantityFact("suction_pressure_left", quantity.PressureGauge, "Pressure that check valves and lines leave at the weakest of those injectors at the rated gas flow.",
		func(w *World, at At) Number { return atLowest(w.groupGas(at.Index, at.Case).left) }, plant.KindOzoneGenerator).byCase(),
	quantityFact("suction_pressure_best", quantity.PressureGauge, "Suction pressure if nothing is lost between cell and injector.",
		func(w *World, at At) Number { return atLowest(w.groupGas(at.Index, at.Case).top) }, plant.KindOzoneGenerator).byCase(),
	textFact("weakest_injector", "The weakest of those injectors.", func(w *World, at At) Text {
		return w.tagOf(w.groupGas(at.Index, at.Case).weakest)
	}, plant.KindOzoneGenerator).byCase(),
	quantityFact("injector_inlet_pressure", quantity.PressureGauge, "Lowest inlet pressure of the weakest injector.",
		func(w *World, at At) Number {
			return w.atWeakest(at, func(s *operatingState) Number { return atLowest(s.inlet) })
		}, plant.KindOzoneGenerator).byCase(),
	quantityFact("injector_outlet_pressure", quantity.PressureGauge, "Highest outlet pressure of the weakest injector.",
		func(w *World, at At) Number {
			return w.atWeakest(at, func(s *operatingState) Number { return atHighest(s.outlet) })
		}, plant.KindOzoneGenerator).byCase(),
	truthFact("held_from_suction", "Something between the cell and each injector takes up what the injector pulls too much: a back-pressure valve set within the cell's window, or a throttled valve.",
		func(w *World, at At) Truth { return w.heldFromSuction(at.Index) }, plant.KindOzoneGenerator),
	quantityFact("lowest_cell_pressure", quantity.PressureGauge, "Lowest pressure to which the injectors pull the cell at its rated gas flow.",
		func(w *World, at At) Number {
			if f := w.gasCase(at.Case).generator.of(at.Index); f != nil {
				return atLowest(f.cellLow)
			}
			return Missing(elementRef(at.Index))
		}, plant.KindOzoneGenerator).byCase(),
	truthFact("has_back_pressure_valve", "A back-pressure valve between the cell and an injector holds the cell pressure.",
		func(w *World, at At) Truth { _, ok := w.highestHeld(at.Index); return Is(ok) }, plant.KindOzoneGenerator),
	quantityFact("held_cell_pressure", quantity.PressureGauge, "Pressure that it holds.", func(w *World, at At) Number {
		if n, ok := w.highestHeld(at.Index); ok {
			return n
		}
		return Missing(elementRef(at.Index))
	}, plant.KindOzoneGenerator),
	quantityFact("lowest_gas_flow", quantity.GasFlow, "Least gas flow that it gets: its rated flow, and no more than the injectors draw and its sources give.",
		func(w *World, at At) Number { return w.generatorFlowOf(at).low }, plant.KindOzoneGenerator).byCase(),
	quantityFact("highest_gas_flow", quantity.GasFlow, "Most gas flow that it gets: its rated flow where a valve sets it on site, else what the injectors draw and the feed pushes.",
		func(w *World, at At) Number { return w.generatorFlowOf(at).high }, plant.KindOzoneGenerator).byCase(),
	quantityFact("feed_pressure", quantity.PressureGauge, "Lowest pressure that its feed leaves behind the cells at the rated gas flow, valves that are set on site wide open.",
		func(w *World, at At) Number { return atLowest(w.feedPressure(at.Index).Sub(w.atmosphere())) }, plant.KindOzoneGenerator),
	quantityFact("cell_pressure_needed", quantity.PressureGauge, "Pressure that the feed has to bring: what the back-pressure valve holds, else the lowest of the cell's window.",
		func(w *World, at At) Number { return w.cellNeeded(at.Index) }, plant.KindOzoneGenerator),
	quantityFact("lowest_purity", quantity.MoleFraction, "Least oxygen in its feed at the rated gas flow.",
		func(w *World, at At) Number { return atLowest(w.feedPurity(at.Index)) }, plant.KindOzoneGenerator),
	quantityFact("highest_purity", quantity.MoleFraction, "Most oxygen in its feed.",
		func(w *World, at At) Number { return atHighest(w.feedPurity(at.Index)) }, plant.KindOzoneGenerator),
	truthFact("inside_output_table", "Its output table holds its gas flow, oxygen, power and coolant temperature.",
		func(w *World, at At) Truth { t, _ := w.insideOutput(at.Index, at.Case); return t }, plant.KindOzoneGenerator).byCase(),
	textFact("outside_output_table", "The condition that the table does not hold.",
		func(w *World, at At) Text { _, s := w.insideOutput(at.Index, at.Case); return Text{Value: s} }, plant.KindOzoneGenerator).byCase(),
	quantityFact("lowest_output", quantity.MassFlow, "Least ozone that it makes, at the least gas flow and oxygen, the warmest coolant and full power.",
		func(w *World, at At) Number { return w.lowestOutput(at.Index, at.Case) }, plant.KindOzoneGenerator).byCase(),
	quantityFact("cell_power", quantity.Power, "Electric power of its cells: rated, and no more than its power supplies have.",
		func(w *World, at At) Number { return w.cellPower(at.Index) }, plant.KindOzoneGenerator),
	pathFact("gas_way", "The way of its gas to the weakest injector.",
		func(w *World, at At) Path { return w.gasPathOf(at.Index, at.Case) }, plant.KindOzoneGenerator).byCase(),
}

// generatorFlowOf is what a generator gets; of one out of use nothing is known.
func (w *World) generatorFlowOf(at At) generatorFlow {
	if f := w.gasCase(at.Case).generator.of(at.Index); f != nil {
		return *f
	}
	n := Missing(elementRef(at.Index))
	return generatorFlow{low: n, high: n, cellLow: n}
}

// atWeakest reads the state of a generator's weakest injector.
func (w *World) atWeakest(at At, read func(*operatingState) Number) Number {
	if j := w.groupGas(at.Index, at.Case).weakest; j >= 0 {
		return read(w.operatingAt(j, at.Case))
	}
	return Missing(elementRef(at.Index))
}

var supplyFacts = []Definition{
	truthFact("power_supplies_fit", "Each of its power supplies may drive its type of cell.",
		func(w *World, at At) Truth { return w.suppliesFit(at.Index) }, plant.KindOzoneGenerator),
	textFact("power_supply", "The first power supply that does not fit, else the first.",
		func(w *World, at At) Text { return w.supplyTag(at.Index) }, plant.KindOzoneGenerator),
	quantityFact("supply_power", quantity.Power, "Power that its power supplies have for it.",
		func(w *World, at At) Number { return w.supplyPower(at.Index) }, plant.KindOzoneGenerator),
	countFact("supply_cells", "Cells that its power supplies can drive for it.",
		func(w *World, at At) Number { return w.supplyCells(at.Index) }, plant.KindOzoneGenerator),
	quantityFact("coolant_temperature", quantity.Temperature, "Highest temperature of what cools it.",
		func(w *World, at At) Number { return atHighest(w.coolantTemperature(at.Index)) }, plant.KindOzoneGenerator),
	truthFact("cooling_joined", "Cooling water comes to it from a source and leaves it.",
		func(w *World, at At) Truth { return w.coolingJoined(at.Index) }, plant.KindOzoneGenerator),
	quantityFact("heat", quantity.Power, "Most heat that must be cooled away: its power less what the ozone takes up.",
		func(w *World, at At) Number { return w.heat(at.Index, at.Case) }, plant.KindOzoneGenerator).byCase(),
	quantityFact("cooling_rise", quantity.TemperatureDifference, "By how much the cooling water warms up while it takes that heat.",
		func(w *World, at At) Number { return w.coolingRise(at.Index, at.Case) }, plant.KindOzoneGenerator).byCase(),
	quantityFact("cooling_pressure_left", quantity.PressureDifference, "Pressure difference that lines and fittings leave for its jacket at the cooling flow that it needs.",
		func(w *World, at At) Number { return w.coolingLeft(at.Index) }, plant.KindOzoneGenerator),

	truthFact("feeds_generator", "A generator draws on it.",
		func(w *World, at At) Truth { return Is(len(w.gasNet().feedOf.of(at.Index)) > 0) }, plant.KindOxygenConcentrator),
	quantityFact("product_load", quantity.GasFlow, "Rated gas flow that its generators ask of it.",
		func(w *World, at At) Number { return w.load(at.Index) }, plant.KindOxygenConcentrator),
	quantityFact("product_capacity", quantity.GasFlow, "Most product that it gives.",
		func(w *World, at At) Number { return w.capacity(at.Index) }, plant.KindOxygenConcentrator),
	quantityFact("air_needed", quantity.GasFlow, "Feed air that it and all on the same compressors need.",
		func(w *World, at At) Number { return w.airOf(at.Index).needed }, plant.KindOxygenConcentrator),
	quantityFact("air_available", quantity.GasFlow, "Air that its compressors give at the pressure that it needs.",
		func(w *World, at At) Number { return w.airOf(at.Index).available }, plant.KindOxygenConcentrator),
	quantityFact("air_pressure", quantity.PressureGauge, "Discharge pressure that it and the way to it ask for.",
		func(w *World, at At) Number { return w.airOf(at.Index).pressure }, plant.KindOxygenConcentrator),
	truthFact("air_comes", "Compressed air comes to it.",
		func(w *World, at At) Truth { return Is(w.airOf(at.Index).connected) }, plant.KindOxygenConcentrator),
	truthFact("receiver_before", "A receiver stands between it and everything that compresses its air.",
		func(w *World, at At) Truth { return w.receiverBefore(at.Index) }, plant.KindOxygenConcentrator),
}

var pumpFacts = []Definition{
	runningFact(plant.KindPump),
	truthFact("drives_injector", "Its water drives an injector.",
		func(w *World, at At) Truth { return Is(w.pumpDuty(at.Index, at.Case).drives) }, plant.KindPump).byCase(),
	truthFact("beyond_curve", "The injectors take more water than its curve holds.",
		func(w *World, at At) Truth { return w.pumpDuty(at.Index, at.Case).beyond }, plant.KindPump).byCase(),
	quantityFact("duty_flow", quantity.LiquidFlow, "Most water that it moves.",
		func(w *World, at At) Number { return atHighest(w.pumpDuty(at.Index, at.Case).flow) }, plant.KindPump).byCase(),
	quantityFact("inlet_pressure_delivered", quantity.PressureGauge, "Lowest pressure that it brings to the motive inlet of the injector with the least margin.",
		func(w *World, at At) Number { return w.pumpDuty(at.Index, at.Case).delivered }, plant.KindPump).byCase(),
	quantityFact("inlet_pressure_needed", quantity.PressureGauge, "Inlet pressure at which that injector draws its gas flow; the lowest of its table where no pressure of the table is enough.",
		func(w *World, at At) Number { return w.pumpDuty(at.Index, at.Case).needed }, plant.KindPump).byCase(),
	textFact("injector", "The injector with the least margin.", func(w *World, at At) Text {
		return w.tagOf(w.pumpDuty(at.Index, at.Case).injector)
	}, plant.KindPump).byCase(),
	pathFact("water_way", "The water's way to that injector and on.", func(w *World, at At) Path {
		if j := w.pumpDuty(at.Index, at.Case).injector; j >= 0 {
			return w.waterPathOf(j, at.Case)
		}
		return nil
	}, plant.KindPump).byCase(),
	quantityFact("npsh_available", quantity.Length, "Suction head that is left before it at its most flow and the warmest water.",
		func(w *World, at At) Number { return w.pumpDuty(at.Index, at.Case).npsh }, plant.KindPump).byCase(),
	quantityFact("npsh_required", quantity.Length, "Suction head that it asks for at that flow.",
		func(w *World, at At) Number { return w.pumpDuty(at.Index, at.Case).required }, plant.KindPump).byCase(),
}

var instrumentFacts = []Definition{
	runningFact(plant.KindPressureGauge, plant.KindFlowMeter),
	truthFact("shows_injector", "It shows the pressure at the motive inlet or the outlet of an injector.",
		func(w *World, at At) Truth { return Is(w.showsInjector(at.Index)) }, plant.KindPressureGauge),
	textFact("shows", "Which of them.",
		func(w *World, at At) Text { return Text{Value: w.gaugeSide(at.Index)} }, plant.KindPressureGauge),
	quantityFact("lowest_reading", quantity.PressureGauge, "Lowest pressure that it shows.",
		func(w *World, at At) Number { return atLowest(w.gaugeReading(at.Index, at.Case)) }, plant.KindPressureGauge).byCase(),
	quantityFact("highest_reading", quantity.PressureGauge, "Highest pressure that it shows.",
		func(w *World, at At) Number { return atHighest(w.gaugeReading(at.Index, at.Case)) }, plant.KindPressureGauge).byCase(),
	quantityFact("lowest_share", quantity.Ratio, "Where in its span the lowest reading lies.",
		func(w *World, at At) Number { n, _ := w.gaugeShare(at.Index, at.Case); return n }, plant.KindPressureGauge).byCase(),
	quantityFact("highest_share", quantity.Ratio, "Where in its span the highest reading lies.",
		func(w *World, at At) Number { _, n := w.gaugeShare(at.Index, at.Case); return n }, plant.KindPressureGauge).byCase(),
	truthFact("measures", "Gas of a generator or water of an injector passes it.",
		func(w *World, at At) Truth { _, _, ok := w.meterFlow(at.Index, at.Case); return Is(ok) }, plant.KindFlowMeter).byCase(),
	quantityFact("lowest_share", quantity.Ratio, "Least flow over the high end of its range.",
		func(w *World, at At) Number { n, _ := w.meterShare(at.Index, at.Case); return n }, plant.KindFlowMeter).byCase(),
	quantityFact("highest_share", quantity.Ratio, "Most flow over the high end of its range.",
		func(w *World, at At) Number { _, n := w.meterShare(at.Index, at.Case); return n }, plant.KindFlowMeter).byCase(),
	textFact("flow", "What passes it, as text.", func(w *World, at At) Text {
		n, gas, _ := w.meterFlow(at.Index, at.Case)
		d := quantity.LiquidFlow
		if gas {
			d = quantity.GasFlow
		}
		return Text{Value: quantity.Format(n.High, d, quantity.Metric)}
	}, plant.KindFlowMeter).byCase(),

	runningFact(plant.KindFloatVentValve),
	truthFact("vents_ozone", "It lets off a vessel to which an injector brings gas of a generator.",
		func(w *World, at At) Truth { return w.ventsOzone(at.Index, at.Case) }, plant.KindFloatVentValve).byCase(),
	quantityFact("undissolved_gas", quantity.GasFlow, "Gas and vapour that come to its vessel while nothing dissolves.",
		func(w *World, at At) Number { return w.ventGas(at.Index, at.Case) }, plant.KindFloatVentValve).byCase(),
	quantityFact("operating_capacity", quantity.GasFlow, "Gas that the float vents of its vessel let out at the vessel's lowest operating pressure.",
		func(w *World, at At) Number { return w.ventCapacity(at.Index, at.Case) }, plant.KindFloatVentValve).byCase(),
}

// ventsOzone tells whether a float vent lets off a vessel to which gas of a generator comes.
func (w *World) ventsOzone(vent, at int32) Truth {
	vessel, ok := w.ventLoads().vesselOf.find(vent)
	if !ok {
		return Truth{}
	}
	for _, j := range w.waterCase(at).into.of(vessel) {
		if len(w.gasNet().injectors.of(j)) > 0 {
			return Truth{Value: True}
		}
	}
	return Truth{}
}

var doseKinds = []plant.Kind{plant.KindContactVessel, plant.KindReactionVessel}

var doseFacts = []Definition{
	truthFact("runs", "Water flows and gas is drawn in the case.", running).on(OnDesign).byCase(),
	countFact("generators", "Ozone generators in use.",
		func(w *World, at At) Number { return Exactly(float64(w.generatorsInUse())) }).on(OnDesign),
	quantityFact("ozone_wanted", quantity.MassFlow, "Ozone that has to dissolve into the main flow: wanted dose times main flow.",
		func(w *World, at At) Number { return w.ozoneWanted(at.Case) }).on(OnDesign).byCase(),
	quantityFact("lowest_ozone_output", quantity.MassFlow, "Least ozone that all generators make.",
		func(w *World, at At) Number { return w.totalOutput(at.Case) }).on(OnDesign).byCase(),
	quantityFact("lowest_ozone_transferred", quantity.MassFlow, "Least ozone of it that dissolves.",
		func(w *World, at At) Number { return w.totalTransferred(at.Case) }).on(OnDesign).byCase(),
	pathFact("ozone_way", "The way of the gas from the source of the generator with the least output over its rating, by the generator, to an injector.",
		func(w *World, at At) Path { return w.ozoneWay(at.Case) }).on(OnDesign).byCase(),
	quantityFact("treated_flow", quantity.LiquidFlow, "Main flow.",
		func(w *World, at At) Number { return w.treatedFlow(at.Case) }).on(OnDesign).byCase(),

	runningFact(doseKinds...),
	truthFact("holds_contact", "The water of an injector that draws ozone comes to it first.",
		func(w *World, at At) Truth { return Is(w.doseOf(at.Index, at.Case) != nil) }, doseKinds...).byCase(),
	quantityFact("transfer_share", quantity.Ratio, "Least share of the ozone that dissolves in it.",
		doseNumber(func(d *vesselDose) Number { return d.share }), doseKinds...).byCase(),
	quantityFact("lowest_residual", quantity.MassConcentration, "Least ozone in the water that leaves it.",
		doseNumber(func(d *vesselDose) Number { return d.residual }), doseKinds...).byCase(),
	quantityFact("contact_time", quantity.Duration, "Time that all but a tenth of the water stays in it at the most flow.",
		func(w *World, at At) Number { return w.contactTime(at.Index, at.Case) }, doseKinds...).byCase(),
	quantityFact("exposure", quantity.Exposure, "Least residual times contact time.",
		func(w *World, at At) Number { return w.exposure(at.Index, at.Case) }, doseKinds...).byCase(),
	quantityFact("log_giardia", quantity.Ratio, "Least calculated log inactivation of Giardia.",
		func(w *World, at At) Number { return w.inactivation(at.Index, at.Case, unitop.Giardia) }, doseKinds...).byCase(),
	quantityFact("log_virus", quantity.Ratio, "Least calculated log inactivation of viruses.",
		func(w *World, at At) Number { return w.inactivation(at.Index, at.Case, unitop.Virus) }, doseKinds...).byCase(),
	quantityFact("log_cryptosporidium", quantity.Ratio, "Least calculated log inactivation of Cryptosporidium.",
		func(w *World, at At) Number { return w.inactivation(at.Index, at.Case, unitop.Cryptosporidium) }, doseKinds...).byCase(),
}

// doseNumber reads a number of a vessel's dose.
func doseNumber(read func(*vesselDose) Number) func(*World, At) Number {
	return func(w *World, at At) Number {
		if d := w.doseOf(at.Index, at.Case); d != nil {
			return read(d)
		}
		return Missing(elementRef(at.Index))
	}
}
