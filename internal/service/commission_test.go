package service_test

import (
	"context"
	"math"
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/answer"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func pressureAt(place string, pa float64) *skidrulev1.SiteReading {
	return &skidrulev1.SiteReading{Place: place, Value: &skidrulev1.SiteReading_PressurePaGauge{PressurePaGauge: pa}}
}

// Card and diagnosis are the same in this process, over gRPC and as JSON over HTTP.
func TestCommissionAtEveryDoor(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	client := skidrule.New(serve(t, e, options()))
	web := serveWeb(t, e, options())
	ctx := context.Background()

	cardRequest := &skidrulev1.MakeCardRequest{Design: mainDemo(t), CaseIds: []string{"normal", "pump_stopped"}}
	want, err := answer.MakeCard(ctx, e, cardRequest)
	require.NoError(t, err)
	require.Len(t, want.Card.Cases, 2)
	assert.Equal(t, engine.Cautions(), want.Card.Cautions)
	card, err := client.MakeCard(ctx, cardRequest)
	require.NoError(t, err)
	assert.True(t, proto.Equal(want.Card, card))
	body, err := protojson.Marshal(cardRequest)
	require.NoError(t, err)
	response, text := post(t, web, "/skidrule.v1.CommissionService/MakeCard", string(body), nil)
	require.Equal(t, http.StatusOK, response.StatusCode, text)
	overJSON := &skidrulev1.MakeCardResponse{}
	require.NoError(t, protojson.Unmarshal([]byte(text), overJSON))
	assert.True(t, proto.Equal(want, overJSON))

	request := &skidrulev1.DiagnoseRequest{Design: mainDemo(t), Readings: []*skidrulev1.SiteReading{pressureAt("PI-1", 3.5e5), pressureAt("PI-2", 1.5e5), pressureAt("INJ-1.suction", -2.8e4)}}
	told, err := answer.Diagnose(ctx, e, request)
	require.NoError(t, err)
	assert.Equal(t, "normal", told.Diagnosis.CaseId)
	assert.Equal(t, engine.Cautions(), told.Diagnosis.Cautions)
	diagnosis, err := client.Diagnose(ctx, request)
	require.NoError(t, err)
	assert.True(t, proto.Equal(told.Diagnosis, diagnosis))
	body, err = protojson.Marshal(request)
	require.NoError(t, err)
	response, text = post(t, web, "/skidrule.v1.CommissionService/Diagnose", string(body), nil)
	require.Equal(t, http.StatusOK, response.StatusCode, text)
	toldJSON := &skidrulev1.DiagnoseResponse{}
	require.NoError(t, protojson.Unmarshal([]byte(text), toldJSON))
	assert.True(t, proto.Equal(told, toldJSON))
}

// What cannot be used is told field by field, and what is too large is refused.
func TestCommissionRefuses(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	client := skidrule.New(serve(t, e, options()))
	ctx := context.Background()
	good := []*skidrulev1.SiteReading{pressureAt("PI-1", 3.5e5)}
	bad := proto.CloneOf(mainDemo(t))
	bad.Components[0].MaxPressurePaGauge = proto.Float64(math.NaN())
	for name, row := range map[string]struct {
		request *skidrulev1.DiagnoseRequest
		path    string
		message string
	}{
		"no design":            {&skidrulev1.DiagnoseRequest{Readings: good}, "design", "no design"},
		"no readings":          {&skidrulev1.DiagnoseRequest{Design: mainDemo(t)}, "readings", "there are no readings"},
		"an unknown place":     {&skidrulev1.DiagnoseRequest{Design: mainDemo(t), Readings: append(good, pressureAt("PI-7", 1))}, "readings[1]", "no component PI-7"},
		"an unknown case":      {&skidrulev1.DiagnoseRequest{Design: mainDemo(t), CaseId: "monday", Readings: good}, "case_id", "no case \"monday\""},
		"a case that is not":   {&skidrulev1.DiagnoseRequest{Design: mainDemo(t), CaseId: "blower_lost", Readings: good}, "case_id", "cannot occur"},
		"a case of many":       {&skidrulev1.DiagnoseRequest{Design: mainDemo(t), CaseId: "barrier_failed", Readings: good}, "case_id", "has no state of its own"},
		"a design not finite":  {&skidrulev1.DiagnoseRequest{Design: bad, Readings: good}, "components." + bad.Components[0].Tag + ".max_pressure", ""},
		"a reading not finite": {&skidrulev1.DiagnoseRequest{Design: mainDemo(t), Readings: []*skidrulev1.SiteReading{pressureAt("PI-1", math.Inf(1))}}, "readings[0]", "no finite number"},
	} {
		_, err := client.Diagnose(ctx, row.request)
		var wrong *skidrule.InvalidError
		if assert.ErrorAs(t, err, &wrong, name) {
			assert.Equal(t, row.path, wrong.Violations[0].Path, name)
			assert.Contains(t, wrong.Violations[0].Message, row.message, name)
		}
	}
	var wrong *skidrule.InvalidError
	_, err = client.MakeCard(ctx, &skidrulev1.MakeCardRequest{Design: mainDemo(t), CaseIds: []string{"monday"}})
	require.ErrorAs(t, err, &wrong)
	assert.Equal(t, "case_ids", wrong.Violations[0].Path)

	o := options()
	o.Limits.Components = 3
	small := skidrule.New(serve(t, e, o))
	var limit *skidrule.LimitError
	_, err = small.MakeCard(ctx, &skidrulev1.MakeCardRequest{Design: mainDemo(t)})
	require.ErrorAs(t, err, &limit)
	_, err = small.Diagnose(ctx, &skidrulev1.DiagnoseRequest{Design: mainDemo(t), Readings: good})
	require.ErrorAs(t, err, &limit)
	assert.Equal(t, "components", limit.What)
}
