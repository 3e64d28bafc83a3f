package plant

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"sync"
	"sync/atomic"
)

// sharePerCore is the number of things for which another processor pays.
const sharePerCore = 1000

// share cuts the numbers below n into as many runs as there are processors for which it pays, and does all of them at once. Runs are
// numbered from 0 in their order. A panic of a run is the caller's: of another goroutine it would end the whole program, while the
// caller's may be contained.
func share(n int, do func(run, from, to int)) {
	runs := shares(n)
	var panicked atomic.Pointer[string]
	var group sync.WaitGroup
	for run := range runs {
		group.Go(func() {
			defer func() {
				if r := recover(); r != nil {
					told := fmt.Sprintf("%v\n%s", r, debug.Stack())
					panicked.Store(&told)
				}
			}()
			do(run, n*run/runs, n*(run+1)/runs)
		})
	}
	group.Wait()
	if told := panicked.Load(); told != nil {
		panic(*told)
	}
}

// shares is the number of runs.
func shares(n int) int { return 1 + min(runtime.GOMAXPROCS(0)-1, n/sharePerCore) }
