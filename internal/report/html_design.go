package report

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
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
	byPrint := map[string]*skidrulev1.Finding{}
	for _, f := range r.GetFindings() {
		byPrint[f.GetFingerprint()] = f
	}
	for i, f := range r.GetFindings() {
		d.Findings = append(d.Findings, b.finding(a, f, byPrint[f.GetConsequenceOf()], d.ID+"-f"+strconv.Itoa(i+1), numbers[drawing.TagOf(f.GetSubject())]))
	}
	if len(d.Findings) > 0 {
		d.Highlighted = d.Findings[0].Tag + ": " + d.Findings[0].Head
	}
	for _, f := range r.GetFailures() {
		d.Failures = append(d.Failures, htmlRow{clean(f.GetRuleId()), clean(thing(f.GetSubject()) + ": " + f.GetMessage()), a.lineColumn(f.GetSubject())})
	}
	for _, o := range openRules(r) {
		d.Open = append(d.Open, htmlOpen{severityWord(o.severity), clean(o.rule), b.tell(o.rule), b.title(o.rule), cleanAll(o.things)})
	}
	if l := shortList(r); len(l.Data) > 0 {
		d.State = clean(capital(l.text()) + ": " + strings.Join(things(l.Data), ", ") + ".")
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
	for _, u := range a.Report.GetAssumptions() {
		text := end(u.Low, u.GetDimension(), b.options.Units) + " to " + end(u.High, u.GetDimension(), b.options.Units)
		if u.Low != nil && u.High != nil && u.GetLow() == u.GetHigh() {
			text = end(u.Low, u.GetDimension(), b.options.Units)
		}
		if u.GetReason() != "" {
			text += ", because: " + u.GetReason()
		}
		if u.GetAssumedBy() != "" {
			text += " (" + u.GetAssumedBy() + ")"
		}
		text += "; " + count(int(u.GetOutcomes()), "outcome rests", "outcomes rest") + " on it"
		place, _ := a.assumptionAt(u.GetPath())
		d.Assumed = append(d.Assumed, htmlRow{clean(thing(u.GetPath())), clean(text), place})
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
	head, more, _ := strings.Cut(message, ". ")
	if more != "" {
		head += "."
	}
	v := htmlFinding{
		ID: id, Severity: severityWord(f.GetSeverity()), Rule: clean(f.GetRuleId()), RuleID: b.tell(f.GetRuleId()), Tag: clean(thing(f.GetSubject())),
		Place: a.place(f.GetSubject()), Number: number, Head: head, More: more, Title: clean(f.GetTitle()), Hazard: hazardText(f.GetHazard()),
		Cases: clean(casesText(a.Report, f.GetCaseIds())), Why: clean(f.GetWhy()), Mend: clean(f.GetMend()),
		Related: clean(strings.Join(things(f.GetRelated()), ", ")), Assumed: clean(strings.Join(things(f.GetAssumed()), ", ")), Known: f.GetInBaseline(),
	}
	if primary != nil {
		v.Consequence = clean(primary.GetRuleId() + " of " + thing(primary.GetSubject()))
	}
	for _, e := range f.GetEvidence() {
		v.Numbers = append(v.Numbers, htmlNumber{clean(e.GetLabel()), clean(measured(e, b.options.Units)), clean(limit(e, b.options.Units))})
	}
	for _, s := range f.GetSources() {
		v.Sources = append(v.Sources, clean(sourceText(s)))
	}
	if w := f.GetWaiver(); w != nil {
		v.Waiver = clean(w.GetReason() + ", accepted by " + w.GetAcceptedBy() + ", until " + w.GetExpires())
	}
	v.Way = htmlWay(f.GetPath())
	p := drawing.PathOf(f)
	v.Components, v.Lines = jsonList(p.Components), jsonList(p.Lines)
	return v
}

// htmlWay is the way of a finding, a component a row with the lines that lead to it.
func htmlWay(steps []*skidrulev1.PathStep) []htmlStep {
	var way []htmlStep
	var lines []string
	for _, s := range steps {
		if strings.HasPrefix(s.GetElement(), "lines.") {
			lines = append(lines, clean(s.GetTag()))
			continue
		}
		role := spoken(s.GetRole())
		if s.GetRole() == skidrulev1.StepRole_STEP_ROLE_PASSES {
			role = ""
		}
		way = append(way, htmlStep{strings.Join(lines, ", "), clean(s.GetTag()), kindWords(s), role, clean(s.GetNote()), word(s.GetRole())})
		lines = nil
	}
	if len(lines) > 0 {
		way = append(way, htmlStep{Lines: strings.Join(lines, ", ")})
	}
	return way
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

func cleanAll(list []string) []string {
	out := make([]string, len(list))
	for i, s := range list {
		out[i] = clean(s)
	}
	return out
}

// counts is the summary in numbers.
func counts(r *skidrulev1.Report) []htmlCount {
	var n [4]int
	for _, f := range r.GetFindings() {
		if s := int(f.GetSeverity()); s < len(n) {
			n[s]++
		}
	}
	c := r.GetCoverage()
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
	var ids []string
	for id := range asked {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	var list []htmlTopic
	for _, id := range ids {
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
