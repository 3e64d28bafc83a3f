package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// most is how many rows of a list are shown before the rest is only counted; the JSON report has them all.
const most = 20

// open is one rule with the things of which it could not be decided.
type open struct {
	rule     string
	severity skidrulev1.Severity
	things   []string
}

// unverified writes what could not be decided and the data that would decide it.
func (p *page) unverified(a *Answer) {
	list := openRules(a.Report)
	if len(list) == 0 {
		return
	}
	p.blank()
	p.line(p.ink(bold, "Not verified, because data is not stated:"))
	head := 0
	for _, o := range list {
		head = max(head, len(severityWord(o.severity)))
	}
	for _, o := range list {
		p.hung("  ", pad(severityWord(o.severity), head)+" ", severityInk(o.severity), o.rule+": "+strings.Join(o.things, ", "), plain)
	}
	// Where every datum that is asked for is needed, the questions are the list.
	if l := shortList(a.Report); len(l.Data) > 0 && len(l.Data) < len(a.Report.GetQuestions()) {
		p.blank()
		p.paragraph(capital(l.text())+":", bold, things(l.Data), plain)
	}
	p.questions(a)
}

func openRules(r *skidrulev1.Report) []open {
	byRule := map[string]*open{}
	var list []*open
	for _, o := range r.GetOutcomes() {
		if o.GetStatus() != skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE {
			continue
		}
		have := byRule[o.GetRuleId()]
		if have == nil {
			have = &open{rule: o.GetRuleId(), severity: o.GetSeverity()}
			byRule[have.rule] = have
			list = append(list, have)
		}
		if t := thing(o.GetSubject()); !slices.Contains(have.things, t) {
			have.things = append(have.things, t)
		}
	}
	slices.SortFunc(list, func(a, b *open) int { return cmp.Or(cmp.Compare(a.severity, b.severity), cmp.Compare(a.rule, b.rule)) })
	out := make([]open, len(list))
	for i, o := range list {
		out[i] = *o
	}
	return out
}

// questions lists the data that would decide the most, each at its place and with an example of how it is spelt.
func (p *page) questions(a *Answer) {
	qs := a.Report.GetQuestions()
	if len(qs) == 0 {
		return
	}
	p.blank()
	p.line(p.ink(bold, "Data that would decide the most, most useful first:"))
	shown := qs[:min(len(qs), most)]
	place, name := 0, 0
	rows := make([][3]string, len(shown))
	for i, q := range shown {
		rows[i] = [3]string{a.lineColumn(q.GetPath()), clean(thing(q.GetPath())), clean(useText(q))}
		if e := example(q.GetPath()); e != "" {
			rows[i][1] += ", written like " + e
		}
		place, name = max(place, len(rows[i][0])), max(name, width(rows[i][1]))
	}
	for _, r := range rows {
		if 2+place+2+name+2+width(r[2]) <= p.style.Width {
			p.line("  ", p.ink(faint, pad(r[0], place)), "  ", pad(r[1], name), "  ", r[2])
			continue
		}
		p.wrapped("  ", pad(r[0], place)+"  ", faint, r[1]+"; "+r[2])
	}
	if n := len(qs) - len(shown); n > 0 {
		p.line("  and ", count(n, "datum", "data"), " more; --format json lists all")
	}
}

func useText(q *skidrulev1.Question) string {
	s := "for " + count(int(q.GetOutcomes()), "outcome", "outcomes")
	if n := q.GetErrorOutcomes(); n > 0 && n < q.GetOutcomes() {
		s += fmt.Sprintf(", %d of severity error", n)
	} else if n > 0 {
		s += " of severity error"
	}
	return s
}

// example spells the datum at a path as a design file might; empty where the schema has no example.
func example(path string) string {
	f, err := designfile.FieldAt(&skidrulev1.Design{}, path)
	if err != nil {
		return ""
	}
	return designfile.Example(f.Descriptor)
}
