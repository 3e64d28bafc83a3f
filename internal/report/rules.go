package report

import (
	"encoding/json"
	"io"
	"strings"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Rules lists rules for reading: severity, id, what must hold.
func Rules(w io.Writer, rules []*skidrulev1.Rule, style Style) error {
	p := newPage(w, style)
	severity, id := 0, 0
	for _, r := range rules {
		severity, id = max(severity, len(severityWord(r.GetSeverity()))), max(id, width(clean(r.GetId())))
	}
	for _, r := range rules {
		head := pad(severityWord(r.GetSeverity()), severity) + "  "
		if width(head)+id+2+24 > p.style.Width {
			p.line(p.ink(severityInk(r.GetSeverity()), head), clean(r.GetId()))
			p.wrapped("    ", "", plain, r.GetTitle())
			continue
		}
		lines := wrap(clean(r.GetTitle()), p.style.Width-width(head)-id-2)
		for i, l := range lines {
			if i == 0 {
				p.line(p.ink(severityInk(r.GetSeverity()), head), pad(clean(r.GetId()), id), "  ", l)
			} else {
				p.line(strings.Repeat(" ", width(head)+id+2), l)
			}
		}
	}
	p.line(count(len(rules), "rule", "rules"), "; `skidrule explain RULE` says more about one")
	return p.err
}

// Explain says all about one rule, from its file alone.
func Explain(w io.Writer, r *skidrulev1.Rule, style Style) error {
	p := newPage(w, style)
	p.line(p.ink(bold, clean(r.GetId())))
	p.wrapped("  ", "must hold: ", faint, r.GetTitle())
	p.wrapped("  ", "severity: ", faint, severityWord(r.GetSeverity()))
	if h := hazardText(r.GetHazard()); h != "" {
		p.wrapped("  ", "hazard: ", faint, h)
	}
	p.wrapped("  ", "asked of: ", faint, askedOf(r))
	if len(r.GetCases()) > 0 {
		p.wrapped("  ", "cases: ", faint, strings.Join(r.GetCases(), ", "))
	}
	if r.GetPack() != "" {
		p.wrapped("  ", "rule pack: ", faint, r.GetPack())
	}
	p.section("Why", r.GetWhy())
	p.section("To mend a break", r.GetMend())
	p.blank()
	p.line(p.ink(bold, "Condition"))
	if r.GetAppliesWhen() != "" {
		p.wrapped("  ", "applies when: ", faint, r.GetAppliesWhen())
	}
	p.wrapped("  ", "met when: ", faint, r.GetCondition())
	if len(r.GetParameters()) > 0 {
		p.blank()
		p.line(p.ink(bold, "Parameters, which a site may change"))
		for _, q := range r.GetParameters() {
			text := q.GetValue() + ": " + q.GetDescription()
			if q.GetSource() != "" {
				text += " (source: " + q.GetSource() + ")"
			}
			p.wrapped("  ", clean(q.GetName())+" = ", plain, text)
		}
	}
	if len(r.GetConsequenceOf()) > 0 {
		p.section("Only a consequence of, where both share a component", strings.Join(r.GetConsequenceOf(), ", "))
	}
	p.list("Sources", each(r.GetSources(), sourceText))
	p.examples(r)
	return p.err
}

func (p *page) section(head, text string) {
	if text == "" {
		return
	}
	p.blank()
	p.line(p.ink(bold, head))
	p.wrapped("  ", "", plain, text)
}

// examples lists what the rule's own examples come out as.
func (p *page) examples(r *skidrulev1.Rule) {
	if len(r.GetExamples())+len(r.GetCannotOccur()) == 0 {
		return
	}
	p.blank()
	p.line(p.ink(bold, "Examples in the rule file"))
	for _, e := range r.GetExamples() {
		text := strings.ReplaceAll(e.GetName(), "-", " ")
		if e.GetMissing() != "" {
			text += " (lacks " + thing(e.GetMissing()) + ")"
		}
		p.wrapped("  ", pad(spoken(e.GetExpect()), 14)+"  ", faint, text)
	}
	for _, c := range r.GetCannotOccur() {
		p.wrapped("  ", pad(spoken(c.GetOutcome()), 14)+"  ", faint, "cannot occur: "+c.GetReason())
	}
}

// askedOf says what a rule is asked of.
func askedOf(r *skidrulev1.Rule) string {
	list := strings.Join(each(r.GetKinds(), designfile.Spoken), ", ")
	switch r.GetSubject() {
	case skidrulev1.RuleSubject_RULE_SUBJECT_DESIGN:
		return "the design as a whole"
	case skidrulev1.RuleSubject_RULE_SUBJECT_LINE:
		return "each line"
	case skidrulev1.RuleSubject_RULE_SUBJECT_JOINT:
		return "each joint between a line and a port"
	case skidrulev1.RuleSubject_RULE_SUBJECT_PORT:
		if list == "" {
			return "each port"
		}
		return "each port of each " + list
	}
	if list == "" {
		return "each component"
	}
	return "each " + list
}

// RulesJSON writes rules for programs, each as the JSON of the Rule message.
func RulesJSON(w io.Writer, rules []*skidrulev1.Rule) error {
	out := struct {
		Version string            `json:"skidrule_rules"`
		Rules   []json.RawMessage `json:"rules"`
	}{Version: JSONVersion, Rules: []json.RawMessage{}}
	for _, r := range rules {
		raw, err := wire(r)
		if err != nil {
			return err
		}
		out.Rules = append(out.Rules, raw)
	}
	return writeJSON(w, out)
}
