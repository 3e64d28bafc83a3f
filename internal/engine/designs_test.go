package engine_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

const designFolder = "../../testdata"

// readDesigns reads every design that the pattern finds below testdata, by the name of its folder.
func readDesigns(t *testing.T, pattern string) map[string]*skidrulev1.Design {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join(designFolder, pattern, "design.yaml"))
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	designs := make(map[string]*skidrulev1.Design, len(paths))
	for _, path := range paths {
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		f, err := designfile.Read(path, data)
		require.NoError(t, err)
		designs[filepath.Base(filepath.Dir(path))] = f.Design
	}
	return designs
}

// checkDesign asks every built-in rule of a design.
func checkDesign(t *testing.T, e *engine.Engine, design *skidrulev1.Design) *skidrulev1.Report {
	t.Helper()
	r, err := e.Check(context.Background(), &skidrulev1.CheckDesignRequest{
		Design:  design,
		Options: &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FULL},
	})
	require.NoError(t, err)
	return r
}

// TestCleanDesignsHaveNoFindings asks that designs without a mistake raise no error and no warning, that no rule fails of
// them, and that they state what every rule of severity error needs.
func TestCleanDesignsHaveNoFindings(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	for folder, design := range readDesigns(t, "*") {
		t.Run(folder, func(t *testing.T) {
			t.Parallel()
			r := checkDesign(t, e, design)
			for _, f := range r.GetFindings() {
				assert.Equal(t, skidrulev1.Severity_SEVERITY_NOTE, f.GetSeverity(), "%s: %s: %s", f.GetRuleId(), f.GetSubject(), f.GetMessage())
			}
			for _, f := range r.GetFailures() {
				assert.Fail(t, "a rule failed", "%s: %s: %s", f.GetRuleId(), f.GetSubject(), f.GetMessage())
			}
			for _, o := range r.GetOutcomes() {
				if o.GetStatus() == skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE && o.GetSeverity() == skidrulev1.Severity_SEVERITY_ERROR {
					assert.Fail(t, "a rule cannot be verified", "%s: %s: %v lacks %v", o.GetRuleId(), o.GetSubject(), o.GetCaseIds(), o.GetMissing())
				}
			}
		})
	}
}

// TestMistakesAreFound asks that every design with a mistake has a finding of the rule meant for it which the clean design
// of the same name has not.
func TestMistakesAreFound(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	clean := map[string]*skidrulev1.Design{}
	for _, design := range readDesigns(t, "*") {
		clean[design.GetName()] = design
	}
	mistakes := readDesigns(t, "mistakes/*")
	for folder, rule := range caughtBy {
		t.Run(folder, func(t *testing.T) {
			t.Parallel()
			wrong := mistakes[folder]
			require.NotNil(t, wrong, "there is no folder of this name")
			right := clean[wrong.GetName()]
			require.NotNil(t, right, "no clean design has the name %q", wrong.GetName())
			before := map[string]bool{}
			for _, f := range checkDesign(t, e, right).GetFindings() {
				before[f.GetRuleId()+" "+f.GetSubject()] = true
			}
			var fresh []string
			for _, f := range checkDesign(t, e, wrong).GetFindings() {
				if !before[f.GetRuleId()+" "+f.GetSubject()] {
					fresh = append(fresh, f.GetRuleId())
				}
			}
			assert.Contains(t, fresh, rule, fmt.Sprintf("new findings are %v", fresh))
		})
	}
}

// caughtBy names the rule that each mistake is meant for.
var caughtBy = map[string]string{
	"barriers-share-cause":             "backflow/two-independent-barriers",
	"blockable-vent":                   "off-gas/vent-way-not-shut",
	"bypass-around-pot":                "off-gas/separator-before-destruct",
	"carbon-destruct-on-oxygen":        "off-gas/no-carbon-on-oxygen",
	"check-valve-downward":             "backflow/check-valve-mounting",
	"check-valve-reversed":             "backflow/check-valve-forward",
	"destruct-not-heated":              "off-gas/destruct-heated",
	"float-held-shut":                  "off-gas/float-opens-at-highest-pressure",
	"liquid-pocket-before-destruct":    "off-gas/no-liquid-pocket",
	"no-droplet-separator":             "off-gas/separator-before-destruct",
	"orphan-component":                 "drawing/every-port-connected",
	"pot-drain-without-seal":           "off-gas/ozone-leaves-through-destruct",
	"purge-bypass-around-barriers":     "backflow/two-independent-barriers",
	"relief-into-room":                 "off-gas/ozone-leaves-through-destruct",
	"sample-line-into-room":            "off-gas/ozone-leaves-through-destruct",
	"shared-valves-of-twin-generators": "backflow/no-way-around-barriers",
	"shut-off-valve-fails-open":        "backflow/automatic-shut-off",
	"shut-off-valve-one-way":           "backflow/automatic-shut-off",
	"single-check-valve":               "backflow/two-independent-barriers",
	"trap-drain-to-closed-drain":       "backflow/trap-drain-free",
	"trap-on-injector-side":            "backflow/trap-before-generator",
	"trip-missing":                     "backflow/shut-off-tripped",
	"unconnected-port":                 "drawing/every-port-connected",
	"vent-indoors":                     "off-gas/vent-leads-outdoors",
}
