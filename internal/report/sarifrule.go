package report

import (
	"slices"
	"strings"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// ruleTable is the rules of a SARIF run by tool component: the built-in ones in the driver, each pack in an extension.
type ruleTable struct {
	tool  sarifTool
	place map[string]rulePlace
}

// rulePlace is where a rule stands: extension -1 is the driver.
type rulePlace struct{ extension, index int }

func newRuleTable(rules []*skidrulev1.Rule, version string) *ruleTable {
	t := &ruleTable{place: map[string]rulePlace{}}
	t.tool.Driver = sarifComponent{
		Name: "skidrule", Version: version,
		Short:         &sarifText{Text: "Checks the flow diagrams of ozone contact skids."},
		Notifications: sarifNotices(),
	}
	if semantic(version) {
		t.tool.Driver.SemanticVersion = strings.TrimPrefix(version, "v")
	}
	sorted := slices.SortedStableFunc(slices.Values(rules), func(a, b *skidrulev1.Rule) int { return strings.Compare(a.GetId(), b.GetId()) })
	packs := map[string]int{}
	for _, r := range sorted {
		if _, twice := t.place[r.GetId()]; twice || r.GetSeverity() == skidrulev1.Severity_SEVERITY_OFF {
			continue
		}
		into, extension := &t.tool.Driver, -1
		if r.GetPack() != "" {
			n, have := packs[r.GetPack()]
			if !have {
				n = len(t.tool.Extensions)
				packs[r.GetPack()] = n
				t.tool.Extensions = append(t.tool.Extensions, sarifComponent{Name: clean(r.GetPack())})
			}
			into, extension = &t.tool.Extensions[n], n
		}
		t.place[r.GetId()] = rulePlace{extension, len(into.Rules)}
		into.Rules = append(into.Rules, descriptor(r))
	}
	return t
}

// semantic tells whether a version is one of semantic versioning, with or without v before it.
func semantic(version string) bool {
	core, _, _ := strings.Cut(strings.TrimPrefix(version, "v"), "-")
	core, _, _ = strings.Cut(core, "+")
	parts := strings.Split(core, ".")
	return len(parts) == 3 && !slices.ContainsFunc(parts, func(p string) bool { return p == "" || strings.Trim(p, "0123456789") != "" })
}

// reference gives the index into the driver's rules, or the reference into an extension; neither for an unknown rule.
func (t *ruleTable) reference(id string) (*int, *sarifReference) {
	at, ok := t.place[id]
	if !ok {
		return nil, nil
	}
	if at.extension < 0 {
		return &at.index, nil
	}
	return nil, &sarifReference{ID: id, Index: &at.index, Component: &sarifToolReference{Name: t.tool.Extensions[at.extension].Name, Index: at.extension}}
}

// descriptor is the metadata of a rule, all of it from the rule's own file.
func descriptor(r *skidrulev1.Rule) sarifDescriptor {
	topic, slug, _ := strings.Cut(r.GetId(), "/")
	tags := []string{topic}
	if r.GetHazard() != skidrulev1.Hazard_HAZARD_UNSPECIFIED {
		tags = append(tags, "hazard:"+word(r.GetHazard()))
	}
	full := r.GetWhy()
	if full == "" {
		full = r.GetTitle()
	}
	return sarifDescriptor{
		ID: r.GetId(), Name: shortened(camel(slug), 255),
		Short: &sarifText{Text: shortened(capital(clean(r.GetTitle())), 1024)}, Full: &sarifText{Text: shortened(clean(full), 1024)},
		Help:    &sarifText{Text: helpText(r), Markdown: helpMarkdown(r)},
		Default: &sarifConfiguration{Level: sarifLevel(r.GetSeverity())},
		Properties: &sarifRuleProperties{Tags: tags, Precision: "high",
			Severity: map[string]string{"error": "error", "warning": "warning", "note": "recommendation"}[sarifLevel(r.GetSeverity())]},
	}
}

// sarifLevel spells a severity; the words are the same but for a severity that is not stated.
func sarifLevel(s skidrulev1.Severity) string {
	switch s {
	case skidrulev1.Severity_SEVERITY_ERROR:
		return "error"
	case skidrulev1.Severity_SEVERITY_WARNING:
		return "warning"
	case skidrulev1.Severity_SEVERITY_NOTE:
		return "note"
	}
	return "none"
}

// helpParts are the headed texts of a rule, in the order in which a reader wants them.
func helpParts(r *skidrulev1.Rule) [][2]string {
	parts := [][2]string{{"Must hold", r.GetTitle()}, {"Hazard", hazardText(r.GetHazard())}, {"Why", r.GetWhy()}, {"To mend a break", r.GetMend()}}
	for _, p := range r.GetParameters() {
		parts = append(parts, [2]string{"Parameter " + p.GetName(), p.GetValue() + ": " + p.GetDescription()})
	}
	for _, s := range r.GetSources() {
		parts = append(parts, [2]string{"Source", sourceText(s)})
	}
	return slices.DeleteFunc(parts, func(p [2]string) bool { return p[1] == "" })
}

func helpText(r *skidrulev1.Rule) string {
	var lines []string
	for _, p := range helpParts(r) {
		lines = append(lines, clean(p[0])+": "+clean(p[1]))
	}
	return strings.Join(lines, "\n")
}

func helpMarkdown(r *skidrulev1.Rule) string {
	var lines []string
	for _, p := range helpParts(r) {
		lines = append(lines, "**"+inMarkdown(p[0])+":** "+inMarkdown(p[1]))
	}
	return strings.Join(lines, "\n\n")
}

// camel turns a slug into a name, as TwoIndependentBarriers.
func camel(slug string) string {
	var b strings.Builder
	for w := range strings.SplitSeq(slug, "-") {
		b.WriteString(capital(w))
	}
	return b.String()
}

// shortened cuts text to a number of code points, with a sign that something is missing.
func shortened(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return s
}
