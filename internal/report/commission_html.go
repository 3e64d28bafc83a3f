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
	Lists                   []listView
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

type listView struct {
	Head  string
	Lines []string
}

func (v *commissionView) list(head string, lines []string) {
	if len(lines) == 0 {
		return
	}
	v.Lists = append(v.Lists, listView{clean(head), cleaned(lines)})
}

func cleaned(list []string) []string {
	out := make([]string, len(list))
	for i := range list {
		out[i] = clean(list[i])
	}
	return out
}

// CardHTML writes a card as a page to print: a sheet for each case, with blanks. It needs nothing else and runs no script.
func CardHTML(w io.Writer, c *skidrulev1.CommissioningCard, units quantity.System) error {
	v := &commissionView{Title: "Expected readings: " + clean(cardName(c.GetDesignName(), c.GetDesignRevision())), Style: template.CSS(commissionStyle), Cautions: cleaned(c.GetCautions())}
	for _, one := range c.GetCases() {
		t := tableView{Head: clean("Case " + one.GetId() + ": " + one.GetTitle()), Excluded: clean(one.GetExcludedBecause()), Sheet: one.GetExcludedBecause() == "",
			Columns: []string{"Tag", "Shows", "Expected", "Low to high", "Range", "In span", "Read", "Initials"}}
		for _, r := range one.GetReadings() {
			s := sheetRowOf(r, units)
			row := rowView{Cells: cleaned([]string{s.Tag, s.Shows, s.Best, s.Ends, s.Range, s.Span, "", ""}), Span: 7, Notes: cleaned(s.Notes)}
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
		Cautions: cleaned(d.GetCautions()), Summary: clean(d.GetSummary()), Verdict: capital(verdictWords[d.GetVerdict()])}
	read := tableView{Head: "Readings", Columns: []string{"Reading", "Shows", "Read", "Expected", "Low to high", "Away"}}
	for _, r := range d.GetReadings() {
		s := judgedRowOf(r, units)
		row := rowView{Cells: cleaned([]string{s.Place, s.Shows, s.Read, s.Best, s.Ends, s.Away}), Span: 5, Notes: []string{clean("± " + s.Source)}}
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
			row := rowView{Cells: cleaned([]string{c.Title, c.Size, c.Range, c.Misfit, c.Chance, c.Score, c.Weight, c.Gas}), Marked: c.Leads, Span: 7}
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
	v.list("No instrument of the design tells these apart", alikeGroups(d))
	v.list("Would not show in these readings, however large", d.GetUnseen())
	v.list("Not tried", d.GetUntried())
	var further []string
	for _, f := range d.GetFurther() {
		further = append(further, furtherText(f, units))
	}
	v.list("To read next, first what stands there already", further)
	v.list("How causes are ranked", d.GetBasis())
	return commissionTemplate.Execute(w, v)
}
