package crew_test

import (
	"fmt"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/skidrule/skidrule/internal/crew"
)

// Each task is done once, by one of the hands, of which no more are there than tasks; without tasks there is nothing to do.
func TestEachTaskIsDoneOnce(t *testing.T) {
	t.Parallel()
	for _, hands := range []int{0, 1, 2, 7} {
		for _, tasks := range []int{0, 1, 3, 1000} {
			times, busy := make([]atomic.Int32, tasks), make([]atomic.Int32, max(hands, 1))
			assert.NoError(t, crew.Do(hands, tasks, func(hand, task int) error {
				assert.Equal(t, int32(1), busy[hand].Add(1), "a hand does one task at a time")
				times[task].Add(1)
				busy[hand].Add(-1)
				return nil
			}))
			for i := range times {
				assert.Equal(t, int32(1), times[i].Load(), "task %d of %d, %d hands", i, tasks, hands)
			}
		}
	}
	var sum atomic.Int64
	assert.NoError(t, crew.Each(101, func(task int) error { sum.Add(int64(task)); return nil }))
	assert.Equal(t, int64(5050), sum.Load())
}

// Of several that fail the first in order is told, however they come to run; what comes long behind it is left undone.
func TestTheFirstFailureIsTold(t *testing.T) {
	t.Parallel()
	for range 200 {
		var done atomic.Int32
		err := crew.Do(4, 1_000_000, func(_, task int) error {
			done.Add(1)
			if task >= 20 {
				return fmt.Errorf("task %d", task)
			}
			return nil
		})
		assert.EqualError(t, err, "task 20")
		assert.Less(t, done.Load(), int32(100))
	}
}

// A panic of a task comes to the caller, whichever hand it was, with what it said and where.
func TestPanicsComeToTheCaller(t *testing.T) {
	t.Parallel()
	for _, bad := range []int{0, 999} {
		told := func() (told string) {
			defer func() { told, _ = recover().(string) }()
			_ = crew.Do(4, 1000, func(_, task int) error {
				if task == bad {
					panic("a defect")
				}
				return nil
			})
			return ""
		}()
		assert.Contains(t, told, "a defect")
		assert.Contains(t, told, "crew_test.go")
	}
}
