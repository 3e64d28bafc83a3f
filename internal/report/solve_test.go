package report_test

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// A share of a temperature above absolute zero says nothing to people.
func TestMarginsOfTemperaturesAreDifferences(t *testing.T) {
	s := &skidrulev1.Solution{Margins: []*skidrulev1.OutcomeMargin{
		{RuleId: "sizing/coolant-cool-enough", Subject: "components.OG-1", Status: "met", Label: "coolant temperature",
			Dimension: quantity.Temperature.Name(), Value: proto.Float64(291.15), Limit: proto.Float64(298.15), Ratio: proto.Float64(0.0235)},
		{RuleId: "sizing/power-supply-power", Subject: "components.OG-1", Status: "met", Label: "power",
			Dimension: quantity.Power.Name(), Value: proto.Float64(500), Limit: proto.Float64(400), Ratio: proto.Float64(-0.25)},
	}}
	var b bytes.Buffer
	require.NoError(t, report.Solution(&b, s, report.Style{}))
	assert.Regexp(t, `18 degC +25 degC +7 K\n`, b.String())
	assert.Regexp(t, `500 W +400 W +25 %\n`, b.String())
}
