package draft_test

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/draft"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// anyDemand draws demands from small to large, cold to warm, at sea level to 3000 m, with a dose or with targets.
func anyDemand(t *rapid.T) *skidrulev1.DraftDemand {
	pick := func(name string, low, high float64) *float64 {
		x := rapid.Float64Range(low, high).Draw(t, name)
		return &x
	}
	maybe := func(name string, x *float64) *float64 {
		if rapid.Bool().Draw(t, name+" is stated") {
			return x
		}
		return nil
	}
	scaled := func(x *float64, by float64) *float64 { y := *x * by; return &y }
	shifted := func(x *float64, by float64) *float64 { y := *x + by; return &y }
	b := &skidrulev1.Basis{AltitudeM: pick("altitude", 0, 3000)}
	flow := []float64{0.5, 5, 30, 200}[rapid.IntRange(0, 3).Draw(t, "size")] / 3600
	b.TreatedFlowM3PerS = pick("flow", flow*0.5, flow*2)
	b.MinTreatedFlowM3PerS, b.MaxTreatedFlowM3PerS = maybe("lowest flow", scaled(b.TreatedFlowM3PerS, 0.8)), maybe("highest flow", scaled(b.TreatedFlowM3PerS, 1.2))
	b.WaterTemperatureK = pick("temperature", 278, 299)
	b.MinWaterTemperatureK, b.MaxWaterTemperatureK = maybe("lowest temperature", shifted(b.WaterTemperatureK, -4)), maybe("highest temperature", shifted(b.WaterTemperatureK, 4))
	b.MinAmbientTemperatureK, b.MaxAmbientTemperatureK = maybe("lowest ambient", ptr(278.15)), maybe("highest ambient", ptr(305.15))
	b.OzoneDemandKgPerM3, b.OzoneDecayPerS = maybe("use", pick("use", 0, 5e-4)), maybe("decay", pick("decay", 0, 0.01))
	b.BromideKgPerM3 = maybe("bromide", ptr(2e-5))
	if rapid.Bool().Draw(t, "targets") {
		b.TargetLogGiardiaRatio, b.TargetLogVirusRatio = pick("giardia", 0.5, 2), maybe("virus", pick("virus", 1, 3))
		b.TargetResidualKgPerM3 = pick("residual", 1e-4, 5e-4)
	} else {
		b.TransferredDoseKgPerM3 = pick("dose", 1e-4, 4e-3)
	}
	m := &skidrulev1.DraftDemand{Name: "Any", Basis: b}
	if rapid.Bool().Draw(t, "gravity") {
		m.SupplyPressurePaGauge, m.ReturnPressurePaGauge = pick("supply", 0, 0.25e5), pick("return", 0, 0.2e5)
	} else {
		m.SupplyPressurePaGauge, m.ReturnPressurePaGauge = pick("supply", 0.5e5, 4e5), pick("return", 0.5e5, 3e5)
		m.MaxSupplyPressurePaGauge, m.MaxReturnPressurePaGauge = maybe("highest supply", shifted(m.SupplyPressurePaGauge, 1e5)), maybe("highest return", shifted(m.ReturnPressurePaGauge, 1e5))
	}
	m.Feed = skidrulev1.DraftFeed(rapid.IntRange(0, 3).Draw(t, "feed"))
	return m
}

func ptr(x float64) *float64 { return &x }

// The promise of a draft: whatever the demand, either it is refused with what would be right, or the check finds nothing broken
// of severity error or warning, whatever it cannot verify is asked, and the file reads back as the same design.
func TestEveryDraftChecksClean(t *testing.T) {
	t.Parallel()
	e := testEngine(t)
	drafted := 0
	rapid.Check(t, func(t *rapid.T) {
		request := &skidrulev1.DraftDesignRequest{Demand: anyDemand(t)}
		d, err := draft.Draft(context.Background(), e, request)
		if err != nil {
			var refused *engine.RequestError
			require.True(t, errors.As(err, &refused), "%v", err)
			for _, v := range refused.Violations {
				require.NotEmpty(t, v.Message)
				require.NotEmpty(t, v.Suggestion)
				require.Contains(t, v.Path, "demand.")
			}
			return
		}
		drafted++
		for _, f := range d.Findings {
			require.Contains(t, []skidrulev1.Severity{skidrulev1.Severity_SEVERITY_NOTE}, f.Severity, "%s of %s: %s", f.RuleId, f.Subject, f.Message)
		}
		file, err := designfile.Read("draft.yaml", []byte(d.Text))
		require.NoError(t, err)
		require.True(t, proto.Equal(d.Design, file.Design), "the file is not the design")
		report, err := e.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: file.Design})
		require.NoError(t, err)
		asked := map[string]bool{}
		for _, q := range d.Questions {
			require.NotEmpty(t, q.Ask)
			require.NotEmpty(t, q.Why)
			require.NotContains(t, q.Ask, "State components", "no comment on %s", q.Path)
			asked[q.Path] = true
		}
		for _, o := range report.Outcomes {
			if o.Status == skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE {
				require.NotEmpty(t, o.Missing, "%s of %s lacks nothing and cannot be verified", o.RuleId, o.Subject)
				for _, path := range o.Missing {
					require.True(t, asked[path], "%s lacks %s, and nobody asks for it", o.RuleId, path)
				}
			}
		}
		again, err := draft.Draft(context.Background(), e, request)
		require.NoError(t, err)
		require.Equal(t, d.Text, again.Text)
	})
	assert.Positive(t, drafted, "every demand was refused")
}
