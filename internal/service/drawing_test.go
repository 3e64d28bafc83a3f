package service_test

import (
	"bytes"
	"context"
	"image/png"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/grpc/codes"

	"github.com/skidrule/skidrule/internal/service"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func TestDrawDesign(t *testing.T) {
	client := skidrulev1.NewDrawingServiceClient(serve(t, smallEngine(t), options()))
	d := design(t)
	plain, err := client.DrawDesign(context.Background(), &skidrulev1.DrawDesignRequest{Design: d})
	require.NoError(t, err)
	require.NotEmpty(t, plain.GetPages())
	assert.Equal(t, "image/svg+xml", plain.GetPages()[0].GetMediaType())
	assert.Len(t, plain.GetPages()[0].GetTags(), len(d.GetComponents()))
	assert.NotContains(t, string(plain.GetPages()[0].GetContent()), `sk-hot"`)
	found, err := client.DrawDesign(context.Background(), &skidrulev1.DrawDesignRequest{Design: d, Findings: true})
	require.NoError(t, err)
	assert.Contains(t, string(found.GetPages()[0].GetContent()), "Marked things")
	picture, err := client.DrawDesign(context.Background(), &skidrulev1.DrawDesignRequest{Design: d, Style: &skidrulev1.DrawingStyle{Format: skidrulev1.DrawingFormat_DRAWING_FORMAT_PNG, DotsPerInch: 40}})
	require.NoError(t, err)
	_, err = png.Decode(bytes.NewReader(picture.GetPages()[0].GetContent()))
	assert.NoError(t, err)
}

func TestUnusableDrawings(t *testing.T) {
	o := options()
	o.Limits.Components = 100
	client := skidrulev1.NewDrawingServiceClient(serve(t, smallEngine(t), o))
	for _, c := range []struct {
		name   string
		change func(*skidrulev1.DrawDesignRequest)
		code   codes.Code
		reason string
		field  string
	}{
		{"no design", func(r *skidrulev1.DrawDesignRequest) { r.Design = nil }, codes.InvalidArgument, service.ReasonInvalidRequest, "design"},
		{"a torn route", func(r *skidrulev1.DrawDesignRequest) { r.Design.Lines[0].Route[1].Tag = "XX-9" }, codes.InvalidArgument, service.ReasonInvalidDesign, "design.lines"},
		{"too fine", func(r *skidrulev1.DrawDesignRequest) { r.Style = &skidrulev1.DrawingStyle{DotsPerInch: 100000} }, codes.InvalidArgument, service.ReasonInvalidRequest, "style.dots_per_inch"},
		{"too full", func(r *skidrulev1.DrawDesignRequest) { r.Style = &skidrulev1.DrawingStyle{SheetCapacity: 1000} }, codes.InvalidArgument, service.ReasonInvalidRequest, "style.sheet_capacity"},
		{"an unknown finding", func(r *skidrulev1.DrawDesignRequest) { r.Fingerprint = "nothing" }, codes.InvalidArgument, service.ReasonInvalidRequest, "fingerprint"},
		{"an unknown case", func(r *skidrulev1.DrawDesignRequest) { r.CaseId = "nothing" }, codes.InvalidArgument, service.ReasonInvalidRequest, "case_id"},
		{"too many components", func(r *skidrulev1.DrawDesignRequest) { r.Design.Components = make([]*skidrulev1.Component, 101) }, codes.ResourceExhausted, service.ReasonLimitExceeded, ""},
	} {
		r := &skidrulev1.DrawDesignRequest{Design: design(t)}
		c.change(r)
		_, err := client.DrawDesign(context.Background(), r)
		s, info, request := details(t, err)
		assert.Equal(t, c.code, s.Code(), c.name)
		assert.Equal(t, c.reason, info.GetReason(), c.name)
		if c.field != "" {
			require.NotEmpty(t, request.GetFieldViolations(), c.name)
			assert.Regexp(t, `^`+c.field+`(\.|$)`, request.GetFieldViolations()[0].GetField(), c.name)
		}
	}
}
