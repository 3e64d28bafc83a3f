package service_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/answer"
	"github.com/skidrule/skidrule/internal/calc"
	"github.com/skidrule/skidrule/internal/service"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func TestCalculations(t *testing.T) {
	client := skidrulev1.NewCalcServiceClient(serve(t, smallEngine(t), options()))
	list, err := client.ListCalculations(context.Background(), &skidrulev1.ListCalculationsRequest{})
	require.NoError(t, err)
	require.Len(t, list.GetCalculations(), len(calc.List()))
	for i, c := range calc.List() {
		back, err := answer.CalculationOf(list.GetCalculations()[i])
		require.NoError(t, err)
		for _, m := range list.GetCalculations()[i].GetInputs() {
			assert.NotEqual(t, skidrulev1.InputKind_INPUT_KIND_UNSPECIFIED, m.GetKind(), "%s.%s", c.Name, m.GetKey())
		}
		assert.Equal(t, c.Explain(0), back.Explain(0), "nothing is lost on the way")
	}
	some, err := client.ListCalculations(context.Background(), &skidrulev1.ListCalculationsRequest{Names: []string{"surge", "dew-point"}})
	require.NoError(t, err)
	require.Len(t, some.GetCalculations(), 2)
	assert.Equal(t, "dew-point", some.GetCalculations()[0].GetName())
	_, err = client.ListCalculations(context.Background(), &skidrulev1.ListCalculationsRequest{Names: []string{"srge"}})
	s, info, _ := details(t, err)
	assert.Equal(t, codes.NotFound, s.Code())
	assert.Equal(t, service.ReasonNameNotFound, info.GetReason())
}

// Every worked case of every calculation comes out the same through the service.
func TestCalculateGivesWhatTheCalculationGives(t *testing.T) {
	client := skidrulev1.NewCalcServiceClient(serve(t, smallEngine(t), options()))
	for _, c := range calc.List() {
		for _, ch := range c.Checks {
			want, err := calc.RunText(c.Name, ch.Inputs)
			require.NoError(t, err)
			told, err := client.Calculate(context.Background(), &skidrulev1.CalculateRequest{Name: c.Name, Inputs: ch.Inputs})
			require.NoError(t, err)
			got, err := answer.ResultOf(told)
			require.NoError(t, err)
			assert.Equal(t, want.Text(0), got.Text(0), c.Name)
		}
	}
}

func TestCalculateTakesNumbersInSI(t *testing.T) {
	client := skidrulev1.NewCalcServiceClient(serve(t, smallEngine(t), options()))
	text, err := client.Calculate(context.Background(), &skidrulev1.CalculateRequest{Name: "water-properties", Inputs: map[string]string{"temperature": "20 degC", "pressure": "1 bar(a)"}})
	require.NoError(t, err)
	numbers, err := client.Calculate(context.Background(), &skidrulev1.CalculateRequest{Name: "water-properties", Inputs: map[string]string{"temperature": "20 degC"}, Numbers: map[string]float64{"pressure": 1e5}})
	require.NoError(t, err)
	assert.True(t, proto.Equal(text, numbers))
	swept, err := client.Calculate(context.Background(), &skidrulev1.CalculateRequest{Name: "water-properties", Numbers: map[string]float64{"pressure": 1e5},
		Sweep: &skidrulev1.CalculationSweep{Key: "temperature", From: proto.Float64(260), To: proto.Float64(300), Points: 5}})
	require.NoError(t, err)
	require.Len(t, swept.GetPoints(), 5)
	assert.Contains(t, swept.GetPoints()[0].GetError(), "outside the valid range")
	assert.NotNil(t, swept.GetPoints()[4].GetResult())
	assert.Equal(t, "temperature", swept.GetSwept())
	spanned, err := client.Calculate(context.Background(), &skidrulev1.CalculateRequest{Name: "water-properties", Numbers: map[string]float64{"pressure": 1e5},
		Sweep: &skidrulev1.CalculationSweep{Key: "temperature", Span: "5..6 degC"}})
	require.NoError(t, err)
	assert.Len(t, spanned.GetPoints(), 21)
}

func TestUnusableCalculations(t *testing.T) {
	client := skidrulev1.NewCalcServiceClient(serve(t, smallEngine(t), options()))
	water := func(change func(*skidrulev1.CalculateRequest)) *skidrulev1.CalculateRequest {
		r := &skidrulev1.CalculateRequest{Name: "water-properties", Inputs: map[string]string{"temperature": "20 degC"}, Numbers: map[string]float64{"pressure": 1e5}}
		change(r)
		return r
	}
	swept := func(s *skidrulev1.CalculationSweep) *skidrulev1.CalculateRequest {
		return water(func(r *skidrulev1.CalculateRequest) { r.Inputs, r.Sweep = nil, s })
	}
	for _, c := range []struct {
		name  string
		r     *skidrulev1.CalculateRequest
		field string
		want  string
	}{
		{"out of range", water(func(r *skidrulev1.CalculateRequest) { r.Inputs["temperature"] = "200 degC" }), "inputs.temperature", "valid range"},
		{"no unit", water(func(r *skidrulev1.CalculateRequest) { r.Inputs["temperature"] = "20" }), "inputs.temperature", "cannot be read"},
		{"no number", water(func(r *skidrulev1.CalculateRequest) { r.Numbers["pressure"] = math.NaN() }), "numbers.pressure", "finite"},
		{"missing", water(func(r *skidrulev1.CalculateRequest) { delete(r.Inputs, "temperature") }), "inputs.temperature", "missing input"},
		{"unknown", water(func(r *skidrulev1.CalculateRequest) { r.Inputs["temprature"] = "1 K" }), "inputs.temprature", "did you mean"},
		{"twice", water(func(r *skidrulev1.CalculateRequest) { r.Inputs["pressure"] = "1 bar(a)" }), "numbers.pressure", "give it once"},
		{"no key", swept(&skidrulev1.CalculationSweep{}), "sweep.key", "names no input"},
		{"one end", swept(&skidrulev1.CalculationSweep{Key: "temperature", From: proto.Float64(280)}), "sweep", "one end is missing"},
		{"both ways", swept(&skidrulev1.CalculationSweep{Key: "temperature", Span: "5..6 degC", From: proto.Float64(280)}), "sweep.span", "twice"},
		{"too many points", swept(&skidrulev1.CalculationSweep{Key: "temperature", Span: "5..6 degC", Points: 1 << 30}), "sweep", "2 to 2000"},
		{"a point", swept(&skidrulev1.CalculationSweep{Key: "temperature", Span: "5..5 degC"}), "sweep", "both ends"},
		{"an endless end", swept(&skidrulev1.CalculationSweep{Key: "temperature", From: proto.Float64(280), To: proto.Float64(math.Inf(1))}), "sweep", "finite"},
	} {
		_, err := client.Calculate(context.Background(), c.r)
		s, info, request := details(t, err)
		assert.Equal(t, codes.InvalidArgument, s.Code(), c.name)
		assert.Equal(t, service.ReasonInvalidRequest, info.GetReason(), c.name)
		require.NotEmpty(t, request.GetFieldViolations(), c.name)
		assert.Equal(t, c.field, request.GetFieldViolations()[0].GetField(), c.name)
		assert.Contains(t, request.GetFieldViolations()[0].GetDescription(), c.want, c.name)
	}
	_, err := client.Calculate(context.Background(), &skidrulev1.CalculateRequest{Name: "watr-properties"})
	s, _, _ := details(t, err)
	assert.Equal(t, codes.NotFound, s.Code())
	assert.Contains(t, s.Message(), "water-properties")
	ended, stop := context.WithCancel(context.Background())
	stop()
	_, err = answer.Calculate(ended, swept(&skidrulev1.CalculationSweep{Key: "temperature", Span: "5..6 degC", Points: 2000}))
	assert.ErrorIs(t, err, context.Canceled)
}
