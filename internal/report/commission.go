package report

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// mostPointers is the number of causes that a card names for a reading outside its ends; JSON holds all.
const mostPointers = 5

// mostCauses is the number of causes that are shown beside the leading ones; JSON holds all.
const mostCauses = 5

// sheetRow is an expected reading in words.
type sheetRow struct {
	Tag, Title, Shows, Best, Ends, Range, Span string
	Notes                                      []string
	Below, Above                               string
}

// sheetRowOf puts an expected reading into words.
func sheetRowOf(r *skidrulev1.ExpectedReading, units quantity.System) sheetRow {
	say := func(x *float64) string { return orElse("", x, r.GetDimension(), units) }
	out := sheetRow{Tag: r.GetTag(), Title: r.GetTitle(), Shows: r.GetShows(), Best: say(r.Best)}
	switch {
	case r.Low != nil && r.High != nil:
		out.Ends = span(r.GetLow(), r.GetHigh(), r.GetDimension(), units)
	case r.Low != nil:
		out.Ends = "at least " + say(r.Low)
	case r.High != nil:
		out.Ends = "at most " + say(r.High)
	}
	if r.Best == nil && r.Low == nil && r.High == nil && r.GetUnknownBecause() != "" {
		out.Best = "unknown"
	}
	switch {
	case r.GetNoInstrument():
		out.Range = "no instrument"
	case r.RangeLow != nil && r.RangeHigh != nil:
		out.Range = span(r.GetRangeLow(), r.GetRangeHigh(), r.GetDimension(), units)
	case r.SetPoint != nil:
		out.Range = "acts at " + say(r.SetPoint)
	}
	if r.SpanLowRatio != nil && r.SpanHighRatio != nil {
		low, high := fmt.Sprintf("%.0f", 100*r.GetSpanLowRatio()), fmt.Sprintf("%.0f", 100*r.GetSpanHighRatio())
		if out.Span = low + " %"; low != high {
			out.Span = low + " to " + high + " %"
		}
	}
	if r.GetUnknownBecause() != "" {
		out.Notes = append(out.Notes, r.GetUnknownBecause())
	}
	if r.GetExpected() != "" {
		out.Notes = append(out.Notes, r.GetExpected())
	}
	out.Notes = append(out.Notes, r.GetNotes()...)
	if len(r.GetAssumed()) > 0 {
		out.Notes = append(out.Notes, "rests on assumed "+strings.Join(r.GetAssumed(), ", "))
	}
	out.Below, out.Above = pointers(r.GetIfBelow()), pointers(r.GetIfAbove())
	return out
}

func pointers(list []string) string {
	if len(list) > mostPointers+1 {
		return strings.Join(list[:mostPointers], "; ") + fmt.Sprintf("; and %d more", len(list)-mostPointers)
	}
	return strings.Join(list, "; ")
}

func cardName(name, revision string) string {
	return cmp.Or(revised(name, revision), "a "+nameless)
}

// judgedRow is a reading beside what is expected, in words.
type judgedRow struct{ Place, Shows, Read, Source, Best, Ends, Away, Note string }

func judgedRowOf(r *skidrulev1.JudgedReading, units quantity.System) judgedRow {
	out := judgedRow{Place: r.GetPlace(), Shows: r.GetShows(), Source: r.GetUncertaintySource(), Note: r.GetUnknownBecause(),
		Read: measure(r.GetValue(), r.GetDimension(), units) + " ± " + measure(r.GetUncertainty(), differenceOf(r.GetDimension()), units)}
	if r.Best != nil {
		out.Best = measure(r.GetBest(), r.GetDimension(), units)
		out.Ends = span(r.GetLow(), r.GetHigh(), r.GetDimension(), units)
	}
	if r.DeviationRatio != nil {
		out.Away = fmt.Sprintf("%+.1f u", r.GetDeviationRatio())
	}
	return out
}

// differenceOf is the dimension of a difference of two values.
func differenceOf(dimension string) string {
	if dimension == "pressure_gauge" {
		return "pressure_difference"
	}
	return dimension
}

// causeRow is a cause in words.
type causeRow struct {
	Leads                                                  bool
	Title, Size, Range, Misfit, Chance, Score, Weight, Gas string
	Note                                                   string
}

// causeRows puts the leading causes and the next ones into words; more counts those that are left out.
func causeRows(d *skidrulev1.Diagnosis, units quantity.System) (rows []causeRow, more int) {
	others := 0
	for _, c := range d.GetCauses() {
		if !c.GetLeads() {
			if others++; others > mostCauses {
				more++
				continue
			}
		}
		r := causeRow{Leads: c.GetLeads(), Title: c.GetTitle(), Size: c.GetSize(), Range: c.GetSizeRange(), Misfit: fmt.Sprintf("%.2f (%d)", c.GetChiSquare(), c.GetDegreesOfFreedom()),
			Chance: chance(c.GetProbabilityRatio()), Score: fmt.Sprintf("%.1f", c.GetScore()), Weight: chance(c.GetWeightRatio())}
		var draws []string
		for _, g := range c.GetDraws() {
			draws = append(draws, measure(g.GetGasMolPerS(), "gas_flow", units))
		}
		r.Gas = strings.Join(draws, ", ")
		if len(c.GetBeyond()) > 0 {
			r.Note = "carried on beyond " + strings.Join(c.GetBeyond(), ", ")
		}
		rows = append(rows, r)
	}
	return rows, more
}

// alikeGroups gathers the leading causes that no instrument of the design tells apart, each group once.
func alikeGroups(d *skidrulev1.Diagnosis) []string {
	var out []string
	seen := map[string]bool{}
	for _, c := range d.GetCauses() {
		if !c.GetLeads() || len(c.GetAlike()) == 0 || seen[c.GetTitle()] {
			continue
		}
		group := append([]string{c.GetTitle()}, c.GetAlike()...)
		for _, t := range group {
			seen[t] = true
		}
		out = append(out, strings.Join(group, "; "))
	}
	return out
}

func chance(p float64) string {
	switch {
	case p >= 0.9995:
		return "100 %"
	case p < 0.0005:
		return "< 0.1 %"
	}
	return fmt.Sprintf("%.1f %%", 100*p)
}

// drawnText says what an injector draws.
func drawnText(g *skidrulev1.DrawnGas, units quantity.System) string {
	expected := ""
	if g.ExpectedMolPerS != nil {
		expected = "; the design expects " + measure(g.GetExpectedMolPerS(), "gas_flow", units)
	}
	if g.BestMolPerS == nil {
		return g.GetInjector() + " draws: " + g.GetUnknownBecause() + expected
	}
	return fmt.Sprintf("%s draws %s, %s (twice the standard uncertainty of %s)%s", g.GetInjector(), measure(g.GetBestMolPerS(), "gas_flow", units),
		span(g.GetLowMolPerS(), g.GetHighMolPerS(), "gas_flow", units), measure(g.GetStandardUncertaintyMolPerS(), "gas_flow", units), expected)
}

// headed are lines below a heading.
type headed struct {
	Head  string
	Lines []string
}

// listsOf are the lists at the end of a diagnosis, in words; those without lines say nothing.
func listsOf(d *skidrulev1.Diagnosis, units quantity.System) []headed {
	return []headed{
		{"No instrument of the design tells these apart", alikeGroups(d)},
		{"Would not show in these readings, however large", d.GetUnseen()},
		{"Not tried", d.GetUntried()},
		{"To read next, first what stands there already", each(d.GetFurther(), func(f *skidrulev1.FurtherReading) string { return furtherText(f, units) })},
		{"How causes are ranked", d.GetBasis()},
	}
}

// furtherText says what a further reading would tell.
func furtherText(f *skidrulev1.FurtherReading, units quantity.System) string {
	where := f.GetPlace() + " (" + f.GetShows()
	if f.GetNoInstrument() && !strings.Contains(f.GetPlace(), "again") {
		where += "; an instrument must be put on"
	}
	return fmt.Sprintf("%s): %s with \"%s\", %s with \"%s\"; %s standard uncertainties apart", where, measure(f.GetFirst(), f.GetDimension(), units), f.GetFirstCause(),
		measure(f.GetSecond(), f.GetDimension(), units), f.GetSecondCause(), apart(f.GetSeparationRatio()))
}

func apart(x float64) string {
	if x >= 10 {
		return fmt.Sprintf("%.0f", math.Round(x))
	}
	return fmt.Sprintf("%.1f", x)
}

var verdictWords = map[skidrulev1.DiagnosisVerdict]string{
	skidrulev1.DiagnosisVerdict_DIAGNOSIS_VERDICT_AS_DESIGNED:   "as designed",
	skidrulev1.DiagnosisVerdict_DIAGNOSIS_VERDICT_ONE_CAUSE:     "one cause leads",
	skidrulev1.DiagnosisVerdict_DIAGNOSIS_VERDICT_CANNOT_DECIDE: "cannot decide",
	skidrulev1.DiagnosisVerdict_DIAGNOSIS_VERDICT_UNEXPLAINED:   "unexplained",
}
