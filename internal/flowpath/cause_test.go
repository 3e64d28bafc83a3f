package flowpath_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/flowpath"
)

type causes struct {
	count        int
	arcs, groups []int32
}

func (c causes) has(arc, group int32) bool {
	for i := range c.arcs {
		if c.arcs[i] == arc && c.groups[i] == group {
			return true
		}
	}
	return false
}

func (m model) drawCauses(t *rapid.T) causes {
	c := causes{count: rapid.IntRange(0, 4).Draw(t, "groups")}
	if c.count == 0 {
		return c
	}
	c.arcs = m.drawArcs(t, "grouped", 16)
	c.groups = rapid.SliceOfN(rapid.Int32Range(0, int32(c.count-1)), len(c.arcs), len(c.arcs)).Draw(t, "group of")
	return c
}

func TestCauseGroupsAgainstEveryPath(t *testing.T) {
	var c flowpath.CauseGroups
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t, 7, 10)
		sources, cause := m.drawNodes(t, "sources", 2), m.drawCauses(t)
		dir := rapid.SampledFrom([]flowpath.Direction{flowpath.Forward, flowpath.Backward}).Draw(t, "direction")
		subjects := append(m.nodes(), m.drawNodes(t, "more subjects", 3)...)
		ways := m.ways(t)
		groups, err := flowpath.NewGroups(ways.Graph(), cause.count, cause.arcs, cause.groups)
		require.NoError(t, err)
		require.Equal(t, cause.count, groups.Count())
		var w flowpath.Weakest
		require.NoError(t, w.Sweep(ways, dir, sources))
		require.NoError(t, c.Sweep(&w, groups, subjects))

		seen := m
		if dir == flowpath.Backward {
			seen = m.reversed()
		}
		want := make([][]int32, m.n)
		free := make([]bool, m.n)
		for _, s := range sources {
			seen.eachPath(s, func(arcs []int32, end int32) {
				free[end] = free[end] || m.barriers(arcs) == 0
			})
		}
		for k := range int32(cause.count) {
			for _, s := range sources {
				seen.eachPath(s, func(arcs []int32, end int32) {
					for _, a := range arcs {
						if m.cost[a] == flowpath.Barrier && !cause.has(a, k) {
							return
						}
					}
					if !free[end] && !slices.Contains(want[end], k) {
						want[end] = append(want[end], k)
					}
				})
			}
		}
		for i, v := range subjects {
			assert.Equal(t, free[v], c.Unguarded(i), "subject %d", v)
			assert.ElementsMatch(t, want[v], c.Groups(i), "subject %d", v)
			assert.True(t, slices.IsSorted(c.Groups(i)))
		}
		m.requireGroupPaths(t, &c, cause, dir, sources, subjects)
	})
}

// requireGroupPaths compares the paths with those of a Weakest sweep in which
// all barriers outside the group are blocked.
func (m model) requireGroupPaths(t *rapid.T, c *flowpath.CauseGroups, cause causes, dir flowpath.Direction, sources, subjects []int32) {
	for k := range int32(cause.count) {
		only := m
		only.cost = slices.Clone(m.cost)
		for a := range only.cost {
			if only.cost[a] == flowpath.Barrier && !cause.has(int32(a), k) {
				only.cost[a] = flowpath.Blocked
			}
		}
		var w flowpath.Weakest
		require.NoError(t, w.Sweep(only.ways(t), dir, sources))
		for i, v := range subjects {
			want, ok := w.Path(v)
			got, found := c.Path(i, k)
			require.Equal(t, ok, found)
			assert.Equal(t, want, got, "subject %d, group %d", v, k)
		}
	}
	_, found := c.Path(0, int32(cause.count))
	assert.False(t, found)
	_, found = c.Path(len(subjects), 0)
	assert.False(t, found)
}

func TestCauseGroupsLimit(t *testing.T) {
	// One barrier, and fifty nodes behind it.
	n := 52
	g, err := flowpath.FromPassages(n, ids(n)[:n-1], ids(n)[1:])
	require.NoError(t, err)
	costs := make([]uint8, g.NumArcs())
	costs[0] = flowpath.Barrier
	ways, err := flowpath.NewWays(g, costs)
	require.NoError(t, err)
	groups, err := flowpath.NewGroups(g, 1, []int32{0}, []int32{0})
	require.NoError(t, err)
	assert.Equal(t, []int32{0}, groups.Arcs(0))
	assert.Nil(t, groups.Arcs(1))
	var w flowpath.Weakest
	require.NoError(t, w.Sweep(ways, flowpath.Forward, []int32{0}))

	c := flowpath.CauseGroups{Limit: 50}
	var limit *flowpath.LimitError
	require.ErrorAs(t, c.Sweep(&w, groups, ids(n)), &limit)
	assert.Equal(t, int64(50), limit.Allowed)
	assert.Empty(t, c.Groups(51))
	assert.False(t, c.Unguarded(0))
	c.Limit = 51
	require.NoError(t, c.Sweep(&w, groups, ids(n)))
	assert.Equal(t, []int32{0}, c.Groups(51))
	assert.True(t, c.Unguarded(0))
	assert.Empty(t, c.Groups(0))
}
