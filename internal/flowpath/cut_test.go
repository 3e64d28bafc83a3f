package flowpath_test

import (
	"math/bits"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/flowpath"
)

// cutProblem is a diagram with what it costs to cut each arc and node.
type cutProblem struct {
	m                model
	arc, node        []int32
	sources, targets []int32
}

func drawCut(t *rapid.T) cutProblem {
	p := cutProblem{m: drawModel(t, 6, 6)}
	capacity := rapid.SampledFrom([]int32{0, 1, 1, 2, 3, flowpath.Unlimited})
	p.arc = rapid.SliceOfN(capacity, len(p.m.from), len(p.m.from)).Draw(t, "capacity")
	if rapid.Bool().Draw(t, "cut nodes") {
		few := rapid.SampledFrom([]int32{1, 2, flowpath.Unlimited, flowpath.Unlimited, flowpath.Unlimited})
		p.node = rapid.SliceOfN(few, p.m.n, p.m.n).Draw(t, "node capacity")
	}
	p.sources, p.targets = p.m.drawNodes(t, "sources", 2), p.m.drawNodes(t, "targets", 2)
	return p
}

// left returns what the sources reach once the places in cut are gone.
func (p cutProblem) left(arcs, nodes []int32) []bool {
	c := p.m.closure(func(a int32) bool {
		return p.arc[a] > 0 && !slices.Contains(arcs, a) && !slices.Contains(nodes, p.m.from[a]) && !slices.Contains(nodes, p.m.to[a])
	})
	reached := make([]bool, p.m.n)
	for _, s := range p.sources {
		for v := range reached {
			reached[v] = reached[v] || c[s][v] && !slices.Contains(nodes, s)
		}
	}
	return reached
}

func (p cutProblem) cuts(arcs, nodes []int32) bool {
	reached := p.left(arcs, nodes)
	return !slices.ContainsFunc(p.targets, func(v int32) bool { return reached[v] && !slices.Contains(nodes, v) })
}

// cheapest tries every set of places and returns the cost of the cheapest cut.
func (p cutProblem) cheapest() (cost int64, found bool) {
	type place struct {
		id   int32
		node bool
		cost int32
	}
	var places []place
	for a, c := range p.arc {
		if c > 0 && c != flowpath.Unlimited {
			places = append(places, place{int32(a), false, c})
		}
	}
	for v, c := range p.node {
		if c != flowpath.Unlimited {
			places = append(places, place{int32(v), true, c})
		}
	}
	for set := range uint32(1) << len(places) {
		var arcs, nodes []int32
		sum := int64(0)
		for ; set != 0; set &= set - 1 {
			x := places[bits.TrailingZeros32(set)]
			sum += int64(x.cost)
			if x.node {
				nodes = append(nodes, x.id)
			} else {
				arcs = append(arcs, x.id)
			}
		}
		if (!found || sum < cost) && p.cuts(arcs, nodes) {
			cost, found = sum, true
		}
	}
	return cost, found
}

func (p cutProblem) cost(arcs, nodes []int32) int64 {
	sum := int64(0)
	for _, a := range arcs {
		sum += int64(p.arc[a])
	}
	for _, v := range nodes {
		sum += int64(p.node[v])
	}
	return sum
}

func TestMinCutAgainstEverySet(t *testing.T) {
	var c flowpath.MinCut
	rapid.Check(t, func(t *rapid.T) {
		p := drawCut(t)
		require.NoError(t, c.Sweep(p.m.graph(t), p.arc, p.node, p.sources, p.targets, flowpath.MaxCut))
		want, found := p.cheapest()
		assert.Equal(t, !found, c.Unguarded())
		assert.False(t, c.Exceeded())
		got, ok := c.Value()
		require.Equal(t, found, ok)
		arcs, nodes := c.Cut(flowpath.Forward)
		late, lateNodes := c.Cut(flowpath.Backward)
		if !found {
			assert.Empty(t, arcs)
			assert.Empty(t, late)
			return
		}
		assert.Equal(t, want, int64(got))
		assert.True(t, p.cuts(arcs, nodes))
		assert.True(t, p.cuts(late, lateNodes))
		assert.Equal(t, want, p.cost(arcs, nodes))
		assert.Equal(t, want, p.cost(late, lateNodes))
		near, far := p.left(arcs, nodes), p.left(late, lateNodes)
		for v := range near {
			assert.False(t, near[v] && !far[v] && !slices.Contains(lateNodes, int32(v)), "node %d", v)
		}

		// One less than the answer is too little, the answer is enough.
		if want > 0 {
			require.NoError(t, c.Sweep(p.m.graph(t), p.arc, p.node, p.sources, p.targets, int32(want)-1))
			assert.True(t, c.Exceeded())
		}
		require.NoError(t, c.Sweep(p.m.graph(t), p.arc, p.node, p.sources, p.targets, int32(want)))
		assert.False(t, c.Exceeded())

		// Neither cut depends on the order of the arcs.
		s, id := p.m.shuffled(t)
		moved := make([]int32, len(p.arc))
		for a := range id {
			moved[id[a]] = p.arc[a]
		}
		require.NoError(t, c.Sweep(s.graph(t), moved, p.node, p.sources, p.targets, flowpath.MaxCut))
		for dir, before := range [2][]int32{arcs, late} {
			after, _ := c.Cut(flowpath.Direction(dir))
			renamed := []int32{}
			for _, a := range before {
				renamed = append(renamed, id[a])
			}
			assert.ElementsMatch(t, renamed, after)
		}
	})
}

func TestMinCutOfManyParallelWays(t *testing.T) {
	// Every way through a ladder of full bipartite steps can be cut at its
	// narrowest step, whose width is known by construction.
	widths := []int{9, 7, 4, 8}
	var from, to []int32
	first := int32(1)
	layer := []int32{0}
	for _, w := range append(widths, 1) {
		next := ids(w)
		for i := range next {
			next[i] += first
		}
		first += int32(w)
		for _, u := range layer {
			for _, v := range next {
				from, to = append(from, u), append(to, v)
			}
		}
		layer = next
	}
	g, err := flowpath.NewGraph(int(first), from, to, nil)
	require.NoError(t, err)
	arc, node := make([]int32, len(from)), make([]int32, first)
	for i := range arc {
		arc[i] = flowpath.Unlimited
	}
	for i := range node {
		node[i] = 1
	}
	node[0], node[first-1] = flowpath.Unlimited, flowpath.Unlimited
	var c flowpath.MinCut
	require.NoError(t, c.Sweep(g, arc, node, []int32{0}, []int32{first - 1}, flowpath.MaxCut))
	value, ok := c.Value()
	assert.True(t, ok)
	assert.Equal(t, int32(4), value)
	_, nodes := c.Cut(flowpath.Forward)
	assert.Equal(t, []int32{17, 18, 19, 20}, nodes)
}
