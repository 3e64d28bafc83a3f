//go:build unix

package engine_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"runtime"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// stopTime is the longest that work goes on behind the end of its context.
const stopTime = 50 * time.Millisecond

// worked is the processor time that this process has used so far. It does not grow while other processes run, as the time on the
// wall does.
func worked(t testing.TB) time.Duration {
	t.Helper()
	var used syscall.Rusage
	require.NoError(t, syscall.Getrusage(syscall.RUSAGE_SELF, &used))
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}

// late cancels a piece of work after a time and tells how much work was done behind that; false where the work had ended before.
func late(t testing.TB, after time.Duration, work func(context.Context) error) (time.Duration, bool) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	begin := make(chan time.Duration, 1)
	timer := time.AfterFunc(after, func() {
		begin <- worked(t)
		cancel()
	})
	err := work(ctx)
	end := worked(t)
	if timer.Stop() {
		return 0, false
	}
	if refused := (*engine.RequestError)(nil); err == nil || errors.As(err, &refused) {
		return 0, false // the whole answer
	}
	require.ErrorIs(t, err, context.Canceled)
	return end - <-begin, true
}

// Whatever a check is at when its context ends, its work ends within 50 ms: the rules of large plants, long lists of site rules,
// designs in which every reference is wrong. A slow point is tried again, since collecting garbage counts as work too.
func TestWorkEndsWithItsContext(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	small, large := 2400, 24_000
	if underRace {
		small, large = 600, 2400
	}
	lost := copiesOfDemo(t, large)
	for _, l := range lost.GetLines() {
		for _, stop := range l.GetRoute() {
			stop.Tag += "x"
		}
	}
	rule := proto.CloneOf(e.Book().Rules()[0].Rule)
	own, bad := &skidrulev1.CheckOptions{}, &skidrulev1.CheckOptions{}
	for i := range 1000 {
		r := proto.CloneOf(rule)
		r.Id, r.Examples = fmt.Sprintf("own/rule-%d", i), nil
		own.SiteRules = append(own.SiteRules, r)
	}
	for i := range 20_000 {
		bad.RuleChanges = append(bad.RuleChanges, &skidrulev1.RuleChange{RuleId: fmt.Sprintf("backflow/no-such-rule-%d", i)})
		bad.Waivers = append(bad.Waivers, &skidrulev1.Waiver{RuleId: fmt.Sprintf("backflow/no-such-rule-%d", i)})
		bad.Only = append(bad.Only, fmt.Sprintf("no-topic-%d", i))
	}
	random := rand.New(rand.NewPCG(1, 2))
	for _, c := range []struct {
		name    string
		points  int
		within  time.Duration // of which the points are drawn; 0 for as long as the work takes
		request *skidrulev1.CheckDesignRequest
	}{
		{"a large plant", 12, 0, &skidrulev1.CheckDesignRequest{Design: copiesOfDemo(t, small)}},
		{"a larger plant", 5, time.Second, &skidrulev1.CheckDesignRequest{Design: copiesOfDemo(t, large)}},
		{"every outcome of a large plant", 4, 0, &skidrulev1.CheckDesignRequest{Design: copiesOfDemo(t, small), Options: &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FULL}}},
		{"a plant that is solved", 6, 0, &skidrulev1.CheckDesignRequest{Design: copiesOfDemo(t, 96)}},
		{"lines that lead nowhere", 4, 0, &skidrulev1.CheckDesignRequest{Design: lost}},
		{"many rules of a site", 4, 0, &skidrulev1.CheckDesignRequest{Design: copiesOfDemo(t, 24), Options: own}},
		{"options in which all is wrong", 4, time.Second, &skidrulev1.CheckDesignRequest{Design: copiesOfDemo(t, 24), Options: bad}},
	} {
		work := func(ctx context.Context) error {
			_, err := e.Check(ctx, c.request)
			return err
		}
		whole := c.within
		if whole == 0 {
			begin := time.Now()
			_ = work(context.Background())
			whole = time.Since(begin)
		}
		stopped := 0
		for tries := 0; stopped < c.points && tries < 20*c.points; tries++ {
			after := time.Duration(random.Int64N(int64(whole)))
			best, ended := late(t, after, work)
			for range 2 {
				if !ended || best < stopTime {
					break
				}
				if again, too := late(t, after, work); too {
					best = min(best, again)
				}
			}
			if !ended {
				whole = max(after, 1) // it takes no longer than that
				continue
			}
			stopped++
			t.Logf("%s: %v of work behind the end at %v", c.name, best.Round(time.Millisecond), after.Round(time.Millisecond))
			assert.Less(t, best, stopTime*time.Duration(runtime.GOMAXPROCS(0)), "%s, ended after %v", c.name, after)
		}
		assert.Equal(t, c.points, stopped, c.name)
	}
}
