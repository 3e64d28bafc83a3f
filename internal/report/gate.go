package report

import (
	"fmt"

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

// Verdict is what the gate says of a report, with its reasons.
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
		if f.GetSeverity() <= g.Threshold && f.GetWaiver() == nil && !f.GetInBaseline() {
			v.Findings++
		}
	}
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

// Words says the verdict in one sentence.
func (g Gate) Words(v Verdict) string {
	open := ""
	if v.Unverified > 0 {
		open = fmt.Sprintf("%s of severity error could not be verified", count(v.Unverified, "outcome", "outcomes"))
	}
	if v.Failures > 0 {
		if open != "" {
			open += " and "
		}
		open += count(v.Failures, "rule", "rules") + " went wrong"
	}
	switch {
	case v.Decision == Broken:
		s := fmt.Sprintf("not passed: %s of severity %s", count(v.Findings, "finding", "findings"), g.thresholdWords())
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
	return "passed: no finding of severity " + g.thresholdWords()
}

func (g Gate) thresholdWords() string {
	word := severityWord(g.Threshold)
	if g.Threshold > skidrulev1.Severity_SEVERITY_ERROR {
		word += " or worse"
	}
	return word
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
