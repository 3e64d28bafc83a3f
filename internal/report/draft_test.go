package report_test

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func TestDraft(t *testing.T) {
	t.Parallel()
	d := &skidrulev1.Draft{
		Design:  &skidrulev1.Design{Name: "Loop\x1b[31m", Components: []*skidrulev1.Component{{Tag: "CV-1"}}},
		Reasons: []string{"Side stream: a dose is asked for."},
		Sizes: []*skidrulev1.DraftSize{
			{Label: "water", Dimension: "liquid_flow", Value: 0.0015, Source: "balance"},
			{Label: "kLa", Dimension: "rate", Value: 0.02, Low: proto.Float64(0.01), High: proto.Float64(0.03), Source: "from memory"},
		},
		Picks: []*skidrulev1.DraftPick{{Tag: "CV-1", Part: "demo/check", Why: "the only entry that fits"}},
		Questions: []*skidrulev1.DraftQuestion{
			{Path: "basis.bromide"},
			{Path: "components.CV-1.max_pressure", Wanted: "at least 5 bar(g)"},
			{Path: "components.CV-1.seat_material"},
			{Path: "components.CV-2.seat_material"},
		},
		Findings: []*skidrulev1.Finding{{RuleId: "sizing/x", Severity: skidrulev1.Severity_SEVERITY_WARNING, Message: "Too small."}},
		Coverage: &skidrulev1.Coverage{Met: 3, Broken: 1},
		Cautions: []string{"never rely on smell"},
	}
	var out bytes.Buffer
	require.NoError(t, report.Draft(&out, d, report.Style{Width: 100}))
	text := out.String()
	for _, want := range []string{
		"Loop", ": 1 components, 0 lines", "  - Side stream", "5.4 m3/h", "0.6 1/min to 1.8 1/min", "from memory", "demo/check",
		"To be found out: 4 data", "  basis\n    bromide\n", "  CV-1\n    max_pressure: at least 5 bar(g)\n    and seat_material\n  CV-2\n    seat_material\n",
		"warning sizing/x: Too small.", "3 met, 1 broken", "  - never rely on smell",
	} {
		assert.Contains(t, text, want)
	}
	assert.NotContains(t, text, "\x1b", "text of others does not paint")
	out.Reset()
	require.NoError(t, report.MessageJSON(&out, d))
	assert.True(t, json.Valid(out.Bytes()))
	assert.Contains(t, out.String(), `"wanted": "at least 5 bar(g)"`)
}
