package schedule

import (
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// valves lists what shuts, throttles or holds one way.
func (l *lister) valves() *skidrulev1.Schedule {
	t := newTable("Valve list")
	t.texts("Tag", "Type", "Service", "Line", "Title", "Nominal size", "End connection", "Pressure class")
	t.column("Rated pressure", "pressure_gauge")
	t.column("Lowest pressure", "pressure_gauge")
	t.column("Highest temperature", "temperature")
	t.texts("Body", "Seat", "Seal")
	t.column("Flow coefficient", "flow_coefficient")
	t.texts("Normal position", "Fail position", "Locked", "Can be locked", "Actuator", "Commanded by")
	t.column("Set pressure", "pressure_gauge")
	t.texts("Cleaned for oxygen", "Part")
	for _, c := range l.components() {
		q := &l.p.Components[c]
		v, ok := l.valve(c)
		if !ok {
			continue
		}
		d := q.Data
		size, connection := l.sizeAt(c)
		t.row(say(q.Tag), v.kind, l.serviceAt(c), say(l.lineTags(c)), say(d.GetTitle()), size, connection,
			stated(d.GetPressureClass(), l.path(c, "pressure_class")),
			l.designPressure(d.MaxPressurePaGauge, d.GetPressureTable(), l.path(c, "max_pressure")), number(d.MinPressurePaGauge, l.path(c, "min_pressure")),
			number(d.MaxTemperatureK, l.path(c, "max_temperature")),
			choice(d.GetBodyMaterial(), l.path(c, "body_material")), choice(d.GetSeatMaterial(), l.path(c, "seat_material")),
			choice(d.GetSealMaterial(), l.path(c, "seal_material")),
			v.coefficient, v.normal, v.fail, v.locked, v.lockable, v.actuator, v.commanded, v.set,
			yesNo(d.OxygenCleaned, l.path(c, "oxygen_cleaned")), say(q.Stated.GetPart()))
	}
	return t.out
}

// valve is what a valve states beyond what every part states.
type valve struct {
	kind, coefficient, normal, fail, locked, lockable, actuator, commanded, set *skidrulev1.ScheduleCell
}

// valve reads a valve; false for another part.
func (l *lister) valve(c int32) (valve, bool) {
	q := &l.p.Components[c]
	d := q.Data
	v := valve{kind: say(q.Kind.Info().Title), coefficient: not(), normal: not(), fail: not(), locked: not(), lockable: not(), actuator: not(), commanded: not(), set: not()}
	position := func() *skidrulev1.ScheduleCell {
		return choice(d.GetNormalPosition(), l.path(c, "normal_position"))
	}
	driven := func(a skidrulev1.ActuatorType) {
		v.normal = position()
		v.fail = choice(d.GetFailPosition(), l.path(c, "fail_position"))
		v.actuator = choice(a, l.spec(c, "actuator"))
		v.commanded = stated(d.GetCommandedBy(), l.path(c, "commanded_by"))
	}
	switch q.Kind {
	case plant.KindHandValve:
		h := d.GetHandValve()
		if word := spoken(h.GetType()); word != "" {
			v.kind = say("hand valve, " + word)
		}
		v.coefficient, v.normal = number(h.FlowCoefficientKvM3PerH, l.spec(c, "flow_coefficient")), position()
		v.locked, v.lockable = yesNo(d.Locked, l.path(c, "locked")), yesNo(h.Lockable, l.spec(c, "lockable"))
	case plant.KindActuatedValve:
		driven(d.GetActuatedValve().GetActuator())
		v.coefficient = number(d.GetActuatedValve().FlowCoefficientKvM3PerH, l.spec(c, "flow_coefficient"))
	case plant.KindThreeWayValve:
		driven(d.GetThreeWayValve().GetActuator())
		v.coefficient = number(d.GetThreeWayValve().FlowCoefficientKvM3PerH, l.spec(c, "flow_coefficient"))
	case plant.KindCheckValve:
		v.coefficient = number(d.GetCheckValve().FlowCoefficientKvM3PerH, l.spec(c, "flow_coefficient"))
	case plant.KindPressureRegulator:
		v.set = number(d.GetPressureRegulator().SetPressurePaGauge, l.spec(c, "set_pressure"))
		v.coefficient = number(d.GetPressureRegulator().FlowCoefficientKvM3PerH, l.spec(c, "flow_coefficient"))
	case plant.KindBackPressureValve:
		v.set = number(d.GetBackPressureValve().SetPressurePaGauge, l.spec(c, "set_pressure"))
		v.coefficient = number(d.GetBackPressureValve().FlowCoefficientKvM3PerH, l.spec(c, "flow_coefficient"))
	case plant.KindFloatVentValve, plant.KindFloatDrain:
	default:
		return valve{}, false
	}
	return v, true
}
