package report

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// tell notes that the page shall have the text of a rule and gives its anchor; empty where the rule is not at hand.
func (b *htmlBuilder) tell(id string) string {
	if b.rules[id] == nil {
		return ""
	}
	b.told[id] = true
	return ruleAnchor(id)
}

// ruleAnchor is the id of a rule's text in the page: letters and digits stay, others become their number.
func ruleAnchor(id string) string {
	var s strings.Builder
	s.WriteString("rule-")
	for _, r := range id {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '-' {
			s.WriteRune(r)
			continue
		}
		fmt.Fprintf(&s, "_%x", r)
	}
	return s.String()
}

func (b *htmlBuilder) title(id string) string { return clean(b.rules[id].GetTitle()) }

// ruleTexts are the texts of the rules that the page names, in order of id.
func (b *htmlBuilder) ruleTexts() []htmlRule {
	var list []htmlRule
	for _, id := range slices.Sorted(maps.Keys(b.told)) {
		r := b.rules[id]
		v := htmlRule{
			ID: ruleAnchor(id), Rule: clean(id), Title: clean(r.GetTitle()), Severity: severityWord(r.GetSeverity()), Hazard: hazardText(r.GetHazard()),
			Asked: clean(askedOf(r)), Why: clean(r.GetWhy()), Mend: clean(r.GetMend()), Applies: clean(r.GetAppliesWhen()), Condition: clean(r.GetCondition()), Pack: clean(r.GetPack()), Sources: each(each(r.GetSources(), sourceText), clean),
		}
		for _, q := range r.GetParameters() {
			v.Parameters = append(v.Parameters, htmlParameter{clean(q.GetName()), clean(q.GetValue()), clean(q.GetDescription()), clean(q.GetSource())})
		}
		list = append(list, v)
	}
	return list
}
