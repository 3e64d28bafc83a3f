//go:build unix

package service_test

import (
	"context"
	"runtime"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/answer"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// worked is the processor time that this process has used so far, which does not grow while other processes run.
func worked(t testing.TB) time.Duration {
	t.Helper()
	var used syscall.Rusage
	require.NoError(t, syscall.Getrusage(syscall.RUSAGE_SELF, &used))
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}

// Solving, drawing and looking at the form of large designs end within 50 ms of work behind the end of their context. A slow point is
// tried again, since collecting garbage counts as work too.
func TestSolvingAndDrawingEndWithTheirContext(t *testing.T) {
	e := smallEngine(t)
	large := largeDesign(t, 2400)
	for name, c := range map[string]struct {
		points []time.Duration
		work   func(context.Context) error
	}{
		"solve": {[]time.Duration{time.Millisecond, 20 * time.Millisecond, 150 * time.Millisecond, time.Second}, func(ctx context.Context) error {
			_, err := answer.SolveDesign(ctx, e, &skidrulev1.SolveDesignRequest{Design: large})
			return err
		}},
		"draw": {[]time.Duration{time.Millisecond, 20 * time.Millisecond, 150 * time.Millisecond, time.Second}, func(ctx context.Context) error {
			_, err := answer.DrawDesign(ctx, e, &skidrulev1.DrawDesignRequest{Design: large})
			return err
		}},
	} {
		for _, after := range c.points {
			best := time.Hour
			for range 3 {
				ctx, cancel := context.WithCancel(context.Background())
				at := make(chan time.Duration, 1)
				timer := time.AfterFunc(after, func() {
					at <- worked(t)
					cancel()
				})
				err := c.work(ctx)
				end := worked(t)
				if timer.Stop() || err == nil {
					// It was done before.
					cancel()
					best = 0
					break
				}
				require.ErrorIs(t, err, context.Canceled, name)
				if best = min(best, end-<-at); best < 50*time.Millisecond {
					break
				}
			}
			t.Logf("%s: %v of work behind the end at %v", name, best.Round(time.Millisecond), after)
			assert.Less(t, best, 50*time.Millisecond*time.Duration(runtime.GOMAXPROCS(0)), "%s, ended after %v", name, after)
		}
	}
}
