package schedule

import (
	"math"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// relief lists what opens by itself to keep pressure in its bounds.
func (l *lister) relief() *skidrulev1.Schedule {
	t := newTable("Relief devices")
	t.texts("Tag", "Type", "Title", "Protects", "Service", "Nominal size", "End connection")
	t.column("Set pressure", "pressure_gauge")
	t.column("Gas capacity", "gas_flow")
	t.column("Gas to relieve", "gas_flow")
	t.column("Water capacity", "liquid_flow")
	t.column("Water to relieve", "liquid_flow")
	t.column("Overpressure", "ratio")
	t.texts("Discharges to", "Can be shut off by", "Guards against", "Part")
	for _, c := range l.components() {
		q := &l.p.Components[c]
		d := q.Data
		var set, gas *skidrulev1.ScheduleCell
		liquid, over := not(), not()
		gasAsked, liquidAsked, shut := not(), not(), not()
		switch q.Kind {
		case plant.KindReliefValve:
			v := d.GetReliefValve()
			set, gas = number(v.SetPressurePaGauge, l.spec(c, "set_pressure")), number(v.GasCapacityMolPerS, l.spec(c, "gas_capacity"))
			liquid, over = number(v.LiquidCapacityM3PerS, l.spec(c, "liquid_capacity")), number(v.OverpressureRatio, l.spec(c, "overpressure"))
		case plant.KindRuptureDisc:
			v := d.GetRuptureDisc()
			set, gas = number(v.BurstPressurePaGauge, l.spec(c, "burst_pressure")), number(v.GasCapacityMolPerS, l.spec(c, "gas_capacity"))
			liquid = number(v.LiquidCapacityM3PerS, l.spec(c, "liquid_capacity"))
		case plant.KindVacuumBreaker:
			v := d.GetVacuumBreaker()
			set, gas = number(v.OpeningPressurePaGauge, l.spec(c, "opening_pressure")), number(v.CapacityMolPerS, l.spec(c, "capacity"))
		default:
			continue
		}
		if q.Kind != plant.KindVacuumBreaker {
			load := l.w.ReliefLoad(c)
			gasAsked, liquidAsked = l.asked(load.GasToRelieve), l.asked(load.LiquidToRelieve)
			gas, liquid = orNone(gas, load.GasToRelieve), orNone(liquid, load.LiquidToRelieve)
			shut = say("")
			if load.ShutOffBy >= 0 {
				shut = say(l.p.Components[load.ShutOffBy].Tag)
			}
		}
		size, connection := l.sizeAt(c)
		t.row(say(q.Tag), say(q.Kind.Info().Title), say(d.GetTitle()), l.protects(c), l.serviceAt(c), size, connection,
			set, gas, gasAsked, liquid, liquidAsked, over, l.dischargesTo(c), shut, guards(q.Kind), say(q.Stated.GetPart()))
	}
	return t.out
}

// guards says against what a device guards.
func guards(k plant.Kind) *skidrulev1.ScheduleCell {
	if k == plant.KindVacuumBreaker {
		return say("vacuum")
	}
	return say("overpressure")
}

// orNone says that a capacity is not asked for where it is not stated and nothing of its phase comes.
func orNone(c *skidrulev1.ScheduleCell, asked fact.Number) *skidrulev1.ScheduleCell {
	if c.NotStated && asked.Low == 0 && asked.High == 0 {
		return not()
	}
	return c
}

// asked is the high end of what a device must let out.
func (l *lister) asked(n fact.Number) *skidrulev1.ScheduleCell {
	if math.IsInf(n.High, 0) {
		return computed(0, false, plant.Paths(l.p, n.Missing))
	}
	return computed(n.High, true, nil)
}

// protects names the line and the part that a device guards.
func (l *lister) protects(c int32) *skidrulev1.ScheduleCell {
	port := l.portAt(c)
	if port < 0 {
		return say("")
	}
	for _, way := range l.p.WaysAt(port) {
		if q := &l.p.Ways[way]; q.IsPipe() {
			return say("line " + l.p.Lines[q.Line].Tag + " at " + l.p.PortLabel(q.From+q.To-port))
		}
	}
	return say("")
}

// dischargesTo names the end of the line behind a device.
func (l *lister) dischargesTo(c int32) *skidrulev1.ScheduleCell {
	if l.p.Components[c].Kind == plant.KindVacuumBreaker {
		return not()
	}
	port, ok := l.p.FindPort(c, "outlet")
	if !ok || l.p.Ports[port].Joints == 0 {
		return say("where it stands: no line leads on")
	}
	for _, way := range l.p.WaysAt(port) {
		q := &l.p.Ways[way]
		if !q.IsPipe() || q.From != port {
			continue
		}
		_, to := l.lineEnds(q.Line)
		return say(to)
	}
	return say("")
}
