package service_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/grpc/test/bufconn"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/service"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func TestAnEditingSession(t *testing.T) {
	e := smallEngine(t)
	client := skidrule.New(serve(t, e, options()))
	ctx := context.Background()
	d := design(t)
	editing, err := client.Edit(ctx, d, nil)
	require.NoError(t, err)
	defer editing.Close()
	before := editing.Report()
	require.NotEmpty(t, before.GetFindings())

	change, err := editing.Apply(set("components.CV-1.max_pressure", "6 bar(g)"))
	require.NoError(t, err)
	assert.Len(t, change.GetFindingsDisappeared(), 1)
	d.Components[2].MaxPressurePaGauge = proto.Float64(6e5)
	full, err := e.Check(ctx, &skidrulev1.CheckDesignRequest{Design: d})
	require.NoError(t, err)
	assert.True(t, proto.Equal(full, editing.Report()))

	for name, edits := range map[string][]*skidrulev1.Edit{
		"no edit":                         nil,
		"a path that leads nowhere":       {set("components.CV-1.max_pressure", "5 bar(g)"), remove("components.CV-77")},
		"a line that leads to nothing":    {remove("components.INJ-1")},
		"a part that is in no catalogue":  {set("components.CV-1.part", "nobody/nothing")},
		"a number that cannot be":         {{Change: &skidrulev1.Edit_PutComponent{PutComponent: &skidrulev1.Component{Tag: "bad tag"}}}},
		"a component of no name and kind": {{Change: &skidrulev1.Edit_PutComponent{}}},
		"a line of nothing":               {{Change: &skidrulev1.Edit_PutLine{PutLine: &skidrulev1.Line{}}}},
	} {
		_, err := editing.Apply(edits...)
		var refused *skidrule.RefusedError
		require.ErrorAs(t, err, &refused, name)
		assert.NotEmpty(t, refused.Refusal.GetViolations(), name)
		assert.NotEqual(t, service.ReasonInternal, refused.Refusal.GetReason(), name)
	}
	change, err = editing.Apply(set("components.CV-1.max_pressure", "6 bar(g)"))
	require.NoError(t, err, "refusals end nothing")
	assert.Empty(t, change.GetFindingsDisappeared())
	assert.True(t, proto.Equal(full, editing.Report()))
}

func TestASessionBeginsWithADesign(t *testing.T) {
	stream, err := skidrulev1.NewCheckServiceClient(serve(t, smallEngine(t), options())).EditDesign(context.Background())
	require.NoError(t, err)
	ask := func(r *skidrulev1.EditDesignRequest) *skidrulev1.EditDesignResponse {
		require.NoError(t, stream.Send(r))
		a, err := stream.Recv()
		require.NoError(t, err)
		return a
	}
	edits := &skidrulev1.EditDesignRequest{RequestId: "a", Action: &skidrulev1.EditDesignRequest_Edits{Edits: &skidrulev1.EditList{Edits: []*skidrulev1.Edit{set("name", "x")}}}}
	a := ask(edits)
	assert.Equal(t, "a", a.GetRequestId())
	assert.Contains(t, a.GetRefusal().GetMessage(), "no design yet")
	assert.Contains(t, ask(&skidrulev1.EditDesignRequest{}).GetRefusal().GetMessage(), "asks nothing")
	bad := design(t)
	bad.Components[0].Part = "nobody/nothing"
	start := func(d *skidrulev1.Design) *skidrulev1.EditDesignRequest {
		return &skidrulev1.EditDesignRequest{Action: &skidrulev1.EditDesignRequest_Start{Start: &skidrulev1.EditStart{Design: d}}}
	}
	assert.Equal(t, service.ReasonInvalidDesign, ask(start(bad)).GetRefusal().GetReason())
	assert.NotEmpty(t, ask(start(design(t))).GetReport().GetFindings(), "a caller may begin again after a refusal")
	assert.Contains(t, ask(start(design(t))).GetRefusal().GetMessage(), "has a design already")
	a = ask(edits)
	assert.Equal(t, "x", a.GetChange().GetDesignName())
	assert.Equal(t, int64(1), a.GetDesignVersion())
	require.NoError(t, stream.CloseSend())
}

// A stopping server ends open sessions at once and says why.
func TestAStoppingServerEndsStreams(t *testing.T) {
	listener := bufconn.Listen(1 << 20)
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	o := options()
	o.StopTime = time.Minute
	done := make(chan error, 1)
	go func() { done <- service.New(smallEngine(t), o).Serve(ctx, listener) }()
	conn := dial(t, listener)
	defer conn.Close()
	editing, err := skidrule.New(conn).Edit(context.Background(), design(t), nil)
	require.NoError(t, err)
	batch, err := skidrulev1.NewCheckServiceClient(conn).CheckDesigns(context.Background())
	require.NoError(t, err)
	require.NoError(t, batch.Send(&skidrulev1.CheckDesignsRequest{Design: design(t)}))
	_, err = batch.Recv()
	require.NoError(t, err)
	stop()
	select {
	case err := <-done:
		require.NoError(t, err)
	case <-time.After(10 * time.Second):
		t.Fatal("open streams keep the server")
	}
	_, err = batch.Recv()
	assert.Equal(t, codes.Unavailable, status.Code(err))
	s, info, _ := details(t, err)
	assert.Equal(t, codes.Unavailable, s.Code())
	assert.Equal(t, service.ReasonStopping, info.GetReason())
	_, err = editing.Apply(set("name", "x"))
	assert.Equal(t, codes.Unavailable, status.Code(err))
}
