package flowpath_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/flowpath"
)

// avoided is an Avoid and the same as a rule about arcs.
func (m model) drawAvoid(t *rapid.T) (flowpath.Avoid, func(arc int32) bool, []int32) {
	nodes, arcs := m.drawNodes(t, "avoided nodes", 2), m.drawArcs(t, "avoided arcs", 3)
	a := flowpath.Avoid{Barriers: rapid.Bool().Draw(t, "avoid barriers")}
	if len(nodes) > 0 {
		a.Nodes = setOf(t, m.n, nodes)
	}
	if len(arcs) > 0 {
		a.Arcs = setOf(t, len(m.from), arcs)
	}
	return a, func(arc int32) bool {
		switch {
		case m.cost[arc] == flowpath.Blocked, m.cost[arc] == flowpath.Barrier && a.Barriers:
			return false
		case slices.Contains(arcs, arc), slices.Contains(nodes, m.from[arc]), slices.Contains(nodes, m.to[arc]):
			return false
		}
		return true
	}, nodes
}

func TestReachAgainstClosure(t *testing.T) {
	var r flowpath.Reach
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t, 9, 16)
		sources := m.drawNodes(t, "sources", 3)
		avoid, may, out := m.drawAvoid(t)
		dir := rapid.SampledFrom([]flowpath.Direction{flowpath.Forward, flowpath.Backward}).Draw(t, "direction")
		require.NoError(t, r.Sweep(m.ways(t), dir, sources, avoid))
		seen := m
		if dir == flowpath.Backward {
			seen = m.reversed()
		}
		c, count := seen.closure(may), 0
		for _, v := range m.nodes() {
			want := false
			for _, s := range sources {
				want = want || c[s][v] && !slices.Contains(out, s) && !slices.Contains(out, v)
			}
			assert.Equal(t, want, r.Reached(v), "node %d", v)
			path, ok := r.Path(v)
			assert.Equal(t, want, ok)
			if !ok {
				continue
			}
			count++
			for _, a := range path {
				assert.True(t, may(a))
			}
			if dir == flowpath.Backward {
				path = reverse(path)
			}
			seen.requirePath(t, path, sources, v)
			assert.Len(t, path, seen.fewest(sources, out, v, may))
		}
		assert.Equal(t, count, r.Count())
		assert.ElementsMatch(t, r.Set().Append(nil), r.Nodes())
	})
}

// A search that asks of the arcs it comes to finds what one over all costs finds, path by path, and asks of no others.
func TestFollowFindsWhatSweepFinds(t *testing.T) {
	var swept, followed flowpath.Reach
	var sweptMany, followedMany flowpath.ReachMany
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t, 9, 16)
		sources, subjects := m.drawNodes(t, "sources", 3), m.drawNodes(t, "subjects", 4)
		dir := rapid.SampledFrom([]flowpath.Direction{flowpath.Forward, flowpath.Backward}).Draw(t, "direction")
		ways := m.ways(t)
		tails := m.from
		if dir == flowpath.Backward {
			tails = m.to
		}
		asked := map[int32]int{}
		open := func(arc int32) bool { asked[arc]++; return m.cost[arc] == flowpath.Open }
		require.NoError(t, swept.Sweep(ways, dir, sources, flowpath.Avoid{Barriers: true}))
		require.NoError(t, followed.Follow(ways.Graph(), dir, sources, open))
		assert.Equal(t, swept.Nodes(), followed.Nodes())
		for _, v := range m.nodes() {
			want, reached := swept.Path(v)
			path, ok := followed.Path(v)
			assert.Equal(t, reached, ok)
			assert.Equal(t, want, path)
		}
		for arc, times := range asked {
			assert.Equal(t, 1, times)
			assert.True(t, swept.Reached(tails[arc]), "arc %d was asked of and does not begin in reach", arc)
		}
		require.NoError(t, sweptMany.Sweep(ways, dir, sources, subjects, flowpath.Avoid{Barriers: true}))
		require.NoError(t, followedMany.Follow(ways.Graph(), dir, sources, subjects, open))
		for i := range sources {
			assert.Equal(t, sweptMany.Subjects(i), followedMany.Subjects(i))
			assert.Equal(t, sweptMany.Same(i), followedMany.Same(i))
		}
	})
}

func TestFollowRefuses(t *testing.T) {
	g, err := flowpath.FromPassages(2, []int32{0}, []int32{1})
	require.NoError(t, err)
	open := func(int32) bool { return true }
	var r flowpath.Reach
	var many flowpath.ReachMany
	require.NoError(t, r.Follow(g, flowpath.Forward, []int32{0}, open))
	require.ErrorIs(t, r.Follow(nil, flowpath.Forward, nil, open), flowpath.ErrNoWays)
	require.ErrorIs(t, r.Follow(g, flowpath.Forward, nil, nil), flowpath.ErrNoWays)
	require.ErrorContains(t, r.Follow(g, 2, nil, open), "direction 2")
	require.ErrorContains(t, r.Follow(g, flowpath.Forward, []int32{2}, open), "source 0 is node 2")
	assert.Zero(t, r.Count())
	assert.False(t, r.Reached(0))
	require.ErrorIs(t, many.Follow(nil, flowpath.Forward, nil, nil, open), flowpath.ErrNoWays)
	require.ErrorIs(t, many.Follow(g, flowpath.Forward, nil, nil, nil), flowpath.ErrNoWays)
	require.ErrorContains(t, many.Follow(g, flowpath.Forward, nil, []int32{2}, open), "subject 0 is node 2")
}

// fewest returns the least number of arcs to a node that is in reach.
func (m model) fewest(sources, out []int32, v int32, may func(int32) bool) int {
	level := make([]bool, m.n)
	for _, s := range sources {
		level[s] = !slices.Contains(out, s)
	}
	steps := 0
	for ; !level[v]; steps++ {
		next := slices.Clone(level)
		for a := range m.from {
			if may(int32(a)) && level[m.from[a]] {
				next[m.to[a]] = true
			}
		}
		level = next
	}
	return steps
}

func TestReachManyAgainstClosure(t *testing.T) {
	var r flowpath.ReachMany
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t, 9, 16)
		sources, subjects := m.drawNodes(t, "sources", 8), m.drawNodes(t, "subjects", 8)
		avoid, may, out := m.drawAvoid(t)
		dir := rapid.SampledFrom([]flowpath.Direction{flowpath.Forward, flowpath.Backward}).Draw(t, "direction")
		require.NoError(t, r.Sweep(m.ways(t), dir, sources, subjects, avoid))
		seen := m
		if dir == flowpath.Backward {
			seen = m.reversed()
		}
		c := seen.closure(may)
		for i, s := range sources {
			want := []int32{}
			for _, v := range m.nodes() {
				if slices.Contains(subjects, v) && c[s][v] && !slices.Contains(out, s) && !slices.Contains(out, v) {
					want = append(want, v)
				}
			}
			assert.ElementsMatch(t, want, r.Subjects(i), "source %d", s)
			assert.True(t, slices.IsSorted(r.Subjects(i)))
			for j, o := range sources {
				free := !slices.Contains(out, s) && !slices.Contains(out, o)
				assert.Equal(t, s == o || free && c[s][o] && c[o][s], r.Same(i) == r.Same(j))
			}
		}
		assert.Nil(t, r.Subjects(len(sources)))
		assert.Equal(t, flowpath.None, r.Same(-1))
	})
}

func TestReachManyLimit(t *testing.T) {
	g, err := flowpath.FromPassages(10, ids(10)[:9], ids(10)[1:])
	require.NoError(t, err)
	ways, err := flowpath.NewWays(g, make([]uint8, 18))
	require.NoError(t, err)
	r := flowpath.ReachMany{Limit: 9}
	var limit *flowpath.LimitError
	require.ErrorAs(t, r.Sweep(ways, flowpath.Forward, []int32{0}, ids(10), flowpath.Avoid{}), &limit)
	assert.Empty(t, r.Subjects(0))
	r.Limit = 10
	require.NoError(t, r.Sweep(ways, flowpath.Forward, []int32{0}, ids(10), flowpath.Avoid{}))
	assert.Equal(t, ids(10), r.Subjects(0))
}

func TestSet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.IntRange(0, 200).Draw(t, "size")
		list := rapid.SliceOf(rapid.Int32Range(-5, 205)).Draw(t, "ids")
		s, want := flowpath.NewSet(size), []int32{}
		for _, id := range list {
			inside := id >= 0 && int(id) < size
			assert.Equal(t, inside, s.Add(id))
			if inside && !slices.Contains(want, id) {
				want = append(want, id)
			}
		}
		slices.Sort(want)
		assert.Equal(t, want, s.Append([]int32{}))
		assert.Equal(t, len(want), s.Len())
		assert.Equal(t, size, s.Size())
		for id := int32(-5); id < 205; id++ {
			assert.Equal(t, slices.Contains(want, id), s.Has(id))
		}
		for _, id := range list {
			s.Remove(id)
			assert.False(t, s.Has(id))
		}
		assert.Zero(t, s.Len())
		s.Add(0)
		s.Clear()
		assert.Zero(t, s.Len())
	})
	_, err := flowpath.SetOf(3, 1, 3)
	require.ErrorContains(t, err, "id 3 in a set of ids 0..2")
	assert.False(t, (*flowpath.Set)(nil).Has(0))
}
