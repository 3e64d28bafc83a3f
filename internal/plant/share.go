package plant

import (
	"runtime"

	"github.com/skidrule/skidrule/internal/crew"
)

// sharePerCore is the number of things for which another processor pays.
const sharePerCore = 1000

// share cuts the numbers below n into as many runs as there are processors for which it pays, and does all of them at once. Runs are
// numbered from 0 in their order.
func share(n int, do func(run, from, to int)) {
	runs := shares(n)
	_ = crew.Do(runs, runs, func(_, run int) error {
		do(run, n*run/runs, n*(run+1)/runs)
		return nil
	})
}

// shares is the number of runs.
func shares(n int) int { return 1 + min(runtime.GOMAXPROCS(0)-1, n/sharePerCore) }
