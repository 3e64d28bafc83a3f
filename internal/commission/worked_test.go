package commission

import (
	"context"
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// worked is one line of the note: what was done by hand, what came out, and how near the model has to come.
type worked struct{ value, tolerance string }

// workedRows reads the tables of a note.
func workedRows(t *testing.T, path string) map[string]worked {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	out := map[string]worked{}
	for line := range strings.Lines(string(data)) {
		cells := strings.Split(strings.Trim(strings.TrimSpace(line), "|"), "|")
		if len(cells) != 4 || strings.Contains(line, "---") || strings.Contains(line, "by hand |") {
			continue
		}
		what := strings.TrimSpace(cells[0])
		require.NotContains(t, out, what)
		out[what] = worked{strings.TrimSpace(cells[2]), strings.TrimSpace(cells[3])}
	}
	return out
}

// The note beside the designs, done by hand, and the model agree, line by line.
func TestWorkedByHand(t *testing.T) {
	rows := workedRows(t, "../../testdata/worked/commission-side-stream.md")
	s := skid(t, design(t, demo))
	x, err := s.prepare(context.Background(), 0, nil)
	require.NoError(t, err)
	port := func(label string) float64 {
		q, wrong := s.resolve(label)
		require.Empty(t, wrong)
		return q.exact(x.best)
	}
	card, err := s.Card(context.Background(), []int{0})
	require.NoError(t, err)
	shown := func(tag string) float64 {
		for _, r := range card.Cases[0].Readings {
			if r.Tag == tag {
				return r.GetBest()
			}
		}
		require.Fail(t, "not on the card", tag)
		return math.NaN()
	}
	i, ok := s.plant.FindLine("W-1")
	require.True(t, ok)
	lost := 0.0
	for k := s.plant.Lines[i].FirstWay; k < s.plant.Lines[i].FirstWay+s.plant.Lines[i].NumWays; k++ {
		w := &s.plant.Ways[k]
		za, _ := operate.Height(s.plant, w.From)
		zb, _ := operate.Height(s.plant, w.To)
		lost += x.best.Ports[w.From].Pressure.Best - x.best.Ports[w.To].Pressure.Best + x.best.Density*9.80665*(za-zb)
	}
	stated := bar("PI-2", 1.1)
	stated.Accuracy = &skidrulev1.SiteReading_Uncertainty{Uncertainty: 4000}
	drawing := diagnose(t, s, bar("PI-1", 3.5), stated, bar("INJ-1.suction", -0.1), litres("FM-1", 6))
	require.Len(t, drawing.Drawn, 1)
	parts := regexp.MustCompile(`from the motive inlet ([\d.]+) NL/min, suction ([\d.]+) NL/min, outlet ([\d.]+) NL/min`).FindStringSubmatch(strings.Join(drawing.Drawn[0].Steps, "\n"))
	require.Len(t, parts, 4, "%v", drawing.Drawn[0].Steps)
	gas := func(text string) float64 {
		v, err := strconv.ParseFloat(text, 64)
		require.NoError(t, err)
		return v / 60 / 22.41396954
	}
	high := diagnose(t, s, bar("PI-1", 3.5), bar("PI-2", 1.5), litres("FM-1", 6))
	cause := func(id, subject string) *skidrulev1.Cause {
		for _, c := range high.Causes {
			if c.Id == id && c.Subject == subject {
				return c
			}
		}
		require.Fail(t, "no cause", id)
		return nil
	}
	wrong := cause("wrong_gauge", "components.PI-2")
	off, err := quantity.Parse(strings.TrimSuffix(wrong.Size, " too high"), quantity.PressureDifference)
	require.NoError(t, err)
	const gauge, drop, water, flow, plain = quantity.PressureGauge, quantity.PressureDifference, quantity.LiquidFlow, quantity.GasFlow, quantity.Ratio
	got := map[string]struct {
		value float64
		d     quantity.Dimension
	}{
		"head of P-1":                {port("P-1.outlet") - port("P-1.inlet"), drop},
		"lost in W-1":                {lost, drop},
		"inlet of INJ-1":             {port("INJ-1.motive_inlet"), gauge},
		"PI-1":                       {shown("PI-1"), gauge},
		"outlet of CT-1":             {port("CT-1.outlet"), gauge},
		"inlet of CT-1":              {port("CT-1.inlet"), gauge},
		"outlet of INJ-1":            {port("INJ-1.outlet"), gauge},
		"PI-2":                       {shown("PI-2"), gauge},
		"water through INJ-1":        {shown("INJ-1"), water},
		"FM-1":                       {shown("FM-1"), flow},
		"suction of INJ-1":           {shown("INJ-1.suction"), gauge},
		"INJ-1 draws":                {drawing.Drawn[0].GetBestMolPerS(), flow},
		"of it from the inlet":       {gas(parts[1]), flow},
		"of it from the suction":     {gas(parts[2]), flow},
		"of it from the outlet":      {gas(parts[3]), flow},
		"chi-square as designed":     {cause("as_designed", "").ChiSquare, plain},
		"chi-square with PI-2 wrong": {wrong.ChiSquare, plain},
		"score with PI-2 wrong":      {wrong.Score, plain},
		"PI-2 shows wrong by":        {off, drop},
	}
	require.Len(t, got, len(rows))
	for what, row := range rows {
		g, ok := got[what]
		require.True(t, ok, what)
		within := g.d
		if within == gauge {
			within = drop
		}
		read := func(text string, d quantity.Dimension) float64 {
			if d == plain {
				v, err := strconv.ParseFloat(text, 64)
				require.NoError(t, err, what)
				return v
			}
			v, err := quantity.Parse(text, d)
			require.NoError(t, err, what)
			return v
		}
		assert.InDelta(t, read(row.value, g.d), g.value, read(row.tolerance, within), "%s", what)
	}
	assert.Equal(t, cannotDecide, drawing.Verdict)
	assert.Contains(t, drawing.Summary, "INJ-1.suction again with another instrument")
	assert.Equal(t, cannotDecide, high.Verdict)
	assert.Subset(t, leading(high), []string{"PI-2: shows wrong", "RM-2: pressure behind the skid high", "HV-2: valve partly closed or stuck"})
	assert.Contains(t, high.Summary, "PI-2 again with another instrument")
}
