package report

import (
	"fmt"
	"io"
	"strings"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Draft says what a draft is and what it still asks for: its shape with the reasons, its sizes, the picked parts, the questions by
// element, and the cautions of the trade.
func Draft(w io.Writer, d *skidrulev1.Draft, style Style) error {
	p := newPage(w, style)
	p.line(p.ink(bold, clean(d.GetDesign().GetName())), fmt.Sprintf(": %d components, %d lines", len(d.GetDesign().GetComponents()), len(d.GetDesign().GetLines())))
	p.list("Why it has this shape", d.GetReasons())
	p.blank()
	p.line(p.ink(bold, "Sizes"))
	rows := [][]string{{"", "Value", "Range", "Source"}}
	for _, s := range d.GetSizes() {
		within := ""
		if s.Low != nil && s.High != nil {
			within = measure(s.GetLow(), s.GetDimension(), style.Units) + " to " + measure(s.GetHigh(), s.GetDimension(), style.Units)
		}
		rows = append(rows, []string{s.GetLabel(), measure(s.GetValue(), s.GetDimension(), style.Units), within, s.GetSource()})
	}
	p.table("  ", rows)
	if len(d.GetPicks()) > 0 {
		p.blank()
		p.line(p.ink(bold, "Parts"))
		rows = nil
		for _, q := range d.GetPicks() {
			rows = append(rows, []string{q.GetTag(), q.GetPart(), q.GetWhy()})
		}
		p.table("  ", rows)
	}
	p.draftQuestions(d)
	p.draftFindings(d)
	if c := d.GetCoverage(); c != nil {
		p.blank()
		p.wrapped("", "", plain, coverageText(c))
	}
	p.cautions(d.GetCautions())
	return p.err
}

// draftQuestions writes the questions: those with a wanted value each on a line of its own, the others joined by element.
func (p *page) draftQuestions(d *skidrulev1.Draft) {
	list := d.GetQuestions()
	if len(list) == 0 {
		return
	}
	p.blank()
	p.line(p.ink(bold, "To be found out"), fmt.Sprintf(": %d data", len(list)))
	var element string
	var rest []string
	wanted := false
	end := func() {
		head := ""
		if wanted {
			head = "and "
		}
		if len(rest) > 0 {
			p.wrapped("    ", head, faint, strings.Join(rest, ", "))
		}
		rest, wanted = nil, false
	}
	for _, q := range list {
		of, key := split(q.GetPath())
		if of != element {
			end()
			element = of
			p.line("  ", p.ink(bold, thing(of)))
		}
		if q.GetWanted() == "" {
			rest = append(rest, key)
			continue
		}
		wanted = true
		p.wrapped("    ", key+": ", plain, q.GetWanted())
	}
	end()
}

// split parts a path into its element and the datum of it.
func split(path string) (element, key string) {
	first, rest, ok := strings.Cut(path, ".")
	if !ok || first != "components" && first != "lines" && first != "cases" {
		return first, rest
	}
	tag, key, _ := strings.Cut(rest, ".")
	return first + "." + tag, key
}

// draftFindings writes what the check finds in the draft.
func (p *page) draftFindings(d *skidrulev1.Draft) {
	if len(d.GetFindings()) == 0 {
		return
	}
	p.blank()
	p.line(p.ink(bold, "The check finds"))
	for _, f := range d.GetFindings() {
		p.wrapped("  ", severityWord(f.GetSeverity())+" ", plain, f.GetRuleId()+": "+f.GetMessage())
	}
}
