package flowpath_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/flowpath"
)

// without returns the marks without the passage of an arc.
func (m model) without(open []bool, arc int32) []bool {
	o := slices.Clone(open)
	o[arc] = false
	if w := m.twin[arc]; w != flowpath.None {
		o[w] = false
	}
	return o
}

func TestBridgesAgainstRemoval(t *testing.T) {
	var b flowpath.Bridges
	check(t, func(t *rapid.T) {
		m := drawModel(t, 9, 12)
		open := m.drawOpen(t)
		require.NoError(t, b.Sweep(m.graph(t), open))
		same := m.joined(open)
		for a := range int32(len(m.from)) {
			w := m.twin[a]
			marked := open[a] || w != flowpath.None && open[w]
			left := m.joined(m.without(open, a))
			assert.Equal(t, marked && !left[m.from[a]][m.to[a]], b.Bridge(a), "arc %d", a)
			assert.Equal(t, b.Bridge(a), b.Arcs().Has(a))
			for u := range same {
				for v := range same {
					same[u][v] = same[u][v] && left[u][v]
				}
			}
		}
		got := []int32{}
		for _, v := range m.nodes() {
			got = append(got, b.Block(v))
		}
		want := numbered(same)
		assert.Equal(t, want, got)
		assert.Equal(t, int(slices.Max(want))+1, b.Blocks())
	})
}

func TestBypassesAgainstClosure(t *testing.T) {
	var b flowpath.Bypasses
	check(t, func(t *rapid.T) {
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

func TestEveryPathAgainstEveryPath(t *testing.T) {
	var e flowpath.EveryPath
	check(t, func(t *rapid.T) {
		m := drawModel(t, 7, 11)
		sources := m.drawNodes(t, "sources", 3)
		target := rapid.Int32Range(0, int32(m.n-1)).Draw(t, "target")
		avoid, may, out := m.drawAvoid(t)
		require.NoError(t, e.Sweep(m.ways(t), sources, target, avoid))
		var arcs, nodes []int32
		found := false
		for _, s := range sources {
			if slices.Contains(out, s) {
				continue
			}
			m.eachPath(s, func(path []int32, end int32) {
				if end != target || slices.ContainsFunc(path, func(a int32) bool { return !may(a) }) {
					return
				}
				met := []int32{s}
				for _, a := range path {
					met = append(met, m.to[a])
				}
				if !found {
					found, arcs, nodes = true, slices.Clone(path), met
					return
				}
				arcs = slices.DeleteFunc(arcs, func(a int32) bool { return !slices.Contains(path, a) })
				nodes = slices.DeleteFunc(nodes, func(v int32) bool { return !slices.Contains(met, v) })
			})
		}
		assert.Equal(t, found, e.Found())
		assert.Equal(t, append([]int32{}, arcs...), append([]int32{}, e.Arcs()...))
		assert.Equal(t, append([]int32{}, nodes...), append([]int32{}, e.Nodes()...))
	})
}
