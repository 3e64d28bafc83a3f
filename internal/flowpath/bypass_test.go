package flowpath_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/flowpath"
)

func TestBypassesAgainstClosure(t *testing.T) {
	var b flowpath.Bypasses
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t, 9, 14)
		require.NoError(t, b.Sweep(m.ways(t)))
		c := m.closure(func(a int32) bool { return m.cost[a] == flowpath.Open })
		want := []int32{}
		for a := range int32(len(m.from)) {
			around := m.cost[a] == flowpath.Barrier && c[m.from[a]][m.to[a]]
			assert.Equal(t, around, b.Bypassed(a), "arc %d", a)
			path, ok := b.Path(a)
			assert.Equal(t, around, ok)
			if !around {
				continue
			}
			want = append(want, a)
			m.requirePath(t, path, []int32{m.from[a]}, m.to[a])
			assert.Zero(t, m.barriers(path))
		}
		assert.ElementsMatch(t, want, b.Arcs())
		assert.True(t, slices.IsSorted(b.Arcs()))
	})
}

func TestBypassesLimit(t *testing.T) {
	// A closed valve with a long one-way line around it.
	n := 40
	from, to := append([]int32{0}, ids(n)[:n-1]...), append([]int32{int32(n - 1)}, ids(n)[1:]...)
	g, err := flowpath.NewGraph(n, from, to, nil)
	require.NoError(t, err)
	costs := make([]uint8, n)
	costs[0] = flowpath.Barrier
	ways, err := flowpath.NewWays(g, costs)
	require.NoError(t, err)
	b := flowpath.Bypasses{Limit: 10}
	var limit *flowpath.LimitError
	require.ErrorAs(t, b.Sweep(ways), &limit)
	assert.False(t, b.Bypassed(0))
	b.Limit = 100
	require.NoError(t, b.Sweep(ways))
	path, ok := b.Path(0)
	assert.True(t, ok)
	assert.Len(t, path, n-1)
}
