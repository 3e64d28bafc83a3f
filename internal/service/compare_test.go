package service_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/service"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// TestCompareDesigns asks for the engine's comparison, and for the name of the design that is unusable.
func TestCompareDesigns(t *testing.T) {
	e := smallEngine(t)
	client := skidrule.New(serve(t, e, service.Options{Limits: service.DefaultLimits()}))
	before := design(t)
	after := proto.CloneOf(before)
	after.Revision = "B"
	request := &skidrulev1.CompareDesignsRequest{OldDesign: before, NewDesign: after}
	got, err := client.Compare(context.Background(), request)
	require.NoError(t, err)
	want, err := e.Compare(context.Background(), request)
	require.NoError(t, err)
	assert.True(t, proto.Equal(want, got))
	assert.Equal(t, "B", got.GetNewDesign().GetRevision())

	var wrong *skidrule.InvalidError
	_, err = client.Compare(context.Background(), &skidrulev1.CompareDesignsRequest{OldDesign: before})
	require.ErrorAs(t, err, &wrong)
	assert.Equal(t, "new_design", wrong.Violations[0].Path)
	after.GetComponents()[0].MaxPressurePaGauge = proto.Float64(math.NaN())
	_, err = client.Compare(context.Background(), request)
	require.ErrorAs(t, err, &wrong)
	assert.Contains(t, wrong.Violations[0].Path, "new_design.components.")

	small := service.DefaultLimits()
	small.Components = 1
	var limit *skidrule.LimitError
	_, err = skidrule.New(serve(t, e, service.Options{Limits: small})).Compare(context.Background(), request)
	require.ErrorAs(t, err, &limit)
	assert.Equal(t, "components", limit.What)
}
