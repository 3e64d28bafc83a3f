package loadtest_test

import (
	"context"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"

	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/loadtest"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func TestCompare(t *testing.T) {
	e, err := engine.NewWith(os.DirFS("../service/testdata/rules"))
	require.NoError(t, err)
	servers, err := loadtest.Start(e)
	require.NoError(t, err)
	defer servers.Close()
	request := &skidrulev1.CheckDesignRequest{Design: &skidrulev1.Design{Components: []*skidrulev1.Component{{Tag: "CV-1", Spec: &skidrulev1.Component_CheckValve{}}}}}
	call := loadtest.Call{Name: "check", Do: func(ctx context.Context, c *grpc.ClientConn) error {
		_, err := skidrulev1.NewCheckServiceClient(c).CheckDesign(ctx, request)
		return err
	}}
	ctx := context.Background()
	p, err := servers.Compare(ctx, call, 4, 200*time.Millisecond)
	require.NoError(t, err)
	for _, r := range []loadtest.Result{p.Server, p.Sink} {
		assert.Positive(t, r.Calls)
		assert.Positive(t, r.PerS)
		assert.Positive(t, r.P50)
		assert.GreaterOrEqual(t, r.P99, r.P50)
	}
	assert.Positive(t, p.Ratio())
	half, lost, err := servers.AtRate(ctx, call, 100, 100*time.Millisecond)
	require.NoError(t, err)
	assert.Equal(t, 10, half.Calls+lost)

	request.Design = nil
	_, err = servers.Compare(ctx, call, 1, 10*time.Millisecond)
	assert.Error(t, err, "a call that is refused measures nothing")
	for _, callers := range []int{0, loadtest.MaxCallers + 1} {
		_, err = servers.Compare(ctx, call, callers, time.Millisecond)
		assert.Error(t, err)
	}
	_, err = servers.Compare(ctx, call, 1, loadtest.MaxTime+1)
	assert.Error(t, err)
	_, _, err = servers.AtRate(ctx, call, 0, time.Millisecond)
	assert.Error(t, err)
}
