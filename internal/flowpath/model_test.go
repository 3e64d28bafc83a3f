package flowpath_test

import (
	"flag"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/flowpath"
)

// model is a small diagram as plain lists, on which the tests answer each
// question in the slow and obvious way.
type model struct {
	n        int
	from, to []int32
	twin     []int32
	cost     []uint8
}

// drawModel draws a diagram of at most maxNodes nodes in which some passages go
// both ways and some one way only, with loops and parallel passages.
func drawModel(t *rapid.T, maxNodes, maxPassages int) model {
	m := model{n: rapid.IntRange(1, maxNodes).Draw(t, "nodes")}
	node := rapid.Int32Range(0, int32(m.n-1))
	cost := rapid.SampledFrom([]uint8{flowpath.Open, flowpath.Open, flowpath.Barrier, flowpath.Blocked})
	for range rapid.IntRange(0, maxPassages).Draw(t, "passages") {
		u, v := node.Draw(t, "u"), node.Draw(t, "v")
		a := int32(len(m.from))
		m.from, m.to = append(m.from, u), append(m.to, v)
		m.cost = append(m.cost, cost.Draw(t, "cost"))
		if rapid.IntRange(0, 3).Draw(t, "both ways") == 0 {
			m.twin = append(m.twin, flowpath.None)
			continue
		}
		m.from, m.to = append(m.from, v), append(m.to, u)
		m.cost = append(m.cost, cost.Draw(t, "back cost"))
		m.twin = append(m.twin, a+1, a)
	}
	return m
}

// shuffled returns the same diagram with its arcs in another order, and the new
// id of each arc.
func (m model) shuffled(t *rapid.T) (model, []int32) {
	order := rapid.Permutation(ids(len(m.from))).Draw(t, "order")
	id := make([]int32, len(order))
	for now, before := range order {
		id[before] = int32(now)
	}
	s := model{n: m.n}
	for _, a := range order {
		s.from, s.to, s.cost = append(s.from, m.from[a]), append(s.to, m.to[a]), append(s.cost, m.cost[a])
		w := m.twin[a]
		if w != flowpath.None {
			w = id[w]
		}
		s.twin = append(s.twin, w)
	}
	return s, id
}

func ids(n int) []int32 {
	list := make([]int32, n)
	for i := range list {
		list[i] = int32(i)
	}
	return list
}

func (m model) nodes() []int32 { return ids(m.n) }

func (m model) graph(t require.TestingT) *flowpath.Graph {
	g, err := flowpath.NewGraph(m.n, m.from, m.to, m.twin)
	require.NoError(t, err)
	return g
}

func (m model) ways(t require.TestingT) *flowpath.Ways {
	w, err := flowpath.NewWays(m.graph(t), m.cost)
	require.NoError(t, err)
	return w
}

func (m model) drawNodes(t *rapid.T, label string, most int) []int32 {
	return rapid.SliceOfN(rapid.Int32Range(0, int32(m.n-1)), 0, most).Draw(t, label)
}

func (m model) drawArcs(t *rapid.T, label string, most int) []int32 {
	if len(m.from) == 0 {
		return nil
	}
	return rapid.SliceOfN(rapid.Int32Range(0, int32(len(m.from)-1)), 0, most).Draw(t, label)
}

func (m model) drawOpen(t *rapid.T) []bool {
	return rapid.SliceOfN(rapid.Bool(), len(m.from), len(m.from)).Draw(t, "open")
}

// reversed returns the diagram with every arc turned round, ids kept.
func (m model) reversed() model {
	return model{n: m.n, from: m.to, to: m.from, twin: m.twin, cost: m.cost}
}

// closure returns which node leads to which over the arcs that may be walked.
func (m model) closure(may func(arc int32) bool) [][]bool {
	c := make([][]bool, m.n)
	for v := range c {
		c[v] = make([]bool, m.n)
		c[v][v] = true
	}
	for a := range m.from {
		if may(int32(a)) {
			c[m.from[a]][m.to[a]] = true
		}
	}
	for k := range c {
		for i := range c {
			for j := range c {
				c[i][j] = c[i][j] || c[i][k] && c[k][j]
			}
		}
	}
	return c
}

// eachPath calls visit for every path without repeated nodes that starts at u
// and walks arcs that are not blocked, the empty path included.
func (m model) eachPath(u int32, visit func(arcs []int32, end int32)) {
	seen := make([]bool, m.n)
	var walk func(v int32, arcs []int32)
	walk = func(v int32, arcs []int32) {
		visit(arcs, v)
		seen[v] = true
		for a := range m.from {
			if m.from[a] == v && !seen[m.to[a]] && m.cost[a] != flowpath.Blocked {
				walk(m.to[a], append(arcs, int32(a)))
			}
		}
		seen[v] = false
	}
	walk(u, nil)
}

func (m model) barriers(arcs []int32) int {
	k := 0
	for _, a := range arcs {
		k += int(m.cost[a])
	}
	return k
}

// requirePath checks that arcs follow each other from a node of starts to end.
func (m model) requirePath(t require.TestingT, arcs []int32, starts []int32, end int32) {
	at := end
	for _, a := range slices.Backward(arcs) {
		require.Equal(t, at, m.to[a], "arcs %v", arcs)
		require.NotEqual(t, flowpath.Blocked, m.cost[a], "arc %d", a)
		at = m.from[a]
	}
	require.Contains(t, starts, at)
}

func reverse[T any](list []T) []T {
	r := slices.Clone(list)
	slices.Reverse(r)
	return r
}

func setOf(t require.TestingT, size int, list []int32) *flowpath.Set {
	s, err := flowpath.SetOf(size, list...)
	require.NoError(t, err)
	return s
}

// TestMain asks for more examples than rapid draws by itself: the diagrams are
// small and quick to check. The flag on the command line still wins.
func TestMain(m *testing.M) {
	if err := flag.Set("rapid.checks", "2000"); err != nil {
		panic(err)
	}
	flag.Parse()
	m.Run()
}
