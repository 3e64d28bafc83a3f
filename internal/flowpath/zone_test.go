package flowpath_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/flowpath"
)

// joined returns which nodes the marked arcs join, directions apart.
func (m model) joined(open []bool) [][]bool {
	both := model{n: m.n, from: append(slices.Clone(m.from), m.to...), to: append(slices.Clone(m.to), m.from...)}
	return both.closure(func(a int32) bool { return open[int(a)%len(open)] })
}

// numbered gives each class of an equivalence a number in ascending order of
// its lowest node.
func numbered(same [][]bool) []int32 {
	list, count := make([]int32, len(same)), int32(0)
	for v := range same {
		if u := slices.Index(same[v], true); u < v {
			list[v] = list[u]
			continue
		}
		list[v] = count
		count++
	}
	return list
}

func TestZonesAgainstClosure(t *testing.T) {
	var z flowpath.Zones
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t, 12, 14)
		open := m.drawOpen(t)
		require.NoError(t, z.Sweep(m.graph(t), open))
		want := numbered(m.joined(open))
		assert.Equal(t, want, z.IDs())
		members := []int32{}
		for k := range int32(z.Count()) {
			assert.True(t, slices.IsSorted(z.Members(k)))
			for _, v := range z.Members(k) {
				assert.Equal(t, k, z.Zone(v))
			}
			members = append(members, z.Members(k)...)
		}
		assert.ElementsMatch(t, m.nodes(), members)
		assert.Nil(t, z.Members(int32(z.Count())))

		// The numbers do not depend on the order of the arcs.
		s, id := m.shuffled(t)
		moved := make([]bool, len(open))
		for a := range open {
			moved[id[a]] = open[a]
		}
		require.NoError(t, z.Sweep(s.graph(t), moved))
		assert.Equal(t, want, z.IDs())

		for a := range open {
			open[a] = m.cost[a] == flowpath.Open
		}
		require.NoError(t, z.SweepOpen(m.ways(t)))
		assert.Equal(t, numbered(m.joined(open)), z.IDs())
	})
}

func TestLoopsAgainstClosure(t *testing.T) {
	var l flowpath.Loops
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t, 12, 18)
		barriers := rapid.Bool().Draw(t, "barriers")
		require.NoError(t, l.Sweep(m.ways(t), barriers))
		c := m.closure(func(a int32) bool {
			return m.cost[a] == flowpath.Open || barriers && m.cost[a] == flowpath.Barrier
		})
		for u := range c {
			for v := range u {
				both := c[u][v] && c[v][u]
				c[u][v], c[v][u] = both, both
			}
		}
		want := numbered(c)
		got := []int32{}
		for _, v := range m.nodes() {
			got = append(got, l.Loop(v))
		}
		assert.Equal(t, want, got)
		assert.Equal(t, int(slices.Max(want))+1, l.Count())
	})
}

func TestHighestAgainstEveryPath(t *testing.T) {
	var h flowpath.Highest
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t, 7, 10)
		sources := m.drawNodes(t, "sources", 5)
		values := rapid.SliceOfN(rapid.SampledFrom([]float64{-2, 0, 1, 1, 3, math.Inf(1)}), len(sources), len(sources)).Draw(t, "values")
		failures := rapid.IntRange(0, 3).Draw(t, "failures")
		require.NoError(t, h.Sweep(m.ways(t), sources, values, failures))
		for k := range failures + 1 {
			for _, v := range m.nodes() {
				want, found, way := math.Inf(-1), false, best{}
				for i, s := range sources {
					m.eachPath(s, func(arcs []int32, end int32) {
						b := best{m.barriers(arcs), len(arcs)}
						if end != v || b.barriers > k {
							return
						}
						better := !found || values[i] > want || values[i] == want &&
							(b.barriers < way.barriers || b.barriers == way.barriers && b.arcs < way.arcs)
						if better {
							want, found, way = values[i], true, b
						}
					})
				}
				got, ok := h.Value(v, k)
				require.Equal(t, found, ok, "node %d", v)
				path, has := h.Path(v, k)
				assert.Equal(t, ok, has)
				if !ok {
					assert.Equal(t, flowpath.None, h.Source(v, k))
					continue
				}
				assert.Equal(t, want, got, "node %d with %d failures", v, k)
				source := h.Source(v, k)
				assert.Equal(t, want, values[source])
				m.requirePath(t, path, []int32{sources[source]}, v)
				assert.Equal(t, way, best{m.barriers(path), len(path)})
			}
		}
		_, ok := h.Value(0, failures+1)
		assert.False(t, ok)

		var turned flowpath.Highest
		require.NoError(t, turned.Sweep(m.ways(t), reverse(sources), reverse(values), failures))
		for _, v := range m.nodes() {
			a, _ := h.Path(v, failures)
			b, _ := turned.Path(v, failures)
			assert.Equal(t, a, b)
		}
	})
}

func TestDeadEndsAgainstPeeling(t *testing.T) {
	var d flowpath.DeadEnds
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t, 10, 12)
		open, terminals := m.drawOpen(t), m.drawNodes(t, "terminals", 3)
		require.NoError(t, d.Sweep(m.graph(t), open, setOf(t, m.n, terminals)))
		dead := make([]bool, m.n)
		ends := []int32{}
		for round := range m.n + 1 {
			gone := slices.Clone(dead)
			for v := range dead {
				// The passages of the node, each named by its lowest arc.
				passages := map[int32]bool{}
				for a := range m.from {
					u, w := m.from[a], m.to[a]
					if int(u) != v && int(w) != v || u == w || dead[u] || dead[w] {
						continue
					}
					name := int32(a)
					if twin := m.twin[a]; twin != flowpath.None {
						name = min(name, twin)
						if open[twin] {
							passages[name] = true
						}
					}
					if open[a] {
						passages[name] = true
					}
				}
				if len(passages) <= 1 && !slices.Contains(terminals, int32(v)) {
					gone[v] = true
					if round == 0 {
						ends = append(ends, int32(v))
					}
				}
			}
			dead = gone
		}
		assert.ElementsMatch(t, ends, d.Ends())
		assert.True(t, slices.IsSorted(d.Ends()))
		for v := range dead {
			assert.Equal(t, dead[v], d.Dead(int32(v)), "node %d", v)
			assert.Equal(t, dead[v], d.Nodes().Has(int32(v)))
		}
	})
}
