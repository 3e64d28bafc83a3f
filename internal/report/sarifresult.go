package report

import (
	"fmt"
	"strings"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// finding is the result of a broken rule.
func (s *sarifWriter) finding(a *Answer, f *skidrulev1.Finding) sarifResult {
	r := sarifResult{RuleID: f.GetRuleId(), Kind: "fail", Level: sarifLevel(f.GetSeverity()), Locations: []sarifLocation{s.location(a, f.GetSubject())},
		Fingerprints: s.fingerprints(f.GetFingerprint())}
	r.RuleIndex, r.Rule = s.rules.reference(f.GetRuleId())
	text := inSARIF(f.GetMessage())
	var takes []string
	for i, path := range f.GetRelated() {
		if i == sarifMaxLocations {
			break
		}
		l, id := s.location(a, path), i+1
		l.ID, l.Message = &id, &sarifMessage{inSARIF(thing(path) + " takes part")}
		r.Related = append(r.Related, l)
		takes = append(takes, fmt.Sprintf("[%s](%d)", strings.NewReplacer("[", `\[`, "]", `\]`).Replace(inSARIF(thing(path))), id))
	}
	if len(takes) > 0 {
		text += " Takes part: " + strings.Join(takes, ", ") + "."
	}
	r.Message = sarifMessage{text}
	if steps := s.steps(a, f.GetPath()); len(steps) > 0 {
		r.Flows = []sarifFlow{{Threads: []sarifThread{{Steps: steps}}}}
	}
	if fix, ok := a.Fixes[f.GetFingerprint()]; ok {
		change := sarifArtifactChange{Artifact: s.file(a.File)}
		for _, c := range fix.Changes {
			// A piece of no length is where text is put in.
			change.Replacements = append(change.Replacements, sarifReplacement{sarifRegion{c.StartLine, c.StartColumn, c.EndLine, c.EndColumn}, sarifContent{c.Text}})
		}
		r.Fixes = []sarifFix{{sarifMessage{inSARIF(fix.Words)}, []sarifArtifactChange{change}}}
	}
	r.Properties = &sarifEvidence{Hazard: word(f.GetHazard()), Cases: f.GetCaseIds(), Evidence: numbers(f.GetEvidence(), quantity.Metric), Assumed: f.GetAssumed(),
		Mend: clean(f.GetMend()), Follows: f.GetConsequenceOf()}
	return r
}

// outcome is the result of a rule that is not broken, with the level that the standard gives to those; false for broken and
// failed ones, which are told elsewhere.
func (s *sarifWriter) outcome(a *Answer, o *skidrulev1.Outcome) (sarifResult, bool) {
	var kind, text string
	switch o.GetStatus() {
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET:
		kind, text = "pass", "is met by "+thing(o.GetSubject())
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_APPLICABLE:
		kind, text = "notApplicable", "does not apply to "+thing(o.GetSubject())
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE:
		kind, text = "open", "cannot be verified of "+thing(o.GetSubject())+", because data is not stated: "+things(o.GetMissing())
	default:
		return sarifResult{}, false
	}
	r := sarifResult{RuleID: o.GetRuleId(), Kind: kind, Level: "none", Message: sarifMessage{inSARIF(o.GetRuleId() + " " + text + ".")},
		Locations:    []sarifLocation{s.location(a, o.GetSubject())},
		Fingerprints: s.fingerprints("v1:" + kind + ":" + o.GetRuleId() + ":" + o.GetSubject()),
		Properties: &sarifEvidence{Hazard: word(o.GetHazard()), Cases: o.GetCaseIds(), Evidence: numbers(o.GetEvidence(), quantity.Metric), Missing: o.GetMissing(),
			Assumed: o.GetAssumed()}}
	r.RuleIndex, r.Rule = s.rules.reference(o.GetRuleId())
	return r, true
}

// fingerprints gives a result its identity from rule and element. Consumers that keep alerts read primaryLocationLineHash
// alone; it carries the same identity rather than a hash of the line, so that an alert survives every edit of its line. The
// ordinal tells equal ones of several designs of one run apart.
func (s *sarifWriter) fingerprints(identity string) map[string]string {
	s.seen[identity]++
	n := s.seen[identity]
	_, hash, _ := strings.Cut(identity, ":")
	print := fmt.Sprintf("%s:%d", hash, n)
	return map[string]string{"skidruleFinding/v1": print, "primaryLocationLineHash": print}
}

// location is the one place of a thing, with its element path. A thing without a place in the file stands at its beginning,
// since consumers demand a region.
func (s *sarifWriter) location(a *Answer, subject string) sarifLocation {
	l := sarifLocation{Physical: sarifPhysical{s.file(a.File), sarifRegion{1, 1, 1, 2}}}
	if at, ok := a.find(subject); ok {
		l.Physical.Region = regionOf(at.Line, at.Column, at.EndLine, at.EndColumn)
	}
	kind := "design"
	if list, _, ok := strings.Cut(subject, "."); ok {
		kind = strings.TrimSuffix(list, "s")
	}
	l.Logical = []sarifLogical{{Name: clean(thing(subject)), Path: clean(subject), Kind: kind}}
	return l
}

// regionOf is a region with all four numbers, never empty.
func regionOf(line, column, endLine, endColumn int) sarifRegion {
	r := sarifRegion{max(line, 1), max(column, 1), endLine, endColumn}
	if r.EndLine < r.StartLine || r.EndLine == r.StartLine && r.EndColumn <= r.StartColumn {
		r.EndLine, r.EndColumn = r.StartLine, r.StartColumn+1
	}
	r.EndColumn = max(r.EndColumn, 1)
	return r
}

// steps are the places of a way through the drawing.
func (s *sarifWriter) steps(a *Answer, path []*skidrulev1.PathStep) []sarifStep {
	var out []sarifStep
	for i, p := range path {
		if i == sarifMaxSteps-1 && len(path) > sarifMaxSteps {
			l := s.location(a, p.GetElement())
			l.Message = &sarifMessage{fmt.Sprintf("and %d steps more", len(path)-i)}
			return append(out, sarifStep{Location: l, Importance: "important"})
		}
		role, _, _ := roleWords(p, true)
		text := p.GetTag() + " (" + kindWords(p) + ")"
		if role != "" {
			text += ": " + role
		}
		step := sarifStep{Location: s.location(a, p.GetElement()), Importance: "unimportant"}
		step.Location.Message = &sarifMessage{inSARIF(text)}
		switch p.GetRole() {
		case skidrulev1.StepRole_STEP_ROLE_BARRIER, skidrulev1.StepRole_STEP_ROLE_NOT_COUNTED:
			step.Importance = "essential"
		case skidrulev1.StepRole_STEP_ROLE_SOURCE, skidrulev1.StepRole_STEP_ROLE_TARGET:
			step.Importance = "important"
		}
		if w := spoken(p.GetRole()); w != "" {
			step.State = map[string]sarifMessage{"role": {w}}
		}
		out = append(out, step)
	}
	return out
}
