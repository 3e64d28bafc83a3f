package flowpath_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/flowpath"
)

// best is the least number of barriers, and of arcs among those, to each node.
type best struct{ barriers, arcs int }

func (m model) weakest(sources []int32) []best {
	list := make([]best, m.n)
	for v := range list {
		list[v] = best{-1, -1}
	}
	for _, s := range sources {
		m.eachPath(s, func(arcs []int32, end int32) {
			b := best{m.barriers(arcs), len(arcs)}
			old := list[end]
			if old.barriers < 0 || b.barriers < old.barriers || b.barriers == old.barriers && b.arcs < old.arcs {
				list[end] = b
			}
		})
	}
	return list
}

func TestWeakestAgainstEveryPath(t *testing.T) {
	var w flowpath.Weakest // reused, so that what a sweep leaves behind shows
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t, 7, 10)
		sources := m.drawNodes(t, "sources", 3)
		require.NoError(t, w.Sweep(m.ways(t), flowpath.Forward, sources))
		want := m.weakest(sources)
		for _, v := range m.nodes() {
			assert.Equal(t, want[v], best{w.Barriers(v), w.Arcs(v)}, "node %d", v)
			path, ok := w.Path(v)
			assert.Equal(t, want[v].barriers >= 0, ok)
			assert.Equal(t, ok, w.Reached(v))
			if !ok {
				assert.Nil(t, path)
				assert.Equal(t, flowpath.None, w.Source(v))
				continue
			}
			m.requirePath(t, path, []int32{w.Source(v)}, v)
			assert.Contains(t, sources, w.Source(v))
			assert.Equal(t, want[v], best{m.barriers(path), len(path)})
			if len(path) == 0 {
				continue
			}
			// The last arc is the lowest of all that arrive equally well.
			for a := range path[len(path)-1] {
				u := m.from[a]
				if m.to[a] == v && m.cost[a] != flowpath.Blocked && want[u].barriers >= 0 {
					assert.NotEqual(t, want[v], best{want[u].barriers + int(m.cost[a]), want[u].arcs + 1}, "arc %d", a)
				}
			}
		}
	})
}

func TestWeakestWhateverTheOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t, 12, 25)
		sources := m.drawNodes(t, "sources", 4)
		var w, other, shuffled, back flowpath.Weakest
		require.NoError(t, w.Sweep(m.ways(t), flowpath.Forward, sources))
		require.NoError(t, other.Sweep(m.ways(t), flowpath.Forward, reverse(sources)))
		s, _ := m.shuffled(t)
		require.NoError(t, shuffled.Sweep(s.ways(t), flowpath.Forward, sources))
		require.NoError(t, back.Sweep(m.reversed().ways(t), flowpath.Backward, sources))
		for _, v := range m.nodes() {
			path, _ := w.Path(v)
			same, _ := other.Path(v)
			assert.Equal(t, path, same)
			assert.Equal(t, w.Barriers(v), shuffled.Barriers(v))
			assert.Equal(t, w.Arcs(v), shuffled.Arcs(v))
			turned, _ := back.Path(v)
			if path != nil {
				assert.Equal(t, path, reverse(turned))
			}
			assert.Equal(t, w.Source(v), back.Source(v))
		}
	})
}

func TestWeakestPathNodes(t *testing.T) {
	g, err := flowpath.FromPassages(4, []int32{0, 1, 2}, []int32{1, 2, 3})
	require.NoError(t, err)
	ways, err := flowpath.NewWays(g, []uint8{flowpath.Open, flowpath.Barrier, flowpath.Open, flowpath.Barrier, flowpath.Barrier, flowpath.Open})
	require.NoError(t, err)
	var w flowpath.Weakest
	require.NoError(t, w.Sweep(ways, flowpath.Forward, []int32{0}))
	path, ok := w.Path(3)
	require.True(t, ok)
	assert.Equal(t, []int32{0, 2, 4}, path)
	assert.Equal(t, 1, w.Barriers(3))
	assert.Equal(t, []int32{0, 1, 2, 3}, g.AppendNodes(nil, path))
	require.NoError(t, w.Sweep(ways, flowpath.Backward, []int32{0}))
	path, ok = w.Path(3)
	require.True(t, ok)
	assert.Equal(t, []int32{5, 3, 1}, path)
	assert.Equal(t, 2, w.Barriers(3))
	assert.Equal(t, -1, w.Barriers(4))
	assert.Equal(t, -1, w.Barriers(-1))
}
