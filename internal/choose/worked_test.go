package choose_test

import (
	"context"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/choose"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// row is a value worked by hand with how well it is known, in the unit of the note.
type row struct{ value, tolerance float64 }

// workedRows reads the tables of the note.
func workedRows(t *testing.T) map[string]row {
	data, err := os.ReadFile("../../testdata/worked/choose-side-stream.md")
	require.NoError(t, err)
	out := map[string]row{}
	for line := range strings.Lines(string(data)) {
		cells := strings.Split(strings.Trim(strings.TrimSpace(line), "|"), "|")
		if len(cells) != 4 || strings.Contains(line, "---") || strings.TrimSpace(cells[0]) == "what" {
			continue
		}
		var r row
		_, err := fmt.Sscan(strings.TrimSpace(cells[2]), &r.value)
		require.NoError(t, err, line)
		_, err = fmt.Sscan(strings.TrimSpace(cells[3]), &r.tolerance)
		require.NoError(t, err, line)
		out[strings.TrimSpace(cells[0])] = r
	}
	return out
}

// evidenceOf finds a number behind a reason.
func evidenceOf(t *testing.T, r *skidrulev1.RejectedPart, rule, label string) *skidrulev1.Evidence {
	for _, q := range r.GetReasons() {
		for _, e := range q.GetEvidence() {
			if q.GetRuleId() == rule && e.GetLabel() == label {
				return e
			}
		}
	}
	require.FailNow(t, "no such number", "%s %s in %v", rule, label, r)
	return nil
}

// Units of the note in those of the interface. Normal conditions of NL/min are 0 degC and 101325 Pa: n = V p/(R T).
const (
	cubicMetresPerHour = 1.0 / 3600
	bar                = 1e5
	gramsPerHour       = 1e-3 / 3600
	normalLitres       = 1e-3 / 60 * 101325 / (8.314462618 * 273.15)
)

// TestWorkedByHand reads the same numbers as testdata/worked/choose-side-stream.md.
func TestWorkedByHand(t *testing.T) {
	t.Parallel()
	e, err := newEngine()
	require.NoError(t, err)
	rows := workedRows(t)
	used := map[string]bool{}
	compare := func(what string, got, unit float64) {
		r, ok := rows[what]
		require.True(t, ok, what)
		used[what] = true
		assert.InDelta(t, r.value, got/unit, r.tolerance, what)
	}
	design := readDesign(t, "hatchery-side-stream")
	ask := func(by skidrulev1.ChoiceMeasure, slots ...string) *skidrulev1.PartChoices {
		a, err := choose.Parts(context.Background(), e, &skidrulev1.ChoosePartsRequest{Design: design, Slots: slots, Measure: by, Results: 1})
		require.NoError(t, err)
		require.True(t, a.GetSearch().GetProved())
		require.Len(t, a.GetChoices(), 1)
		return a
	}

	a := ask(skidrulev1.ChoiceMeasure_CHOICE_MEASURE_SIZE, "INJ-1")
	p := a.GetChoices()[0].GetParts()[0]
	assert.Equal(t, "demo/injector-40-m", p.GetPart())
	small := p.GetNextSmaller()
	require.Equal(t, "demo/injector-40-s", small.GetPart())
	compare("water through injector-40-s", evidenceOf(t, small, "sizing/pump-delivers-motive-flow", "flow").GetValue(), cubicMetresPerHour)
	compare("inlet of injector-40-s", evidenceOf(t, small, "sizing/pump-delivers-motive-flow", "inlet pressure").GetValue(), bar)
	drawn := evidenceOf(t, small, "sizing/injector-feeds-generator", "gas drawn")
	compare("gas that injector-40-s draws", drawn.GetValue(), normalLitres)
	compare("gas that OG-1 needs", drawn.GetLimit(), normalLitres)
	margins := a.GetChoices()[0].GetMargins()
	worst := slices.IndexFunc(margins, func(m *skidrulev1.OutcomeMargin) bool { return m.GetRuleId() == "sizing/injector-feeds-generator" })
	require.GreaterOrEqual(t, worst, 0)
	compare("gas that injector-40-m draws at the worst", margins[worst].GetValue(), normalLitres)
	assert.Greater(t, margins[worst].GetValue(), margins[worst].GetLimit())

	a = ask(skidrulev1.ChoiceMeasure_CHOICE_MEASURE_POWER, "OC-1", "OG-1", "PSU-1", "INJ-1", "P-1", "CT-1", "VV-1", "KO-1", "OD-1")
	best := a.GetChoices()[0]
	compare("power of the best choice", best.GetValue(), 1)
	for _, p := range best.GetParts() {
		if p.GetSlot() != "OG-1" {
			continue
		}
		assert.Equal(t, "demo/generator-30v", p.GetPart())
		require.Equal(t, "demo/generator-20v", p.GetNextSmaller().GetPart())
		made := evidenceOf(t, p.GetNextSmaller(), "sizing/generator-output-covers-dose", "ozone made")
		compare("ozone that generator-20v makes", made.GetValue(), gramsPerHour)
		compare("ozone that has to dissolve", made.GetLimit(), gramsPerHour)
	}
	for _, m := range best.GetMargins() {
		if m.GetRuleId() == "sizing/generator-output-covers-dose" {
			compare("ozone that generator-30v makes", m.GetValue(), gramsPerHour)
		}
	}
	assert.Len(t, used, len(rows), "every row of the note is compared")
}
