package report

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// markdownMost is the number of bytes up to which details are written, below what hosts of code take for a comment (65,536
// characters); what does not fit is counted.
const markdownMost = 60000

// Markdown writes answers for a review comment: verdict and counts first, one line a finding, worst first, details folded, then
// what could not be verified with the shortest list of data that would decide most of it, and the coverage. Text from designs
// cannot make links, mentions, tags or headings of its own.
func Markdown(w io.Writer, answers []Answer, unusable []Unusable, gate Gate, units quantity.System) error {
	m := &markdown{units: units}
	verdicts, worst := gate.judgeAll(answers)
	m.summary(answers, verdicts, worst, unusable)
	for i := range unusable {
		m.unusable(&unusable[i])
	}
	for i := range answers {
		m.answer(&answers[i], gate.Words(verdicts[i]))
	}
	if m.left > 0 {
		m.out.WriteString("\n" + count(m.left, "section is", "sections are") + " left out for length; `skidrule check` shows everything.\n")
	}
	m.cautions(cautions(answers))
	_, err := w.Write(m.out.Bytes())
	return err
}

type markdown struct {
	out   bytes.Buffer
	units quantity.System
	left  int
}

// section adds a piece whole or, where the comment would become too long, counts it.
func (m *markdown) section(piece string) {
	if m.out.Len()+len(piece) > markdownMost {
		m.left++
		return
	}
	m.out.WriteString(piece)
}

func (m *markdown) summary(answers []Answer, verdicts []Verdict, worst Decision, unusable []Unusable) {
	errors, warnings, notes, open := 0, 0, 0, 0
	for i := range answers {
		e, w, n := uncovered(answers[i].Report)
		errors, warnings, notes = errors+e, warnings+w, notes+n
		open += int(answers[i].Report.GetCoverage().GetNotVerifiable())
	}
	head := [...]string{"passed", "incomplete", "not passed"}[worst]
	if len(unusable) > 0 {
		head = count(len(unusable), "design is", "designs are") + " unusable"
	}
	fmt.Fprintf(&m.out, "## skidrule: %s\n\n**%s, %s, %s; %s not verifiable**, in %s.\n", head, count(errors, "error", "errors"),
		count(warnings, "warning", "warnings"), count(notes, "note", "notes"), count(open, "outcome", "outcomes"), count(len(answers), "design", "designs"))
	if len(answers) == 0 {
		return
	}
	m.out.WriteString("\n| design | verdict | errors | warnings | notes | met | broken | not verifiable | failed | not applicable |\n| --- | --- | --: | --: | --: | --: | --: | --: | --: | --: |\n")
	for i := range answers {
		a := &answers[i]
		e, w, n := uncovered(a.Report)
		c := a.Report.GetCoverage()
		m.section(fmt.Sprintf("| %s | %s | %d | %d | %d | %d | %d | %d | %d | %d |\n", code(a.File), verdicts[i].Decision, e, w, n,
			c.GetMet(), c.GetBroken(), c.GetNotVerifiable(), c.GetFailed(), c.GetNotApplicable()))
	}
}

// uncovered counts findings that no waiver and no baseline covers.
func uncovered(r *skidrulev1.Report) (errors, warnings, notes int) {
	for _, f := range r.GetFindings() {
		switch {
		case f.GetWaiver() != nil || f.GetInBaseline():
		case f.GetSeverity() == skidrulev1.Severity_SEVERITY_ERROR:
			errors++
		case f.GetSeverity() == skidrulev1.Severity_SEVERITY_WARNING:
			warnings++
		default:
			notes++
		}
	}
	return errors, warnings, notes
}

func (m *markdown) unusable(u *Unusable) {
	var b strings.Builder
	fmt.Fprintf(&b, "\n### %s cannot be checked\n\n", code(u.File))
	for _, p := range u.Problems {
		b.WriteString("- " + inMarkdown(ProblemLine(p)) + "\n")
	}
	if u.More > 0 {
		fmt.Fprintf(&b, "- and %d more\n", u.More)
	}
	m.section(b.String())
}

func (m *markdown) answer(a *Answer, verdict string) {
	r := a.Report
	title := revised(inMarkdown(r.GetDesignName()), inMarkdown(r.GetDesignRevision()))
	if title == "" {
		title = code(a.File)
	}
	m.section(fmt.Sprintf("\n### %s\n\n%s.\n", title, inMarkdown(capital(verdict))))
	primaries := primaries(r)
	for i, f := range r.GetFindings() {
		m.section(m.finding(a, f, primaries[i]))
	}
	if len(r.GetFailures()) > 0 {
		var b strings.Builder
		b.WriteString("\n**Rules that went wrong, so that they say nothing**\n\n")
		for _, f := range r.GetFailures() {
			fmt.Fprintf(&b, "- %s %s of %s: %s\n", code(a.place(f.GetSubject())), code(f.GetRuleId()), inMarkdown(thing(f.GetSubject())), inMarkdown(f.GetMessage()))
		}
		m.section(b.String())
	}
	m.section(m.open(a))
	m.section("\n" + inMarkdown(coverageText(r.GetCoverage())) + "\n")
}

// finding is one line for a reader in a hurry with everything else folded behind it.
func (m *markdown) finding(a *Answer, f, primary *skidrulev1.Finding) string {
	var b strings.Builder
	first, rest := sentence(f.GetMessage())
	// A summary is HTML inside Markdown, where escapes by backslash do not hold everywhere.
	fmt.Fprintf(&b, "\n<details><summary><b>%s</b>%s <code>%s</code> %s</summary>\n\n", severityWord(f.GetSeverity()), covered(f), inHTML(a.place(f.GetSubject())), inHTML(first))
	item := func(head, text string) {
		if text != "" {
			b.WriteString("- " + head + ": " + text + "\n")
		}
	}
	if rest != "" {
		b.WriteString(inMarkdown(rest) + "\n\n")
	}
	item("rule", code(f.GetRuleId())+": "+inMarkdown(f.GetTitle()))
	item("hazard", inMarkdown(hazardText(f.GetHazard())))
	item("cases", inMarkdown(casesText(a.Report, f.GetCaseIds())))
	if primary != nil {
		item("consequence of", code(primary.GetRuleId())+" of "+inMarkdown(thing(primary.GetSubject())))
	}
	item("takes part", inMarkdown(things(f.GetRelated())))
	item("rests on assumed", inMarkdown(things(f.GetAssumed())))
	if w := f.GetWaiver(); w != nil {
		item("waived", inMarkdown(waiverText(w)))
	}
	if len(f.GetPath()) > 0 {
		b.WriteString("\n| way through the drawing | | |\n| --- | --- | --- |\n")
		for _, s := range f.GetPath() {
			role, _, _ := roleWords(s, true)
			fmt.Fprintf(&b, "| %s | %s | %s |\n", inMarkdown(s.GetTag()), inMarkdown(kindWords(s)), inMarkdown(role))
		}
	}
	if len(f.GetEvidence()) > 0 {
		b.WriteString("\n| number | measured | limit |\n| --- | --- | --- |\n")
		for _, n := range numbers(f.GetEvidence(), m.units) {
			fmt.Fprintf(&b, "| %s | %s | %s |\n", inMarkdown(n.Label), inMarkdown(n.Measured), inMarkdown(n.Limit))
		}
	}
	if f.GetMend() != "" {
		b.WriteString("\n**To mend:** " + inMarkdown(f.GetMend()) + "\n")
	}
	for _, s := range f.GetSources() {
		b.WriteString("\nSource: " + inMarkdown(sourceText(s)) + "\n")
	}
	b.WriteString("\n</details>\n")
	return b.String()
}

// open is what could not be verified, with the data to state.
func (m *markdown) open(a *Answer) string {
	list := openRules(a.Report)
	if len(list) == 0 {
		return ""
	}
	var b strings.Builder
	if l := shortList(a.Report); len(l.Data) > 0 {
		fmt.Fprintf(&b, "\n**To state, so that %d of %d open outcomes can be decided (a short list, chosen greedily):**\n\n", l.Decided, l.Open)
		for _, path := range l.Data {
			text := code(path)
			if at := a.lineColumn(path); at != "" {
				text += " at " + at
			}
			if e := example(path); e != "" {
				text += ", written like " + code(e)
			}
			b.WriteString("- " + text + "\n")
		}
	}
	fmt.Fprintf(&b, "\n<details><summary>Not verified, because data is not stated: %s</summary>\n\n", count(len(list), "rule", "rules"))
	for _, o := range list {
		fmt.Fprintf(&b, "- %s %s: %s\n", severityWord(o.severity), code(o.rule), inMarkdown(strings.Join(o.things, ", ")))
	}
	b.WriteString("\n</details>\n")
	return b.String()
}

func (m *markdown) cautions(list []string) {
	for i, c := range list {
		if i == 0 {
			m.out.WriteString("\n---\n\n")
		}
		m.out.WriteString("- " + inMarkdown(c) + "\n")
	}
}

// sentence cuts the first sentence off a text.
func sentence(s string) (first, rest string) {
	for i := 0; i+2 < len(s); i++ {
		if s[i] == '.' && s[i+1] == ' ' {
			if r, _ := utf8.DecodeRuneInString(s[i+2:]); strings.ToUpper(string(r)) == string(r) {
				return s[:i+1], s[i+2:]
			}
		}
	}
	return s, ""
}

// inMarkdown makes text plain in Markdown: what would be markup is escaped, and a sign that would call a person or an issue is
// parted from its word by a space without width.
func inMarkdown(s string) string {
	var b strings.Builder
	for _, r := range clean(s) {
		switch r {
		case '\\', '`', '*', '_', '{', '}', '[', ']', '<', '>', '|', '~', '$', '&', '!':
			b.WriteByte('\\')
			b.WriteRune(r)
		case '@', '#':
			b.WriteRune(r)
			b.WriteRune('\u200b')
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// inHTML makes text plain in an HTML element inside Markdown.
func inHTML(s string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", "`", "&#96;", "*", "&#42;", "_", "&#95;", "[", "&#91;", "]", "&#93;",
		"~", "&#126;", "$", "&#36;", "\\", "&#92;", "|", "&#124;", "@", "@\u200b", "#", "#\u200b").Replace(clean(s))
}

// code sets text as code. A backquote in it would end it and becomes an apostrophe; a bar would end a cell of a table.
func code(s string) string {
	return "`" + strings.NewReplacer("`", "'", "|", "¦").Replace(clean(s)) + "`"
}
