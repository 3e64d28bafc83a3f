package report

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// SolutionCSV writes a solution as a long table in SI units: one row for each quantity of each port, line and passage in each case.
func SolutionCSV(w io.Writer, s *skidrulev1.Solution) error {
	out := csv.NewWriter(w)
	row := func(cells ...string) { _ = out.Write(cells) } // the writer keeps its first error for Flush
	row("case", "element", "from", "to", "phase", "quantity", "unit", "low", "best", "high", "note")
	for _, c := range s.GetCases() {
		put := func(element, from, to, phase, what, unit string, r *skidrulev1.SolvedRange, note string) {
			if r == nil && note == "" {
				return
			}
			cells := []string{c.GetId(), element, from, to, phase, what, unit, "", "", "", note}
			if r != nil {
				cells[7], cells[8], cells[9] = exactly(r.GetLow()), exactly(r.GetBest()), exactly(r.GetHigh())
			}
			row(cells...)
		}
		for _, q := range c.GetPorts() {
			ph := phaseWord(q.GetPhase())
			put(q.GetPort(), "", "", ph, "pressure_gauge", "Pa", q.GetPressurePaGauge(), portNote(q, everyDatum))
			put(q.GetPort(), "", "", ph, "pressure_absolute", "Pa", q.GetPressurePaAbs(), "")
			put(q.GetPort(), "", "", ph, "temperature", "K", q.GetTemperatureK(), "")
			if g := q.GetGas(); g != nil {
				for _, x := range []struct {
					name  string
					value float64
				}{{"oxygen", g.GetOxygenMoleFraction()}, {"nitrogen", g.GetNitrogenMoleFraction()}, {"argon", g.GetArgonMoleFraction()}, {"ozone", g.GetOzoneMoleFraction()}, {"water", g.GetWaterMoleFraction()}} {
					put(q.GetPort(), "", "", ph, x.name, "mol/mol", &skidrulev1.SolvedRange{Low: x.value, Best: x.value, High: x.value}, "")
				}
			}
		}
		for _, list := range [2][]*skidrulev1.SolvedWay{c.GetLines(), c.GetPassages()} {
			for _, q := range list {
				ph := phaseWord(q.GetPhase())
				note := wayNote(q, everyDatum)
				put(q.GetTag(), q.GetFrom(), q.GetTo(), ph, "liquid_flow", "m3/s", q.GetLiquidFlowM3PerS(), "")
				put(q.GetTag(), q.GetFrom(), q.GetTo(), ph, "gas_flow", "mol/s", q.GetGasFlowMolPerS(), "")
				put(q.GetTag(), q.GetFrom(), q.GetTo(), ph, "velocity", "m/s", q.GetVelocityMPerS(), "")
				put(q.GetTag(), q.GetFrom(), q.GetTo(), ph, "npsh_available", "m", q.GetNpshM(), "")
				put(q.GetTag(), q.GetFrom(), q.GetTo(), ph, "note", "", nil, note)
			}
		}
		for _, q := range c.GetExchanges() {
			put(q.GetTag(), "", "", "liquid", "brought_in", "m3/s", q.GetLiquidFlowM3PerS(), "")
			put(q.GetTag(), "", "", "gas", "brought_in", "mol/s", q.GetGasFlowMolPerS(), "")
		}
	}
	out.Flush()
	return out.Error()
}

func exactly(x float64) string { return strconv.FormatFloat(x, 'g', 9, 64) }

func phaseWord(p skidrulev1.Phase) string {
	switch p {
	case skidrulev1.Phase_PHASE_GAS:
		return "gas"
	case skidrulev1.Phase_PHASE_LIQUID:
		return "liquid"
	}
	return "unknown"
}

// everyDatum names all missing data on the spot.
func everyDatum(missing []string) string { return "missing " + strings.Join(missing, ", ") }

// portNote says what lacks or limits the result of a port; lacks words the data that is missing.
func portNote(q *skidrulev1.SolvedPort, lacks func(missing []string) string) string {
	var notes []string
	if q.GetPressurePaGauge() == nil {
		if len(q.GetMissing()) > 0 {
			notes = append(notes, lacks(q.GetMissing()))
		} else if q.GetWhy() != "" {
			notes = append(notes, q.GetWhy())
		}
	} else if q.GetShutIn() {
		notes = append(notes, "shut in")
	}
	if len(q.GetBeyond()) > 0 {
		notes = append(notes, "outside "+strings.Join(q.GetBeyond(), ", "))
	}
	if len(q.GetAssumed()) > 0 {
		notes = append(notes, "assumed "+strings.Join(q.GetAssumed(), ", "))
	}
	return strings.Join(notes, "; ")
}

// wayNote says the same of a line or passage.
func wayNote(q *skidrulev1.SolvedWay, lacks func(missing []string) string) string {
	var notes []string
	if q.GetLiquidFlowM3PerS() == nil && q.GetGasFlowMolPerS() == nil {
		if len(q.GetMissing()) > 0 {
			notes = append(notes, lacks(q.GetMissing()))
		} else if q.GetWhy() != "" {
			notes = append(notes, q.GetWhy())
		}
	}
	if s := q.GetState(); s != "" && s != "open" && s != "unknown state" {
		notes = append(notes, s)
	}
	if q.GetBeyond() != "" {
		notes = append(notes, q.GetBeyond())
	}
	return strings.Join(notes, "; ")
}

// ranged is a range in the units of a system, or that it is unknown.
func ranged(r *skidrulev1.SolvedRange, dimension string, units quantity.System) string {
	if r == nil {
		return "unknown"
	}
	return span(r.GetLow(), r.GetHigh(), dimension, units)
}
