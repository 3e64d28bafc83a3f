package upkeep_test

import (
	"context"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/upkeep"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

const designFolder = "../../testdata"

// readDesign reads a design of testdata.
func readDesign(t *testing.T, name string) *skidrulev1.Design {
	t.Helper()
	path := filepath.Join(designFolder, name, "design.yaml")
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	f, err := designfile.Read(path, data)
	require.NoError(t, err)
	return f.Design
}

func newEngine(t *testing.T) *engine.Engine {
	t.Helper()
	e, err := engine.New()
	require.NoError(t, err)
	return e
}

func worldOf(t *testing.T, e *engine.Engine, d *skidrulev1.Design) *fact.World {
	t.Helper()
	w, err := e.World(context.Background(), &skidrulev1.CheckDesignRequest{Design: d})
	require.NoError(t, err)
	return w
}

func planOf(t *testing.T, w *fact.World, tags ...string) *skidrulev1.UpkeepPlan {
	t.Helper()
	plan, err := upkeep.Plan(context.Background(), w, tags)
	require.NoError(t, err)
	return plan
}

// designNames lists the designs of testdata: those as they should be, and those with a mistake that touches services.
func designNames(t *testing.T) []string {
	t.Helper()
	var names []string
	for _, pattern := range []string{"*", "mistakes/*"} {
		found, err := filepath.Glob(filepath.Join(designFolder, pattern, "design.yaml"))
		require.NoError(t, err)
		for _, path := range found {
			name, err := filepath.Rel(designFolder, filepath.Dir(path))
			require.NoError(t, err)
			names = append(names, filepath.ToSlash(name))
		}
	}
	require.Greater(t, len(names), 100)
	return names
}

// The plan and the rules agree on every module of every design: what a rule calls broken is a finding of the plan that names the
// rule, and nothing else is.
func TestPlanAndRulesAgree(t *testing.T) {
	e := newEngine(t)
	rules := []string{"service/module-can-be-isolated", "service/module-can-be-let-down", "service/module-comes-out", "service/parted-from-vessels"}
	broken, asked := map[string]int{}, map[string]int{}
	for _, name := range designNames(t) {
		design := readDesign(t, name)
		report, err := e.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: design,
			Options: &skidrulev1.CheckOptions{Only: rules, View: skidrulev1.ReportView_REPORT_VIEW_FULL}})
		require.NoError(t, err, name)
		found := map[string]bool{}
		status := map[string]skidrulev1.IsolationStatus{}
		drawn := map[string]bool{}
		for _, l := range design.GetLines() {
			for _, stop := range l.GetRoute() {
				drawn[stop.GetTag()] = true
			}
		}
		var tags []string
		for _, o := range report.GetOutcomes() {
			if tag := strings.TrimPrefix(o.GetSubject(), "components."); drawn[tag] && !slices.Contains(tags, tag) {
				tags = append(tags, tag)
			}
		}
		for _, r := range planOf(t, worldOf(t, e, design), tags...).GetRemovals() {
			status[r.GetTag()] = r.GetIsolation()
			for _, f := range r.GetFindings() {
				if f.GetRuleId() != "" {
					found[f.GetRuleId()+" components."+r.GetTag()] = true
				}
			}
		}
		for _, o := range report.GetOutcomes() {
			key := o.GetRuleId() + " " + o.GetSubject()
			tag := strings.TrimPrefix(o.GetSubject(), "components.")
			if _, planned := status[tag]; !planned {
				continue // no line meets it
			}
			asked[o.GetRuleId()]++
			wrong := o.GetStatus() == skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN
			if o.GetRuleId() == "service/module-can-be-isolated" {
				want := map[skidrulev1.OutcomeStatus]skidrulev1.IsolationStatus{
					skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET:            skidrulev1.IsolationStatus_ISOLATION_STATUS_SHUT_OFF,
					skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN:         skidrulev1.IsolationStatus_ISOLATION_STATUS_NOT_SHUT_OFF,
					skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE: skidrulev1.IsolationStatus_ISOLATION_STATUS_NOT_VERIFIABLE,
				}
				assert.Equal(t, want[o.GetStatus()], status[tag], "%s: %s", name, key)
				wrong = wrong || o.GetStatus() == skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE
			}
			assert.Equal(t, wrong, found[key], "%s: %s", name, key)
			if wrong {
				broken[o.GetRuleId()]++
			}
			delete(found, key)
		}
		assert.Empty(t, found, "%s: findings of rules that are not broken", name)
	}
	for _, rule := range rules {
		assert.Greater(t, asked[rule], 100, rule)
		assert.Positive(t, broken[rule], "no design breaks %s", rule)
	}
}

var (
	stepLine = regexp.MustCompile(`^\d+\. \*\*([a-z ]+)\*\*(.*)$`)
	inTicks  = regexp.MustCompile("`([^`]+)`")
)

// workedSteps reads the steps of a worked case: a numbered line for each, its action in bold, what it acts on in ticks up to the
// first dash.
func workedSteps(t *testing.T, name string) [][]string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(designFolder, "worked", name))
	require.NoError(t, err)
	var out [][]string
	for line := range strings.Lines(string(data)) {
		m := stepLine.FindStringSubmatch(strings.TrimSpace(line))
		if m == nil {
			continue
		}
		about, _, _ := strings.Cut(m[2], " — ")
		step := []string{m[1]}
		for _, tag := range inTicks.FindAllStringSubmatch(about, -1) {
			step = append(step, tag[1])
		}
		slices.Sort(step[1:])
		out = append(out, step)
	}
	require.NotEmpty(t, out, name)
	return out
}

// The cases that were worked by hand beside the designs have the steps that the plan has.
func TestWorkedCases(t *testing.T) {
	e := newEngine(t)
	for _, c := range []struct{ file, design, tag string }{
		{"service-generator.md", "hatchery-side-stream", "OG-1"},
		{"service-injector.md", "hatchery-side-stream", "INJ-1"},
		{"service-one-of-two-generators.md", "twin-generator-manifold", "OG-1"},
	} {
		r := planOf(t, worldOf(t, e, readDesign(t, c.design)), c.tag).GetRemovals()[0]
		var got [][]string
		for _, s := range r.GetSteps() {
			action := strings.ToLower(strings.ReplaceAll(strings.TrimPrefix(s.GetAction().String(), "REMOVAL_ACTION_"), "_", " "))
			tags := slices.Clone(s.GetTags())
			slices.Sort(tags)
			got = append(got, append([]string{action}, tags...))
		}
		assert.Equal(t, workedSteps(t, c.file), got, c.file)
	}
}

// How long the ozone of the main demo takes to be washed out, worked by hand in testdata/worked/service-generator.md: 4 m of tube of
// 6 mm and the trap's 2 L, at 0.973 bar(a) and 5 degC, by 6 NL/min.
func TestPurgeTime(t *testing.T) {
	r := planOf(t, worldOf(t, newEngine(t), readDesign(t, "hatchery-side-stream")), "OG-1").GetRemovals()[0]
	for _, s := range r.GetSteps() {
		if s.GetAction() == skidrulev1.RemovalAction_REMOVAL_ACTION_PURGE {
			assert.InDelta(t, 2.1131e-3, s.GetVolumeM3(), 1e-7)
			assert.InDelta(t, 99.6, s.GetDurationS(), 0.1)
			assert.Empty(t, s.GetMissing())
			return
		}
	}
	assert.Fail(t, "no purge")
}

// Meanwhile: one generator of two out leaves the other running; the common destruct of three trains stops all.
func TestWhatStopsMeanwhile(t *testing.T) {
	e := newEngine(t)
	stops := func(r *skidrulev1.ModuleRemoval) []string {
		var out []string
		for _, s := range r.GetStopsMeanwhile() {
			out = append(out, s.GetTag())
		}
		return out
	}
	one := planOf(t, worldOf(t, e, readDesign(t, "twin-generator-manifold")), "OG-1").GetRemovals()[0]
	assert.Equal(t, []string{"LT-1"}, stops(one))
	assert.Equal(t, []string{"INJ-1", "INJ-2", "OG-2", "P-1"}, one.GetKeepsRunning())

	trains := worldOf(t, e, readDesign(t, "trains-common-destruct"))
	all := planOf(t, trains, "OD-1").GetRemovals()[0]
	assert.Empty(t, all.GetKeepsRunning())
	for _, tag := range []string{"OG-101", "OG-201", "OG-301", "P-101", "BL-1"} {
		assert.Contains(t, stops(all), tag)
	}
	assert.True(t, slices.ContainsFunc(all.GetFindings(), func(f *skidrulev1.RemovalFinding) bool {
		return strings.Contains(f.GetText(), "every train stands still")
	}))
	train := planOf(t, trains, "OG-101").GetRemovals()[0]
	assert.Equal(t, []string{"INJ-201", "INJ-301", "OG-201", "OG-301", "P-101", "P-201", "P-301"}, train.GetKeepsRunning())

	tank := planOf(t, worldOf(t, e, readDesign(t, "atmospheric-tank")), "OD-1").GetRemovals()[0]
	assert.Subset(t, stops(tank), []string{"OG-1", "OC-1", "INJ-1"}, "without a way out for off-gas no gas is drawn")
	assert.Contains(t, tank.GetKeepsRunning(), "P-1")

	supply := planOf(t, worldOf(t, e, readDesign(t, "hatchery-side-stream")), "PSU-1").GetRemovals()[0]
	assert.Equal(t, []string{"OG-1"}, stops(supply))
}

// Trips that the work sets off name the signal, what it means and why.
func TestTripsThatTheWorkSetsOff(t *testing.T) {
	w := worldOf(t, newEngine(t), readDesign(t, "hatchery-side-stream"))
	for tag, want := range map[string][]string{"INJ-1": {"FS-1", "PS-1"}, "OG-1": {"ZS-1"}, "OD-1": {"FS-1", "PS-1", "TSL-1"}, "PSU-1": {"ZS-1"}} {
		var got []string
		for _, trip := range planOf(t, w, tag).GetRemovals()[0].GetTrips() {
			got = append(got, trip.GetSignal())
			assert.NotEmpty(t, trip.GetReason())
			assert.Contains(t, trip.GetStops(), "OG-1")
		}
		assert.Equal(t, want, got, tag)
	}
}

// What is not stated is named and nothing is put in its place.
func TestMissingDataIsNamed(t *testing.T) {
	e := newEngine(t)
	d := readDesign(t, "hatchery-side-stream")
	for _, c := range d.GetComponents() {
		if c.GetTag() == "OG-1" || c.GetTag() == "OC-1" {
			c.PowerFeed = ""
		}
	}
	d.Basis.MinAmbientTemperatureK, d.Basis.OzoneDecayPerS = nil, nil
	for _, l := range d.GetLines() {
		if l.GetTag() == "G-2" {
			l.LengthM = nil
		}
	}
	r := planOf(t, worldOf(t, e, d), "OG-1").GetRemovals()[0]
	var missing []string
	for _, s := range r.GetSteps() {
		missing = append(missing, s.GetMissing()...)
		if s.GetAction() == skidrulev1.RemovalAction_REMOVAL_ACTION_PURGE {
			assert.Nil(t, s.VolumeM3)
			assert.Nil(t, s.DurationS)
		}
	}
	for _, want := range []string{"components.OG-1.power_feed", "components.OC-1.power_feed", "basis.min_ambient_temperature", "lines.G-2.length"} {
		assert.Contains(t, missing, want)
	}
	injector := planOf(t, worldOf(t, e, d), "INJ-1").GetRemovals()[0]
	missing = nil
	for _, s := range injector.GetSteps() {
		missing = append(missing, s.GetMissing()...)
	}
	assert.Contains(t, missing, "basis.ozone_decay")
}

// A dryer has a drive to lock out, whose feed is asked for where it is not stated; so has whatever states a feed.
func TestPowerOfModulesIsLockedOut(t *testing.T) {
	e := newEngine(t)
	d := proto.CloneOf(readDesign(t, "wall-unit-air-fed"))
	locks := func(tag string) (text, missing string) {
		for _, s := range planOf(t, worldOf(t, e, d), tag).GetRemovals()[0].GetSteps() {
			if s.GetAction() == skidrulev1.RemovalAction_REMOVAL_ACTION_LOCK {
				text, missing = text+s.GetText(), missing+strings.Join(s.GetMissing(), " ")
			}
		}
		return text, missing
	}
	set := func(tag, feed string) {
		for _, c := range d.GetComponents() {
			if c.GetTag() == tag {
				c.PowerFeed = feed
			}
		}
	}
	set("DY-1", "")
	_, missing := locks("DY-1")
	assert.Contains(t, missing, "components.DY-1.power_feed")
	set("DY-1", "MCC-9")
	text, _ := locks("DY-1")
	assert.Contains(t, text, "DY-1 out at power feed MCC-9")

	_, missing = locks("FD-1")
	assert.NotContains(t, missing, "components.FD-1.power_feed", "nothing drives a filter")
	set("FD-1", "MCC-9")
	text, _ = locks("FD-1")
	assert.Contains(t, text, "FD-1")
}

// Services come in the order in which they are due, those of no stated interval last; like parts share a line of the store.
func TestServicesAndSpares(t *testing.T) {
	e := newEngine(t)
	d := proto.CloneOf(readDesign(t, "trains-common-destruct"))
	plan := planOf(t, worldOf(t, e, d), "OD-1")
	last, open := 0.0, false
	for _, s := range plan.GetServices() {
		if s.IntervalS == nil {
			open = true
			assert.Contains(t, s.GetMissing(), "components."+s.GetTag()+".service_interval")
			continue
		}
		assert.False(t, open, "%s stands behind what states no interval", s.GetTag())
		assert.GreaterOrEqual(t, s.GetIntervalS(), last)
		last = s.GetIntervalS()
	}
	var seats *skidrulev1.SparePart
	for _, s := range plan.GetSpares() {
		if s.GetName() == "diaphragm" {
			seats = s
		}
	}
	require.NotNil(t, seats)
	assert.Equal(t, []string{"CV-102", "CV-202", "CV-302"}, seats.GetTags())
	assert.Equal(t, "demo/check-diaphragm-8", seats.GetPart())
}

// A tag that is nothing, or nothing that is taken out, is refused with the nearest; too many modules are as well.
func TestModulesThatCannotBePlanned(t *testing.T) {
	e := newEngine(t)
	w := worldOf(t, e, readDesign(t, "hatchery-side-stream"))
	var wrong *upkeep.ModuleError
	_, err := upkeep.Plan(context.Background(), w, []string{"OD-1", "OG-9"})
	require.ErrorAs(t, err, &wrong)
	assert.Equal(t, 1, wrong.Index)
	assert.Equal(t, `the design has no component "OG-9"; did you mean OG-1?`, wrong.Error())
	_, err = upkeep.Plan(context.Background(), w, []string{"RM-1"})
	require.ErrorAs(t, err, &wrong)
	assert.Contains(t, wrong.Error(), "of the kind boundary")

	big := &skidrulev1.Design{}
	previous := ""
	for i := range upkeep.MostModules + 1 {
		tag := "GF-" + strings.Repeat("i", i%7+1) + strings.Repeat("x", i/7%50) + strings.Repeat("y", i/350)
		big.Components = append(big.Components, &skidrulev1.Component{Tag: tag, Spec: &skidrulev1.Component_GasFilter{GasFilter: &skidrulev1.GasFilter{}}})
		if previous != "" {
			big.Lines = append(big.Lines, &skidrulev1.Line{Tag: "L-" + tag, Route: []*skidrulev1.RouteStop{{Tag: previous}, {Tag: tag}}})
		}
		previous = tag
	}
	_, err = upkeep.Plan(context.Background(), worldOf(t, e, big), nil)
	require.ErrorAs(t, err, &wrong)
	assert.Equal(t, -1, wrong.Index)

	ended, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = upkeep.Plan(ended, w, nil)
	assert.ErrorIs(t, err, context.Canceled)
}

// Whoever plans the work is told which vessels are drained with the module. The rule is named only where a vessel stays full.
func TestVesselsDrainedWithTheModule(t *testing.T) {
	e := newEngine(t)
	for _, c := range []struct{ design, tag, rule, vessel string }{
		{"hatchery-side-stream", "INJ-1", "", "CT-1"},
		{"hatchery-side-stream", "P-1", "", "CT-1"},
		{"mistakes/pump-behind-no-valve", "P-1", "service/parted-from-vessels", "T-1"},
	} {
		var found []*skidrulev1.RemovalFinding
		for _, f := range planOf(t, worldOf(t, e, readDesign(t, c.design)), c.tag).GetRemovals()[0].GetFindings() {
			if strings.Contains(f.GetText(), "without draining the rest") {
				found = append(found, f)
			}
		}
		require.Len(t, found, 1, "%s %s", c.design, c.tag)
		assert.Equal(t, c.rule, found[0].GetRuleId(), "%s %s", c.design, c.tag)
		assert.Equal(t, []string{c.vessel}, found[0].GetTags(), "%s %s", c.design, c.tag)
		assert.Equal(t, c.rule != "", strings.Contains(found[0].GetText(), "stays full"), "%s %s", c.design, c.tag)
	}
}

// Ozone in water decays by the first order: to a hundredth of it takes ln 100 over the rate that the design states.
func TestWaterIsWaitedForUntilItsOzoneIsGone(t *testing.T) {
	d := readDesign(t, "hatchery-side-stream")
	require.Positive(t, d.GetBasis().GetOzoneDecayPerS())
	waits := 0
	for _, s := range planOf(t, worldOf(t, newEngine(t), d), "INJ-1").GetRemovals()[0].GetSteps() {
		if strings.Contains(s.GetText(), "gives off no more ozone") {
			waits++
			assert.InEpsilon(t, 4.605170186/d.GetBasis().GetOzoneDecayPerS(), s.GetDurationS(), 1e-9)
		}
	}
	assert.Equal(t, 1, waits)
}

// What carries voltage is proven dead by measuring, what holds pressure by a gauge.
func TestProofOfNothingLeft(t *testing.T) {
	w := worldOf(t, newEngine(t), readDesign(t, "hatchery-side-stream"))
	proofs := func(tag string) string {
		var out []string
		for _, s := range planOf(t, w, tag).GetRemovals()[0].GetSteps() {
			if s.GetAction() == skidrulev1.RemovalAction_REMOVAL_ACTION_PROVE {
				out = append(out, s.GetText())
			}
		}
		return strings.Join(out, "\n")
	}
	assert.Equal(t, "Wait as long as the maker of PSU-1 says, and measure that no voltage is left.", proofs("PSU-1"))
	assert.Contains(t, proofs("INJ-1"), "See that no pressure is left: by ")
	assert.NotContains(t, proofs("INJ-1"), "voltage")
}
