package session

import (
	"slices"
	"strings"

	"google.golang.org/protobuf/proto"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// snapshot is a report with the bytes of its parts, by which parts of two reports are compared.
type snapshot struct {
	report   *skidrulev1.Report
	outcomes map[string][]byte
	findings map[string][]byte
}

var stable = proto.MarshalOptions{Deterministic: true}

func snapshotOf(r *skidrulev1.Report) (*snapshot, error) {
	outcomes, err := bytesOf(r.GetOutcomes(), outcomeKey)
	if err != nil {
		return nil, err
	}
	findings, err := bytesOf(r.GetFindings(), (*skidrulev1.Finding).GetFingerprint)
	return &snapshot{r, outcomes, findings}, err
}

// bytesOf are the bytes of parts of a report, each by its key.
func bytesOf[T proto.Message](parts []T, key func(T) string) (map[string][]byte, error) {
	out := make(map[string][]byte, len(parts))
	for _, p := range parts {
		b, err := stable.Marshal(p)
		if err != nil {
			return nil, err
		}
		out[key(p)] = b
	}
	return out, nil
}

// outcomeKey is what makes an outcome the same before and after an edit. No two outcomes of a report share it.
func outcomeKey(o *skidrulev1.Outcome) string {
	return o.GetRuleId() + "\x00" + o.GetSubject() + "\x00" + o.GetStatus().String() + "\x00" + strings.Join(o.GetCaseIds(), "\x00")
}

// since tells what is different from a report before.
func (s *snapshot) since(before *snapshot) *skidrulev1.ReportChange {
	c := &skidrulev1.ReportChange{DesignName: s.report.GetDesignName(), DesignRevision: s.report.GetDesignRevision(), Coverage: s.report.GetCoverage()}
	c.Appeared, c.Changed = moved(s.report.GetOutcomes(), outcomeKey, before.outcomes, s.outcomes)
	for _, o := range before.report.GetOutcomes() {
		if _, ok := s.outcomes[outcomeKey(o)]; !ok {
			c.Disappeared = append(c.Disappeared, &skidrulev1.Outcome{RuleId: o.GetRuleId(), Subject: o.GetSubject(), Status: o.GetStatus(), CaseIds: o.GetCaseIds()})
		}
	}
	s.findingsSince(before, c)
	was, is := before.report, s.report
	if !equal(was.GetQuestions(), is.GetQuestions()) {
		c.Questions = &skidrulev1.QuestionList{Questions: is.GetQuestions()}
	}
	if !equal(was.GetCases(), is.GetCases()) {
		c.Cases = &skidrulev1.CaseList{Cases: is.GetCases()}
	}
	if !equal(was.GetAssumptions(), is.GetAssumptions()) {
		c.Assumptions = &skidrulev1.AssumptionList{Assumptions: is.GetAssumptions()}
	}
	if !equal(was.GetFailures(), is.GetFailures()) {
		c.Failures = &skidrulev1.FailureList{Failures: is.GetFailures()}
	}
	return c
}

func (s *snapshot) findingsSince(before *snapshot, c *skidrulev1.ReportChange) {
	var order, kept []string
	c.FindingsAppeared, c.FindingsChanged = moved(s.report.GetFindings(), (*skidrulev1.Finding).GetFingerprint, before.findings, s.findings)
	for _, f := range s.report.GetFindings() {
		order = append(order, f.GetFingerprint())
	}
	for _, f := range before.report.GetFindings() {
		id := f.GetFingerprint()
		if _, ok := s.findings[id]; ok {
			kept = append(kept, id)
		} else {
			c.FindingsDisappeared = append(c.FindingsDisappeared, id)
		}
	}
	if !slices.Equal(order, kept) {
		c.FindingOrder = order
	}
}

// moved gives the parts of a report that were not there before and those that were otherwise, each by its key.
func moved[T any](parts []T, key func(T) string, before, now map[string][]byte) (appeared, changed []T) {
	for _, p := range parts {
		k := key(p)
		switch was, ok := before[k]; {
		case !ok:
			appeared = append(appeared, p)
		case !slices.Equal(was, now[k]):
			changed = append(changed, p)
		}
	}
	return appeared, changed
}

// equal compares lists of messages.
func equal[T proto.Message](a, b []T) bool {
	return slices.EqualFunc(a, b, func(x, y T) bool { return proto.Equal(x, y) })
}
