package flowpath_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/flowpath"
)

// table is an automaton as the tests see it: -1 ends a path.
type table struct {
	states, start int
	next          [flowpath.MaxStates][4]int
}

func (a table) step(state int, label uint8) int { return a.next[state][label&3] }

func drawTable(t *rapid.T) table {
	a := table{states: rapid.IntRange(1, flowpath.MaxStates).Draw(t, "states")}
	a.start = rapid.IntRange(0, a.states-1).Draw(t, "start")
	for s := range a.states {
		for l := range a.next[s] {
			a.next[s][l] = rapid.IntRange(-1, a.states-1).Draw(t, "next")
		}
	}
	return a
}

// place is where a walk can be: at a node, come by an arc, in a state.
type place struct {
	node, arc int32
	state     int
}

// walks returns the least number of arcs of a walk to each place that walks get
// to, found level by level.
func (m model) walks(a table, labels flowpath.Labels, sources []int32, turn flowpath.Turning, may func(int32) bool, out []int32) map[place]int {
	label := func(list []uint8, i int32) uint8 {
		if list == nil {
			return 0
		}
		return list[i]
	}
	found, level := map[place]int{}, []place{}
	note := func(p place, steps int) {
		if _, old := found[p]; !old && !slices.Contains(out, p.node) {
			found[p] = steps
			level = append(level, p)
		}
	}
	for _, s := range sources {
		if state := a.step(a.start, label(labels.Nodes, s)); state >= 0 {
			note(place{s, flowpath.None, state}, 0)
		}
	}
	for steps := 1; len(level) > 0; steps++ {
		before := level
		level = nil
		for _, p := range before {
			for i := range m.from {
				arc := int32(i)
				if m.from[arc] != p.node || !may(arc) {
					continue
				}
				if turn == flowpath.NoTurnBack && p.arc != flowpath.None && m.twin[arc] == p.arc {
					continue
				}
				if state := a.step(p.state, label(labels.Arcs, arc)); state >= 0 {
					if state = a.step(state, label(labels.Nodes, m.to[arc])); state >= 0 {
						note(place{m.to[arc], arc, state}, steps)
					}
				}
			}
		}
	}
	return found
}

func TestRunsAgainstWalks(t *testing.T) {
	var r flowpath.Runs
	rapid.Check(t, func(t *rapid.T) {
		m := drawModel(t, 6, 9)
		sources, a := m.drawNodes(t, "sources", 3), drawTable(t)
		avoid, may, out := m.drawAvoid(t)
		turn := rapid.SampledFrom([]flowpath.Turning{flowpath.NoTurnBack, flowpath.MayTurnBack}).Draw(t, "turn")
		var labels flowpath.Labels
		if rapid.Bool().Draw(t, "label nodes") {
			labels.Nodes = rapid.SliceOfN(rapid.Uint8Range(0, 3), m.n, m.n).Draw(t, "node labels")
		}
		if rapid.Bool().Draw(t, "label arcs") {
			labels.Arcs = rapid.SliceOfN(rapid.Uint8Range(0, 3), len(m.from), len(m.from)).Draw(t, "arc labels")
		}
		machine, err := flowpath.NewAutomaton(a.states, a.start, a.step)
		require.NoError(t, err)
		require.NoError(t, r.Sweep(m.ways(t), machine, labels, sources, turn, avoid))

		shortest := map[place]int{}
		for p, steps := range m.walks(a, labels, sources, turn, may, out) {
			p.arc = flowpath.None
			if old, ok := shortest[p]; !ok || steps < old {
				shortest[p] = steps
			}
		}
		for _, v := range m.nodes() {
			for s := range flowpath.MaxStates {
				steps, want := shortest[place{v, flowpath.None, s}]
				assert.Equal(t, want, r.States(v)>>s&1 != 0, "node %d state %d", v, s)
				path, ok := r.Path(v, s)
				require.Equal(t, want, ok)
				if !ok {
					continue
				}
				assert.Len(t, path, steps)
				m.requirePath(t, path, sources, v)
				m.requireRun(t, a, labels, path, v, s)
				for i := range path {
					assert.True(t, may(path[i]))
					if i > 0 && turn == flowpath.NoTurnBack {
						assert.NotEqual(t, m.twin[path[i-1]], path[i])
					}
				}
			}
			good := rapid.Uint8().Draw(t, "good")
			state, wrong := r.Wrong(v, good)
			assert.Equal(t, r.States(v)&^good != 0, wrong)
			if wrong {
				assert.NotZero(t, (r.States(v)&^good)>>state&1)
				assert.Zero(t, (r.States(v)&^good)&(1<<state-1))
			}
		}
		_, ok := r.Path(int32(m.n), 0)
		assert.False(t, ok)
		_, ok = r.Path(0, -1)
		assert.False(t, ok)
	})
}

// requireRun replays a path and checks the state that it ends in.
func (m model) requireRun(t require.TestingT, a table, labels flowpath.Labels, path []int32, end int32, want int) {
	read := func(state int, list []uint8, i int32) int {
		if list == nil {
			return a.step(state, 0)
		}
		return a.step(state, list[i])
	}
	first := end
	if len(path) > 0 {
		first = m.from[path[0]]
	}
	state := read(a.start, labels.Nodes, first)
	for _, arc := range path {
		state = read(read(state, labels.Arcs, arc), labels.Nodes, m.to[arc])
	}
	require.Equal(t, want, state)
}

// final lets a machine read labels along a line and returns the state at its
// end.
func final(t require.TestingT, a *flowpath.Automaton, labels []uint8) int {
	n := len(labels)
	g, err := flowpath.FromPassages(n, ids(n)[:n-1], ids(n)[1:])
	require.NoError(t, err)
	ways, err := flowpath.NewWays(g, make([]uint8, g.NumArcs()))
	require.NoError(t, err)
	var r flowpath.Runs
	require.NoError(t, r.Sweep(ways, a, flowpath.Labels{Nodes: labels}, []int32{0}, flowpath.NoTurnBack, flowpath.Avoid{}))
	for s := range flowpath.MaxStates {
		if r.States(int32(n-1)) == 1<<s {
			return s
		}
	}
	require.FailNow(t, "a line has one path, so one state")
	return -1
}

func TestSince(t *testing.T) {
	const a, b = 1, 2
	has := func(list []uint8, bits uint8) int {
		return slices.IndexFunc(list, func(l uint8) bool { return l&bits != 0 })
	}
	rapid.Check(t, func(t *rapid.T) {
		labels := rapid.SliceOfN(rapid.Uint8Range(0, 7), 1, 12).Draw(t, "labels")

		backwards := reverse(labels)
		mark, wanted := has(backwards, a), has(backwards, b)
		want := flowpath.SinceMissing
		switch {
		case mark < 0:
			want = flowpath.SinceNever
		case wanted >= 0 && wanted < mark:
			want = flowpath.SinceHolds
		}
		assert.Equal(t, want, final(t, flowpath.Since(a, b), labels))
	})
}

// A purge connection with its own check valve hangs on the line between the
// trap and the generator. No water comes by way of it, so it must not spoil the
// order: water, check valve, trap, generator.
func TestNoTurnBackLeavesOutDeadEnds(t *testing.T) {
	const check, trap = 1, 2
	// 0 water, 1 check valve, 2 trap, 3 tee, 4 generator, 5 purge check valve, 6 purge.
	g, err := flowpath.FromPassages(7, []int32{0, 1, 2, 3, 3, 5}, []int32{1, 2, 3, 4, 5, 6})
	require.NoError(t, err)
	ways, err := flowpath.NewWays(g, make([]uint8, g.NumArcs()))
	require.NoError(t, err)
	labels := flowpath.Labels{Nodes: []uint8{0, check, trap, 0, 0, check, 0}}
	const holds = 1 << flowpath.SinceHolds
	var r flowpath.Runs
	require.NoError(t, r.Sweep(ways, flowpath.Since(check, trap), labels, []int32{0}, flowpath.NoTurnBack, flowpath.Avoid{}))
	_, wrong := r.Wrong(4, holds)
	assert.False(t, wrong)
	_, wrong = r.Wrong(6, holds)
	assert.True(t, wrong)
	require.NoError(t, r.Sweep(ways, flowpath.Since(check, trap), labels, []int32{0}, flowpath.MayTurnBack, flowpath.Avoid{}))
	state, wrong := r.Wrong(4, holds)
	assert.True(t, wrong)
	path, ok := r.Path(4, state)
	require.True(t, ok)
	assert.Equal(t, []int32{0, 1, 2, 3, 5, 3, 4}, g.AppendNodes(nil, path))
}
