package choose_test

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/choose"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

var newEngine = sync.OnceValues(engine.New)

func readDesign(t require.TestingT, name string) *skidrulev1.Design {
	data, err := os.ReadFile("../../testdata/" + name + "/design.yaml")
	require.NoError(t, err)
	f, err := designfile.Read(name, data)
	require.NoError(t, err)
	return f.Design
}

// combination is one way to fill the slots, as part ids joined.
type combination struct {
	parts []string
	power float64
}

// everyWay checks every combination of parts as a whole design and keeps those that meet every rule, the lowest power first.
func everyWay(t *testing.T, e *engine.Engine, design *skidrulev1.Design, made *skidrulev1.Catalogue, slots []string) (does []combination, checked int) {
	lists := make([][]*skidrulev1.CatalogueEntry, len(slots))
	at := make([]int, len(slots))
	for i, tag := range slots {
		at[i] = slices.IndexFunc(design.GetComponents(), func(c *skidrulev1.Component) bool { return c.GetTag() == tag })
		kind := kindOfPart(t, design.GetComponents()[at[i]].GetPart())
		for _, x := range made.GetEntries() {
			if plant.KindOf(x.GetData()) == kind {
				lists[i] = append(lists[i], x)
			}
		}
	}
	places := make([]int, len(slots))
	for {
		d := proto.CloneOf(design)
		c := combination{}
		known := true
		for i := range slots {
			x := lists[i][places[i]]
			d.Components[at[i]].Part = x.GetId()
			c.parts = append(c.parts, x.GetId())
			w, ok := electric(x.GetData())
			c.power, known = c.power+w, known && ok
		}
		r, err := e.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: d, Options: &skidrulev1.CheckOptions{Catalogue: made}})
		require.NoError(t, err)
		checked++
		if known && clean(r) {
			does = append(does, c)
		}
		i := len(slots) - 1
		for ; i >= 0; i-- {
			if places[i]++; places[i] < len(lists[i]) {
				break
			}
			places[i] = 0
		}
		if i < 0 {
			break
		}
	}
	slices.SortStableFunc(does, func(a, b combination) int { return cmp.Compare(a.power, b.power) })
	return does, checked
}

// clean tells whether no error and no warning is broken or left open.
func clean(r *skidrulev1.Report) bool {
	for _, f := range r.GetFindings() {
		if f.GetSeverity() <= skidrulev1.Severity_SEVERITY_WARNING {
			return false
		}
	}
	for _, o := range r.GetOutcomes() {
		if o.GetSeverity() <= skidrulev1.Severity_SEVERITY_WARNING {
			return false
		}
	}
	return len(r.GetFailures()) == 0
}

// electric is the stated power of a machine; false where it has one and does not state it.
func electric(c *skidrulev1.Component) (float64, bool) {
	switch {
	case c.GetPump() != nil:
		return c.GetPump().GetPowerW(), c.GetPump().PowerW != nil
	case c.GetOzoneGenerator() != nil:
		return c.GetOzoneGenerator().GetRatedPowerW(), c.GetOzoneGenerator().RatedPowerW != nil
	case c.GetOxygenConcentrator() != nil:
		return c.GetOxygenConcentrator().GetPowerW(), c.GetOxygenConcentrator().PowerW != nil
	case c.GetOzoneDestruct() != nil:
		return c.GetOzoneDestruct().GetHeaterPowerW(), c.GetOzoneDestruct().HeaterPowerW != nil
	}
	return 0, true
}

func partsOf(c *skidrulev1.PartChoice) (out []string) {
	for _, p := range c.GetParts() {
		out = append(out, p.GetPart())
	}
	return out
}

// TestAgreesWithGoingThroughEverything compares the choices with those that are found by checking every combination, for small
// generated catalogues and several sets of slots.
func TestAgreesWithGoingThroughEverything(t *testing.T) {
	t.Parallel()
	e, err := newEngine()
	require.NoError(t, err)
	design := readDesign(t, "hatchery-side-stream")
	total, found, whole := 0, 0, int64(0)
	for n, slots := range [][]string{
		{"P-1", "INJ-1"}, {"OG-1", "PSU-1"}, {"OC-1", "OG-1"}, {"VV-1", "KO-1", "OD-1"}, {"OG-1", "P-1", "INJ-1"}, {"CT-1", "VV-1"},
	} {
		kinds := []plant.Kind{plant.KindOxygenConcentrator, plant.KindOzoneGenerator, plant.KindPowerSupply, plant.KindPump, plant.KindVenturiInjector, plant.KindContactVessel, plant.KindFloatVentValve, plant.KindKnockOutPot, plant.KindOzoneDestruct}
		each := 5
		if len(slots) == 3 {
			each = 3
		}
		made := generated(rand.New(rand.NewPCG(7, uint64(n))), each, 1.2, kinds...)
		want, checked := everyWay(t, e, design, made, slots)
		total, found = total+checked, found+len(want)
		request := &skidrulev1.ChoosePartsRequest{Design: design, Slots: slots, Options: &skidrulev1.CheckOptions{Catalogue: made}, OwnPartsOnly: true, Results: 20}
		got, err := choose.Parts(context.Background(), e, request)
		require.NoError(t, err)
		require.True(t, got.GetSearch().GetProved(), got.GetSearch().GetNotProvedBecause())
		whole += got.GetSearch().GetChecked()
		require.Len(t, got.GetChoices(), min(20, len(want)), "%v", slots)
		var does []string
		for _, c := range want {
			does = append(does, inOrder(c.parts, got, slots))
		}
		for i, c := range got.GetChoices() {
			assert.InDelta(t, want[i].power, c.GetValue(), 1e-3, "%v, choice %d", slots, i+1)
			assert.Contains(t, does, strings.Join(partsOf(c), " "), "%v, choice %d", slots, i+1)
		}
		if n%2 == 1 {
			continue
		}
		// The best by margin is the best of all, and the same whether one is wanted or many.
		request.Measure = skidrulev1.ChoiceMeasure_CHOICE_MEASURE_MARGIN
		many, err := choose.Parts(context.Background(), e, request)
		require.NoError(t, err)
		request.Results = 1
		one, err := choose.Parts(context.Background(), e, request)
		require.NoError(t, err)
		require.Equal(t, len(many.GetChoices()) > 0, len(one.GetChoices()) > 0)
		for i, c := range many.GetChoices() {
			least := math.Inf(1)
			for _, m := range c.GetMargins() {
				least = min(least, math.Abs(m.GetRatio()))
			}
			assert.InDelta(t, least, c.GetValue(), 1e-12)
			if i > 0 {
				assert.LessOrEqual(t, c.GetValue(), many.GetChoices()[i-1].GetValue())
			}
			if len(want) <= 20 {
				assert.LessOrEqual(t, c.GetValue(), one.GetChoices()[0].GetValue())
			}
		}
		if len(many.GetChoices()) > 0 {
			assert.Equal(t, partsOf(many.GetChoices()[0]), partsOf(one.GetChoices()[0]))
		}
	}
	t.Logf("%d combinations checked one by one, %d do; the search checked %d whole designs", total, found, whole)
	assert.Greater(t, found, 10, "the catalogues leave something to choose")
	assert.Less(t, whole, int64(total))
}

// inOrder puts parts, given by slot as asked, into the order of an answer's slots.
func inOrder(parts []string, a *skidrulev1.PartChoices, slots []string) string {
	var out []string
	for _, s := range a.GetSlots() {
		out = append(out, parts[slices.Index(slots, s.GetTag())])
	}
	return strings.Join(out, " ")
}

// TestLargeCatalogue chooses nine parts from a catalogue of two thousand. The count of checks stands for time, which depends on the
// machine: going through every combination would take 10^21 of them.
func TestLargeCatalogue(t *testing.T) {
	if testing.Short() {
		t.Log("the catalogue has 20 parts of each kind")
	}
	t.Parallel()
	e, err := newEngine()
	require.NoError(t, err)
	each := 243
	if testing.Short() {
		each = 20
	}
	random := rand.New(rand.NewPCG(1, 0))
	made := generated(random, each, 3, plant.KindOxygenConcentrator, plant.KindOzoneGenerator, plant.KindVenturiInjector,
		plant.KindPump, plant.KindContactVessel, plant.KindFloatVentValve, plant.KindKnockOutPot, plant.KindOzoneDestruct)
	made.Entries = append(made.Entries, generated(random, 60, 3, plant.KindPowerSupply).GetEntries()...)
	slots := []string{"OC-1", "OG-1", "PSU-1", "INJ-1", "P-1", "CT-1", "VV-1", "KO-1", "OD-1"}
	got, err := choose.Parts(context.Background(), e, &skidrulev1.ChoosePartsRequest{
		Design: readDesign(t, "hatchery-side-stream"), Options: &skidrulev1.CheckOptions{Catalogue: made}, Slots: slots, OwnPartsOnly: true, Results: 1})
	require.NoError(t, err)
	q := got.GetSearch()
	t.Logf("%s combinations: %s excluded alone, %s together, %s by rank; %d checked whole, %d with open slots", q.GetCombinations(), q.GetExcludedAlone(), q.GetExcludedTogether(), q.GetExcludedByRank(), q.GetChecked(), q.GetOpenChecks())
	assert.True(t, q.GetProved(), q.GetNotProvedBecause())
	assert.Less(t, q.GetOpenChecks()+q.GetChecked(), int64(20_000))
	if each == 243 {
		assert.Len(t, made.GetEntries(), 2004)
		require.NotEmpty(t, got.GetChoices())
		for _, p := range got.GetChoices()[0].GetParts() {
			require.NotNil(t, p.GetNextSmaller(), p.GetSlot())
			assert.False(t, p.GetNextSmaller().GetMeetsAll(), "a smaller part of %s does", p.GetSlot())
			assert.NotEmpty(t, p.GetNextSmaller().GetReasons())
		}
	}
}

// TestOpenSlotsBreakNothing holds what the search rests on against the clean designs: with components left open, no rule is broken
// of anything that has its data.
func TestOpenSlotsBreakNothing(t *testing.T) {
	t.Parallel()
	e, err := newEngine()
	require.NoError(t, err)
	for _, name := range []string{"atmospheric-tank", "cylinder-pressure-fed", "hatchery-side-stream", "inline-degassing", "wall-unit-air-fed"} {
		design := readDesign(t, name)
		random := rand.New(rand.NewPCG(3, 3))
		for n := range design.GetComponents() {
			d := proto.CloneOf(design)
			gone := map[string]bool{}
			for _, i := range []int{n, random.IntN(len(d.GetComponents()))} {
				q := d.GetComponents()[i]
				kind := plant.KindOf(q)
				if q.GetPart() != "" {
					kind = kindOfPart(t, q.GetPart())
				}
				if kind == plant.KindBoundary || kind == plant.KindController || gone[q.GetTag()] {
					continue
				}
				gone[q.GetTag()] = true
				q.Part = ""
				if plant.KindOf(q) == plant.KindNone {
					q.ProtoReflect().Mutable(kind.Info().Field)
				}
			}
			r, _, err := e.CheckOpen(context.Background(), &skidrulev1.CheckDesignRequest{Design: d, Options: &skidrulev1.CheckOptions{StatedOnly: n%4 != 0}}, false)
			require.NoError(t, err)
			for _, f := range r.GetFindings() {
				about := false
				for tag := range gone {
					about = about || f.GetSubject() == "components."+tag || strings.HasPrefix(f.GetSubject(), "components."+tag+".")
				}
				// The search does not ask this one while slots are open.
				about = about || f.GetRuleId() == "ratings/shut-in-liquid-relieved"
				assert.True(t, about || f.GetSeverity() > skidrulev1.Severity_SEVERITY_WARNING, "%s without %v: %s of %s: %s", name, gone, f.GetRuleId(), f.GetSubject(), f.GetMessage())
			}
		}
	}
}

func kindOfPart(t require.TestingT, id string) plant.Kind {
	for _, e := range demoEntries() {
		if e.GetId() == id {
			return plant.KindOf(e.GetData())
		}
	}
	require.FailNow(t, fmt.Sprintf("no part %s", id))
	return plant.KindNone
}
