package commission

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/plantgen"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

const (
	asDesigned   = skidrulev1.DiagnosisVerdict_DIAGNOSIS_VERDICT_AS_DESIGNED
	oneCause     = skidrulev1.DiagnosisVerdict_DIAGNOSIS_VERDICT_ONE_CAUSE
	cannotDecide = skidrulev1.DiagnosisVerdict_DIAGNOSIS_VERDICT_CANNOT_DECIDE
	unexplained  = skidrulev1.DiagnosisVerdict_DIAGNOSIS_VERDICT_UNEXPLAINED
)

func leading(d *skidrulev1.Diagnosis) []string {
	var out []string
	for _, c := range d.GetCauses() {
		if c.GetLeads() {
			out = append(out, c.GetTitle())
		}
	}
	return out
}

// Two gauges on the water do not see the gas: whatever they read, they cannot decide, and the answer names a reading of the gas.
func TestTwoGaugesCannotDecide(t *testing.T) {
	s := skid(t, design(t, demo))
	for _, list := range [][]*skidrulev1.SiteReading{
		{bar("PI-1", 3.506), bar("PI-2", 1.076)},
		{bar("PI-1", 3.45), bar("PI-2", 1.1)},
		{bar("PI-1", 3.9), bar("PI-2", 0.9)},
		{bar("PI-1", 2.9), bar("PI-2", 0.98)},
		{bar("PI-1", 3.65), bar("PI-2", 1.5)},
	} {
		d := diagnose(t, s, list...)
		assert.Contains(t, []skidrulev1.DiagnosisVerdict{cannotDecide, unexplained}, d.Verdict, "%v", list)
		if d.Verdict == cannotDecide {
			require.NotEmpty(t, d.Further, "%v", list)
			assert.Contains(t, d.Summary, "cannot decide")
			assert.Contains(t, d.Summary, d.Further[0].Place)
			assert.Greater(t, d.Further[0].SeparationRatio, 2.)
		}
	}
	d := diagnose(t, s, bar("PI-1", 3.506), bar("PI-2", 1.076))
	require.Equal(t, cannotDecide, d.Verdict)
	assert.Equal(t, []string{"as designed"}, leading(d))
	assert.Contains(t, d.Unseen, "CV-1: check valve stuck shut or nearly so")
	assert.Contains(t, d.Unseen, "G-2: air leaks in between TE-3 and INJ-1")
	var places []string
	for _, f := range d.Further {
		places = append(places, f.Place)
	}
	assert.Subset(t, []string{"INJ-1.suction", "FM-1"}, places[:1], "a reading of the gas comes first: %v", places)
}

// Enough readings that agree with the design leave nothing hidden.
func TestReadingsAsDesigned(t *testing.T) {
	d := diagnose(t, skid(t, design(t, demo)), bar("PI-1", 3.506), bar("PI-2", 1.076), litres("FM-1", 6), bar("INJ-1.suction", -0.285))
	assert.Equal(t, asDesigned, d.Verdict, d.Summary)
	assert.Empty(t, d.Unseen)
}

// A fouled throat lifts the inlet pressure, lowers the outlet pressure and draws less; nothing else does.
func TestFouledThroat(t *testing.T) {
	s := skid(t, design(t, demo))
	b := newBench(t)
	i := slices.IndexFunc(b.x.sweeps, func(w sweep) bool { return w.id == "fouled_throat" })
	f := b.x.sweeps[i].fault
	states, err := b.solver.Faulted(context.Background(), 0, f, []float64{0.75})
	require.NoError(t, err)
	shown := b.nodeOf(b.x, states[0], 0).shown
	var list []*skidrulev1.SiteReading
	for _, k := range b.read {
		list = append(list, sent(b.x.places[k], shown[k]))
	}
	d := diagnose(t, s, list...)
	require.Equal(t, oneCause, d.Verdict, d.Summary)
	c := d.Causes[0]
	assert.Equal(t, "fouled_throat", c.Id)
	assert.Equal(t, "components.INJ-1", c.Subject)
	assert.Equal(t, "75 % of its cross-section left", c.Size)
	assert.InDelta(t, 0, c.ChiSquare, 1e-4)
	assert.Contains(t, d.Summary, "INJ-1: throat fouled")
	assert.InEpsilon(t, b.drawnIn(states[0], b.x.injectors[0]), c.Draws[0].GasMolPerS, 1e-3)
}

// Each gauge that shows wrong by ten times its limits of error is found out by the others.
func TestEachWrongGauge(t *testing.T) {
	b := newBench(t)
	for k, i := range b.read {
		var list []*skidrulev1.SiteReading
		for j, at := range b.read {
			v := b.x.places[at].exact(b.x.best)
			if j == k {
				v += 10 * b.limit[k]
			}
			list = append(list, sent(b.x.places[at], v))
		}
		d := diagnose(t, b.Skid, list...)
		assert.Contains(t, leading(d), b.x.places[i].label+": shows wrong", d.Summary)
		if d.Verdict == cannotDecide {
			again := slices.ContainsFunc(d.Further, func(f *skidrulev1.FurtherReading) bool { return strings.HasPrefix(f.Place, b.x.places[i].label) })
			assert.True(t, again, "%s: %v", b.x.places[i].label, d.Further)
		}
	}
}

// With the feed shut an air leak is what keeps the suction from its deepest vacuum; a gauge that shows wrong would look the same.
func TestLeakWithTheFeedShut(t *testing.T) {
	s := skid(t, design(t, demo))
	d, problems, err := s.Diagnose(context.Background(), caseAt(t, s, "feed_shut"), []*skidrulev1.SiteReading{bar("INJ-1.suction", -0.3), bar("PI-1", 3.5), bar("PI-2", 1.08), litres("FM-1", 0)})
	require.NoError(t, err)
	require.Empty(t, problems)
	require.Equal(t, cannotDecide, d.Verdict, d.Summary)
	assert.Contains(t, leading(d), "INJ-1.suction: shows wrong")
	assert.Contains(t, leading(d), "G-2: air leaks in between TE-3 and INJ-1")
	assert.Contains(t, d.Summary, "INJ-1.suction again with another instrument")
}

// With the pump stopped both gauges show the return main; one that does not is wrong.
func TestPumpStopped(t *testing.T) {
	s := skid(t, design(t, demo))
	d, problems, err := s.Diagnose(context.Background(), caseAt(t, s, "pump_stopped"), []*skidrulev1.SiteReading{bar("PI-1", 1.94), bar("PI-2", 1.5), bar("INJ-1.suction", 1.96)})
	require.NoError(t, err)
	require.Empty(t, problems)
	require.Equal(t, oneCause, d.Verdict, d.Summary)
	assert.Equal(t, "PI-2: shows wrong", d.Causes[0].Title)
}

// Readings that fit no cause are said to fit none.
func TestUnexplained(t *testing.T) {
	d := diagnose(t, skid(t, design(t, demo)), bar("PI-1", 1.2), bar("PI-2", 2.4), litres("FM-1", 14), bar("INJ-1.suction", -0.6))
	assert.Equal(t, unexplained, d.Verdict, d.Summary)
	assert.Empty(t, leading(d))
}

// What the design does not state makes unknown what rests on it, by name; the other readings still tell.
func TestMissingDataAreNamed(t *testing.T) {
	own := proto.CloneOf(design(t, demo))
	for _, l := range own.Lines {
		if l.GetTag() == "G-2" {
			l.LengthM = nil
		}
	}
	d := diagnose(t, skid(t, own), bar("PI-1", 3.5), bar("PI-2", 1.1))
	assert.Equal(t, cannotDecide, d.Verdict)
	assert.Empty(t, d.Causes)
	require.Len(t, d.Readings, 2)
	for _, r := range d.Readings {
		assert.Nil(t, r.Best, r.Place)
		assert.Equal(t, []string{"lines.G-2.length"}, r.Missing, r.Place)
		assert.Equal(t, "unknown, because lines.G-2.length is not stated", r.UnknownBecause)
	}
	card, err := skid(t, own).Card(context.Background(), []int{0})
	require.NoError(t, err)
	var unknown []string
	for _, r := range card.Cases[0].Readings {
		if r.Tag == "PI-1" || r.Tag == "INJ-1.suction" || r.Tag == "FM-1" {
			unknown = append(unknown, r.Tag)
			assert.Equal(t, "unknown, because lines.G-2.length is not stated", r.UnknownBecause, r.Tag)
			assert.Nil(t, r.Best, r.Tag)
		}
	}
	assert.ElementsMatch(t, []string{"PI-1", "INJ-1.suction", "FM-1"}, unknown)
}

// A reading that cannot be used is refused with what is wrong and what would be right.
func TestReadingsRefused(t *testing.T) {
	s := skid(t, design(t, demo))
	for _, row := range []struct {
		name string
		list []*skidrulev1.SiteReading
		want string
	}{
		{"none", nil, "there are no readings"},
		{"no such tag", []*skidrulev1.SiteReading{bar("PI-9", 1)}, "the design has no component PI-9; readings are taken at FM-1, PI-1, PI-2"},
		{"no such port", []*skidrulev1.SiteReading{bar("INJ-1.vent", 1)}, "INJ-1 has no port vent; it has motive_inlet, suction, outlet"},
		{"shows nothing", []*skidrulev1.SiteReading{bar("HV-1", 1)}, "HV-1 is a hand valve, which shows no pressure or flow"},
		{"twice", []*skidrulev1.SiteReading{bar("PI-1", 1), bar("PI-1", 2)}, "PI-1 is read twice"},
		{"another quantity", []*skidrulev1.SiteReading{bar("FM-1", 1)}, "FM-1 shows a gas flow, and a gauge pressure is given"},
		{"no value", []*skidrulev1.SiteReading{{Place: "PI-1"}}, "no value is given"},
		{"not finite", []*skidrulev1.SiteReading{bar("PI-1", math.NaN())}, "no finite number"},
		{"no uncertainty", []*skidrulev1.SiteReading{{Place: "PI-1", Value: &skidrulev1.SiteReading_PressurePaGauge{PressurePaGauge: 1e5}, Accuracy: &skidrulev1.SiteReading_Uncertainty{Uncertainty: 0}}}, "must be above zero"},
		{"uncertainty not finite", []*skidrulev1.SiteReading{{Place: "PI-1", Value: &skidrulev1.SiteReading_PressurePaGauge{PressurePaGauge: 1e5}, Accuracy: &skidrulev1.SiteReading_Uncertainty{Uncertainty: math.Inf(1)}}}, "must be above zero"},
		{"class without span", []*skidrulev1.SiteReading{{Place: "INJ-1.suction", Value: &skidrulev1.SiteReading_PressurePaGauge{PressurePaGauge: -2e4}, Accuracy: &skidrulev1.SiteReading_AccuracyClassPercent{AccuracyClassPercent: 1}}}, "an accuracy class needs a span"},
		{"too many", slices.Repeat([]*skidrulev1.SiteReading{bar("PI-1", 1)}, maxReadings+1), "101 readings are given, 100 are allowed"},
	} {
		d, problems, err := s.Diagnose(context.Background(), 0, row.list)
		require.NoError(t, err, row.name)
		assert.Nil(t, d, row.name)
		require.NotEmpty(t, problems, row.name)
		assert.Contains(t, problems[0].Message, row.want, row.name)
	}
	own := proto.CloneOf(design(t, demo))
	for _, c := range own.Components {
		if c.GetTag() == "PI-1" {
			c.Part = ""
			c.Spec = &skidrulev1.Component_PressureGauge{PressureGauge: &skidrulev1.PressureGauge{}}
		}
	}
	_, problems, err := skid(t, own).Diagnose(context.Background(), 0, []*skidrulev1.SiteReading{bar("PI-1", 3.5)})
	require.NoError(t, err)
	require.Len(t, problems, 1)
	assert.Contains(t, problems[0].Message, "components.PI-1.pressure_gauge.range_low is not stated; state the uncertainty with the reading")
}

// The same readings give the same answer, in whatever order they come and whatever was asked before; scores are in order, weights add
// up, and a wider uncertainty never makes a misfit larger.
func TestDiagnosisHoldsTogether(t *testing.T) {
	s := skid(t, design(t, demo))
	gen := rapid.Custom(func(t *rapid.T) []*skidrulev1.SiteReading {
		return []*skidrulev1.SiteReading{
			bar("PI-1", rapid.Float64Range(0, 6).Draw(t, "in")), bar("PI-2", rapid.Float64Range(0, 2.5).Draw(t, "out")),
			litres("FM-1", rapid.Float64Range(0, 15).Draw(t, "gas")), bar("INJ-1.suction", rapid.Float64Range(-0.9, 1).Draw(t, "suction")),
		}
	})
	for seed := range 8 {
		list := gen.Example(seed)
		for _, r := range list[:2] {
			r.Accuracy = &skidrulev1.SiteReading_AccuracyClassPercent{AccuracyClassPercent: 1.6}
		}
		d, problems, err := s.Diagnose(context.Background(), 0, list)
		require.NoError(t, err)
		require.Empty(t, problems)
		sum := 0.0
		for i, c := range d.Causes {
			require.False(t, math.IsNaN(c.Score) || math.IsInf(c.Score, 0), c.Title)
			require.GreaterOrEqual(t, c.ChiSquare, 0.)
			require.True(t, c.ProbabilityRatio >= 0 && c.ProbabilityRatio <= 1)
			require.Len(t, c.Predicted, len(list))
			if i > 0 {
				require.GreaterOrEqual(t, c.Score, d.Causes[i-1].Score-1e-6)
			}
			sum += c.WeightRatio
		}
		require.InDelta(t, 1, sum, 1e-9)
		again, _, err := s.Diagnose(context.Background(), 0, list)
		require.NoError(t, err)
		require.True(t, proto.Equal(d, again))
		wide := make([]*skidrulev1.SiteReading, len(list))
		for i, r := range list {
			wide[i] = proto.CloneOf(r)
		}
		for _, r := range wide[:2] {
			r.Accuracy = &skidrulev1.SiteReading_AccuracyClassPercent{AccuracyClassPercent: 4}
		}
		w, _, err := s.Diagnose(context.Background(), 0, wide)
		require.NoError(t, err)
		chi := func(d *skidrulev1.Diagnosis) float64 {
			for _, c := range d.Causes {
				if c.Id == "as_designed" {
					return c.ChiSquare
				}
			}
			return math.NaN()
		}
		require.LessOrEqual(t, chi(w), chi(d)+1e-9)
	}
}

// A diagnosis ends with its context.
func TestDiagnosisStops(t *testing.T) {
	s := skid(t, design(t, demo))
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, _, err := s.Diagnose(ctx, 0, []*skidrulev1.SiteReading{bar("PI-1", 3.5)})
	assert.ErrorIs(t, err, context.Canceled)
	_, err = s.Card(ctx, []int{0})
	assert.ErrorIs(t, err, context.Canceled)
}

// Every clean design can be diagnosed, and with all its instruments read as designed the design leads.
func TestEveryDesign(t *testing.T) {
	for _, name := range []string{"atmospheric-tank", "cylinder-pressure-fed", "inline-degassing", "twin-generator-manifold", "wall-unit-air-fed"} {
		s := skid(t, design(t, name))
		x, err := s.prepare(context.Background(), 0, nil)
		require.NoError(t, err)
		var list []*skidrulev1.SiteReading
		for _, q := range x.places {
			require.False(t, math.IsNaN(q.exact(x.best)), "%s: %s", name, q.label)
			list = append(list, sent(q, q.exact(x.best)))
		}
		d := diagnose(t, s, list...)
		assert.Equal(t, "as_designed", d.Causes[0].Id, "%s: %s", name, d.Summary)
		assert.Empty(t, d.Untried, name)
		for _, g := range d.Drawn {
			require.NotNil(t, g.BestMolPerS, "%s: %s", name, g.UnknownBecause)
			assert.InDelta(t, g.GetExpectedMolPerS(), g.GetBestMolPerS(), 2*g.GetStandardUncertaintyMolPerS(), "%s: %s", name, g.Injector)
		}
	}
}

// A plant with more suspects than are tried gets its card, and a diagnosis says what to do instead.
func TestTooManySuspects(t *testing.T) {
	s := skid(t, plantgen.Copies(design(t, demo), 47*21, 1))
	card, err := s.Card(context.Background(), []int{0})
	require.NoError(t, err)
	assert.Contains(t, strings.Join(card.Cases[0].Readings[0].Notes, "\n"), "at most 250 are tried")
	d, problems, err := s.Diagnose(context.Background(), 0, []*skidrulev1.SiteReading{sent(s.places[0], 1e-3)})
	require.NoError(t, err)
	assert.Nil(t, d)
	require.Len(t, problems, 1)
	assert.Equal(t, -1, problems[0].Index)
	assert.Contains(t, problems[0].Message, "give the train that was read as a design of its own")
}
