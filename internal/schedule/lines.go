package schedule

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// lines lists the lines.
func (l *lister) lines() *skidrulev1.Schedule {
	t := newTable("Line list")
	t.texts("Line", "From", "To", "Service", "Phase", "Nominal size")
	t.small("Inner diameter")
	t.small("Wall thickness")
	t.texts("Material", "End connection")
	t.column("Length", "length")
	t.column("Design pressure", "pressure_gauge")
	t.column("Lowest design pressure", "pressure_gauge")
	t.column("Design temperature", "temperature")
	t.column("Operating pressure", "pressure_gauge")
	t.column("Highest pressure", "pressure_gauge")
	t.texts("in case")
	t.column("Highest temperature", "temperature")
	t.texts("in case")
	t.column("Operating water flow", "liquid_flow")
	t.column("Operating gas flow", "gas_flow")
	t.texts("Insulated or traced", "Contained", "Cleaned for oxygen")
	for _, line := range l.lineOrder() {
		q := &l.p.Lines[line]
		d := q.Data
		path := func(field string) string { return "lines." + q.Tag + "." + field }
		from, to := l.lineEnds(line)
		bore := l.w.LineBore(line)
		inner := open(path("inner_diameter"))
		if bore.Known() {
			inner = number(&bore.Low, "")
		}
		pressure, highest, pressureCase := l.linePressure(line)
		hottest, temperatureCase := l.lineTemperature(line)
		water, gas := l.lineFlow(line)
		t.row(say(q.Tag), say(from), say(to), choice(d.GetService(), path("service")), l.linePhase(line),
			stated(designfile.SizeText(d.GetSize()), path("size")), inner, number(d.WallThicknessM, path("wall_thickness")),
			choice(d.GetMaterial(), path("material")), choice(d.GetConnection(), path("connection")),
			number(d.LengthM, path("length")), l.designPressure(d.MaxPressurePaGauge, d.GetPressureTable(), path("max_pressure")),
			number(d.MinPressurePaGauge, path("min_pressure")), number(d.MaxTemperatureK, path("max_temperature")),
			pressure, highest, pressureCase, hottest, temperatureCase, water, gas,
			yesNo(d.HeatTraced, path("heat_traced")), yesNo(d.Contained, path("contained")), yesNo(d.OxygenCleaned, path("oxygen_cleaned")))
	}
	return t.out
}

// designPressure is the highest working pressure that is stated: at any temperature, else the lowest of the table, which holds at all
// of its temperatures.
func (l *lister) designPressure(plain *float64, rows []*skidrulev1.TemperaturePressure, path string) *skidrulev1.ScheduleCell {
	if len(rows) == 0 {
		return number(plain, path)
	}
	least := math.Inf(1)
	for _, r := range rows {
		if r.MaxPressurePaGauge != nil {
			least = min(least, *r.MaxPressurePaGauge)
		}
	}
	if math.IsInf(least, 1) {
		return open(path)
	}
	return number(&least, path)
}

// lineEnds names the ports at which a line begins and ends.
func (l *lister) lineEnds(line int32) (from, to string) {
	q := &l.p.Lines[line]
	if q.NumWays == 0 {
		return "", ""
	}
	return l.p.PortLabel(l.p.Ways[q.FirstWay].From), l.p.PortLabel(l.p.Ways[q.FirstWay+q.NumWays-1].To)
}

// linePhase is what a line carries by its service and by the ports that it joins.
func (l *lister) linePhase(line int32) *skidrulev1.ScheduleCell {
	q := &l.p.Lines[line]
	twoPhase := func(port int32) bool { return l.p.Ports[port].Phase == skidrulev1.Phase_PHASE_TWO_PHASE }
	switch service := q.Data.GetService(); {
	case service == skidrulev1.Service_SERVICE_UNSPECIFIED:
		return open("lines." + q.Tag + ".service")
	case !isWater(service):
		return say("gas")
	case service == skidrulev1.Service_SERVICE_OZONATED_WATER && slices.ContainsFunc(l.linePorts(line), twoPhase):
		return say("liquid with gas")
	}
	return say("liquid")
}

func isWater(s skidrulev1.Service) bool {
	switch s {
	case skidrulev1.Service_SERVICE_PROCESS_WATER, skidrulev1.Service_SERVICE_OZONATED_WATER, skidrulev1.Service_SERVICE_COOLING_WATER, skidrulev1.Service_SERVICE_DRAIN_WATER:
		return true
	}
	return false
}

// unsolved is a computed cell where nothing was solved.
func unsolved() *skidrulev1.ScheduleCell { return &skidrulev1.ScheduleCell{Text: "not solved"} }

// linePorts lists the ports that a line joins.
func (l *lister) linePorts(line int32) []int32 {
	q := &l.p.Lines[line]
	var out []int32
	for way := q.FirstWay; way < q.FirstWay+q.NumWays; way++ {
		out = append(out, l.p.Ways[way].From, l.p.Ways[way].To)
	}
	return out
}

// linePressure is the highest pressure along a line in normal operation and over all cases, with the case that sets it.
func (l *lister) linePressure(line int32) (normal, highest, in *skidrulev1.ScheduleCell) {
	if l.states == nil {
		return unsolved(), unsolved(), unsolved()
	}
	top, topAt, known := math.Inf(-1), -1, true
	usual, usualKnown := math.Inf(-1), true
	var missing, usualMissing []string
	for _, port := range l.linePorts(line) {
		if _, high, lacks, ok := l.states.Pressure(port, 0); ok {
			usual = max(usual, high)
		} else {
			usualKnown, usualMissing = false, append(usualMissing, plant.Paths(l.p, lacks)...)
		}
		e := l.states.HighestPressure(port)
		if e.Case >= 0 && e.Value > top {
			top, topAt = e.Value, e.Case
		}
		if e.Case < 0 || len(e.Open) > 0 {
			known, missing = false, append(missing, plant.Paths(l.p, e.Open)...)
		}
	}
	normal = computed(usual, usualKnown && !math.IsInf(usual, 0), usualMissing)
	if topAt < 0 || !known {
		return normal, computed(0, false, missing), say("not computed")
	}
	return normal, computed(top, true, nil), say(l.states.Cases[topAt].ID)
}

// lineTemperature is the highest temperature along a line over all cases, with the case that sets it.
func (l *lister) lineTemperature(line int32) (hottest, in *skidrulev1.ScheduleCell) {
	if l.states == nil {
		return unsolved(), unsolved()
	}
	top, at := math.Inf(-1), -1
	for _, port := range l.linePorts(line) {
		e := l.states.HighestTemperature(port)
		if e.Case < 0 || len(e.Open) > 0 {
			return computed(0, false, plant.Paths(l.p, e.Open)), say("not computed")
		}
		if e.Value > top {
			top, at = e.Value, e.Case
		}
	}
	if at < 0 {
		return computed(0, false, nil), say("not computed")
	}
	return computed(top, true, nil), say(l.states.Cases[at].ID)
}

// lineFlow is the best value of the flow in the first pipe of a line in normal operation.
func (l *lister) lineFlow(line int32) (water, gas *skidrulev1.ScheduleCell) {
	put := func(c *skidrulev1.ScheduleCell) (water, gas *skidrulev1.ScheduleCell) {
		if isWater(l.p.Lines[line].Data.GetService()) {
			return c, not()
		}
		return not(), c
	}
	if l.states == nil || l.p.Lines[line].NumWays == 0 {
		return put(unsolved())
	}
	way := l.p.Lines[line].FirstWay
	_, _, missing, ok := l.states.Flow(way, 0)
	if !ok {
		return put(computed(0, false, plant.Paths(l.p, missing)))
	}
	return put(computed(l.states.States[0].Ways[way].Flow.Best, true, nil))
}
