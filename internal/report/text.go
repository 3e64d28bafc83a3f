package report

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Text writes answers for reading, in their order, with the cautions and the verdict of the gate at the end.
func Text(w io.Writer, answers []Answer, gate Gate, style Style) error {
	p := newPage(w, style)
	for i := range answers {
		if i > 0 {
			p.blank()
		}
		p.answer(&answers[i])
	}
	if len(answers) > 0 {
		p.cautions(answers)
		p.blank()
		p.verdicts(answers, gate)
	}
	return p.err
}

func (p *page) answer(a *Answer) {
	r := a.Report
	p.header(a)
	p.findings(a)
	p.failures(a)
	p.unverified(a)
	p.assumptions(a)
	p.excluded(r)
	p.blank()
	p.coverage(r.GetCoverage())
}

// header names the design and counts what was found.
func (p *page) header(a *Answer) {
	r := a.Report
	p.paragraph(a.File+":", bold, revised(cmp.Or(r.GetDesignName(), nameless), r.GetDesignRevision()), plain)
	c := r.GetCoverage()
	asked := 0
	for _, k := range r.GetCases() {
		if k.GetExcludedBecause() == "" {
			asked++
		}
	}
	p.paragraph(fmt.Sprintf("%s, %s; %s asked in %s:", count(int(c.GetComponents()), "component", "components"),
		count(int(c.GetLines()), "line", "lines"), count(int(c.GetRules()), "rule", "rules"), count(asked, "case", "cases")), plain, findingCounts(r), plain)
}

// findingCounts counts findings by severity.
func findingCounts(r *skidrulev1.Report) string {
	var n [4]int
	waived, known := 0, 0
	for _, f := range r.GetFindings() {
		if f.GetWaiver() != nil {
			waived++
		} else if f.GetInBaseline() {
			known++
		}
		if s := int(f.GetSeverity()); s < len(n) {
			n[s]++
		}
	}
	var parts []string
	for s, names := range [4][2]string{1: {"error", "errors"}, 2: {"warning", "warnings"}, 3: {"note", "notes"}} {
		if n[s] > 0 {
			parts = append(parts, count(n[s], names[0], names[1]))
		}
	}
	if len(parts) == 0 {
		return "no finding"
	}
	if waived > 0 {
		parts = append(parts, fmt.Sprintf("%d of them waived", waived))
	}
	if known > 0 {
		parts = append(parts, fmt.Sprintf("%d of them in the baseline", known))
	}
	return strings.Join(parts, ", ")
}

// failures writes the rules that went wrong.
func (p *page) failures(a *Answer) {
	if len(a.Report.GetFailures()) == 0 {
		return
	}
	p.blank()
	p.line(p.ink(bold, "Rules that went wrong, so that they say nothing:"))
	for _, f := range a.Report.GetFailures() {
		p.wrapped("  ", a.place(f.GetSubject())+": ", faint, f.GetRuleId()+" of "+thing(f.GetSubject())+": "+f.GetMessage())
	}
}

// assumptions writes what was assumed, by whom, and what rests on it.
func (p *page) assumptions(a *Answer) {
	list := a.Report.GetAssumptions()
	if len(list) == 0 {
		return
	}
	p.blank()
	p.line(p.ink(bold, "Assumed:"))
	for _, u := range list {
		text := thing(u.GetPath()) + " from " + end(u.Low, u.GetDimension(), p.style.Units) + " to " + end(u.High, u.GetDimension(), p.style.Units)
		if u.Low != nil && u.High != nil && u.GetLow() == u.GetHigh() {
			text = thing(u.GetPath()) + " " + end(u.Low, u.GetDimension(), p.style.Units)
		}
		if u.GetReason() != "" {
			text += ", because: " + u.GetReason()
		}
		if u.GetAssumedBy() != "" {
			text += " (" + u.GetAssumedBy() + ")"
		}
		text += "; " + count(int(u.GetOutcomes()), "outcome rests", "outcomes rest") + " on it"
		head := ""
		if at, ok := a.assumptionAt(u.GetPath()); ok {
			head = at + "  "
		}
		p.wrapped("  ", head, faint, text)
	}
}

// assumptionAt finds the assumption about a datum in the file.
func (a *Answer) assumptionAt(path string) (string, bool) {
	for _, s := range a.Positions.Paths() {
		if strings.HasPrefix(s, "assumptions[") && strings.HasSuffix(s, "].path") {
			if at, ok := a.Positions.Find(s); ok && at.Text == path {
				return fmt.Sprintf("%d:%d", at.Line, at.Column), true
			}
		}
	}
	return "", false
}

func end(x *float64, dimension string, units quantity.System) string {
	if x == nil {
		return "not stated"
	}
	return measure(*x, dimension, units)
}

// excluded writes the cases that were left out and why.
func (p *page) excluded(r *skidrulev1.Report) {
	first := true
	for _, c := range r.GetCases() {
		if c.GetExcludedBecause() == "" {
			continue
		}
		if first {
			p.blank()
			p.line(p.ink(bold, "Cases left out:"))
			first = false
		}
		p.wrapped("  ", c.GetId()+": ", faint, c.GetExcludedBecause())
	}
}

// coverage says how much was verified.
func (p *page) coverage(c *skidrulev1.Coverage) {
	p.paragraph("Verified", bold, strings.TrimPrefix(coverageText(c), "Verified "), plain)
}

// coverageText says how much was verified.
func coverageText(c *skidrulev1.Coverage) string {
	decided := c.GetMet() + c.GetBroken()
	all := decided + c.GetNotVerifiable() + c.GetFailed()
	text := fmt.Sprintf("Verified %d of %d outcomes that apply: %d met, %d broken, %d not verifiable", decided, all, c.GetMet(), c.GetBroken(), c.GetNotVerifiable())
	if c.GetFailed() > 0 {
		text += fmt.Sprintf(", %d failed", c.GetFailed())
	}
	text += fmt.Sprintf(". %d do not apply.", c.GetNotApplicable())
	return text + apartText(c)
}

// apartText says what stands beside the outcomes: findings that are waived or known, and why no operating case was solved.
func apartText(c *skidrulev1.Coverage) (text string) {
	if c.GetWaived() > 0 {
		text += " " + count(int(c.GetWaived()), "finding is", "findings are") + " waived."
	}
	if c.GetInBaseline() > 0 {
		text += " " + count(int(c.GetInBaseline()), "finding stands", "findings stand") + " in the baseline."
	}
	if c.GetUnsolvedBecause() != "" {
		text += " No operating case was solved: " + clean(c.GetUnsolvedBecause()) + "."
	}
	return text
}

// cautions writes those of all answers once.
func (p *page) cautions(answers []Answer) {
	var all []string
	for i := range answers {
		for _, c := range answers[i].Report.GetCautions() {
			if !slices.Contains(all, c) {
				all = append(all, c)
			}
		}
	}
	if len(all) == 0 {
		return
	}
	p.blank()
	p.line(p.ink(bold, "Cautions:"))
	for _, c := range all {
		p.wrapped("  ", "- ", plain, c)
	}
}

// verdicts writes what the gate says of each answer.
func (p *page) verdicts(answers []Answer, gate Gate) {
	var n [3]int
	for i := range answers {
		v := gate.Judge(answers[i].Report)
		n[v.Decision]++
		c := [...]ink{green, yellow, red}[v.Decision]
		p.paragraph(answers[i].File+":", plain, gate.Words(v), c)
	}
	if len(answers) > 1 {
		p.line(count(len(answers), "design", "designs"), fmt.Sprintf(": %d passed, %d incomplete, %d not passed", n[Passed], n[Incomplete], n[Broken]))
	}
}
