package engine_test

import (
	"cmp"
	"context"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// TestConsequencesFollowTheirCause asks that what only follows from another finding names it and stands behind it.
func TestConsequencesFollowTheirCause(t *testing.T) {
	mistakes, err := mistakeTrials()
	require.NoError(t, err)
	e := newEngine(t)
	linked := 0
	for name, m := range mistakes {
		before := map[string]string{}
		for _, f := range m.report.GetFindings() {
			if cause := f.GetConsequenceOf(); cause != "" {
				linked++
				rule, ok := e.Book().Find(f.GetRuleId())
				require.True(t, ok)
				assert.Contains(t, rule.Rule.GetConsequenceOf(), before[cause], "%s: %s", name, f.GetRuleId())
			}
			before[f.GetFingerprint()] = f.GetRuleId()
		}
	}
	assert.Greater(t, linked, 10)
}

// TestQuestionsCountWhatTheyDecide counts the outcomes that each missing datum leaves open, and asks for those first that decide most.
func TestQuestionsCountWhatTheyDecide(t *testing.T) {
	d, _ := reversed(t)
	for _, c := range d.GetComponents() {
		c.MaxPressurePaGauge, c.Part = nil, map[bool]string{true: c.Part}[c.GetSpec() == nil]
	}
	r := checked(t, d, &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FULL})
	type count struct{ all, errors int32 }
	want := map[string]count{}
	for _, o := range r.GetOutcomes() {
		if o.GetStatus() != notVerifiable {
			continue
		}
		for _, path := range o.GetMissing() {
			n := want[path]
			n.all++
			if o.GetSeverity() == skidrulev1.Severity_SEVERITY_ERROR {
				n.errors++
			}
			want[path] = n
		}
	}
	require.Greater(t, len(want), 5)
	got := map[string]count{}
	for _, q := range r.GetQuestions() {
		got[q.GetPath()] = count{q.GetOutcomes(), q.GetErrorOutcomes()}
	}
	assert.Equal(t, want, got)
	assert.True(t, slices.IsSortedFunc(r.GetQuestions(), func(a, b *skidrulev1.Question) int {
		return cmp.Or(cmp.Compare(b.GetErrorOutcomes(), a.GetErrorOutcomes()), cmp.Compare(b.GetOutcomes(), a.GetOutcomes()), cmp.Compare(a.GetPath(), b.GetPath()))
	}))
}

// TestMarginsAreSharesOfTheLimit asks how far each outcome is from turning: the nearest first, what is open behind.
func TestMarginsAreSharesOfTheLimit(t *testing.T) {
	d, _ := reversed(t)
	_, margins, err := newEngine(t).CheckMeasured(context.Background(), &skidrulev1.CheckDesignRequest{Design: d})
	require.NoError(t, err)
	measured, last := map[string]int{}, 0.0
	for i, m := range margins {
		measured[m.GetStatus()]++
		if m.Ratio == nil {
			assert.Equal(t, "not verifiable", m.GetStatus())
			assert.NotEmpty(t, m.GetDecidedBy())
			continue
		}
		assert.InDelta(t, (m.GetLimit()-m.GetValue())/math.Abs(m.GetLimit()), m.GetRatio(), 1e-12)
		assert.GreaterOrEqual(t, math.Abs(m.GetRatio()), last, "%d", i)
		last = math.Abs(m.GetRatio())
	}
	assert.Greater(t, measured["met"], 10)
}

func newEngine(t *testing.T) *engine.Engine {
	t.Helper()
	e, err := engine.New()
	require.NoError(t, err)
	return e
}

// TestRulesAreChosen leaves out a rule by nothing but its name, and changes severities with and without a reason.
func TestRulesAreChosen(t *testing.T) {
	d, found := reversed(t)
	rule := found.GetRuleId()
	assert.NotEmpty(t, of(checked(t, d, nil), rule))
	assert.Empty(t, of(checked(t, d, &skidrulev1.CheckOptions{Skip: []string{rule}}), rule))
	e := newEngine(t)
	change := func(s skidrulev1.Severity, reason string) error {
		_, err := e.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: d, Options: &skidrulev1.CheckOptions{
			Only: []string{rule}, RuleChanges: []*skidrulev1.RuleChange{{RuleId: rule, Severity: s, Reason: reason}},
		}})
		return err
	}
	require.Equal(t, skidrulev1.Severity_SEVERITY_ERROR, found.GetSeverity())
	assert.NoError(t, change(skidrulev1.Severity_SEVERITY_ERROR, ""), "it stays as it is")
	assert.NoError(t, change(skidrulev1.Severity_SEVERITY_NOTE, "seen to"))
	var wrong *engine.RequestError
	require.ErrorAs(t, change(skidrulev1.Severity_SEVERITY_NOTE, " "), &wrong)
	assert.Equal(t, "options.rule_changes[0].reason", wrong.Violations[0].Path)
}
