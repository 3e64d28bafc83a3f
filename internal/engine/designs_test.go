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
	"air-not-dried":                    "feed-gas/dried",
	"barriers-share-cause":             "backflow/two-independent-barriers",
	"bed-switch-set-too-low":           "off-gas/bed-switch-set-point",
	"blockable-vent":                   "off-gas/vent-way-not-shut",
	"bypass-around-pot":                "off-gas/separator-before-destruct",
	"carbon-destruct-on-oxygen":        "off-gas/no-carbon-on-oxygen",
	"check-valve-downward":             "backflow/check-valve-mounting",
	"check-valve-reversed":             "backflow/check-valve-forward",
	"choked-destruct":                  "off-gas/back-pressure-at-burst",
	"concentrator-without-air":         "feed-gas/concentrator-has-air",
	"condensate-behind-destruct":       "off-gas/condensate-drains",
	"condensate-undrained":             "feed-gas/condensate-drained",
	"cooling-without-source":           "drawing/fluid-has-source",
	"destruct-burns-out":               "off-gas/bed-bears-ozone-heat",
	"destruct-for-weak-ozone":          "off-gas/destruct-takes-strongest-ozone",
	"destruct-not-heated":              "off-gas/destruct-heated",
	"destruct-set-too-low":             "off-gas/bed-above-dew-point",
	"destruct-too-small":               "off-gas/destruct-takes-full-flow",
	"dew-point-too-high":               "feed-gas/dew-point-at-cell",
	"float-crushed":                    "off-gas/float-bears-vessel-pressure",
	"float-drain-held-shut":            "off-gas/float-drain-opens",
	"float-held-shut":                  "off-gas/float-opens-at-highest-pressure",
	"heater-too-weak":                  "off-gas/heater-dries-carry-over",
	"line-drawn-backward":              "drawing/directions-agree",
	"liquid-pocket-before-destruct":    "off-gas/no-liquid-pocket",
	"lost-reference":                   "drawing/references-lead-somewhere",
	"lubricated-concentrator":          "feed-gas/built-in-compressor-oil-free",
	"no-bed-switch":                    "off-gas/heater-proven",
	"no-destruct-analyser":             "off-gas/destruct-proven",
	"no-droplet-separator":             "off-gas/separator-before-destruct",
	"no-dust-filter":                   "feed-gas/particles-at-cell",
	"no-filter-before-concentrator":    "feed-gas/filter-before-concentrator",
	"off-gas-from-liquid-port":         "drawing/phases-agree",
	"oil-in-feed":                      "feed-gas/oil-free",
	"oil-past-filter":                  "feed-gas/oil-at-cell",
	"open-end-in-vent-line":            "off-gas/no-open-end",
	"open-pipe-for-vent":               "off-gas/float-vent-not-bypassed",
	"orphan-component":                 "drawing/every-port-connected",
	"pot-drain-without-seal":           "off-gas/ozone-leaves-through-destruct",
	"pot-drained-by-hand":              "off-gas/pot-drains-itself",
	"pot-float-held-shut":              "off-gas/pot-drain-opens",
	"pot-inlet-at-top":                 "off-gas/pot-inlet-low-outlet-high",
	"pot-too-narrow":                   "off-gas/pot-separates-burst",
	"pot-without-hold-up":              "off-gas/pot-takes-slug",
	"purge-bypass-around-barriers":     "backflow/two-independent-barriers",
	"rating-above-part":                "drawing/rating-within-part",
	"relief-into-room":                 "off-gas/ozone-leaves-through-destruct",
	"residual-at-the-fish":             "off-gas/water-residual",
	"sample-line-into-room":            "off-gas/ozone-leaves-through-destruct",
	"seal-too-shallow":                 "off-gas/seal-deep-enough",
	"shared-valves-of-twin-generators": "backflow/no-way-around-barriers",
	"shut-off-valve-fails-open":        "backflow/automatic-shut-off",
	"shut-off-valve-one-way":           "backflow/automatic-shut-off",
	"single-check-valve":               "backflow/two-independent-barriers",
	"trap-above-its-line":              "backflow/trap-low-point",
	"trap-drain-to-closed-drain":       "backflow/trap-drain-free",
	"trap-drain-too-small":             "backflow/trap-takes-leak",
	"trap-drain-without-seal":          "backflow/trap-drain-sealed",
	"trap-on-injector-side":            "backflow/trap-before-generator",
	"trip-missing":                     "backflow/shut-off-tripped",
	"unconnected-port":                 "drawing/every-port-connected",
	"vacuum-breaker-in-feed":           "feed-gas/closed-to-damp-air",
	"vent-at-the-side":                 "off-gas/vent-at-high-point",
	"vent-beside-intake":               "off-gas/vent-clear-of-intakes",
	"vent-by-hand":                     "off-gas/gas-space-vents-itself",
	"vent-capped":                      "off-gas/vent-way-leads-out",
	"vent-indoors":                     "off-gas/vent-leads-outdoors",
	"vent-open-to-rain":                "off-gas/vent-keeps-rain-out",
}
