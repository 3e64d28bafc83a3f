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
		p.cautions(cautions(answers))
		p.blank()
		p.verdicts(answers, gate)
	}
	return p.err
}

func (p *page) answer(a *Answer) {
	r := a.Report
	p.header(a)
	p.findings(a)
	p.failures(a, r.GetFailures())
	p.unverified(a)
	p.assumptions(a)
	p.excluded(r)
	p.blank()
	p.paragraph("Verified", bold, verified(r.GetCoverage()), plain)
}

// header names the design and counts what was found.
func (p *page) header(a *Answer) {
	r := a.Report
	p.paragraph(a.File+":", bold, revised(cmp.Or(r.GetDesignName(), nameless), r.GetDesignRevision()), plain)
	c := r.GetCoverage()
	p.paragraph(fmt.Sprintf("%s, %s; %s asked in %s:", count(int(c.GetComponents()), "component", "components"),
		count(int(c.GetLines()), "line", "lines"), count(int(c.GetRules()), "rule", "rules"), count(askedCases(r), "case", "cases")), plain, findingCounts(r), plain)
}

// askedCases is the number of cases that rules were asked in.
func askedCases(r *skidrulev1.Report) (n int) {
	for _, c := range r.GetCases() {
		if c.GetExcludedBecause() == "" {
			n++
		}
	}
	return n
}

// severities counts findings by severity.
func severities(list []*skidrulev1.Finding) (n [4]int) {
	for _, f := range list {
		if s := int(f.GetSeverity()); s < len(n) {
			n[s]++
		}
	}
	return n
}

// findingCounts counts findings by severity, and those that a waiver or the baseline covers.
func findingCounts(r *skidrulev1.Report) string {
	n, c := severities(r.GetFindings()), r.GetCoverage()
	var parts []string
	for s, names := range [4][2]string{1: {"error", "errors"}, 2: {"warning", "warnings"}, 3: {"note", "notes"}} {
		if n[s] > 0 {
			parts = append(parts, count(n[s], names[0], names[1]))
		}
	}
	if len(parts) == 0 {
		return "no finding"
	}
	if c.GetWaived() > 0 {
		parts = append(parts, fmt.Sprintf("%d of them waived", c.GetWaived()))
	}
	if c.GetInBaseline() > 0 {
		parts = append(parts, fmt.Sprintf("%d of them in the baseline", c.GetInBaseline()))
	}
	return strings.Join(parts, ", ")
}

// failures writes the rules that went wrong of a design.
func (p *page) failures(a *Answer, list []*skidrulev1.RuleFailure) {
	if len(list) == 0 {
		return
	}
	p.blank()
	p.line(p.ink(bold, "Rules that went wrong, so that they say nothing:"))
	for _, f := range list {
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
	places := a.assumptionPlaces()
	for _, u := range list {
		head := ""
		if at := places[u.GetPath()]; at != "" {
			head = at + "  "
		}
		p.wrapped("  ", head, faint, thing(u.GetPath())+" "+assumedText(u, p.style.Units))
	}
}

// assumedText says from what to what a datum was assumed, why, by whom, and what rests on it.
func assumedText(u *skidrulev1.AssumptionUse, units quantity.System) string {
	low, high := orElse(notStated, u.Low, u.GetDimension(), units), orElse(notStated, u.High, u.GetDimension(), units)
	text := "from " + low + " to " + high
	if u.Low != nil && u.High != nil && u.GetLow() == u.GetHigh() {
		text = low
	}
	if u.GetReason() != "" {
		text += ", because: " + u.GetReason()
	}
	if u.GetAssumedBy() != "" {
		text += " (" + u.GetAssumedBy() + ")"
	}
	return text + "; " + count(int(u.GetOutcomes()), "outcome rests", "outcomes rest") + " on it"
}

// assumptionPlaces are the places of the assumptions of a file, as line and column, by the path of the datum; the first counts.
func (a *Answer) assumptionPlaces() map[string]string {
	places := map[string]string{}
	for _, s := range a.Positions.Paths() {
		if strings.HasPrefix(s, "assumptions[") && strings.HasSuffix(s, "].path") {
			if at, ok := a.Positions.Find(s); ok && places[at.Text] == "" {
				places[at.Text] = fmt.Sprintf("%d:%d", at.Line, at.Column)
			}
		}
	}
	return places
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

// coverageText says how much was verified.
func coverageText(c *skidrulev1.Coverage) string { return "Verified " + verified(c) }

// verified is coverageText without its first word.
func verified(c *skidrulev1.Coverage) string {
	decided := c.GetMet() + c.GetBroken()
	all := decided + c.GetNotVerifiable() + c.GetFailed()
	text := fmt.Sprintf("%d of %d outcomes that apply: %d met, %d broken, %d not verifiable", decided, all, c.GetMet(), c.GetBroken(), c.GetNotVerifiable())
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

// cautions are those of all answers, each once.
func cautions(answers []Answer) []string {
	var all []string
	for i := range answers {
		for _, c := range answers[i].Report.GetCautions() {
			if !slices.Contains(all, c) {
				all = append(all, c)
			}
		}
	}
	return all
}

func (p *page) cautions(list []string) { p.list("Cautions:", list) }

// verdicts writes what the gate says of each answer.
func (p *page) verdicts(answers []Answer, gate Gate) {
	var n [3]int
	for i := range answers {
		v := gate.Judge(answers[i].Report)
		n[v.Decision]++
		p.paragraph(answers[i].File+":", plain, gate.Words(v), v.Decision.ink())
	}
	if len(answers) > 1 {
		p.line(count(len(answers), "design", "designs"), fmt.Sprintf(": %d passed, %d incomplete, %d not passed", n[Passed], n[Incomplete], n[Broken]))
	}
}
