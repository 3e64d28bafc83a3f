package report

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/skidrule/skidrule/internal/drawing"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// htmlBuilder turns answers into what the template shows.
type htmlBuilder struct {
	gate    Gate
	options HTMLOptions
	rules   map[string]*skidrulev1.Rule
	// told are the ids of the rules whose texts the page needs.
	told map[string]bool
}

func (b *htmlBuilder) design(ctx context.Context, a *HTMLAnswer, number int) (htmlDesign, error) {
	r := a.Report
	v := b.gate.Judge(r)
	d := htmlDesign{
		ID: "d" + strconv.Itoa(number), Name: designName(r), Revision: clean(r.GetDesignRevision()), Description: clean(a.Design.GetDescription()),
		File: clean(a.File), Verdict: b.gate.Words(v), Decision: v.Decision.String(), Counts: counts(r), Coverage: coverageWords(r.GetCoverage()),
	}
	marks := drawing.Marks(r)
	if err := b.draw(ctx, a, &d, marks); err != nil {
		return d, err
	}
	numbers := map[string]int{}
	for _, m := range marks {
		numbers[m.Tag] = m.Number
	}
	primaries := primaries(r)
	for i, f := range r.GetFindings() {
		d.Findings = append(d.Findings, b.finding(a, f, primaries[i], d.ID+"-f"+strconv.Itoa(i+1), numbers[drawing.TagOf(f.GetSubject())]))
	}
	if len(d.Findings) > 0 {
		d.Highlighted = d.Findings[0].Tag + ": " + d.Findings[0].Head
	}
	for _, f := range r.GetFailures() {
		d.Failures = append(d.Failures, htmlRow{clean(f.GetRuleId()), clean(thing(f.GetSubject()) + ": " + f.GetMessage()), a.lineColumn(f.GetSubject())})
	}
	for _, o := range openRules(r) {
		d.Open = append(d.Open, htmlOpen{severityWord(o.severity), clean(o.rule), b.tell(o.rule), b.title(o.rule), each(o.things, clean)})
	}
	if l := shortList(r); len(l.Data) > 0 {
		d.State = clean(capital(l.naming()) + ".")
	}
	for _, q := range r.GetQuestions() {
		d.Questions = append(d.Questions, htmlQuestion{a.lineColumn(q.GetPath()), clean(thing(q.GetPath())), clean(example(q.GetPath())), useText(q)})
	}
	b.rest(a, &d)
	d.Topics = b.topics(r)
	b.solved(a, &d)
	return d, nil
}

// rest fills in assumptions and cases.
func (b *htmlBuilder) rest(a *HTMLAnswer, d *htmlDesign) {
	places := a.assumptionPlaces()
	for _, u := range a.Report.GetAssumptions() {
		text := strings.TrimPrefix(assumedText(u, b.options.Units), "from ")
		d.Assumed = append(d.Assumed, htmlRow{clean(thing(u.GetPath())), clean(text), places[u.GetPath()]})
	}
	for _, c := range a.Report.GetCases() {
		if c.GetExcludedBecause() != "" {
			d.Excluded = append(d.Excluded, htmlRow{Name: clean(c.GetId()), Text: clean(c.GetExcludedBecause())})
		} else {
			d.Cases = append(d.Cases, htmlRow{Name: clean(c.GetId()), Text: clean(c.GetTitle())})
		}
	}
}

// draw makes the sheets. A design that cannot be drawn has the reason in their place.
func (b *htmlBuilder) draw(ctx context.Context, a *HTMLAnswer, d *htmlDesign, marks []drawing.Mark) error {
	o := drawing.Options{Date: b.options.Date, Theme: drawing.ThemeAuto, IDPrefix: d.ID + "-", Data: a.Data}
	o.Overlay.Unlisted = true
	for _, m := range marks {
		if m.Number > 0 {
			o.Overlay.Markers = append(o.Overlay.Markers, drawing.Marker{Number: m.Number, Tag: m.Tag})
		}
	}
	if len(o.Overlay.Markers) > 1000 {
		o.Overlay.Markers = o.Overlay.Markers[:1000]
	}
	if list := a.Report.GetFindings(); len(list) > 0 {
		o.Overlay.Path = drawing.PathOf(list[0])
	}
	if a.Design == nil {
		d.Undrawn = "the design is not at hand"
		return nil
	}
	pages, err := drawing.Draw(ctx, a.Design, o)
	if errors.Is(err, drawing.ErrDesign) {
		d.Undrawn = clean(err.Error())
		return nil
	}
	for i := range pages {
		s := pages[i].Sheet
		label := fmt.Sprintf("Sheet %d of %d", s.Number, s.Of)
		if s.Name != "" {
			label += ", " + clean(s.Name)
		}
		// The drawing escapes what it takes from the design.
		d.Sheets = append(d.Sheets, htmlSheet{d.ID + "-sheet" + strconv.Itoa(s.Number), label, template.HTML(pages[i].SVG())})
	}
	return err
}

func (b *htmlBuilder) finding(a *HTMLAnswer, f, primary *skidrulev1.Finding, id string, number int) htmlFinding {
	tag := drawing.TagOf(f.GetSubject())
	message := strings.TrimPrefix(clean(f.GetMessage()), clean(tag)+": ")
	head, more := sentence(message)
	v := htmlFinding{
		ID: id, Severity: severityWord(f.GetSeverity()), Rule: clean(f.GetRuleId()), RuleID: b.tell(f.GetRuleId()), Tag: clean(thing(f.GetSubject())),
		Place: a.place(f.GetSubject()), Number: number, Head: head, More: more, Title: clean(f.GetTitle()), Hazard: hazardText(f.GetHazard()),
		Cases: clean(casesText(a.Report, f.GetCaseIds())), Why: clean(f.GetWhy()), Mend: clean(f.GetMend()),
		Related: clean(things(f.GetRelated())), Assumed: clean(things(f.GetAssumed())), Known: f.GetInBaseline(),
		Numbers: numbers(f.GetEvidence(), b.options.Units), Sources: each(each(f.GetSources(), sourceText), clean), Way: each(legs(f.GetPath()), htmlLeg),
	}
	if primary != nil {
		v.Consequence = clean(primary.GetRuleId() + " of " + thing(primary.GetSubject()))
	}
	if w := f.GetWaiver(); w != nil {
		v.Waiver = clean(waiverText(w))
	}
	p := drawing.PathOf(f)
	v.Components, v.Lines = jsonList(p.Components), jsonList(p.Lines)
	return v
}

// htmlLeg is a row of a way.
func htmlLeg(l leg) htmlStep {
	role := spoken(l.step.GetRole())
	if l.step.GetRole() == skidrulev1.StepRole_STEP_ROLE_PASSES {
		role = ""
	}
	return htmlStep{l.lines, clean(l.step.GetTag()), kindWords(l.step), role, clean(l.step.GetNote()), word(l.step.GetRole())}
}

func jsonList(list []string) string {
	if list == nil {
		list = []string{}
	}
	raw, err := json.Marshal(list)
	if err != nil {
		// Strings always have a JSON form.
		panic(err)
	}
	return string(raw)
}

// counts is the summary in numbers.
func counts(r *skidrulev1.Report) []htmlCount {
	n, c := severities(r.GetFindings()), r.GetCoverage()
	word := func(n int, one, many string) string {
		return strings.TrimPrefix(count(n, one, many), strconv.Itoa(n)+" ")
	}
	list := []htmlCount{
		{strconv.Itoa(n[1]), word(n[1], "error", "errors"), "error"},
		{strconv.Itoa(n[2]), word(n[2], "warning", "warnings"), "warning"},
		{strconv.Itoa(n[3]), word(n[3], "note", "notes"), "note"},
		{strconv.Itoa(int(c.GetMet())), "met", "met"},
		{strconv.Itoa(int(c.GetNotVerifiable())), "not verifiable", "open"},
	}
	if c.GetFailed() > 0 {
		list = append(list, htmlCount{strconv.Itoa(int(c.GetFailed())), "went wrong", "error"})
	}
	return list
}

// coverageWords says how much was verified.
func coverageWords(c *skidrulev1.Coverage) string {
	decided := c.GetMet() + c.GetBroken()
	s := fmt.Sprintf("%s, %s, %s asked. %d of %d outcomes that apply were decided: %d met, %d broken.",
		count(int(c.GetComponents()), "component", "components"), count(int(c.GetLines()), "line", "lines"), count(int(c.GetRules()), "rule", "rules"),
		decided, decided+c.GetNotVerifiable()+c.GetFailed(), c.GetMet(), c.GetBroken())
	if c.GetNotVerifiable() > 0 {
		s += fmt.Sprintf(" %d could not be verified, %d of them of severity error.", c.GetNotVerifiable(), c.GetErrorNotVerifiable())
	}
	s += fmt.Sprintf(" %d do not apply.", c.GetNotApplicable())
	return s + apartText(c)
}

// topics counts the outcomes of every rule that was asked. It needs a report with all outcomes.
func (b *htmlBuilder) topics(r *skidrulev1.Report) []htmlTopic {
	asked := map[string]*htmlAsked{}
	at := func(id string) *htmlAsked {
		if asked[id] == nil {
			asked[id] = &htmlAsked{Rule: clean(id), Title: b.title(id)}
			if rule := b.rules[id]; rule != nil {
				asked[id].Severity = severityWord(rule.GetSeverity())
			}
		}
		return asked[id]
	}
	for id := range b.rules {
		at(id)
	}
	for _, o := range r.GetOutcomes() {
		k := at(o.GetRuleId())
		k.Severity = severityWord(o.GetSeverity())
		switch o.GetStatus() {
		case skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET:
			k.Met++
		case skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN:
			k.Broken++
		case skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE:
			k.Open++
		case skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_APPLICABLE:
			k.Without++
		default:
			k.Failed++
		}
	}
	var list []htmlTopic
	for _, id := range slices.Sorted(maps.Keys(asked)) {
		name, _, _ := strings.Cut(id, "/")
		if len(list) == 0 || list[len(list)-1].Name != clean(name) {
			list = append(list, htmlTopic{Name: clean(name)})
		}
		t, k := &list[len(list)-1], asked[id]
		if b.told[id] {
			k.RuleID = ruleAnchor(id)
		}
		t.Rules = append(t.Rules, *k)
		t.Met, t.Broken, t.Open, t.Without, t.Failed = t.Met+k.Met, t.Broken+k.Broken, t.Open+k.Open, t.Without+k.Without, t.Failed+k.Failed
	}
	return list
}
