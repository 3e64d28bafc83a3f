package report

import (
	"fmt"
	"io"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Card writes a card as text.
func Card(w io.Writer, c *skidrulev1.CommissioningCard, style Style) error {
	p := newPage(w, style)
	p.line(p.ink(bold, "Expected readings: "+clean(cardName(c.GetDesignName(), c.GetDesignRevision()))))
	p.list("First", c.GetCautions())
	for _, one := range c.GetCases() {
		p.blank()
		p.line(p.ink(bold, "Case "+one.GetId()), " ", clean(one.GetTitle()))
		if one.GetExcludedBecause() != "" {
			p.wrapped("  ", "cannot occur: ", faint, one.GetExcludedBecause())
			continue
		}
		p.line("  Date ____________  Readings by ____________________  Water temperature ________")
		rows := [][]string{{"Tag", "Shows", "Expected", "Low to high", "Range", "In span", "Read", "Initials"}}
		var views []sheetRow
		for _, r := range one.GetReadings() {
			v := sheetRowOf(r, p.style.Units)
			views = append(views, v)
			rows = append(rows, []string{v.Tag, v.Shows, v.Best, v.Ends, v.Range, v.Span, "__________", "____"})
		}
		p.table("  ", rows)
		p.blank()
		for _, v := range views {
			for i, n := range v.Notes {
				head := pad("", width(v.Tag)) + "  "
				if i == 0 {
					head = v.Tag + ": "
				}
				p.wrapped("  ", head, plain, n)
			}
			if v.Below != "" {
				p.wrapped("  ", v.Tag+" below: ", plain, v.Below)
			}
			if v.Above != "" {
				p.wrapped("  ", v.Tag+" above: ", plain, v.Above)
			}
		}
	}
	p.list("How these came about", c.GetBasis())
	return p.err
}

// Diagnosis writes a diagnosis as text.
func Diagnosis(w io.Writer, d *skidrulev1.Diagnosis, style Style) error {
	p := newPage(w, style)
	p.line(p.ink(bold, "Readings of "+clean(cardName(d.GetDesignName(), d.GetDesignRevision()))+", case "+clean(d.GetCaseId())))
	p.list("First", d.GetCautions())
	p.blank()
	p.wrapped("", verdictWords[d.GetVerdict()]+": ", bold, d.GetSummary())
	p.blank()
	rows := [][]string{{"Reading", "Shows", "Read", "Expected", "Low to high", "Away", ""}}
	for _, r := range d.GetReadings() {
		v := judgedRowOf(r, p.style.Units)
		rows = append(rows, []string{v.Place, v.Shows, v.Read, v.Best, v.Ends, v.Away, v.Note})
	}
	p.table("  ", rows)
	for _, r := range d.GetReadings() {
		p.wrapped("  ", r.GetPlace()+" ± ", plain, r.GetUncertaintySource())
	}
	p.blank()
	for _, g := range d.GetDrawn() {
		p.wrapped("", "", plain, drawnText(g, p.style.Units))
		for _, s := range g.GetSteps() {
			p.wrapped("  ", "- ", plain, s)
		}
	}
	if len(d.GetCauses()) > 0 {
		p.blank()
		rows = [][]string{{"", "Cause", "Best size", "Sizes that fit", "Chi-square (dof)", "Chance", "Score", "Weight", "Gas drawn", ""}}
		list, more := causeRows(d, p.style.Units)
		for _, v := range list {
			mark := ""
			if v.Leads {
				mark = "*"
			}
			rows = append(rows, []string{mark, v.Title, v.Size, v.Range, v.Misfit, v.Chance, v.Score, v.Weight, v.Gas, v.Note})
		}
		p.table("  ", rows)
		p.line("  * explains the readings within the tolerance")
		if more > 0 {
			p.line(fmt.Sprintf("  and %d more that are ruled out; --format json lists them", more))
		}
	}
	for _, l := range listsOf(d, p.style.Units) {
		p.list(l.Head, l.Lines)
	}
	return p.err
}
