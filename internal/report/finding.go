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
	under := map[string][]*skidrulev1.Finding{}
	known := map[string]bool{}
	for _, f := range a.Report.GetFindings() {
		known[f.GetFingerprint()] = true
	}
	var roots []*skidrulev1.Finding
	for _, f := range a.Report.GetFindings() {
		if f.GetConsequenceOf() != "" && known[f.GetConsequenceOf()] {
			under[f.GetConsequenceOf()] = append(under[f.GetConsequenceOf()], f)
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
		for _, g := range under[f.GetFingerprint()] {
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
		p.wrapped(indent, "takes part: ", faint, strings.Join(things(f.GetRelated()), ", "))
	}
	if len(f.GetAssumed()) > 0 {
		p.wrapped(indent, "rests on assumed: ", faint, strings.Join(things(f.GetAssumed()), ", "))
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
		p.wrapped(indent, "waived: ", faint, w.GetReason()+", accepted by "+w.GetAcceptedBy()+", until "+w.GetExpires())
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
	what, value := 0, 0
	for _, e := range list {
		what, value = max(what, width(clean(e.GetLabel()))), max(value, width(clean(measured(e, p.style.Units))))
	}
	p.line("    numbers:")
	rows := make([]string, len(list))
	fits := true
	for i, e := range list {
		rows[i] = "      " + pad(clean(e.GetLabel()), what) + "  " + pad(clean(measured(e, p.style.Units)), value)
		if l := limit(e, p.style.Units); l != "" {
			rows[i] += "  limit " + clean(l)
		}
		fits = fits && width(strings.TrimRight(rows[i], " ")) <= p.style.Width
	}
	for i, e := range list {
		if fits {
			p.line(strings.TrimRight(rows[i], " "))
			continue
		}
		text := measured(e, p.style.Units)
		if l := limit(e, p.style.Units); l != "" {
			text += ", limit " + l
		}
		p.wrapped("      ", clean(e.GetLabel())+": ", plain, text)
	}
}

func things(paths []string) []string {
	out := make([]string, len(paths))
	for i, s := range paths {
		out[i] = thing(s)
	}
	return out
}

// casesText lists cases by name; empty where the rule does not depend on cases.
func casesText(r *skidrulev1.Report, ids []string) string {
	if len(ids) == 0 {
		return ""
	}
	asked := 0
	titles := map[string]string{}
	for _, c := range r.GetCases() {
		if c.GetExcludedBecause() == "" {
			asked++
		}
		titles[c.GetId()] = c.GetTitle()
	}
	if len(ids) == asked && asked > 1 {
		return "every one that was asked about"
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
