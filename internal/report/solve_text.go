package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// mostMargins is the number of margins that text shows; JSON holds all.
const mostMargins = 20

// Solution writes the tables of a solution as text.
func Solution(w io.Writer, s *skidrulev1.Solution, style Style) error {
	p := newPage(w, style)
	p.title(s)
	var open openData
	for _, c := range s.GetCases() {
		p.blank()
		p.line(p.ink(bold, "Case "+c.GetId()), " ", clean(c.GetTitle()))
		if c.GetExcludedBecause() != "" {
			p.wrapped("  ", "cannot occur: ", faint, c.GetExcludedBecause())
			continue
		}
		p.solvedCase(c, &open)
	}
	p.extremes(s, &open)
	p.missing(open)
	p.standing(s)
	p.margins(s)
	return p.err
}

// openData are the sets of data that results wait for. What is joined waits for the same data, so that a table which named all of it
// on every row would hide what it says.
type openData []string

// lacks words missing data: by name where it is little, else by the number of its set.
func (o *openData) lacks(missing []string) string {
	if len(missing) <= 2 {
		return everyDatum(missing)
	}
	set := strings.Join(missing, ", ")
	at := slices.Index(*o, set)
	if at < 0 {
		at = len(*o)
		*o = append(*o, set)
	}
	return fmt.Sprintf("missing: set %d of the data below", at+1)
}

// missing writes the sets that rows point to.
func (p *page) missing(open openData) {
	if len(open) == 0 {
		return
	}
	p.blank()
	p.line(p.ink(bold, "Missing data that leaves results unknown"))
	for i, set := range open {
		p.wrapped("  ", fmt.Sprintf("set %d: ", i+1), plain, set)
	}
}

// solvedCase writes the tables of one case.
func (p *page) solvedCase(c *skidrulev1.SolvedCase, open *openData) {
	units := p.style.Units
	rows := [][]string{{"Port", "Phase", "Pressure", "Temperature", "O2 / N2 / O3 / H2O, vol %", ""}}
	for _, q := range c.GetPorts() {
		gas := ""
		if g := q.GetGas(); g != nil {
			gas = fmt.Sprintf("%.1f / %.1f / %.2f / %.2f", 100*g.GetOxygenMoleFraction(), 100*(g.GetNitrogenMoleFraction()+g.GetArgonMoleFraction()), 100*g.GetOzoneMoleFraction(), 100*g.GetWaterMoleFraction())
		}
		rows = append(rows, []string{q.GetPort(), phaseWord(q.GetPhase()), ranged(q.GetPressurePaGauge(), "pressure_gauge", units), ranged(q.GetTemperatureK(), "temperature", units), gas, portNote(q, open.lacks)})
	}
	p.table("  ", rows)
	p.blank()
	rows = [][]string{{"Line", "From", "To", "Flow", "Gas in water", "Velocity", ""}}
	for _, q := range c.GetLines() {
		flow, carried := "unknown", ""
		switch {
		case q.GetLiquidFlowM3PerS() != nil:
			flow = ranged(q.GetLiquidFlowM3PerS(), "liquid_flow", units)
			if q.GetGasFlowMolPerS() != nil {
				carried = ranged(q.GetGasFlowMolPerS(), "gas_flow", units)
			}
		case q.GetGasFlowMolPerS() != nil:
			flow = ranged(q.GetGasFlowMolPerS(), "gas_flow", units)
		}
		velocity := ""
		if v := q.GetVelocityMPerS(); v != nil {
			velocity = ranged(v, "velocity", units)
		}
		rows = append(rows, []string{q.GetTag(), q.GetFrom(), q.GetTo(), flow, carried, velocity, wayNote(q, open.lacks)})
	}
	p.table("  ", rows)
	p.blank()
	p.line("  Balance: what boundaries, vents and machines bring in; negative takes out")
	rows = nil
	for _, q := range c.GetExchanges() {
		flow := ranged(q.GetLiquidFlowM3PerS(), "liquid_flow", units)
		if q.GetGasFlowMolPerS() != nil {
			flow = ranged(q.GetGasFlowMolPerS(), "gas_flow", units)
		}
		rows = append(rows, []string{"", q.GetTag(), flow})
	}
	p.table("  ", rows)
	p.line(fmt.Sprintf("  Largest imbalance of a place %.1e of the flow, largest distance from a law %.1e Pa, %d networks solved", c.GetImbalanceRatio(), c.GetResidualPa(), c.GetSolves()))
}

// extremes writes the highest and lowest values of the ports.
func (p *page) extremes(s *skidrulev1.Solution, open *openData) {
	units := p.style.Units
	if len(s.GetExtremes()) == 0 || len(s.GetCases()) < 2 {
		return
	}
	p.blank()
	p.line(p.ink(bold, "Highest and lowest over these cases"))
	rows := [][]string{{"Port", "Highest", "in case", "Lowest", "in case", "Hottest", "Coldest", ""}}
	for _, e := range s.GetExtremes() {
		say := func(x *float64, dimension string) string { return orElse("unknown", x, dimension, units) }
		note := ""
		if len(e.GetOpen()) > 0 {
			note = open.lacks(e.GetOpen())
		}
		rows = append(rows, []string{e.GetPort(), say(e.HighestPressurePaGauge, "pressure_gauge"), e.GetHighestPressureCase(), say(e.LowestPressurePaGauge, "pressure_gauge"), e.GetLowestPressureCase(),
			say(e.HighestTemperatureK, "temperature"), say(e.LowestTemperatureK, "temperature"), note})
	}
	p.table("  ", rows)
}

// standing writes the water that would stand in gas lines.
func (p *page) standing(s *skidrulev1.Solution) {
	units := p.style.Units
	if len(s.GetStandingWater()) == 0 {
		return
	}
	p.blank()
	p.line(p.ink(bold, "Water in gas lines at rest: the grade line at the injector, and vacuum at its suction"))
	rows := [][]string{{"Injector", "Case", "Grade line", "Vacuum"}}
	for _, q := range s.GetStandingWater() {
		vacuum := "none"
		if q.GetVacuumPaGauge() < 0 {
			vacuum = measure(q.GetVacuumPaGauge(), "pressure_gauge", units)
		}
		rows = append(rows, []string{q.GetInjector(), q.GetCaseId(), ranged(q.GetGradeLineM(), "length", units), vacuum})
	}
	p.table("  ", rows)
}

// margins writes how far outcomes are from turning.
func (p *page) margins(s *skidrulev1.Solution) {
	if len(s.GetMargins()) == 0 {
		return
	}
	units := p.style.Units
	p.blank()
	p.line(p.ink(bold, "Margins: what is nearest to turning"))
	rows := [][]string{{"Rule", "Subject", "Outcome", "Evidence", "Value", "Limit", "Away"}}
	n, open := 0, 0
	for _, m := range s.GetMargins() {
		if m.Ratio == nil {
			open++
			continue
		}
		if n++; n > mostMargins {
			continue
		}
		rows = append(rows, []string{m.GetRuleId(), m.GetSubject(), m.GetStatus(), m.GetLabel(), measure(m.GetValue(), m.GetDimension(), units), measure(m.GetLimit(), m.GetDimension(), units), away(m, units)})
	}
	p.table("  ", rows)
	if n > mostMargins {
		p.line(fmt.Sprintf("  and %d more; --format json lists them", n-mostMargins))
	}
	if open == 0 {
		return
	}
	p.line("  Not verifiable, and the data that would decide it:")
	for _, m := range s.GetMargins() {
		if m.Ratio == nil {
			p.wrapped("    ", m.GetRuleId()+" of "+m.GetSubject()+": ", plain, strings.Join(m.GetDecidedBy(), ", "))
		}
	}
}

// away is how far a value is from its limit: a share of the limit, or a difference where it is a temperature, whose zero is far off.
func away(m *skidrulev1.OutcomeMargin, units quantity.System) string {
	if m.GetDimension() == quantity.Temperature.Name() {
		return measure(math.Abs(m.GetValue()-m.GetLimit()), quantity.TemperatureDifference.Name(), units)
	}
	return fmt.Sprintf("%.0f %%", 100*math.Abs(m.GetRatio()))
}

// table writes columns side by side; the last one may be long.
func (p *page) table(indent string, rows [][]string) {
	var wide []int
	for _, r := range rows {
		for i, cell := range r {
			if i == len(wide) {
				wide = append(wide, 0)
			}
			wide[i] = max(wide[i], width(clean(cell)))
		}
	}
	for n, r := range rows {
		line := indent
		for i, cell := range r {
			cell = clean(cell)
			if i+1 < len(r) {
				cell = pad(cell, wide[i]+2)
			}
			line += cell
		}
		line = strings.TrimRight(line, " ")
		if n == 0 && len(r) > 3 {
			line = p.ink(faint, line)
		}
		p.line(line)
	}
}
