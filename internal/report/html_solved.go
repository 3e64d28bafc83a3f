package report

import (
	"strconv"
	"strings"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// solved fills in the tables of solved cases.
func (b *htmlBuilder) solved(a *HTMLAnswer, d *htmlDesign) {
	d.Unsolved = clean(a.Unsolved)
	for i, c := range a.Solution.GetCases() {
		if c.GetExcludedBecause() != "" {
			continue
		}
		d.Solved = append(d.Solved, htmlCase{d.ID + "-case" + strconv.Itoa(i+1), clean(c.GetId()), clean(c.GetTitle()), b.caseLines(c)})
	}
	known := func(x *float64, dimension, id string) (value, in string) {
		if x == nil {
			return "unknown", "–"
		}
		return measure(*x, dimension, b.options.Units), clean(id)
	}
	for _, e := range a.Solution.GetExtremes() {
		if e.HighestPressurePaGauge == nil && e.LowestPressurePaGauge == nil {
			continue
		}
		v := htmlExtreme{Port: clean(e.GetPort())}
		v.High, v.HighCase = known(e.HighestPressurePaGauge, "pressure_gauge", e.GetHighestPressureCase())
		v.Low, v.LowCase = known(e.LowestPressurePaGauge, "pressure_gauge", e.GetLowestPressureCase())
		v.Hot, v.HotCase = known(e.HighestTemperatureK, "temperature", e.GetHighestTemperatureCase())
		d.Extremes = append(d.Extremes, v)
	}
}

// caseLines are the lines of a case: where each begins and ends, and what flows where it begins. A line whose flow changes on
// the way, at a tee, has a row for each stretch of one flow.
func (b *htmlBuilder) caseLines(c *skidrulev1.SolvedCase) []htmlLine {
	ports := map[string]*skidrulev1.SolvedPort{}
	for _, p := range c.GetPorts() {
		ports[p.GetPort()] = p
	}
	pressure := func(port string) string {
		return clean(ranged(ports[port].GetPressurePaGauge(), "pressure_gauge", b.options.Units))
	}
	var rows []htmlLine
	for _, w := range c.GetLines() {
		v := htmlLine{Tag: clean(w.GetTag()), Flow: b.flow(w), Velocity: "–", Start: clean(w.GetFrom()), StartPressure: pressure(w.GetFrom()),
			End: clean(w.GetTo()), EndPressure: pressure(w.GetTo()), Note: clean(wayNote(w, everyDatum))}
		if w.GetVelocityMPerS() != nil {
			v.Velocity = ranged(w.GetVelocityMPerS(), "velocity", b.options.Units)
		}
		if n := len(rows); n > 0 && rows[n-1].Tag == v.Tag && rows[n-1].Flow == v.Flow && rows[n-1].Note == v.Note {
			rows[n-1].End, rows[n-1].EndPressure = v.End, v.EndPressure
			continue
		}
		rows = append(rows, v)
	}
	return rows
}

// flow is the flow of a way; gas that goes along in water stands beside it.
func (b *htmlBuilder) flow(w *skidrulev1.SolvedWay) string {
	var parts []string
	if w.GetLiquidFlowM3PerS() != nil {
		parts = append(parts, ranged(w.GetLiquidFlowM3PerS(), "liquid_flow", b.options.Units))
	}
	if g := w.GetGasFlowMolPerS(); g != nil && (len(parts) == 0 || g.GetHigh() > 0) {
		parts = append(parts, ranged(g, "gas_flow", b.options.Units))
	}
	if len(parts) == 0 {
		return "unknown"
	}
	return strings.Join(parts, " and ")
}
