// Package crew shares tasks among the processors. It knows nothing of what they do, and holds no contexts and no
// limits: those are its callers'.
package crew

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"sync"
	"sync/atomic"
)

// Each runs the tasks 0 to tasks-1 on all processors, as [Do] does.
func Each(tasks int, task func(task int) error) error {
	return Do(runtime.GOMAXPROCS(0), tasks, func(_, i int) error { return task(i) })
}

// Do runs the tasks 0 to tasks-1 on so many hands: goroutines, the caller's the first of them, each of which takes the next task when it
// has ended one, until all are done or one has failed. Hands are numbered from 0; what belongs to one is touched by one task at a time.
//
// The error is that of the first task, in their order, that failed; those before it have run. A panic of a task is the caller's, with
// the stack of the task in its text: in another goroutine it would end the whole program, while the caller's may be contained.
func Do(hands, tasks int, task func(hand, task int) error) error {
	c := &crew{tasks: tasks, task: task}
	for hand := 1; hand < min(hands, tasks); hand++ {
		c.group.Go(func() { c.work(hand) })
	}
	c.work(0)
	c.group.Wait()
	if c.panicked != "" {
		panic(c.panicked)
	}
	return c.failed
}

// crew is those who share tasks.
type crew struct {
	tasks int
	task  func(hand, task int) error
	group sync.WaitGroup
	taken atomic.Int64
	over  atomic.Bool // no further task is begun

	mu       sync.Mutex
	failed   error
	at       int // the task that failed
	panicked string
}

// work runs tasks until there are none left.
func (c *crew) work(hand int) {
	defer func() {
		if r := recover(); r != nil {
			c.over.Store(true)
			c.mu.Lock()
			c.panicked = fmt.Sprintf("%v\n%s", r, debug.Stack())
			c.mu.Unlock()
		}
	}()
	for !c.over.Load() {
		i := int(c.taken.Add(1)) - 1
		if i >= c.tasks {
			return
		}
		if err := c.task(hand, i); err != nil {
			c.over.Store(true)
			c.mu.Lock()
			if c.failed == nil || i < c.at {
				c.failed, c.at = err, i
			}
			c.mu.Unlock()
		}
	}
}
