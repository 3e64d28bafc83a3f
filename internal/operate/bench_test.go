package operate_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/operate"
)

// BenchmarkSolve solves every case of the demo design at all ends of what is uncertain.
func BenchmarkSolve(b *testing.B) {
	p, cases := load(b, "hatchery-side-stream")
	for b.Loop() {
		_, err := operate.SolveAll(context.Background(), p, cases)
		require.NoError(b, err)
	}
}
