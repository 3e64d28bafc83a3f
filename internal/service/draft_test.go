package service_test

import (
	"context"
	"encoding/json"
	"math"
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/answer"
	"github.com/skidrule/skidrule/internal/service"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func draftRequest() *skidrulev1.DraftDesignRequest {
	return &skidrulev1.DraftDesignRequest{Demand: &skidrulev1.DraftDemand{
		Basis: &skidrulev1.Basis{AltitudeM: proto.Float64(340), TreatedFlowM3PerS: proto.Float64(0.025), WaterTemperatureK: proto.Float64(285.15),
			TransferredDoseKgPerM3: proto.Float64(2e-4)},
		SupplyPressurePaGauge: proto.Float64(1.1e5), ReturnPressurePaGauge: proto.Float64(1e5),
	}}
}

// Both doors draft what the function drafts.
func TestDraftDesign(t *testing.T) {
	e := smallEngine(t)
	want, err := answer.DraftDesign(context.Background(), e, draftRequest())
	require.NoError(t, err)
	require.NotEmpty(t, want.GetDraft().GetText())
	got, err := skidrulev1.NewDraftServiceClient(serve(t, e, options())).DraftDesign(context.Background(), draftRequest())
	require.NoError(t, err)
	assert.True(t, proto.Equal(want, got))
	answer, body := post(t, serveWeb(t, e, options()), "/skidrule.v1.DraftService/DraftDesign",
		`{"demand": {"basis": {"altitudeM": 340, "treatedFlowM3PerS": 0.025, "waterTemperatureK": 285.15, "transferredDoseKgPerM3": 2e-4}, "supplyPressurePaGauge": 1.1e5, "returnPressurePaGauge": 1e5}}`, nil)
	require.Equal(t, http.StatusOK, answer.StatusCode, body)
	var said struct{ Draft struct{ Text string } }
	require.NoError(t, json.Unmarshal([]byte(body), &said))
	assert.Equal(t, want.GetDraft().GetText(), said.Draft.Text)
}

func TestUnusableDemands(t *testing.T) {
	o := options()
	o.Limits.CatalogueEntries = 2
	client := skidrulev1.NewDraftServiceClient(serve(t, smallEngine(t), o))
	for _, c := range []struct {
		name   string
		change func(*skidrulev1.DraftDesignRequest)
		code   codes.Code
		reason string
		field  string
	}{
		{"no demand", func(r *skidrulev1.DraftDesignRequest) { r.Demand = nil }, codes.InvalidArgument, service.ReasonInvalidRequest, "demand"},
		{"no flow", func(r *skidrulev1.DraftDesignRequest) { r.Demand.Basis.TreatedFlowM3PerS = nil }, codes.InvalidArgument, service.ReasonInvalidRequest, "demand.basis.treated_flow"},
		{"not a number", func(r *skidrulev1.DraftDesignRequest) {
			r.Demand.Basis.TreatedFlowM3PerS = proto.Float64(math.NaN())
		}, codes.InvalidArgument, service.ReasonInvalidRequest, "demand.basis.treated_flow"},
		{"too strong", func(r *skidrulev1.DraftDesignRequest) {
			r.Demand.Basis.TransferredDoseKgPerM3 = proto.Float64(0.04)
		}, codes.InvalidArgument, service.ReasonInvalidRequest, "demand.basis.transferred_dose"},
		{"no parts of one's own", func(r *skidrulev1.DraftDesignRequest) { r.Parts = skidrulev1.DraftParts_DRAFT_PARTS_OWN }, codes.InvalidArgument, service.ReasonInvalidRequest, "catalogue"},
		{"a torn catalogue", func(r *skidrulev1.DraftDesignRequest) {
			r.Catalogue = &skidrulev1.Catalogue{Entries: []*skidrulev1.CatalogueEntry{{Id: "own/a"}, {Id: "own/a"}}}
		}, codes.InvalidArgument, service.ReasonInvalidRequest, ""},
		{"too many parts", func(r *skidrulev1.DraftDesignRequest) {
			r.Catalogue = &skidrulev1.Catalogue{Entries: make([]*skidrulev1.CatalogueEntry, 3)}
		}, codes.ResourceExhausted, service.ReasonLimitExceeded, ""},
	} {
		r := draftRequest()
		c.change(r)
		_, err := client.DraftDesign(context.Background(), r)
		s, info, request := details(t, err)
		assert.Equal(t, c.code, s.Code(), c.name)
		assert.Equal(t, c.reason, info.GetReason(), c.name)
		if c.field != "" {
			require.NotEmpty(t, request.GetFieldViolations(), c.name)
			assert.Equal(t, c.field, request.GetFieldViolations()[0].GetField(), c.name)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := client.DraftDesign(ctx, draftRequest())
	assert.Error(t, err)
}
