package service_test

import (
	"context"
	"log/slog"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// lineWriter hands on each line of a log.
type lineWriter chan<- string

func (w lineWriter) Write(line []byte) (int, error) {
	w <- string(line)
	return len(line), nil
}

// A caller that goes away at any moment of a check of a large design stops the work soon. The goal is 50 ms; the machine of a
// test run has other work, so the median is held to it and the worst only to what nobody could call stopped.
func TestWorkStopsWithItsCaller(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	d := largeDesign(t, 1200)
	lines := make(chan string, 100)
	o := options()
	o.Log = slog.New(slog.NewTextHandler(lineWriter(lines), nil))
	client := skidrule.New(serve(t, e, o))
	begin := time.Now()
	_, err = client.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: d})
	require.NoError(t, err)
	<-lines
	whole := time.Since(begin)
	var took []time.Duration
	const steps = 12
	for i := 1; i < steps; i++ {
		ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
		stopped := make(chan time.Time, 1)
		time.AfterFunc(whole*time.Duration(i)/steps, func() { stopped <- time.Now(); cancel() })
		_, err := client.Check(ctx, &skidrulev1.CheckDesignRequest{Design: d})
		at := <-stopped
		if err == nil {
			<-lines
			continue
		}
		require.Equal(t, codes.Canceled, status.Code(err))
		select {
		case <-lines:
			took = append(took, time.Since(at))
		case <-time.After(time.Second):
			// The request had not reached a handler.
		}
	}
	require.NotEmpty(t, took)
	slices.Sort(took)
	t.Logf("a check takes %v; work ended after its caller within %v", whole, took)
	// Where the run itself is slow, as under the race detector, all of its parts are.
	assert.Less(t, took[len(took)/2], max(50*time.Millisecond, whole/4))
	assert.Less(t, took[len(took)-1], max(time.Second, whole))
}
