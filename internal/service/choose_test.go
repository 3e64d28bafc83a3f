package service_test

import (
	"context"
	"net/http"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/answer"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/service"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Parts are chosen alike in this process, over gRPC and as JSON over HTTP, and refused alike.
func TestChooseAtEveryDoor(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	data, err := os.ReadFile("../../testdata/hatchery-side-stream/design.yaml")
	require.NoError(t, err)
	file, err := designfile.Read("design.yaml", data)
	require.NoError(t, err)
	limits := service.Options{Limits: service.DefaultLimits()}
	limits.Limits.Time = 10 * time.Minute
	client, web := skidrule.New(serve(t, e, limits)), serveWeb(t, e, limits)
	ctx := context.Background()
	request := &skidrulev1.ChoosePartsRequest{Design: file.Design, Slots: []string{"OG-1", "PSU-1"}, Results: 2}
	want, err := answer.ChooseParts(ctx, e, request)
	require.NoError(t, err)
	require.NotEmpty(t, want.GetChoices().GetChoices())
	assert.Equal(t, engine.Cautions(), want.GetChoices().GetCautions())
	got, err := client.Choose(ctx, request)
	require.NoError(t, err)
	assert.True(t, proto.Equal(want.GetChoices(), got))
	body, err := protojson.Marshal(request)
	require.NoError(t, err)
	response, text := post(t, web, "/skidrule.v1.ChooseService/ChooseParts", string(body), nil)
	require.Equal(t, http.StatusOK, response.StatusCode, text)
	overJSON := &skidrulev1.ChoosePartsResponse{}
	require.NoError(t, protojson.Unmarshal([]byte(text), overJSON))
	assert.True(t, proto.Equal(want, overJSON))

	var wrong *skidrule.InvalidError
	for path, bad := range map[string]*skidrulev1.ChoosePartsRequest{
		"design":     {},
		"slots[0]":   {Design: file.Design, Slots: []string{"P-9"}},
		"slots[1]":   {Design: file.Design, Slots: []string{"P-1", "P-1"}},
		"results":    {Design: file.Design, Results: 21},
		"max_checks": {Design: file.Design, MaxChecks: -1},
		"measure":    {Design: file.Design, Measure: 99},
		"slots":      {Design: file.Design},
	} {
		_, err := client.Choose(ctx, bad)
		require.ErrorAs(t, err, &wrong, path)
		assert.Equal(t, path, wrong.Violations[0].Path)
	}
	small := limits
	small.Limits.CatalogueEntries = 1
	own := proto.CloneOf(request)
	own.Options = &skidrulev1.CheckOptions{Catalogue: &skidrulev1.Catalogue{Entries: make([]*skidrulev1.CatalogueEntry, 2)}}
	for i := range own.Options.Catalogue.Entries {
		own.Options.Catalogue.Entries[i] = &skidrulev1.CatalogueEntry{}
	}
	var limit *skidrule.LimitError
	_, err = skidrule.New(serve(t, e, small)).Choose(ctx, own)
	require.ErrorAs(t, err, &limit)
	assert.Equal(t, "catalogue_entries", limit.What)

	ended, cancel := context.WithCancel(ctx)
	cancel()
	_, err = answer.ChooseParts(ended, e, request)
	assert.ErrorIs(t, err, context.Canceled)
}
