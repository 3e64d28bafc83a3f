package answer_test

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/answer"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// endsAfter is a context that ends when it was asked a number of times.
type endsAfter struct {
	context.Context
	times int
}

func (c *endsAfter) Err() error {
	if c.times--; c.times < 0 {
		return context.Canceled
	}
	return nil
}

func (c *endsAfter) Deadline() (time.Time, bool) { return time.Time{}, false }

// A large design is looked at until the context ends, whether it is sound or not.
func TestLookingEndsWithTheContext(t *testing.T) {
	d := &skidrulev1.Design{}
	for i := range 5000 {
		d.Components = append(d.Components, &skidrulev1.Component{Tag: fmt.Sprint("CV-", i), MaxPressurePaGauge: proto.Float64(1e5), Spec: &skidrulev1.Component_CheckValve{CheckValve: &skidrulev1.CheckValve{}}})
	}
	catalogue := &skidrulev1.Catalogue{}
	for i := range 5000 {
		catalogue.Entries = append(catalogue.Entries, &skidrulev1.CatalogueEntry{Id: fmt.Sprint("own/", i), Data: &skidrulev1.Component{MaxPressurePaGauge: proto.Float64(1e5)}})
	}
	request := &skidrulev1.CheckDesignRequest{Design: d, Options: &skidrulev1.CheckOptions{Catalogue: catalogue}}
	require.NoError(t, answer.Sound(context.Background(), request))
	asked := &endsAfter{Context: context.Background(), times: math.MaxInt}
	require.NoError(t, answer.Sound(asked, request))
	asks := math.MaxInt - asked.times
	require.Greater(t, asks, 50)
	bad := proto.CloneOf(request)
	bad.Design.Components[3].MaxPressurePaGauge = proto.Float64(math.NaN())
	for _, r := range []*skidrulev1.CheckDesignRequest{request, bad} {
		for _, times := range []int{0, 1, asks / 4} {
			ctx := &endsAfter{Context: context.Background(), times: times}
			assert.ErrorIs(t, answer.Sound(ctx, r), context.Canceled)
			assert.Greater(t, ctx.times, -10, "nothing goes on after the end")
		}
	}
	require.Error(t, answer.Sound(context.Background(), bad))
}
