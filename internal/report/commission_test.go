package report_test

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func sheetCard() *skidrulev1.CommissioningCard {
	return &skidrulev1.CommissioningCard{
		DesignName: "Loop <b>A</b> | @all", DesignRevision: "B", Cautions: []string{"Never rely on smell."}, Basis: []string{"Solved for the case."},
		Cases: []*skidrulev1.CardCase{
			{Id: "normal", Title: "normal operation", Readings: []*skidrulev1.ExpectedReading{
				{Tag: "PI-1", Title: "Inlet", Shows: "pressure at the motive inlet of INJ-1", Dimension: "pressure_gauge", Low: proto.Float64(3.4e5), Best: proto.Float64(3.5e5), High: proto.Float64(3.6e5),
					RangeLow: proto.Float64(0), RangeHigh: proto.Float64(6e5), SpanLowRatio: proto.Float64(3.4 / 6), SpanHighRatio: proto.Float64(0.6),
					IfBelow: []string{"a", "b", "c", "d", "e", "f", "g"}, IfAbove: []string{"INJ-1: throat fouled"}, Assumed: []string{"lines.W-1.length"}},
				{Tag: "PI-2", Shows: "pressure\x1b[31m", Dimension: "pressure_gauge", UnknownBecause: "unknown, because lines.W-2.length is not stated", Missing: []string{"lines.W-2.length"}},
				{Tag: "LSH-1", Shows: "level in LT-1", Expected: "does not act"},
				{Tag: "AE-1", Shows: "dissolved ozone", Dimension: "mass_concentration", Low: proto.Float64(2e-4)},
				{Tag: "PS-1", Shows: "pressure at the switch", Dimension: "pressure_gauge", Low: proto.Float64(-3e4), Best: proto.Float64(-3e4), High: proto.Float64(-3e4), SetPoint: proto.Float64(-5e3)},
			}},
			{Id: "blower_lost", Title: "blower lost", ExcludedBecause: "The plant has no blower."},
		},
	}
}

// Cautions come first, blanks stand beside every reading, what is unknown says why, and text of a design stays text.
func TestCard(t *testing.T) {
	c := sheetCard()
	var text, marked, page, raw bytes.Buffer
	require.NoError(t, report.Card(&text, c, report.Style{}))
	require.NoError(t, report.CardMarkdown(&marked, c, quantity.Metric))
	require.NoError(t, report.CardHTML(&page, c, quantity.Metric))
	require.NoError(t, report.MessageJSON(&raw, c))
	for name, out := range map[string]string{"text": text.String(), "markdown": marked.String(), "html": page.String()} {
		assert.Less(t, strings.Index(out, "Never rely on smell."), strings.Index(out, "PI-1"), name)
		for _, want := range []string{"3.5 bar(g)", "3.4 to 3.6 bar(g)", "57 to 60 %", "unknown, because lines.W-2.length is not stated", "at least 0.2 mg/L", "acts at -50 mbar(g)", "a; b; c; d; e; and 2 more", "throat fouled", "The plant has no blower."} {
			plain := strings.NewReplacer("\\", "").Replace(out)
			assert.Contains(t, plain, want, name)
		}
		assert.NotContains(t, out, "\x1b", name)
	}
	assert.Contains(t, text.String(), "__________  ____\n")
	assert.NotContains(t, page.String(), "<b>A</b>")
	assert.NotContains(t, marked.String(), "<b>A</b>")
	assert.NotContains(t, marked.String(), "@all", "a mention is parted")
	assert.Equal(t, 1, strings.Count(page.String(), "<section class=\"sheet\">"), "a case that cannot occur has no sheet")
	assert.True(t, json.Valid(raw.Bytes()))
	var again bytes.Buffer
	require.NoError(t, report.MessageJSON(&again, c))
	assert.Equal(t, raw.String(), again.String())
	var us bytes.Buffer
	require.NoError(t, report.Card(&us, c, report.Style{Units: quantity.US}))
	assert.Contains(t, us.String(), "50.76 psi(g)")
}

func told() *skidrulev1.Diagnosis {
	d := &skidrulev1.Diagnosis{
		DesignName: "Loop A", CaseId: "normal", Cautions: []string{"Never rely on smell."}, Verdict: skidrulev1.DiagnosisVerdict_DIAGNOSIS_VERDICT_CANNOT_DECIDE,
		Summary: "The readings cannot decide between 2 causes.",
		Readings: []*skidrulev1.JudgedReading{
			{Place: "PI-1", Shows: "pressure", Dimension: "pressure_gauge", Value: 3.1e5, Uncertainty: 9600, UncertaintySource: "stated", Low: proto.Float64(3.4e5), Best: proto.Float64(3.5e5), High: proto.Float64(3.6e5), DeviationRatio: proto.Float64(-5.1)},
			{Place: "PI-2", Shows: "pressure", Dimension: "pressure_gauge", Value: 1e5, Uncertainty: 4000, UncertaintySource: "stated", UnknownBecause: "unknown, because lines.W-2.length is not stated"},
		},
		Drawn: []*skidrulev1.DrawnGas{
			{Injector: "INJ-1", BestMolPerS: proto.Float64(0.004), StandardUncertaintyMolPerS: proto.Float64(0.0002), LowMolPerS: proto.Float64(0.0036), HighMolPerS: proto.Float64(0.0044), ExpectedMolPerS: proto.Float64(0.0045), Steps: []string{"table: 5 NL/min"}},
			{Injector: "INJ-2", UnknownBecause: "unknown, because the pressure at the suction is not read"},
		},
		Unseen: []string{"CV-1: check valve stuck shut or nearly so"}, Untried: []string{"P-2: pump worn: not solved"},
		Further: []*skidrulev1.FurtherReading{{Place: "INJ-1.suction", Shows: "pressure at the suction of INJ-1", NoInstrument: true, Dimension: "pressure_gauge", FirstCause: "P-1: pump worn", SecondCause: "PI-1: shows wrong", First: -2e4, Second: -3e4, SeparationRatio: 12.4}},
		Basis:   []string{"Least squares."},
	}
	for i, title := range []string{"P-1: pump worn", "PI-1: shows wrong", "1", "2", "3", "4", "5", "6", "7"} {
		d.Causes = append(d.Causes, &skidrulev1.Cause{Title: title, Size: "80 %", ChiSquare: float64(i), DegreesOfFreedom: 1, ProbabilityRatio: 0.5, Score: float64(i), WeightRatio: 0.1, Leads: i < 2,
			Draws: []*skidrulev1.CauseDraw{{Injector: "INJ-1", GasMolPerS: 0.004}}})
	}
	d.Causes[0].Alike = []string{"PI-1: shows wrong"}
	d.Causes[1].Alike = []string{"P-1: pump worn"}
	d.Causes[0].Beyond = []string{"components.INJ-1.venturi_injector.performance"}
	return d
}

// The verdict comes before the numbers, the leading causes are marked, and what is left out is counted.
func TestDiagnosis(t *testing.T) {
	d := told()
	var text, marked, page, raw bytes.Buffer
	require.NoError(t, report.Diagnosis(&text, d, report.Style{}))
	require.NoError(t, report.DiagnosisMarkdown(&marked, d, quantity.Metric))
	require.NoError(t, report.DiagnosisHTML(&page, d, quantity.Metric))
	require.NoError(t, report.MessageJSON(&raw, d))
	assert.True(t, json.Valid(raw.Bytes()))
	for name, out := range map[string]string{"text": text.String(), "markdown": marked.String(), "html": page.String()} {
		plain := strings.NewReplacer("\\", "", "&#43;", "+", "&#34;", `"`).Replace(out)
		if name == "text" {
			plain = strings.Join(strings.Fields(plain), " ")
		}
		assert.Less(t, strings.Index(plain, "Never rely on smell."), strings.Index(plain, "cannot decide between"), name)
		assert.Less(t, strings.Index(plain, "cannot decide between"), strings.Index(plain, "3.1 bar(g) ± 96 mbar"), name)
		for _, want := range []string{"-5.1 u", "unknown, because lines.W-2.length is not stated", "twice the standard uncertainty", "INJ-2 draws: unknown, because the pressure at the suction is not read",
			"carried on beyond components.INJ-1.venturi_injector.performance", "an instrument must be put on", "12 standard uncertainties apart", "check valve stuck shut", "P-2: pump worn: not solved", "P-1: pump worn; PI-1: shows wrong"} {
			assert.Contains(t, plain, want, name)
		}
	}
	assert.Contains(t, text.String(), "*  P-1: pump worn")
	assert.Contains(t, text.String(), "and 2 more that are ruled out")
	assert.Contains(t, marked.String(), "and 2 more that are ruled out")
}
