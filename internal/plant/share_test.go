package plant

import (
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestShareDoesEachOnce cuts numbers into runs and asks that each comes once, in runs of their order.
func TestShareDoesEachOnce(t *testing.T) {
	for _, n := range []int{0, 1, sharePerCore - 1, sharePerCore, 10*sharePerCore + 7} {
		seen := make([]int32, n)
		ends := make([][2]int, shares(n))
		share(n, func(run, from, to int) {
			ends[run] = [2]int{from, to}
			for i := from; i < to; i++ {
				atomic.AddInt32(&seen[i], 1)
			}
		})
		last := 0
		for _, e := range ends {
			assert.Equal(t, last, e[0], "of %d", n)
			last = e[1]
		}
		assert.Equal(t, n, last)
		for i, times := range seen {
			assert.Equal(t, int32(1), times, "%d of %d", i, n)
		}
	}
}
