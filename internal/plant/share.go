package plant

import (
	"runtime"
	"sync"
)

// sharePerCore is the number of things for which another processor pays.
const sharePerCore = 1000

// share cuts the numbers below n into as many runs as there are processors for which it pays, and does all of them at once. Runs are
// numbered from 0 in their order.
func share(n int, do func(run, from, to int)) {
	runs := shares(n)
	var group sync.WaitGroup
	for run := 1; run < runs; run++ {
		group.Go(func() { do(run, n*run/runs, n*(run+1)/runs) })
	}
	do(0, 0, n/runs)
	group.Wait()
}

// shares is the number of runs.
func shares(n int) int { return 1 + min(runtime.GOMAXPROCS(0)-1, n/sharePerCore) }
