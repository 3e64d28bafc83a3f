package report

import (
	"strings"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func severityInk(s skidrulev1.Severity) ink {
	switch s {
	case skidrulev1.Severity_SEVERITY_ERROR:
		return red
	case skidrulev1.Severity_SEVERITY_WARNING:
		return yellow
	}
	return blue
}

// findings writes every finding; those that are only consequences of another stand behind it.
func (p *page) findings(a *Answer) {
	primaries := primaries(a.Report)
	under := map[*skidrulev1.Finding][]*skidrulev1.Finding{}
	var roots []*skidrulev1.Finding
	for i, f := range a.Report.GetFindings() {
		if primary := primaries[i]; primary != nil {
			under[primary] = append(under[primary], f)
		} else {
			roots = append(roots, f)
		}
	}
	written := map[*skidrulev1.Finding]bool{}
	told := map[string]bool{}
	var write func(f, primary *skidrulev1.Finding)
	write = func(f, primary *skidrulev1.Finding) {
		if written[f] {
			return
		}
		written[f] = true
		p.blank()
		p.finding(a, f, primary, !told[f.GetRuleId()])
		told[f.GetRuleId()] = true
		for _, g := range under[f] {
			write(g, f)
		}
	}
	for _, f := range roots {
		write(f, nil)
	}
	// Findings that are consequences of one another have no root; they are not lost for that.
	for _, f := range a.Report.GetFindings() {
		write(f, nil)
	}
}

// primaries are, for each finding of a report, the one that it is only a consequence of; nil where it stands for itself.
func primaries(r *skidrulev1.Report) []*skidrulev1.Finding {
	known := map[string]*skidrulev1.Finding{}
	for _, f := range r.GetFindings() {
		known[f.GetFingerprint()] = f
	}
	delete(known, "") // findings of nothing
	return each(r.GetFindings(), func(f *skidrulev1.Finding) *skidrulev1.Finding { return known[f.GetConsequenceOf()] })
}

// finding writes one finding: where and what in GNU form, then the evidence. What holds for the rule as such is told with
// its first finding.
func (p *page) finding(a *Answer, f, primary *skidrulev1.Finding, first bool) {
	const indent = "    "
	p.line(p.ink(bold, a.place(f.GetSubject())+":"), " ", p.ink(severityInk(f.GetSeverity()), severityWord(f.GetSeverity())), " ", clean(f.GetRuleId()))
	if primary != nil {
		p.wrapped(indent, "consequence of: ", faint, primary.GetRuleId()+" of "+thing(primary.GetSubject())+", above")
	}
	p.hung(indent, "", plain, f.GetMessage(), bold)
	if first {
		p.wrapped(indent, "must hold: ", faint, f.GetTitle())
		if h := hazardText(f.GetHazard()); h != "" {
			p.wrapped(indent, "hazard: ", faint, h)
		}
	}
	if cases := casesText(a.Report, f.GetCaseIds()); cases != "" {
		p.wrapped(indent, "cases: ", faint, cases)
	}
	p.way(f.GetPath())
	p.evidence(f.GetEvidence())
	if len(f.GetRelated()) > 0 {
		p.wrapped(indent, "takes part: ", faint, things(f.GetRelated()))
	}
	if len(f.GetAssumed()) > 0 {
		p.wrapped(indent, "rests on assumed: ", faint, things(f.GetAssumed()))
	}
	if first {
		p.wrapped(indent, "to mend: ", faint, f.GetMend())
		for _, s := range f.GetSources() {
			p.wrapped(indent, "source: ", faint, sourceText(s))
		}
	} else {
		p.line(indent, p.ink(faint, "to mend and source: as above for this rule"))
	}
	if w := f.GetWaiver(); w != nil {
		p.wrapped(indent, "waived: ", faint, waiverText(w))
	}
	if f.GetInBaseline() {
		p.line(indent, "known: it stands in the baseline")
	}
}

// evidence writes the numbers in columns: what, measured, limit.
func (p *page) evidence(list []*skidrulev1.Evidence) {
	if len(list) == 0 {
		return
	}
	numbers := numbers(list, p.style.Units)
	what, value := 0, 0
	for _, n := range numbers {
		what, value = max(what, width(n.Label)), max(value, width(n.Measured))
	}
	p.line("    numbers:")
	rows := make([]string, len(numbers))
	fits := true
	for i, n := range numbers {
		row := "      " + pad(n.Label, what) + "  " + pad(n.Measured, value)
		if n.Limit != "" {
			row += "  limit " + n.Limit
		}
		rows[i] = strings.TrimRight(row, " ")
		fits = fits && width(rows[i]) <= p.style.Width
	}
	for i, n := range numbers {
		if fits {
			p.line(rows[i])
		} else {
			p.wrapped("      ", n.Label+": ", plain, n.text())
		}
	}
}

// things names the subjects of a list.
func things(paths []string) string { return strings.Join(each(paths, thing), ", ") }

// casesText lists cases by name; empty where the rule does not depend on cases.
func casesText(r *skidrulev1.Report, ids []string) string {
	if len(ids) == 0 {
		return ""
	}
	if len(ids) > 1 && len(ids) == askedCases(r) {
		return "every one that was asked about"
	}
	titles := map[string]string{}
	for _, c := range r.GetCases() {
		titles[c.GetId()] = c.GetTitle()
	}
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = id
		if t := titles[id]; t != "" && len(ids) <= 3 {
			out[i] += " (" + t + ")"
		}
	}
	return strings.Join(out, ", ")
}
