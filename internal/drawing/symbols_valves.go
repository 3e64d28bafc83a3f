package drawing

import skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"

// bowTie draws a valve body; a valve that is closed in normal operation is filled.
func bowTie(p *pen, it *Item) {
	xy := []float64{-2, -1, 2, 1, 2, -1, -2, 1}
	if it.component.GetNormalPosition() == skidrulev1.ValvePosition_VALVE_POSITION_CLOSED {
		p.solid(xy...)
		return
	}
	p.body(xy...)
}

func drawHandValve(p *pen, it *Item) {
	bowTie(p, it)
	switch it.component.GetHandValve().GetType() {
	case skidrulev1.HandValveType_HAND_VALVE_TYPE_BALL:
		p.circle(0, 0, 0.6)
	case skidrulev1.HandValveType_HAND_VALVE_TYPE_GLOBE:
		p.dot(0, 0, 0.55)
	case skidrulev1.HandValveType_HAND_VALVE_TYPE_NEEDLE:
		p.solid(-0.45, -1, 0.45, -1, 0, 0.7)
	case skidrulev1.HandValveType_HAND_VALVE_TYPE_GATE:
		p.line(0, -1, 0, 1)
	case skidrulev1.HandValveType_HAND_VALVE_TYPE_DIAPHRAGM:
		p.line(arc(0, 0, 1.2, 1, 180, 360)...)
	case skidrulev1.HandValveType_HAND_VALVE_TYPE_BUTTERFLY:
		p.line(-0.7, 0.9, 0.7, -0.9)
		p.dot(0, 0, 0.3)
	case skidrulev1.HandValveType_HAND_VALVE_TYPE_PLUG:
		p.body(0, -0.8, 0.6, 0, 0, 0.8, -0.6, 0)
	}
	p.line(0, -0.6, 0, -2)
	p.line(-1, -2, 1, -2)
}

func actuator(p *pen, t skidrulev1.ActuatorType) {
	p.line(0, 0, 0, -2)
	switch t {
	case skidrulev1.ActuatorType_ACTUATOR_TYPE_MOTOR:
		p.circle(0, -3, 1)
		p.word(0, -3, 3, "M")
	case skidrulev1.ActuatorType_ACTUATOR_TYPE_PNEUMATIC:
		p.body(arc(0, -2, 1.5, 1.6, 180, 360)...)
	case skidrulev1.ActuatorType_ACTUATOR_TYPE_SOLENOID_DIRECT:
		p.box(-1, -4, 1, -2)
		p.word(0, -3, 3, "S")
	case skidrulev1.ActuatorType_ACTUATOR_TYPE_SOLENOID_PILOT:
		p.box(-1, -4, 1, -2)
		p.word(0, -3, 3, "S")
		p.dashed(1, -3, 1.6, -3, 1.6, -0.8)
	default:
		p.box(-1, -4, 1, -2)
	}
}

func drawActuatedValve(p *pen, it *Item) {
	actuator(p, it.component.GetActuatedValve().GetActuator())
	bowTie(p, it)
	// The arrow at the stem shows which way the valve moves when its power fails.
	switch it.component.GetFailPosition() {
	case skidrulev1.FailPosition_FAIL_POSITION_CLOSED:
		p.solid(-0.45, -1.4, 0.45, -1.4, 0, -0.6)
	case skidrulev1.FailPosition_FAIL_POSITION_OPEN:
		p.solid(-0.45, -0.7, 0.45, -0.7, 0, -1.5)
	case skidrulev1.FailPosition_FAIL_POSITION_STAYS:
		p.line(-0.5, -1.2, 0.5, -1.2)
		p.line(-0.5, -0.9, 0.5, -0.9)
	}
}

func drawThreeWay(p *pen, it *Item) {
	actuator(p, it.component.GetThreeWayValve().GetActuator())
	p.body(0, 0, -2, -1, -2, 1)
	a, b := p.body, p.body
	switch it.component.GetThreeWayValve().GetPosition() {
	case skidrulev1.ThreeWayPosition_THREE_WAY_POSITION_TO_A:
		b = p.solid
	case skidrulev1.ThreeWayPosition_THREE_WAY_POSITION_TO_B:
		a = p.solid
	}
	a(0, 0, 2, -1, 2, 1)
	b(0, 0, -1, 2, 1, 2)
}

func drawRegulator(p *pen, it *Item) {
	dome(p, it)
	p.dashed(0.9, -1.9, 1.7, -1.9, 1.7, -0.85)
	p.solid(1.35, -1.35, 2.05, -1.35, 1.7, -0.7)
}

func drawBackPressure(p *pen, it *Item) {
	dome(p, it)
	p.dashed(-0.9, -1.9, -1.7, -1.9, -1.7, -0.85)
	p.solid(-1.35, -1.35, -2.05, -1.35, -1.7, -0.7)
}

func dome(p *pen, it *Item) {
	p.line(0, 0, 0, -1.7)
	bowTie(p, it)
	p.body(arc(0, -1.7, 1.2, 1.2, 180, 360)...)
}

func drawCheckValve(p *pen, _ *Item) {
	p.blank(-2, -1, 2, 1)
	p.line(-2, -1, -2, 1)
	p.line(2, -1, 2, 1)
	p.line(-2, -1, 2, 1)
	p.dot(-2, -1, 0.42)
}

func drawRelief(p *pen, _ *Item) {
	p.line(0, 0, 0.7, -0.6, -0.7, -1.2, 0.7, -1.8, -0.7, -2.4, 0.7, -3, 0, -3.4)
	p.line(-0.8, -3.4, 0.8, -3.4)
	p.body(0, 0, -1, 2, 1, 2)
	p.body(0, 0, 2, -1, 2, 1)
	p.dot(0, 0, 0.35)
}

func drawRuptureDisc(p *pen, _ *Item) {
	p.blank(-1, -1, 1, 1)
	p.line(-1, -1, -1, 1)
	p.line(1, -1, 1, 1)
	p.line(arc(-0.8, 0, 1.3, 1, 270, 450)...)
}

func drawVacuumBreaker(p *pen, _ *Item) {
	p.line(0, 2, 0, 0.8)
	p.line(0, -2, 0, -0.8)
	p.circle(0, 0, 1.2)
	p.line(-0.7, 0.5, 0.7, 0.5)
	p.solid(-0.5, -0.5, 0.5, -0.5, 0, 0.4)
}

func drawOrifice(p *pen, _ *Item) {
	p.line(-1, 0, 1, 0)
	p.line(-0.2, -1, -0.2, -0.25)
	p.line(0.2, -1, 0.2, -0.25)
	p.line(-0.2, 1, -0.2, 0.25)
	p.line(0.2, 1, 0.2, 0.25)
}

func drawFloatVent(p *pen, _ *Item) {
	p.body(-1.5, 2, -1.5, -0.6, -0.5, -2, 0.5, -2, 1.5, -0.6, 1.5, 2)
	p.tint(-1.5, 1, 1.5, 1, 1.5, 2, -1.5, 2)
	p.thin(-1.5, 1, 1.5, 1)
	p.hole(0, 0.75, 0.75)
	p.solid(-0.28, -0.9, 0.28, -0.9, 0, -1.6)
	p.line(0, 0, 0, -1)
}

func drawFloatDrain(p *pen, _ *Item) {
	p.circle(0, 0, 2)
	p.solid(arc(0, 0, 2, 2, 0, 180)...)
	p.hole(0, -0.2, 0.7)
	p.word(0, -1.25, 2.2, "F")
}

func drawDrainPoint(p *pen, _ *Item) {
	p.line(0, -1, 0, -0.2)
	p.body(-1, -0.2, 1, -0.2, 0, 1)
}

func drawVent(p *pen, _ *Item) {
	p.line(0, 1, 0, -0.9)
	p.line(-0.7, 0, 0, -1, 0.7, 0)
}

func drawSample(p *pen, _ *Item) {
	p.line(0, -2, 0, -1.5)
	p.body(-0.7, -1.5, 0.7, 0.5, -0.7, 0.5, 0.7, -1.5)
	p.line(0, 0.5, 0, 1.2)
	p.line(-0.5, 1.1, -0.35, 2, 0.35, 2, 0.5, 1.1)
}

func drawAdapter(p *pen, _ *Item) { p.body(-1, -1, 1, -0.4, 1, 0.4, -1, 1) }

func drawUnion(p *pen, _ *Item) {
	p.line(-1, 0, 1, 0)
	p.line(-0.3, -0.9, -0.3, 0.9)
	p.line(0.3, -0.9, 0.3, 0.9)
}

func drawCap(p *pen, _ *Item) { p.slab(-0.2, -0.9, 0.2, 0.9) }

func drawJoint(p *pen, it *Item) {
	if it.Extent.Up > 0 || it.Extent.Down > 0 {
		p.slab(-0.2, -float64(it.Extent.Up), 0.2, float64(it.Extent.Down))
		return
	}
	p.dot(0, 0, 0.36)
}
