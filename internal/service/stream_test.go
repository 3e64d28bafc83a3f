package service_test

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/service"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// batch is a batch of n designs, of which every fifth cannot be read and every seventh is too large.
func batch(t *testing.T, n int) []*skidrulev1.CheckDesignsRequest {
	t.Helper()
	var out []*skidrulev1.CheckDesignsRequest
	for i := range n {
		d := design(t)
		d.Name = fmt.Sprint("design ", i)
		switch {
		case i%5 == 4:
			d.Components[0].Part = "nobody/nothing"
		case i%7 == 6:
			d.Components = make([]*skidrulev1.Component, 200)
		}
		out = append(out, &skidrulev1.CheckDesignsRequest{RequestId: fmt.Sprint("r", i), Design: d})
	}
	return out
}

func TestABatchAnswersEveryRequest(t *testing.T) {
	o := options()
	o.Limits.Components = 100
	e := smallEngine(t)
	client := skidrule.New(serve(t, e, o))
	requests := batch(t, 60)
	answers := map[string]skidrule.Answer{}
	require.NoError(t, client.CheckAll(context.Background(), slices.Values(requests), func(a skidrule.Answer) error {
		_, twice := answers[a.ID]
		assert.False(t, twice, a.ID)
		answers[a.ID] = a
		return nil
	}))
	require.Len(t, answers, len(requests))
	for i, r := range requests {
		a := answers[r.GetRequestId()]
		var refused *skidrule.RefusedError
		switch {
		case i%5 == 4:
			require.ErrorAs(t, a.Err, &refused, r.GetRequestId())
			assert.Equal(t, service.ReasonInvalidDesign, refused.Refusal.GetReason())
			assert.True(t, strings.HasPrefix(refused.Refusal.GetViolations()[0].GetField(), "design.components."), refused.Refusal.GetViolations()[0])
		case i%7 == 6:
			require.ErrorAs(t, a.Err, &refused, r.GetRequestId())
			assert.Equal(t, service.ReasonLimitExceeded, refused.Refusal.GetReason())
			assert.Equal(t, "components", refused.Refusal.GetLimit())
			assert.Equal(t, int64(200), refused.Refusal.GetGiven())
			assert.Equal(t, int64(100), refused.Refusal.GetAllowed())
		default:
			require.NoError(t, a.Err, r.GetRequestId())
			want, err := e.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: r.GetDesign()})
			require.NoError(t, err)
			assert.True(t, proto.Equal(want, a.Report), r.GetRequestId())
		}
	}
}

// A caller that does not read its answers is not read from for ever: what a stream holds is bounded.
func TestABatchIsReadOnlyAsFastAsItsAnswers(t *testing.T) {
	conn := serve(t, smallEngine(t), options())
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	stream, err := skidrulev1.NewCheckServiceClient(conn).CheckDesigns(ctx)
	require.NoError(t, err)
	request := &skidrulev1.CheckDesignsRequest{Design: design(t), Options: &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FULL}}
	request.Design.Description = strings.Repeat("x", 10_000)
	const many = 5000
	var sent atomic.Int32
	go func() {
		for range many {
			if stream.Send(request) != nil {
				return
			}
			sent.Add(1)
		}
		stream.CloseSend()
	}()
	last := int32(-1)
	require.Eventually(t, func() bool {
		now := sent.Load()
		settled := now == last
		last = now
		return settled && now > 0
	}, 10*time.Second, 300*time.Millisecond)
	assert.Less(t, last, int32(many/2), "sending stops while no answer is read")
	answers := 0
	for ; ; answers++ {
		if _, err := stream.Recv(); err != nil {
			assert.ErrorContains(t, err, "EOF")
			break
		}
	}
	assert.Equal(t, many, answers)
}

func TestABatchEndsWithItsCaller(t *testing.T) {
	client := skidrule.New(serve(t, smallEngine(t), options()))
	enough := errors.New("enough")
	endless := func(yield func(*skidrulev1.CheckDesignsRequest) bool) {
		d := design(t)
		for yield(&skidrulev1.CheckDesignsRequest{Design: d}) {
		}
	}
	begin := time.Now()
	err := client.CheckAll(context.Background(), iter.Seq[*skidrulev1.CheckDesignsRequest](endless), func(skidrule.Answer) error { return enough })
	assert.ErrorIs(t, err, enough)
	assert.Less(t, time.Since(begin), 5*time.Second)

	ctx, cancel := context.WithCancel(context.Background())
	err = client.CheckAll(ctx, endless, func(skidrule.Answer) error { cancel(); return nil })
	assert.Equal(t, codes.Canceled, status.Code(err), "%v", err)
}

func TestStreamLimits(t *testing.T) {
	o := options()
	o.Limits.MessageBytes, o.Limits.Edits, o.Limits.Sessions = 20_000, 2, 1
	client := skidrule.New(serve(t, smallEngine(t), o))
	long := design(t)
	long.Description = strings.Repeat("x", 25_000)
	for _, c := range []struct {
		limit   string
		request *skidrulev1.CheckDesignsRequest
	}{
		{"message_bytes", &skidrulev1.CheckDesignsRequest{Design: long}},
		{"request_id_bytes", &skidrulev1.CheckDesignsRequest{RequestId: strings.Repeat("i", 200), Design: design(t)}},
	} {
		require.NoError(t, client.CheckAll(context.Background(), slices.Values([]*skidrulev1.CheckDesignsRequest{c.request, {RequestId: "good", Design: design(t)}}), func(a skidrule.Answer) error {
			if a.ID == "good" {
				assert.NoError(t, a.Err)
				return nil
			}
			var refused *skidrule.RefusedError
			require.ErrorAs(t, a.Err, &refused)
			assert.Equal(t, c.limit, refused.Refusal.GetLimit())
			assert.Greater(t, refused.Refusal.GetGiven(), refused.Refusal.GetAllowed())
			return nil
		}))
	}
	first, err := client.Edit(context.Background(), design(t), nil)
	require.NoError(t, err)
	_, err = first.Apply(remove("lines.L-1"), remove("lines.L-1"), remove("lines.L-1"))
	var refused *skidrule.RefusedError
	require.ErrorAs(t, err, &refused)
	assert.Equal(t, "edits", refused.Refusal.GetLimit())

	_, err = client.Edit(context.Background(), design(t), nil)
	var limit *skidrule.LimitError
	require.ErrorAs(t, err, &limit)
	assert.Equal(t, "editing_sessions", limit.What)
	require.NoError(t, first.Close())
	require.Eventually(t, func() bool {
		again, err := client.Edit(context.Background(), design(t), nil)
		if err == nil {
			again.Close()
		}
		return err == nil
	}, 5*time.Second, 10*time.Millisecond, "a closed session makes room")
}

func remove(path string) *skidrulev1.Edit {
	return &skidrulev1.Edit{Change: &skidrulev1.Edit_Remove{Remove: path}}
}

func set(path, value string) *skidrulev1.Edit {
	return &skidrulev1.Edit{Change: &skidrulev1.Edit_Set{Set: &skidrulev1.Datum{Path: path, Value: value}}}
}
