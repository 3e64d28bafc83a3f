package drawing

// class groups kinds by how they are placed.
type class uint8

const (
	equipment class = iota // stands by itself
	inline                 // two ports, may be turned
	upright                // in a line, but gravity fixes how it stands
	point                  // where lines meet, without a body
	bubble                 // instrument with one tap
	terminal               // closes a line: drain, vent, cap
	flag                   // boundary or off-sheet connector
	loose                  // no ports
)

// formPort places a port on a symbol that points east. On symbols of fixed outline at is the place; on growing symbols rank is
// the order along the side: on the west and east sides 0 is the height of the main run, negative above and positive below it.
type formPort struct {
	name string
	side Side
	at   Point
	rank int
}

// form is what the package knows of a kind: outline, ports and how to draw it.
type form struct {
	kind    string
	class   class
	extent  Extent
	anchor  int // growing symbols: height of the main run
	grows   bool
	ports   []formPort
	letters string // instrument letters inside a bubble
	draw    func(*pen, *Item)
}

func at(name string, side Side, x, y int) formPort {
	return formPort{name: name, side: side, at: Point{x, y}}
}

func ranked(name string, side Side, rank int) formPort {
	return formPort{name: name, side: side, rank: rank}
}

func square(n int) Extent { return Extent{n, n, n, n} }

// through are the ports of a symbol of half width n in a line.
func through(n int) []formPort {
	return []formPort{at("inlet", West, -n, 0), at("outlet", East, n, 0)}
}

func bubbleForm(kind, letters string) form {
	return form{kind: kind, class: bubble, extent: square(2), letters: letters, draw: drawBubble,
		ports: []formPort{at("process", West, -2, 0)}}
}

func looseForm(kind, letters string, draw func(*pen, *Item)) form {
	return form{kind: kind, class: loose, extent: square(2), letters: letters, draw: draw}
}

// formTable lists every kind of component in the order of the design schema.
func formTable() []form {
	vessel := []formPort{
		ranked("vent", North, -1), ranked("relief", North, 1), ranked("inlet", West, 0), ranked("level", West, -2),
		ranked("outlet", East, 0), ranked("overflow", East, -2), ranked("sample", East, 2), ranked("drain", South, 0),
	}
	return []form{
		{kind: "compressor", class: equipment, extent: square(3), draw: drawCompressor,
			ports: append(through(3), at("drain", South, 0, 3))},
		{kind: "blower", class: equipment, extent: square(3), draw: drawBlower, ports: through(3)},
		{kind: "gas_receiver", class: equipment, extent: Extent{4, 3, 4, 3}, grows: true, draw: drawReceiver,
			ports: []formPort{ranked("inlet", West, 0), ranked("outlet", East, 0), ranked("drain", South, 0), ranked("relief", North, 0)}},
		{kind: "gas_filter", class: equipment, extent: square(2), draw: drawGasFilter, ports: append(through(2), at("drain", South, 0, 2))},
		{kind: "gas_dryer", class: equipment, extent: Extent{2, 3, 2, 3}, draw: drawDryer, ports: append(through(3), at("drain", South, 0, 2))},
		{kind: "oxygen_concentrator", class: equipment, extent: square(4), draw: drawConcentrator,
			ports: append(through(4), at("exhaust", North, 0, -4))},
		{kind: "gas_supply", class: equipment, extent: Extent{4, 2, 4, 2}, draw: drawSupply, ports: []formPort{at("outlet", East, 2, -4)}},
		{kind: "pressure_regulator", class: inline, extent: Extent{3, 2, 1, 2}, draw: drawRegulator, ports: through(2)},
		{kind: "back_pressure_valve", class: inline, extent: Extent{3, 2, 1, 2}, draw: drawBackPressure, ports: through(2)},
		bubbleForm("moisture_monitor", "ME"),
		{kind: "gas_heater", class: equipment, extent: Extent{2, 3, 2, 3}, draw: drawHeater, ports: through(3)},
		{kind: "ozone_generator", class: equipment, extent: Extent{3, 5, 3, 5}, grows: true, draw: drawGenerator,
			ports: []formPort{ranked("feed_gas", West, 0), ranked("ozone_gas", East, 0), ranked("cooling_inlet", South, 0), ranked("cooling_outlet", North, 1)}},
		looseForm("power_supply", "", drawPowerSupply),
		looseForm("controller", "", drawController),
		{kind: "actuated_valve", class: inline, extent: Extent{4, 2, 1, 2}, draw: drawActuatedValve, ports: through(2)},
		{kind: "three_way_valve", class: equipment, extent: Extent{4, 2, 2, 2}, draw: drawThreeWay,
			ports: []formPort{at("common", West, -2, 0), at("port_a", East, 2, 0), at("port_b", South, 0, 2)}},
		{kind: "check_valve", class: inline, extent: Extent{1, 2, 1, 2}, draw: drawCheckValve, ports: through(2)},
		{kind: "liquid_trap", class: equipment, extent: Extent{3, 3, 3, 3}, grows: true, draw: drawTrap,
			ports: []formPort{ranked("inlet", West, 0), ranked("outlet", East, 0), ranked("drain", South, 0)}},
		{kind: "venturi_injector", class: equipment, extent: Extent{2, 4, 2, 4}, draw: drawInjector,
			ports: []formPort{at("motive_inlet", West, -4, 0), at("suction", North, 0, -2), at("outlet", East, 4, 0)}},
		{kind: "pump", class: equipment, extent: square(3), draw: drawPump, ports: through(3)},
		{kind: "strainer", class: equipment, extent: Extent{1, 2, 2, 2}, draw: drawStrainer, ports: append(through(2), at("drain", South, 1, 2))},
		{kind: "liquid_filter", class: equipment, extent: square(2), draw: drawLiquidFilter, ports: append(through(2), at("drain", South, 0, 2))},
		{kind: "static_mixer", class: inline, extent: Extent{1, 4, 1, 4}, draw: drawMixer, ports: through(4)},
		{kind: "reaction_vessel", class: equipment, extent: Extent{5, 3, 5, 3}, anchor: 2, grows: true, draw: drawReactionVessel, ports: vessel},
		{kind: "contact_vessel", class: equipment, extent: Extent{6, 4, 6, 4}, anchor: 2, grows: true, draw: drawContactVessel, ports: vessel},
		{kind: "degassing_vessel", class: equipment, extent: Extent{5, 3, 4, 3}, anchor: 1, grows: true, draw: drawDegasser, ports: vessel},
		{kind: "open_tank", class: equipment, extent: Extent{4, 5, 4, 5}, anchor: 1, grows: true, draw: drawOpenTank, ports: vessel},
		{kind: "heat_exchanger", class: equipment, extent: square(3), draw: drawExchanger,
			ports: append(through(3), at("service_inlet", South, 0, 3), at("service_outlet", North, 0, -3))},
		{kind: "float_vent_valve", class: upright, extent: square(2), draw: drawFloatVent,
			ports: []formPort{at("inlet", South, 0, 2), at("outlet", North, 0, -2)}},
		{kind: "knock_out_pot", class: equipment, extent: Extent{4, 3, 4, 3}, grows: true, draw: drawPot,
			ports: []formPort{ranked("inlet", West, 0), ranked("gas_outlet", North, 0), ranked("drain", South, 0)}},
		{kind: "demister", class: equipment, extent: square(2), draw: drawDemister, ports: append(through(2), at("drain", South, 0, 2))},
		{kind: "ozone_destruct", class: equipment, extent: Extent{4, 3, 4, 3}, grows: true, draw: drawDestruct,
			ports: []formPort{ranked("inlet", West, 0), ranked("outlet", East, 0), ranked("drain", South, 0)}},
		{kind: "water_seal", class: equipment, extent: square(3), draw: drawWaterSeal,
			ports: append(through(3), at("fill", North, 0, -3))},
		{kind: "float_drain", class: upright, extent: square(2), draw: drawFloatDrain,
			ports: []formPort{at("inlet", North, 0, -2), at("outlet", South, 0, 2)}},
		{kind: "drain_point", class: terminal, extent: square(1), draw: drawDrainPoint, ports: []formPort{at("inlet", North, 0, -1)}},
		{kind: "atmosphere_vent", class: terminal, extent: square(1), draw: drawVent, ports: []formPort{at("inlet", South, 0, 1)}},
		{kind: "relief_valve", class: upright, extent: Extent{4, 2, 2, 1}, draw: drawRelief,
			ports: []formPort{at("inlet", South, 0, 2), at("outlet", East, 2, 0)}},
		{kind: "rupture_disc", class: inline, extent: square(1), draw: drawRuptureDisc, ports: through(1)},
		{kind: "vacuum_breaker", class: upright, extent: square(2), draw: drawVacuumBreaker,
			ports: []formPort{at("process", South, 0, 2), at("atmosphere", North, 0, -2)}},
		{kind: "hand_valve", class: inline, extent: Extent{2, 2, 1, 2}, draw: drawHandValve, ports: through(2)},
		{kind: "restriction_orifice", class: inline, extent: square(1), draw: drawOrifice, ports: through(1)},
		bubbleForm("pressure_gauge", "PI"),
		bubbleForm("pressure_switch", "PS"),
		{kind: "flow_switch", class: inline, extent: square(2), letters: "FS", draw: drawBubble, ports: through(2)},
		bubbleForm("level_switch", "LS"),
		bubbleForm("temperature_switch", "TS"),
		{kind: "flow_meter", class: inline, extent: square(2), letters: "FI", draw: drawBubble, ports: through(2)},
		bubbleForm("ozone_probe", "AE"),
		bubbleForm("orp_probe", "AE"),
		{kind: "gas_analyser", class: bubble, extent: square(2), letters: "AIT", draw: drawBubble,
			ports: []formPort{at("process", West, -2, 0), at("return", East, 2, 0)}},
		looseForm("ambient_ozone_monitor", "AI", drawRoomMonitor),
		looseForm("ambient_oxygen_monitor", "AI", drawRoomMonitor),
		looseForm("emergency_stop", "", drawEmergencyStop),
		looseForm("enclosure_switch", "ZS", drawBubble),
		{kind: "sample_point", class: upright, extent: Extent{2, 1, 2, 1}, draw: drawSample,
			ports: []formPort{at("process", North, 0, -2), at("outlet", South, 0, 2)}},
		{kind: "adapter", class: inline, extent: square(1), draw: drawAdapter, ports: through(1)},
		{kind: "tee", class: point, draw: drawJoint,
			ports: []formPort{at("inlet", West, 0, 0), at("outlet", East, 0, 0), at("branch", South, 0, 0)}},
		{kind: "header", class: equipment, extent: Extent{2, 0, 2, 0}, grows: true, draw: drawHeader,
			ports: []formPort{ranked("inlet", West, 0), ranked("outlet", East, 0)}},
		{kind: "junction", class: point, draw: drawJoint, ports: []formPort{at("port", West, 0, 0)}},
		{kind: "cap", class: terminal, extent: Extent{1, 0, 1, 0}, draw: drawCap, ports: []formPort{at("process", West, 0, 0)}},
		{kind: "union", class: inline, extent: square(1), draw: drawUnion, ports: through(1)},
		{kind: "boundary", class: flag, extent: Extent{1, 3, 1, 3}, draw: drawFlag, ports: []formPort{at("process", East, 3, 0)}},
		{kind: "other", class: equipment, extent: Extent{3, 4, 3, 4}, grows: true, draw: drawOther},
	}
}

// offSheet is the connector that continues a line on another sheet.
var offSheet = form{kind: "off_sheet", class: flag, extent: Extent{1, 3, 1, 3}, draw: drawOffSheet,
	ports: []formPort{at("process", East, 3, 0)}}

var formOf = func() map[string]*form {
	table := formTable()
	m := make(map[string]*form, len(table))
	for i := range table {
		m[table[i].kind] = &table[i]
	}
	return m
}()
