package operate_test

import (
	"context"
	"runtime"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/operate"
)

// counted is a context that ends when it has been asked a number of times.
type counted struct {
	context.Context
	asked, ends atomic.Int64
}

func (c *counted) Err() error {
	if c.asked.Add(1) > c.ends.Load() {
		return context.Canceled
	}
	return nil
}

// Wherever the context ends, the work ends at the next questions: a few for each core, for each asks again to tell why.
func TestStopsAnywhere(t *testing.T) {
	p, cases := load(t, demo)
	whole := &counted{Context: context.Background()}
	whole.ends.Store(1 << 40)
	_, err := operate.SolveAll(whole, p, cases)
	require.NoError(t, err)
	all := whole.asked.Load()
	require.Greater(t, all, int64(1000), "every iteration asks")
	for k := int64(0); k < all; k += 1 + all/40 {
		c := &counted{Context: context.Background()}
		c.ends.Store(k)
		_, err := operate.SolveAll(c, p, cases)
		require.ErrorIs(t, err, context.Canceled, "after %d of %d", k, all)
		require.LessOrEqual(t, c.asked.Load()-k, int64(6*runtime.GOMAXPROCS(0)))
	}
}
