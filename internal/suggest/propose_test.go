package suggest_test

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/encoding/protojson"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/suggest"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func newEngine(t *testing.T) *engine.Engine {
	t.Helper()
	e, err := engine.New()
	require.NoError(t, err)
	return e
}

func propose(t *testing.T, e *engine.Engine, data []byte, o *skidrulev1.CheckOptions) *suggest.Result {
	t.Helper()
	r, err := opened(t, e, "design.yaml", data, o).Propose(context.Background())
	require.NoError(t, err)
	return r
}

func opened(t *testing.T, e *engine.Engine, name string, data []byte, o *skidrulev1.CheckOptions) *suggest.Mender {
	t.Helper()
	f, err := designfile.Read(name, data)
	require.NoError(t, err)
	m, err := suggest.Open(context.Background(), suggest.Request{
		Name: name, File: f, Data: data, Options: o, Check: e.Check, Catalogues: []*skidrulev1.Catalogue{catalogue.Demo()},
	})
	require.NoError(t, err)
	return m
}

func mistake(t *testing.T, folder string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("../../testdata/mistakes", folder, "design.yaml"))
	require.NoError(t, err)
	return data
}

func checked(t *testing.T, e *engine.Engine, text []byte) *skidrulev1.Report {
	t.Helper()
	f, err := designfile.Read("design.yaml", text)
	require.NoError(t, err)
	r, err := e.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: f.Design})
	require.NoError(t, err)
	return r
}

// TestProposalsMend asks for each sort of edit, and that the finding is gone when the edit is made.
func TestProposalsMend(t *testing.T) {
	e := newEngine(t)
	for folder, c := range map[string]struct{ rule, words string }{
		"check-valve-reversed":         {"backflow/check-valve-forward", "turn the check valve CV-2 in line G-2 round"},
		"blockable-vent":               {"off-gas/vent-way-not-shut", "lock the hand valve HV-9 open"},
		"bypass-around-pot":            {"off-gas/separator-before-destruct", "lock the hand valve HV-9 closed"},
		"purge-bypass-around-barriers": {"backflow/two-independent-barriers", "remove the bypass G-9 with HV-9 and its tees"},
		"trap-on-injector-side":        {"backflow/trap-before-generator", "move the liquid trap LT-1 in line G-2 between OG-1 and XV-1"},
		"destruct-too-small":           {"off-gas/destruct-takes-full-flow", "take the part demo/destruct-600"},
		"single-check-valve":           {"backflow/two-independent-barriers", "put the check valve CV-2 into line G-2"},
		"check-valve-downward":         {"backflow/check-valve-mounting", "for CV-2"},
		"cooling-bypass-left-open":     {"sizing/cooling-water-not-bypassed", "close the hand valve HV-8 and lock it"},
	} {
		t.Run(folder, func(t *testing.T) {
			data := mistake(t, folder)
			r := propose(t, e, data, nil)
			require.NotEmpty(t, r.Proposals)
			p := r.Proposals[0]
			assert.Equal(t, c.rule, p.Finding.GetRuleId())
			assert.Contains(t, p.Words, c.words)
			assert.Equal(t, skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET, p.Status)
			text, err := designfile.ApplyEdits(data, p.Edits)
			require.NoError(t, err)
			for _, f := range checked(t, e, text).GetFindings() {
				assert.NotEqual(t, p.Finding.GetFingerprint(), f.GetFingerprint())
			}
			for _, line := range strings.SplitAfter(string(data), "\n") {
				if strings.HasPrefix(strings.TrimSpace(line), "#") {
					assert.Contains(t, string(text), line, "comments stay")
				}
			}
		})
	}
}

// TestInsertedPartsStateNothing asks that what is put in has no datum but that of a catalogue, and that the check asks for what
// is not stated.
func TestInsertedPartsStateNothing(t *testing.T) {
	e := newEngine(t)
	r := propose(t, e, mistake(t, "single-check-valve"), &skidrulev1.CheckOptions{Only: []string{"backflow", "trips", "ratings"}})
	trap := -1
	for i, p := range r.Proposals {
		if strings.Contains(p.Words, "liquid trap LT-1") {
			trap = i
		}
	}
	require.GreaterOrEqual(t, trap, 0)
	f, err := designfile.Read("design.yaml", r.Text)
	require.NoError(t, err)
	for _, c := range f.Design.GetComponents() {
		switch c.GetTag() {
		case "CV-2":
			assert.NotEmpty(t, c.GetPart())
			assert.Nil(t, c.GetSpec())
			assert.Nil(t, c.MaxPressurePaGauge)
		case "LT-1":
			assert.Nil(t, c.MaxPressurePaGauge)
			assert.Nil(t, c.GetLiquidTrap().VolumeM3)
		}
	}
	open := map[string]bool{}
	for _, o := range checked(t, e, r.Text).GetOutcomes() {
		if o.GetStatus() == skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE {
			for _, m := range o.GetMissing() {
				open[m] = true
			}
		}
	}
	require.NotEmpty(t, r.Proposals[trap].Missing, "the questions are named")
	for _, m := range r.Proposals[trap].Missing {
		assert.True(t, open[m], "%s is asked for", m)
	}
	// A trap wants a trip, which an edit of the lines cannot give: it is told and not hidden.
	require.NotEmpty(t, r.Proposals[trap].New)
	assert.Equal(t, "trips/stops-on-high-trap-level", r.Proposals[trap].New[0].GetRuleId())
}

// The branch of a relief valve is moved before the valve that can shut it off; a valve that cannot be locked is not proposed for
// locking.
func TestReliefIsMovedBeforeAValve(t *testing.T) {
	e := newEngine(t)
	text := string(mistake(t, "valve-below-relief"))
	for _, change := range [][2]string{
		{"route: [PRV-1, CV-4, TE-5, HV-3, GF-1", "route: [PRV-1, CV-4, HV-9, TE-5, HV-3, GF-1"},
		{"route: [TE-5.branch, HV-9, PSV-1]", "route: [TE-5.branch, PSV-1]"},
		{"locked: false}", "locked: false, hand_valve: {lockable: false}}"},
	} {
		require.Contains(t, text, change[0])
		text = strings.Replace(text, change[0], change[1], 1)
	}
	r := propose(t, e, []byte(text), nil)
	require.NotEmpty(t, r.Proposals)
	assert.Equal(t, "ratings/regulator-failing-open", r.Proposals[0].Finding.GetRuleId())
	assert.Contains(t, r.Proposals[0].Words, "move the tee TE-5 in line G-1 between PRV-1 and CV-4")
	assert.Equal(t, skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET, r.Proposals[0].Status)
	for _, p := range r.Proposals {
		assert.NotContains(t, p.Words, "lock the hand valve HV-9")
	}
}

// TestProposalsLeaveNothingWorse asks that no finding is there afterwards that was not there before, but those that are named.
func TestProposalsLeaveNothingWorse(t *testing.T) {
	e := newEngine(t)
	for _, folder := range []string{"barriers-share-cause", "valve-below-relief", "choked-destruct", "steel-trap-in-ozone"} {
		data := mistake(t, folder)
		r := propose(t, e, data, nil)
		named := map[string]bool{}
		for _, f := range checked(t, e, data).GetFindings() {
			named[f.GetFingerprint()] = true
		}
		for _, p := range r.Proposals {
			for _, f := range p.New {
				named[f.GetFingerprint()] = true
			}
		}
		for _, f := range checked(t, e, r.Text).GetFindings() {
			if f.GetSeverity() <= skidrulev1.Severity_SEVERITY_WARNING {
				assert.True(t, named[f.GetFingerprint()], "%s: %s of %s", folder, f.GetRuleId(), f.GetSubject())
			}
		}
	}
}

// TestPatchesApply makes the proposals with another program that reads unified diffs.
func TestPatchesApply(t *testing.T) {
	git, err := exec.LookPath("git")
	require.NoError(t, err)
	e := newEngine(t)
	data := mistake(t, "single-check-valve")
	r := propose(t, e, data, nil)
	require.Greater(t, len(r.Proposals), 1)
	folder := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(folder, "design.yaml"), data, 0o644))
	var patch strings.Builder
	for _, p := range r.Proposals {
		patch.WriteString(p.Words + "\n" + p.Patch)
	}
	cmd := exec.Command(git, "apply", "-")
	cmd.Dir, cmd.Stdin = folder, strings.NewReader(patch.String())
	cmd.Env = append(os.Environ(), "GIT_CEILING_DIRECTORIES="+filepath.Dir(folder))
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
	got, err := os.ReadFile(filepath.Join(folder, "design.yaml"))
	require.NoError(t, err)
	assert.Equal(t, string(r.Text), string(got))
}

func TestNothingToPropose(t *testing.T) {
	e := newEngine(t)
	data, err := os.ReadFile("../../testdata/hatchery-side-stream/design.yaml")
	require.NoError(t, err)
	r := propose(t, e, data, nil)
	assert.Empty(t, r.Proposals)
	assert.Empty(t, r.Open)
	assert.Equal(t, string(data), string(r.Text))

	json, err := designfile.Read("design.yaml", mistake(t, "check-valve-reversed"))
	require.NoError(t, err)
	wire, err := protojson.Marshal(json.Design)
	require.NoError(t, err)
	unedited, err := opened(t, e, "design.json", wire, nil).Propose(context.Background())
	require.NoError(t, err)
	assert.True(t, unedited.Unedited)
	assert.Empty(t, unedited.Proposals)
	assert.NotEmpty(t, unedited.Open)

	// A waived finding is left alone.
	wrong := mistake(t, "check-valve-reversed")
	f := checked(t, e, wrong).GetFindings()[0]
	r = propose(t, e, wrong, &skidrulev1.CheckOptions{Only: []string{f.GetRuleId()}, Today: "2026-01-01", Waivers: []*skidrulev1.Waiver{
		{RuleId: f.GetRuleId(), Subject: f.GetSubject(), Reason: "r", Expires: "2026-02-01"},
	}})
	assert.Empty(t, r.Proposals)
}

// TestWhatIsReportedIsNotAskedAgain gives the report of a check that was made, of a design with nothing to mend and of one with a
// mistake, of which each edit is checked and the file itself is not.
func TestWhatIsReportedIsNotAskedAgain(t *testing.T) {
	e := newEngine(t)
	clean, err := os.ReadFile("../../testdata/hatchery-side-stream/design.yaml")
	require.NoError(t, err)
	for _, c := range []struct {
		data []byte
		asks bool
	}{{clean, false}, {mistake(t, "check-valve-reversed"), true}} {
		f, err := designfile.Read("design.yaml", c.data)
		require.NoError(t, err)
		full := &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FULL}
		report, err := e.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: f.Design, Options: full})
		require.NoError(t, err)
		asked := 0
		m, err := suggest.Open(context.Background(), suggest.Request{Name: "design.yaml", File: f, Data: c.data, Report: report, Catalogues: []*skidrulev1.Catalogue{catalogue.Demo()},
			Check: func(ctx context.Context, r *skidrulev1.CheckDesignRequest) (*skidrulev1.Report, error) {
				asked++
				assert.NotSame(t, f.Design, r.GetDesign())
				return e.Check(ctx, r)
			}})
		require.NoError(t, err)
		_, err = m.Safe(context.Background())
		require.NoError(t, err)
		r, err := m.Propose(context.Background())
		require.NoError(t, err)
		assert.Equal(t, c.asks, asked > 0)
		assert.Equal(t, c.asks, len(r.Proposals) > 0)
	}
}

func TestUnified(t *testing.T) {
	text := []byte("a\nb\nc\nd\ne\nf\ng\nh\ni\nj\nk")
	for name, c := range map[string]struct {
		edits []designfile.TextEdit
		want  string
	}{
		"a word":          {[]designfile.TextEdit{{From: 2, To: 3, Old: "b", New: "B"}}, "@@ -1,5 +1,5 @@\n a\n-b\n+B\n c\n d\n e\n"},
		"a line put in":   {[]designfile.TextEdit{{From: 2, To: 2, New: "x\n"}}, "@@ -1,4 +1,5 @@\n a\n+x\n b\n c\n d\n"},
		"a line out":      {[]designfile.TextEdit{{From: 2, To: 4, Old: "b\n"}}, "@@ -1,5 +1,4 @@\n a\n-b\n c\n d\n e\n"},
		"the last line":   {[]designfile.TextEdit{{From: 20, To: 21, Old: "k", New: "K"}}, "@@ -8,4 +8,4 @@\n h\n i\n j\n-k\n\\ No newline at end of file\n+K\n\\ No newline at end of file\n"},
		"two far apart":   {[]designfile.TextEdit{{From: 0, To: 1, Old: "a", New: "A"}, {From: 18, To: 18, New: "y\n"}}, "@@ -1,4 +1,4 @@\n-a\n+A\n b\n c\n d\n@@ -7,5 +7,6 @@\n g\n h\n i\n+y\n j\n k\n\\ No newline at end of file\n"},
		"refused by text": {[]designfile.TextEdit{{From: 0, To: 1, Old: "z"}}, ""},
	} {
		want := c.want
		if want != "" {
			want = "--- a/t\n+++ b/t\n" + want
		}
		assert.Equal(t, want, suggest.Unified("t", text, c.edits), name)
	}
}
