package report

import (
	_ "embed"
	"html/template"
	"io"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

//go:embed html/commission.html
var commissionPage string

//go:embed html/commission.css
var commissionStyle string

var commissionTemplate = template.Must(template.New("commission").Parse(commissionPage))

// commissionView is what the page of a card or a diagnosis shows.
type commissionView struct {
	Title, Summary, Verdict string
	Style                   template.CSS
	Cautions                []string
	Tables                  []tableView
	Lists                   []headed
}

type tableView struct {
	Head, Excluded string
	Sheet          bool // with blanks, on a page of its own in print
	Columns        []string
	Rows           []rowView
}

type rowView struct {
	Cells  []string
	Notes  []string
	Span   int
	Marked bool
}

func (v *commissionView) list(head string, lines []string) {
	if len(lines) == 0 {
		return
	}
	v.Lists = append(v.Lists, headed{clean(head), each(lines, clean)})
}

// CardHTML writes a card as a page to print: a sheet for each case, with blanks. It needs nothing else and runs no script.
func CardHTML(w io.Writer, c *skidrulev1.CommissioningCard, units quantity.System) error {
	v := &commissionView{Title: "Expected readings: " + clean(cardName(c.GetDesignName(), c.GetDesignRevision())), Style: template.CSS(commissionStyle), Cautions: each(c.GetCautions(), clean)}
	for _, one := range c.GetCases() {
		t := tableView{Head: clean("Case " + one.GetId() + ": " + one.GetTitle()), Excluded: clean(one.GetExcludedBecause()), Sheet: one.GetExcludedBecause() == "",
			Columns: []string{"Tag", "Shows", "Expected", "Low to high", "Range", "In span", "Read", "Initials"}}
		for _, r := range one.GetReadings() {
			s := sheetRowOf(r, units)
			row := rowView{Cells: each([]string{s.Tag, s.Shows, s.Best, s.Ends, s.Range, s.Span, "", ""}, clean), Span: 7, Notes: each(s.Notes, clean)}
			if s.Below != "" {
				row.Notes = append(row.Notes, clean("Below: "+s.Below))
			}
			if s.Above != "" {
				row.Notes = append(row.Notes, clean("Above: "+s.Above))
			}
			t.Rows = append(t.Rows, row)
		}
		v.Tables = append(v.Tables, t)
	}
	v.list("How these came about", c.GetBasis())
	return commissionTemplate.Execute(w, v)
}

// DiagnosisHTML writes a diagnosis as a page to print.
func DiagnosisHTML(w io.Writer, d *skidrulev1.Diagnosis, units quantity.System) error {
	v := &commissionView{Title: "Readings of " + clean(cardName(d.GetDesignName(), d.GetDesignRevision())) + ", case " + clean(d.GetCaseId()), Style: template.CSS(commissionStyle),
		Cautions: each(d.GetCautions(), clean), Summary: clean(d.GetSummary()), Verdict: capital(verdictWords[d.GetVerdict()])}
	read := tableView{Head: "Readings", Columns: []string{"Reading", "Shows", "Read", "Expected", "Low to high", "Away"}}
	for _, r := range d.GetReadings() {
		s := judgedRowOf(r, units)
		row := rowView{Cells: each([]string{s.Place, s.Shows, s.Read, s.Best, s.Ends, s.Away}, clean), Span: 5, Notes: []string{clean("± " + s.Source)}}
		if s.Note != "" {
			row.Notes = append(row.Notes, clean(s.Note))
		}
		read.Rows = append(read.Rows, row)
	}
	v.Tables = append(v.Tables, read)
	if len(d.GetCauses()) > 0 {
		causes := tableView{Head: "Causes; those in bold explain the readings within the tolerance", Columns: []string{"Cause", "Best size", "Sizes that fit", "Chi-square (dof)", "Chance", "Score", "Weight", "Gas drawn"}}
		list, _ := causeRows(d, units)
		for _, c := range list {
			row := rowView{Cells: each([]string{c.Title, c.Size, c.Range, c.Misfit, c.Chance, c.Score, c.Weight, c.Gas}, clean), Marked: c.Leads, Span: 7}
			if c.Note != "" {
				row.Notes = []string{clean(c.Note)}
			}
			causes.Rows = append(causes.Rows, row)
		}
		v.Tables = append(v.Tables, causes)
	}
	for _, g := range d.GetDrawn() {
		lines := append([]string{drawnText(g, units)}, g.GetSteps()...)
		v.list("Gas drawn by "+g.GetInjector(), lines)
	}
	for _, l := range listsOf(d, units) {
		v.list(l.Head, l.Lines)
	}
	return commissionTemplate.Execute(w, v)
}
