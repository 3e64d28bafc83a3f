package engine_test

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

const designFolder = "../../testdata"

// trial is a whole design of testdata with the answer to it.
type trial struct {
	design *skidrulev1.Design
	report *skidrulev1.Report
}

// cleanTrials and mistakeTrials read and check the designs, by the names of their folders, once for all tests.
var (
	cleanTrials   = sync.OnceValues(func() (map[string]trial, error) { return readTrials("*") })
	mistakeTrials = sync.OnceValues(func() (map[string]trial, error) { return readTrials("mistakes/*") })
)

func readTrials(pattern string) (map[string]trial, error) {
	e, err := engine.New()
	if err != nil {
		return nil, err
	}
	paths, err := filepath.Glob(filepath.Join(designFolder, pattern, "design.yaml"))
	if err != nil {
		return nil, err
	}
	trials := make(map[string]trial, len(paths))
	for _, path := range paths {
		data, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		f, err := designfile.Read(path, data)
		if err != nil {
			return nil, err
		}
		report, err := e.Check(context.Background(), &skidrulev1.CheckDesignRequest{
			Design:  f.Design,
			Options: &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FULL},
		})
		if err != nil {
			return nil, err
		}
		trials[filepath.Base(filepath.Dir(path))] = trial{f.Design, report}
	}
	return trials, nil
}

// cleanByName finds clean designs by the name that their copies keep.
func cleanByName(t *testing.T) map[string]trial {
	t.Helper()
	clean, err := cleanTrials()
	require.NoError(t, err)
	named := make(map[string]trial, len(clean))
	for _, c := range clean {
		named[c.design.GetName()] = c
	}
	require.Len(t, named, len(clean), "every clean design has a name of its own")
	return named
}

// TestCleanDesignsHaveNoFindings asks that designs without a mistake raise no error and no warning, that no rule fails of
// them, that they state what every rule of severity error needs, and that all of them together have one note at most: whatever
// is said of a sound design is a false alarm.
func TestCleanDesignsHaveNoFindings(t *testing.T) {
	clean, err := cleanTrials()
	require.NoError(t, err)
	require.NotEmpty(t, clean)
	var notes []string
	for folder, c := range clean {
		t.Run(folder, func(t *testing.T) {
			assert.Positive(t, c.report.GetCoverage().GetMet())
			for _, f := range c.report.GetFindings() {
				assert.Equal(t, skidrulev1.Severity_SEVERITY_NOTE, f.GetSeverity(), "%s: %s: %s", f.GetRuleId(), f.GetSubject(), f.GetMessage())
				notes = append(notes, folder+": "+f.GetRuleId()+": "+f.GetSubject())
			}
			for _, f := range c.report.GetFailures() {
				assert.Fail(t, "a rule failed", "%s: %s: %s", f.GetRuleId(), f.GetSubject(), f.GetMessage())
			}
			for _, o := range c.report.GetOutcomes() {
				if o.GetStatus() == skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE && o.GetSeverity() == skidrulev1.Severity_SEVERITY_ERROR {
					assert.Fail(t, "a rule cannot be verified", "%s: %s: %v lacks %v", o.GetRuleId(), o.GetSubject(), o.GetCaseIds(), o.GetMissing())
				}
			}
		})
	}
	slices.Sort(notes)
	assert.LessOrEqual(t, len(notes), 1, "all clean designs together: %v", notes)
}

// TestMistakesAreFound asks that every design with a mistake has a finding of the rule meant for it which the clean design
// of the same name has not, and that no folder of mistakes is forgotten here.
func TestMistakesAreFound(t *testing.T) {
	clean := cleanByName(t)
	mistakes, err := mistakeTrials()
	require.NoError(t, err)
	for folder := range caughtBy {
		assert.Contains(t, mistakes, folder, "testdata/mistakes has no folder of this name")
	}
	for folder, wrong := range mistakes {
		t.Run(folder, func(t *testing.T) {
			require.NotEmpty(t, caughtBy[folder], "name the rule that the mistake is meant for")
			require.Contains(t, clean, wrong.design.GetName(), "a mistake keeps the name of the clean design")
			before := map[string]bool{}
			for _, f := range clean[wrong.design.GetName()].report.GetFindings() {
				before[f.GetRuleId()+" "+f.GetSubject()] = true
			}
			var fresh []string
			for _, f := range wrong.report.GetFindings() {
				if !before[f.GetRuleId()+" "+f.GetSubject()] {
					fresh = append(fresh, f.GetRuleId())
				}
			}
			assert.Contains(t, fresh, caughtBy[folder])
			assert.Empty(t, wrong.report.GetFailures())
		})
	}
}

// TestMistakesStayInStep asks that a mistake differs from its clean design in something and in little, so that a change of
// the clean design is made in its copies too.
func TestMistakesStayInStep(t *testing.T) {
	const most = 12 // elements; the largest mistake changes ten
	clean := cleanByName(t)
	mistakes, err := mistakeTrials()
	require.NoError(t, err)
	for folder, wrong := range mistakes {
		n := differences(clean[wrong.design.GetName()].design, wrong.design)
		assert.Positive(t, n, "%s is its clean design", folder)
		assert.LessOrEqual(t, n, most, "%s has drifted from its clean design", folder)
	}
}

// differences counts the components, lines and cases that only one design has or that differ, and the basis if it differs.
func differences(a, b *skidrulev1.Design) int {
	elements := func(d *skidrulev1.Design) map[string]proto.Message {
		m := map[string]proto.Message{"basis": d.GetBasis()}
		for _, c := range d.GetComponents() {
			m["component "+c.GetTag()] = c
		}
		for _, l := range d.GetLines() {
			m["line "+l.GetTag()] = l
		}
		for _, c := range d.GetCases() {
			m["case "+c.GetId()] = c
		}
		return m
	}
	of, against, n := elements(a), elements(b), 0
	for id, x := range of {
		if y, ok := against[id]; !ok || !proto.Equal(x, y) {
			n++
		}
	}
	for id := range against {
		if _, ok := of[id]; !ok {
			n++
		}
	}
	return n
}

// TestEveryRuleIsBrokenSomewhere asks that there is a design for every rule that can be broken, so that a rule that has gone
// quiet is noticed.
func TestEveryRuleIsBrokenSomewhere(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	mistakes, err := mistakeTrials()
	require.NoError(t, err)
	broken := map[string]bool{}
	for _, wrong := range mistakes {
		for _, f := range wrong.report.GetFindings() {
			broken[f.GetRuleId()] = true
		}
	}
	for _, rule := range e.Book().Rules() {
		if !slices.ContainsFunc(rule.Rule.GetCannotOccur(), func(o *skidrulev1.ImpossibleOutcome) bool {
			return o.GetOutcome() == skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN
		}) {
			assert.True(t, broken[rule.Rule.GetId()], "no design in testdata/mistakes breaks %s", rule.Rule.GetId())
		}
	}
}

// caughtBy names the rule that each mistake is meant for.
var caughtBy = map[string]string{
	"air-not-dried":                     "feed-gas/dried",
	"back-pressure-set-too-high":        "sizing/held-cell-pressure-in-window",
	"barriers-share-cause":              "backflow/two-independent-barriers",
	"bed-switch-set-too-low":            "off-gas/bed-switch-set-point",
	"blockable-vent":                    "off-gas/vent-way-not-shut",
	"blower-failure-stops-nothing":      "trips/stops-on-blower-failure",
	"bore-of-another-tube":              "drawing/bore-fits-wall",
	"breakthrough-set-too-high":         "trips/breakthrough-set-point",
	"bromate-in-drinking-water":         "process/bromate",
	"bypass-around-pot":                 "off-gas/separator-before-destruct",
	"carbon-destruct-on-oxygen":         "off-gas/no-carbon-on-oxygen",
	"cell-bears-no-vacuum":              "sizing/injector-within-cell-pressure",
	"cell-for-less-gas":                 "sizing/generator-flow-in-window",
	"cell-thermostat-set-too-high":      "trips/cooling-thermostat-set-point",
	"check-valve-downward":              "backflow/check-valve-mounting",
	"check-valve-reversed":              "backflow/check-valve-forward",
	"choked-destruct":                   "off-gas/back-pressure-at-burst",
	"compressor-too-small":              "sizing/compressor-feeds-concentrator",
	"concentrator-feeds-the-leak":       "trips/concentrator-stops-on-room-oxygen",
	"concentrator-welded-in":            "service/module-comes-out",
	"concentrator-without-air":          "feed-gas/concentrator-has-air",
	"condensate-behind-destruct":        "off-gas/condensate-drains",
	"condensate-drain-open":             "feed-gas/condensate-drain-holds-air",
	"condensate-undrained":              "feed-gas/condensate-drained",
	"controller-unwatched":              "trips/controller-watched",
	"cooling-bypass-left-open":          "sizing/cooling-water-not-bypassed",
	"cooling-cannot-be-shut":            "service/module-can-be-isolated",
	"cooling-outlet-open":               "sizing/cooling-water-joined",
	"cooling-pressure-too-high":         "ratings/jacket-within-rating",
	"cooling-switch-set-too-low":        "trips/cooling-flow-set-point",
	"cooling-water-held-back":           "sizing/cooling-water-reaches-cells",
	"cooling-water-shut-in":             "ratings/shut-in-liquid-relieved",
	"cooling-water-too-little":          "sizing/cooling-covers-heat",
	"cooling-without-source":            "drawing/fluid-has-source",
	"destruct-burns-out":                "off-gas/bed-bears-ozone-heat",
	"destruct-for-weak-ozone":           "off-gas/destruct-takes-strongest-ozone",
	"destruct-leaves-ozone":             "process/exhaust-limit",
	"destruct-not-heated":               "off-gas/destruct-heated",
	"destruct-set-too-low":              "off-gas/bed-above-dew-point",
	"destruct-too-small":                "off-gas/destruct-takes-full-flow",
	"dew-point-too-high":                "feed-gas/dew-point-at-cell",
	"drain-led-overhead":                "drawing/drains-fall",
	"exhaust-into-room":                 "oxygen/exhaust-led-out",
	"fast-valve-on-water":               "ratings/surge",
	"float-crushed":                     "off-gas/float-bears-vessel-pressure",
	"float-drain-held-shut":             "off-gas/float-drain-opens",
	"float-held-shut":                   "off-gas/float-opens-at-highest-pressure",
	"flow-switch-beside-injector":       "trips/flow-switch-sees-the-injector",
	"flow-stated-too-high":              "drawing/stated-flow-against-computed",
	"main-pushes-water-back":            "drawing/boundary-runs-as-its-role",
	"tag-for-two-seals":                 "drawing/port-joined-once",
	"flow-switch-set-too-low":           "trips/flow-switch-set-point",
	"gas-flow-switch-set-too-low":       "trips/gas-flow-set-point",
	"gas-into-pump":                     "sizing/no-gas-to-pump",
	"gas-saturation-too-high":           "process/gas-saturation-limit",
	"gauge-called-thermometer":          "trips/letters-name-what-is-measured",
	"gauge-missing":                     "sizing/gauges-both-sides",
	"gauge-too-large":                   "sizing/gauge-reads-mid-span",
	"generator-starved":                 "sizing/concentrator-feeds-generator",
	"heater-too-weak":                   "off-gas/heater-dries-carry-over",
	"high-oxygen-stops-nothing":         "trips/stops-on-high-oxygen",
	"high-switch-called-low":            "trips/letters-fit-direction",
	"hot-line-behind-destruct":          "ratings/line-temperature-within-rating",
	"inactivation-not-reached":          "sizing/inactivation-target",
	"injector-driven-too-hard":          "sizing/injector-within-its-limits",
	"injector-outlet-pressure-too-high": "sizing/injector-feeds-generator",
	"injector-too-small":                "sizing/injector-feeds-generator",
	"joined-to-drinking-water":          "process/cross-connection",
	"line-collapses":                    "ratings/line-vacuum-within-rating",
	"line-drawn-backward":               "drawing/directions-agree",
	"liquid-pocket-before-destruct":     "off-gas/no-liquid-pocket",
	"lost-cooling-stops-nothing":        "trips/stops-on-lost-cooling",
	"lost-reference":                    "drawing/references-lead-somewhere",
	"lost-suction-stops-nothing":        "trips/stops-on-lost-suction",
	"lost-water-stops-nothing":          "trips/stops-on-lost-water",
	"low-oxygen-stops-nothing":          "trips/stops-on-low-oxygen",
	"lubricated-blower":                 "oxygen/machines-oil-free",
	"lubricated-concentrator":           "feed-gas/built-in-compressor-oil-free",
	"meter-too-large":                   "sizing/flow-meter-range",
	"mismatched-thread":                 "ratings/ends-match",
	"moisture-monitor-set-too-damp":     "feed-gas/moisture-monitor-set-point",
	"never-serviced":                    "service/interval-stated",
	"no-ambient-monitor":                "trips/ambient-ozone-monitored",
	"no-bed-switch":                     "off-gas/heater-proven",
	"no-destruct-analyser":              "off-gas/destruct-proven",
	"no-droplet-separator":              "off-gas/separator-before-destruct",
	"no-dust-filter":                    "feed-gas/particles-at-cell",
	"no-emergency-stop":                 "trips/emergency-stop",
	"no-filter-before-concentrator":     "feed-gas/filter-before-concentrator",
	"no-oxygen-monitor":                 "trips/ambient-oxygen-monitored",
	"no-purge-after":                    "trips/purged-after",
	"no-purge-before":                   "trips/purged-before",
	"no-receiver":                       "sizing/receiver-before-concentrator",
	"nylon-ozone-line":                  "materials/lines-in-ozone",
	"off-gas-from-liquid-port":          "drawing/phases-agree",
	"oil-in-feed":                       "feed-gas/oil-free",
	"oil-past-filter":                   "feed-gas/oil-at-cell",
	"one-meter-for-two":                 "feed-gas/flow-shown",
	"open-door-stops-nothing":           "trips/stops-on-open-enclosure",
	"open-end-in-vent-line":             "off-gas/no-open-end",
	"open-pipe-for-vent":                "off-gas/float-vent-not-bypassed",
	"orphan-component":                  "drawing/every-port-connected",
	"oxygen-line-not-cleaned":           "oxygen/lines-cleaned",
	"oxygen-line-too-narrow":            "oxygen/velocity",
	"oxygen-monitor-set-wrong":          "trips/ambient-oxygen-set-points",
	"oxygen-regulator-blows-off":        "oxygen/regulator-keeps-its-gas",
	"oxygen-relief-into-room":           "oxygen/relief-led-out",
	"oxygen-too-poor":                   "sizing/feed-purity-in-window",
	"ozone-line-not-enclosed":           "oxygen/fire-code-piping",
	"ozone-monitor-set-too-high":        "trips/ambient-ozone-set-point",
	"ozone-monitor-too-coarse":          "trips/ambient-ozone-seen-early",
	"piloted-shut-off-valve":            "backflow/shut-off-moves-without-pressure",
	"plastic-float":                     "materials/floats-in-ozone",
	"polyamide-seat":                    "oxygen/seats-fit-for-oxygen",
	"pot-drain-without-seal":            "off-gas/ozone-leaves-through-destruct",
	"pot-drained-by-hand":               "off-gas/pot-drains-itself",
	"pot-float-held-shut":               "off-gas/pot-drain-opens",
	"pot-inlet-at-top":                  "off-gas/pot-inlet-low-outlet-high",
	"pot-level-stops-nothing":           "trips/stops-on-high-pot-level",
	"pot-too-narrow":                    "off-gas/pot-separates-burst",
	"pot-without-hold-up":               "off-gas/pot-takes-slug",
	"power-supply-too-small":            "sizing/power-supply-power",
	"pump-above-the-tank":               "sizing/pump-stands-full",
	"pump-behind-no-valve":              "service/parted-from-vessels",
	"pump-cavitates":                    "sizing/npsh-margin",
	"pump-said-never-to-stop":           "drawing/excluded-case-cannot-occur",
	"pump-seal-too-weak":                "ratings/pump-suction-within-rating",
	"pump-too-weak":                     "sizing/gauge-reads-mid-span",
	"purge-bypass-around-barriers":      "backflow/two-independent-barriers",
	"pvc-filter-on-compressed-air":      "ratings/no-plastic-for-compressed-gas",
	"pvc-on-compressed-gas":             "ratings/no-plastic-line-for-compressed-gas",
	"rating-above-part":                 "drawing/rating-within-part",
	"regulator-unguarded":               "ratings/regulator-failing-open",
	"relief-into-room":                  "off-gas/ozone-leaves-through-destruct",
	"relief-set-above-rating":           "ratings/regulator-failing-open",
	"relief-too-small":                  "ratings/relief-has-capacity",
	"residual-at-the-fish":              "off-gas/water-residual",
	"residual-not-reached":              "sizing/residual-reached",
	"room-not-ventilated":               "service/room-ventilated",
	"room-ozone-stops-nothing":          "trips/stops-on-ambient-ozone",
	"room-too-hot":                      "sizing/coolant-cool-enough",
	"rubber-in-oxygen":                  "oxygen/seals-fit-for-oxygen",
	"rubber-seals-in-ozone":             "materials/seals-in-ozone",
	"rubber-seat-in-ozone":              "materials/seats-in-ozone",
	"sample-line-into-room":             "off-gas/ozone-leaves-through-destruct",
	"sea-water-with-fish":               "process/bromine",
	"seal-too-shallow":                  "off-gas/seal-deep-enough",
	"shared-valves-of-twin-generators":  "backflow/no-way-around-barriers",
	"shut-off-valve-fails-open":         "backflow/automatic-shut-off",
	"shut-off-valve-one-way":            "backflow/automatic-shut-off",
	"single-check-valve":                "backflow/two-independent-barriers",
	"steel-trap-in-ozone":               "materials/body-in-ozone",
	"suction-switch-set-too-deep":       "trips/suction-switch-set-point",
	"supply-for-one-cell":               "sizing/power-supply-cells",
	"supply-of-another-cell":            "sizing/power-supply-drives-cells",
	"supply-of-nobody":                  "drawing/nothing-stands-alone",
	"switch-acts-backward":              "trips/switch-acts-the-right-way",
	"tank-lid-sucked-in":                "ratings/vacuum-within-rating",
	"thimble-of-catalyst":               "off-gas/bed-holds-gas-long-enough",
	"too-much-gas-in-water":             "sizing/gas-to-liquid-ratio",
	"trap-above-its-line":               "backflow/trap-low-point",
	"trap-drain-sucks-air":              "backflow/trap-drain-keeps-air-out",
	"trap-drain-to-closed-drain":        "backflow/trap-drain-free",
	"trap-drain-too-small":              "backflow/trap-takes-leak",
	"trap-drain-without-seal":           "backflow/trap-drain-sealed",
	"trap-on-injector-side":             "backflow/trap-before-generator",
	"trip-missing":                      "trips/stops-on-high-trap-level",
	"tube-wall-too-thin":                "ratings/pipe-wall",
	"unconnected-port":                  "drawing/every-port-connected",
	"vacuum-breaker-in-feed":            "feed-gas/closed-to-damp-air",
	"vacuum-collapse":                   "ratings/vacuum-within-rating",
	"valve-below-relief":                "ratings/relief-cannot-be-shut-off",
	"valve-not-cleaned-for-oxygen":      "oxygen/parts-cleaned",
	"vent-at-the-side":                  "off-gas/vent-at-high-point",
	"vent-beside-intake":                "off-gas/vent-clear-of-intakes",
	"vent-by-hand":                      "off-gas/gas-space-vents-itself",
	"vent-capped":                       "off-gas/vent-way-leads-out",
	"vent-indoors":                      "off-gas/vent-leads-outdoors",
	"vent-open-to-rain":                 "off-gas/vent-keeps-rain-out",
	"vent-too-small":                    "sizing/vent-capacity",
	"vessel-volume-on-paper":            "drawing/volume-fits-shell",
	"weak-cap-behind-valve":             "ratings/rated-behind-single-barrier",
	"weak-gauge-behind-pump":            "ratings/pressure-within-rating",
	"weak-line-behind-pump":             "ratings/line-pressure-within-rating",
	"weak-part-behind-one-valve":        "backflow/parts-behind-failed-barrier",
}
