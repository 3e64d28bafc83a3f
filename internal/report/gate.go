package report

import (
	"fmt"
	"strings"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Gate says which reports pass.
type Gate struct {
	// Threshold is the mildest severity of a finding that fails the gate.
	Threshold skidrulev1.Severity
	// AllowUnverified lets reports pass in which rules went wrong or could not be verified.
	AllowUnverified bool
}

// Decision is one of three ways in which a report leaves the gate, from best to worst for a reader who wants to build.
type Decision int

// The decisions.
const (
	// Passed: no finding at or above the threshold, and nothing of severity error left open.
	Passed Decision = iota
	// Incomplete: no such finding, but a rule went wrong, one of severity error could not be verified, or nothing was.
	Incomplete
	// Broken: a finding at or above the threshold.
	Broken
)

// String is the decision as the JSON report spells it.
func (d Decision) String() string {
	return [...]string{"passed", "incomplete", "broken"}[d]
}

// ink is what a decision is painted with.
func (d Decision) ink() ink { return [...]ink{green, yellow, red}[d] }

// Verdict is what the gate says of a report or a comparison, with its reasons.
type Verdict struct {
	Decision Decision
	// Findings counts those at or above the threshold that no waiver or baseline covers.
	Findings int
	// Failures counts rules that went wrong.
	Failures int
	// Unverified counts rule-and-thing pairs of severity error that lack data.
	Unverified int
	// Nothing tells that no rule was met or broken.
	Nothing bool
	// Allowed tells that failures or unverified pairs were let pass.
	Allowed bool
}

// Judge decides about a report. A report that verified nothing never passes.
func (g Gate) Judge(r *skidrulev1.Report) Verdict {
	c := r.GetCoverage()
	v := Verdict{Failures: len(r.GetFailures()), Unverified: int(c.GetErrorNotVerifiable()), Nothing: c.GetMet()+c.GetBroken() == 0}
	for _, f := range r.GetFindings() {
		v.count(g, f)
	}
	return v.decided(g)
}

// judgeAll decides about the reports of answers; worst is the worst decision.
func (g Gate) judgeAll(answers []Answer) (list []Verdict, worst Decision) {
	for i := range answers {
		v := g.Judge(answers[i].Report)
		list, worst = append(list, v), max(worst, v.Decision)
	}
	return list, worst
}

// Worst is the worst decision about the reports of answers; Passed where there is none.
func (g Gate) Worst(answers []Answer) Decision {
	_, worst := g.judgeAll(answers)
	return worst
}

// JudgeComparison decides about a comparison: only what is new counts, and outcomes that the earlier revision could verify or did
// not have.
func (g Gate) JudgeComparison(c *skidrulev1.Comparison) Verdict {
	v := Verdict{Failures: len(c.GetFailures())}
	for _, f := range c.GetNewFindings() {
		v.count(g, f.GetFinding())
	}
	for _, o := range c.GetNewlyUnverified() {
		if o.GetSeverity() == skidrulev1.Severity_SEVERITY_ERROR {
			v.Unverified++
		}
	}
	return v.decided(g)
}

// count counts a finding that stands against the gate.
func (v *Verdict) count(g Gate, f *skidrulev1.Finding) {
	if f.GetSeverity() <= g.Threshold && f.GetWaiver() == nil && !f.GetInBaseline() {
		v.Findings++
	}
}

// decided draws the decision from what was counted.
func (v Verdict) decided(g Gate) Verdict {
	open := v.Failures+v.Unverified > 0
	switch {
	case v.Findings > 0:
		v.Decision = Broken
	case v.Nothing, open && !g.AllowUnverified:
		v.Decision = Incomplete
	}
	v.Allowed = open && g.AllowUnverified
	return v
}

// Words says the verdict about a report in one sentence.
func (g Gate) Words(v Verdict) string { return g.words(v, "", "could not") }

// comparisonWords says the verdict about a comparison in one sentence.
func (g Gate) comparisonWords(v Verdict) string { return g.words(v, "new ", "can no longer") }

func (g Gate) words(v Verdict, fresh, couldNot string) string {
	var parts []string
	if v.Unverified > 0 {
		parts = append(parts, count(v.Unverified, "outcome", "outcomes")+" of severity error "+couldNot+" be verified")
	}
	if v.Failures > 0 {
		parts = append(parts, count(v.Failures, "rule", "rules")+" went wrong")
	}
	open := strings.Join(parts, " and ")
	switch {
	case v.Decision == Broken:
		s := fmt.Sprintf("not passed: %s of severity %s", count(v.Findings, fresh+"finding", fresh+"findings"), g.thresholdWords())
		if open != "" {
			s += "; besides, " + open
		}
		return s
	case v.Nothing:
		return "incomplete: no rule could be decided, so nothing was verified"
	case v.Decision == Incomplete:
		return "incomplete: " + open + "; --allow-unverified accepts that"
	case v.Allowed:
		return "passed because --allow-unverified accepts it: " + open
	}
	return "passed: no " + fresh + "finding of severity " + g.thresholdWords()
}

func (g Gate) thresholdWords() string {
	word := severityWord(g.Threshold)
	if g.Threshold > skidrulev1.Severity_SEVERITY_ERROR {
		word += " or worse"
	}
	return word
}
