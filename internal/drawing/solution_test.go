package drawing_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/skidrule/skidrule/internal/drawing"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func exactly(x float64) *skidrulev1.SolvedRange {
	return &skidrulev1.SolvedRange{Low: x, Best: x, High: x}
}

func TestCaseValues(t *testing.T) {
	port := func(name string, bar float64) *skidrulev1.SolvedPort {
		return &skidrulev1.SolvedPort{Port: name, PressurePaGauge: exactly(bar * 1e5)}
	}
	c := &skidrulev1.SolvedCase{
		Id: "normal",
		Ports: []*skidrulev1.SolvedPort{port("P-1.inlet", 1.0621), port("P-1.outlet", 3.6), port("HV-1.inlet", 1.1), port("HV-1.outlet", 1.099),
			port("RM-1.process", 1.1), {Port: "CT-1.inlet"}, port("PI-1.process", 3.51)},
		Lines: []*skidrulev1.SolvedWay{
			{Tag: "W-1", From: "RM-1.process", To: "HV-1.inlet", LiquidFlowM3PerS: exactly(6.2277 / 3600)},
			{Tag: "W-1", From: "HV-1.outlet", To: "P-1.inlet", LiquidFlowM3PerS: exactly(6.2277 / 3600)},
			{Tag: "I-1", From: "P-1.outlet", To: "PI-1.process", LiquidFlowM3PerS: exactly(0)},
			{Tag: "G-1", From: "A-1.outlet", To: "B-1.inlet"},
		},
		Passages: []*skidrulev1.SolvedWay{
			{Tag: "P-1", From: "P-1.inlet", To: "P-1.outlet"}, {Tag: "HV-1", From: "HV-1.inlet", To: "HV-1.outlet"}, {Tag: "X-1", From: "inlet", To: "outlet"},
		},
	}
	kinds := map[string]string{"RM-1": "boundary", "CT-1": "contact_vessel", "PI-1": "pressure_gauge", "P-1": "pump", "HV-1": "hand_valve"}
	assert.Equal(t, []drawing.Value{
		{Tag: "W-1", Rows: []string{"6.23 m3/h"}}, {Tag: "P-1", Rows: []string{"1.06 → 3.6 bar(g)"}},
		{Tag: "RM-1", Rows: []string{"1.1 bar(g)"}}, {Tag: "PI-1", Rows: []string{"3.51 bar(g)"}},
	}, drawing.CaseValues(c, kinds, quantity.Metric), "what is not known is left out, and so is what hardly changes")
	assert.Contains(t, drawing.CaseValues(c, kinds, quantity.US)[1].Rows[0], "psi")
}
