package engine_test

import (
	"context"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// mistake reads a design with a mistake.
func mistake(t *testing.T, folder string) *skidrulev1.Design {
	t.Helper()
	path := filepath.Join(designFolder, "mistakes", folder, "design.yaml")
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	f, err := designfile.Read(path, data)
	require.NoError(t, err)
	return f.Design
}

// checked asks one rule of a design with waivers.
func checked(t *testing.T, d *skidrulev1.Design, o *skidrulev1.CheckOptions) *skidrulev1.Report {
	t.Helper()
	e, err := engine.New()
	require.NoError(t, err)
	r, err := e.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: d, Options: o})
	require.NoError(t, err)
	return r
}

func of(r *skidrulev1.Report, rule string) (out []*skidrulev1.Finding) {
	for _, f := range r.GetFindings() {
		if f.GetRuleId() == rule {
			out = append(out, f)
		}
	}
	return out
}

var errorGate = report.Gate{Threshold: skidrulev1.Severity_SEVERITY_ERROR, AllowUnverified: true}

const reversedFolder = "check-valve-reversed"

// reversed is a design with a valve put in the wrong way round, the rule that says so, and the finding.
func reversed(t *testing.T) (*skidrulev1.Design, *skidrulev1.Finding) {
	d := mistake(t, reversedFolder)
	r := checked(t, d, &skidrulev1.CheckOptions{Only: []string{caughtBy[reversedFolder]}})
	require.NotEmpty(t, r.GetFindings())
	require.Equal(t, report.Broken, errorGate.Judge(r).Decision)
	return d, r.GetFindings()[0]
}

func TestWaivers(t *testing.T) {
	d, found := reversed(t)
	rule := found.GetRuleId()
	waiver := func(change func(*skidrulev1.Waiver)) *skidrulev1.Waiver {
		w := &skidrulev1.Waiver{RuleId: rule, Subject: found.GetSubject(), Reason: "turned at the next stop", AcceptedBy: "plant safety", Expires: "2026-06-30"}
		change(w)
		return w
	}
	tag := found.GetSubject()[len("components."):]
	for name, c := range map[string]struct {
		waiver  *skidrulev1.Waiver
		today   string
		waived  bool
		meta    string // rule of the finding about the waiver
		message string
	}{
		"by element path":              {waiver(func(*skidrulev1.Waiver) {}), "2026-01-01", true, "", ""},
		"by tag":                       {waiver(func(w *skidrulev1.Waiver) { w.Subject = tag }), "2026-01-01", true, "", ""},
		"on its last day":              {waiver(func(*skidrulev1.Waiver) {}), "2026-06-30", true, "", ""},
		"on the day after":             {waiver(func(*skidrulev1.Waiver) {}), "2026-07-01", false, "waivers/expired", "expired on 2026-06-30"},
		"with a malformed day":         {waiver(func(w *skidrulev1.Waiver) { w.Expires = "30.6.2026" }), "2026-01-01", false, "waivers/expired", "is no day"},
		"with a day that never comes":  {waiver(func(w *skidrulev1.Waiver) { w.Expires = "2027-02-30" }), "2026-01-01", false, "waivers/expired", "is no day"},
		"without a last day":           {waiver(func(w *skidrulev1.Waiver) { w.Expires = "" }), "2026-01-01", false, "waivers/expired", "states no last day"},
		"of another thing":             {waiver(func(w *skidrulev1.Waiver) { w.Subject = "NO-SUCH" }), "2026-01-01", false, "waivers/unused", "nothing of that name"},
		"of a case the design has not": {waiver(func(w *skidrulev1.Waiver) { w.CaseId = "no_such" }), "2026-01-01", false, "waivers/unused", "no such case"},
	} {
		t.Run(name, func(t *testing.T) {
			r := checked(t, d, &skidrulev1.CheckOptions{Only: []string{rule}, Waivers: []*skidrulev1.Waiver{c.waiver}, Today: c.today})
			still := of(r, rule)
			require.NotEmpty(t, still, "a waived finding stays visible")
			assert.Equal(t, c.waived, still[0].GetWaiver() != nil)
			assert.Equal(t, !c.waived, errorGate.Judge(r).Decision == report.Broken)
			if c.waived {
				assert.EqualValues(t, 1, r.GetCoverage().GetWaived())
			}
			var metas []*skidrulev1.Finding
			metas = append(append(metas, of(r, "waivers/expired")...), of(r, "waivers/unused")...)
			if c.meta == "" {
				assert.Empty(t, metas)
				return
			}
			require.Len(t, metas, 1)
			assert.Equal(t, c.meta, metas[0].GetRuleId())
			assert.Contains(t, metas[0].GetMessage(), c.message)
			if c.meta == "waivers/expired" {
				assert.Contains(t, still[0].GetMessage(), c.message, "the finding says that its waiver is over")
			}
		})
	}
}

// TestWaiversOfRulesNotAskedAreNotJudged asks that a run with fewer rules or cases calls no waiver unused.
func TestWaiversOfRulesNotAskedAreNotJudged(t *testing.T) {
	d, found := reversed(t)
	w := &skidrulev1.Waiver{RuleId: found.GetRuleId(), Subject: "NO-SUCH", Reason: "r", Expires: "2030-01-01"}
	for name, o := range map[string]*skidrulev1.CheckOptions{
		"left out by only": {Only: []string{"drawing"}},
		"left out by skip": {Only: []string{"drawing", found.GetRuleId()}, Skip: []string{found.GetRuleId()}},
		"switched off": {Only: []string{found.GetRuleId()}, RuleChanges: []*skidrulev1.RuleChange{{
			RuleId: found.GetRuleId(), Severity: skidrulev1.Severity_SEVERITY_OFF, Reason: "not here",
		}}},
		"asked in one case": {Only: []string{found.GetRuleId()}, CaseIds: []string{"normal"}},
	} {
		o.Waivers, o.Today = []*skidrulev1.Waiver{w}, "2026-01-01"
		assert.Empty(t, of(checked(t, d, o), "waivers/unused"), name)
	}
	// A lapsed one is told in any run.
	w.Expires = "2020-01-01"
	assert.Len(t, of(checked(t, d, &skidrulev1.CheckOptions{Only: []string{"drawing"}, Waivers: []*skidrulev1.Waiver{w}, Today: "2026-01-01"}), "waivers/expired"), 1)
}

// TestWaiversByCase asks that a finding is waived when waivers cover each of its cases, and not before.
func TestWaiversByCase(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	mistakes, err := mistakeTrials()
	require.NoError(t, err)
	for _, name := range slices.Sorted(maps.Keys(mistakes)) {
		m := mistakes[name]
		for _, f := range m.report.GetFindings() {
			if len(f.GetCaseIds()) < 2 || f.GetSeverity() != skidrulev1.Severity_SEVERITY_ERROR {
				continue
			}
			o := &skidrulev1.CheckOptions{Only: []string{f.GetRuleId()}, Today: "2026-01-01"}
			for i, id := range f.GetCaseIds() {
				o.Waivers = append(o.Waivers, &skidrulev1.Waiver{RuleId: f.GetRuleId(), Subject: f.GetSubject(), CaseId: id, Reason: "watched", Expires: "2026-02-01"})
				r, err := e.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: m.design, Options: o})
				require.NoError(t, err)
				told := 0
				for _, g := range of(r, f.GetRuleId()) {
					if g.GetSubject() == f.GetSubject() {
						told++
						assert.Equal(t, i == len(f.GetCaseIds())-1, g.GetWaiver() != nil)
						if g.GetWaiver() == nil {
							assert.Contains(t, g.GetMessage(), "It is waived in case "+id+" alone")
						}
					}
				}
				assert.Equal(t, 1, told, name)
				assert.Empty(t, of(r, "waivers/unused"))
			}
			return
		}
	}
	require.Fail(t, "no mistake shows in several cases")
}

// TestWaiverRequestsThatCannotBeJudged asks for a violation that names the field.
func TestWaiverRequestsThatCannotBeJudged(t *testing.T) {
	d, found := reversed(t)
	e, err := engine.New()
	require.NoError(t, err)
	whole := &skidrulev1.Waiver{RuleId: found.GetRuleId(), Subject: "CV-1", Reason: "r", Expires: "2026-02-01"}
	for path, o := range map[string]*skidrulev1.CheckOptions{
		"options.waivers[0].reason":  {Waivers: []*skidrulev1.Waiver{{RuleId: found.GetRuleId(), Subject: "CV-1", Reason: "  "}}},
		"options.waivers[0].rule_id": {Waivers: []*skidrulev1.Waiver{{RuleId: "backflow/none", Subject: "CV-1", Reason: "r"}}},
		"options.waivers[0].subject": {Waivers: []*skidrulev1.Waiver{{RuleId: found.GetRuleId(), Reason: "r"}}},
		"options.waivers[1]":         {Waivers: []*skidrulev1.Waiver{whole, whole}},
		"options.today":              {Today: "tomorrow"},
	} {
		_, err := e.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: d, Options: o})
		var wrong *engine.RequestError
		require.ErrorAs(t, err, &wrong, path)
		require.Len(t, wrong.Violations, 1, path)
		assert.Equal(t, path, wrong.Violations[0].Path)
	}
}

func TestBaseline(t *testing.T) {
	d, found := reversed(t)
	o := &skidrulev1.CheckOptions{Only: []string{found.GetRuleId()}, Baseline: []string{"v1:none", found.GetFingerprint()}}
	r := checked(t, d, o)
	assert.True(t, r.GetFindings()[0].GetInBaseline())
	assert.EqualValues(t, 1, r.GetCoverage().GetInBaseline())
	assert.NotEqual(t, report.Broken, errorGate.Judge(r).Decision)

	// What is said about waivers cannot be made known.
	o.Waivers = []*skidrulev1.Waiver{{RuleId: found.GetRuleId(), Subject: found.GetSubject(), Reason: "r", Expires: "2026-02-01"}}
	o.Today = "2026-03-01"
	meta := of(checked(t, d, o), "waivers/expired")
	require.Len(t, meta, 1)
	o.Baseline = append(o.Baseline, meta[0].GetFingerprint())
	assert.False(t, of(checked(t, d, o), "waivers/expired")[0].GetInBaseline())
}
