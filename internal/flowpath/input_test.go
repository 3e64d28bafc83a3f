package flowpath_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/flowpath"
)

func TestNewGraphRefuses(t *testing.T) {
	const none = flowpath.None
	for name, c := range map[string]struct {
		n              int
		from, to, twin []int32
		says           string
	}{
		"negative size":      {-1, nil, nil, nil, "-1 nodes"},
		"too many nodes":     {flowpath.MaxSize + 1, nil, nil, nil, "too large"},
		"lengths":            {2, []int32{0}, nil, nil, "1 arc tails but 0 arc heads"},
		"tail outside":       {2, []int32{2}, []int32{0}, nil, "arc 0 goes from node 2 to node 0, outside 0..1"},
		"head outside":       {2, []int32{0}, []int32{-1}, nil, "outside 0..1"},
		"arc without nodes":  {0, []int32{0}, []int32{0}, nil, "outside"},
		"twins of others":    {2, []int32{0}, []int32{1}, []int32{none, none}, "2 twins for 1 arcs"},
		"twin outside":       {2, []int32{0}, []int32{1}, []int32{1}, "arc 0 names twin 1"},
		"twin below":         {2, []int32{0}, []int32{1}, []int32{-2}, "arc 0 names twin -2"},
		"twin of itself":     {2, []int32{0}, []int32{0}, []int32{0}, "arc 0 names twin 0"},
		"twin not returned":  {2, []int32{0, 1}, []int32{1, 0}, []int32{1, none}, "no twins"},
		"twin the same way":  {2, []int32{0, 0}, []int32{1, 1}, []int32{1, 0}, "no twins"},
		"twin at other ends": {3, []int32{0, 1}, []int32{1, 2}, []int32{1, 0}, "no twins"},
	} {
		g, err := flowpath.NewGraph(c.n, c.from, c.to, c.twin)
		require.ErrorContains(t, err, c.says, name)
		assert.Nil(t, g, name)
	}
	_, err := flowpath.FromPassages(2, []int32{0}, nil)
	require.ErrorContains(t, err, "1 first ends but 0 second ends")
	_, err = flowpath.FromPassages(2, []int32{0}, []int32{2})
	require.ErrorContains(t, err, "passage 0 joins node 0 to node 2, outside 0..1")
	_, err = flowpath.FromPassages(-1, nil, nil)
	require.ErrorContains(t, err, "-1 nodes")
}

func TestGraphOutside(t *testing.T) {
	g, err := flowpath.FromPassages(2, []int32{0}, []int32{1})
	require.NoError(t, err)
	assert.Equal(t, 2, g.NumNodes())
	assert.Equal(t, 2, g.NumArcs())
	assert.Equal(t, int32(1), g.Twin(0))
	assert.Equal(t, int32(0), g.Twin(1))
	assert.Equal(t, int32(1), g.From(1))
	assert.Equal(t, int32(0), g.To(1))
	for _, a := range []int32{-1, 2, math.MaxInt32, math.MinInt32} {
		assert.Equal(t, flowpath.None, g.From(a))
		assert.Equal(t, flowpath.None, g.To(a))
		assert.Equal(t, flowpath.None, g.Twin(a))
	}
	assert.Empty(t, g.AppendNodes(nil, nil))
}

func TestNewWaysAndGroupsRefuse(t *testing.T) {
	g, err := flowpath.FromPassages(2, []int32{0}, []int32{1})
	require.NoError(t, err)
	_, err = flowpath.NewWays(nil, nil)
	require.ErrorIs(t, err, flowpath.ErrNoWays)
	_, err = flowpath.NewWays(g, []uint8{0})
	require.ErrorContains(t, err, "1 costs for 2 arcs")
	_, err = flowpath.NewWays(g, []uint8{0, 2})
	require.ErrorContains(t, err, "arc 1 has cost 2")
	ways, err := flowpath.NewWays(g, []uint8{0, 1})
	require.NoError(t, err)
	assert.Equal(t, flowpath.Barrier, ways.Cost(1))
	assert.Equal(t, flowpath.Blocked, ways.Cost(2))
	assert.Equal(t, flowpath.Blocked, ways.Cost(-1))
	judged, err := flowpath.JudgeWays(g, func(arc int32) uint8 { return uint8(arc) })
	require.NoError(t, err)
	assert.Equal(t, ways, judged)
	_, err = flowpath.JudgeWays(g, func(int32) uint8 { return 7 })
	require.ErrorContains(t, err, "arc 0 has cost 7")
	_, err = flowpath.JudgeWays(nil, func(int32) uint8 { return 0 })
	require.ErrorIs(t, err, flowpath.ErrNoWays)

	_, err = flowpath.NewGroups(nil, 0, nil, nil)
	require.ErrorIs(t, err, flowpath.ErrNoWays)
	_, err = flowpath.NewGroups(g, 1, []int32{0}, nil)
	require.ErrorContains(t, err, "1 arcs but 0 groups")
	_, err = flowpath.NewGroups(g, -1, nil, nil)
	require.ErrorContains(t, err, "-1 groups")
	_, err = flowpath.NewGroups(g, 1, []int32{2}, []int32{0})
	require.ErrorContains(t, err, "pair 0 names arc 2, outside 0..1")
	_, err = flowpath.NewGroups(g, 1, []int32{0}, []int32{1})
	require.ErrorContains(t, err, "pair 0 names group 1, outside 0..0")
	_, err = flowpath.NewGroups(g, flowpath.MaxSize+1, nil, nil)
	require.ErrorIs(t, err, flowpath.ErrSize)
}

func TestNewAutomatonRefuses(t *testing.T) {
	stay := func(state int, _ uint8) int { return state }
	for _, states := range []int{0, 9, -1} {
		_, err := flowpath.NewAutomaton(states, 0, stay)
		require.ErrorContains(t, err, "the number of states is 1..8")
	}
	_, err := flowpath.NewAutomaton(2, 2, stay)
	require.ErrorContains(t, err, "starts in state 2 of states 0..1")
	_, err = flowpath.NewAutomaton(2, 0, func(state int, _ uint8) int { return state + 1 })
	require.ErrorContains(t, err, "to state 2 of states 0..1")
}

// Every question answers wrong input with an error, and is empty afterwards
// even if it held an answer before.
func TestSweepsRefuse(t *testing.T) {
	g, err := flowpath.FromPassages(3, []int32{0, 1}, []int32{1, 2})
	require.NoError(t, err)
	other, err := flowpath.FromPassages(3, []int32{0, 1}, []int32{1, 2})
	require.NoError(t, err)
	ways, err := flowpath.NewWays(g, []uint8{0, 0, 1, 1})
	require.NoError(t, err)
	groups, err := flowpath.NewGroups(g, 1, []int32{2}, []int32{0})
	require.NoError(t, err)
	foreign, err := flowpath.NewGroups(other, 1, []int32{2}, []int32{0})
	require.NoError(t, err)
	machine := flowpath.Since(1, 2)
	source, bad, open := []int32{0}, []int32{3}, make([]bool, 4)
	small := flowpath.NewSet(1)
	const forward, neither = flowpath.Forward, flowpath.Direction(2)

	var w flowpath.Weakest
	require.ErrorIs(t, w.Sweep(nil, forward, source), flowpath.ErrNoWays)
	require.NoError(t, w.Sweep(ways, forward, source))
	require.ErrorContains(t, w.Sweep(ways, forward, bad), "source 0 is node 3, outside 0..2")
	assert.False(t, w.Reached(0))
	require.ErrorContains(t, w.Sweep(ways, neither, source), "direction 2")
	assert.Equal(t, -1, w.Arcs(0))

	var c flowpath.CauseGroups
	require.ErrorIs(t, c.Sweep(&w, groups, source), flowpath.ErrNoWays, "weakest holds no answer")
	require.NoError(t, w.Sweep(ways, forward, source))
	require.ErrorIs(t, c.Sweep(nil, groups, source), flowpath.ErrNoWays)
	require.ErrorIs(t, c.Sweep(&w, nil, source), flowpath.ErrNoWays)
	require.ErrorIs(t, c.Sweep(&w, foreign, source), flowpath.ErrNoWays)
	require.NoError(t, c.Sweep(&w, groups, []int32{2}))
	require.ErrorContains(t, c.Sweep(&w, groups, bad), "subject 0 is node 3")
	_, found := c.Path(0, 0)
	assert.False(t, found)

	var r flowpath.Reach
	require.ErrorIs(t, r.Sweep(nil, forward, source, flowpath.Avoid{}), flowpath.ErrNoWays)
	require.NoError(t, r.Sweep(ways, forward, source, flowpath.Avoid{}))
	require.Error(t, r.Sweep(ways, forward, bad, flowpath.Avoid{}))
	assert.Empty(t, r.Nodes())
	require.Error(t, r.Sweep(ways, neither, source, flowpath.Avoid{}))
	require.ErrorContains(t, r.Sweep(ways, forward, source, flowpath.Avoid{Nodes: small}), "avoided nodes has size 1")
	require.ErrorContains(t, r.Sweep(ways, forward, source, flowpath.Avoid{Arcs: small}), "avoided arcs has size 1")

	var many flowpath.ReachMany
	require.ErrorIs(t, many.Sweep(nil, forward, source, source, flowpath.Avoid{}), flowpath.ErrNoWays)
	require.Error(t, many.Sweep(ways, neither, source, source, flowpath.Avoid{}))
	require.Error(t, many.Sweep(ways, forward, bad, source, flowpath.Avoid{}))
	require.Error(t, many.Sweep(ways, forward, source, bad, flowpath.Avoid{}))
	require.Error(t, many.Sweep(ways, forward, source, source, flowpath.Avoid{Nodes: small}))
	assert.Nil(t, many.Subjects(0))

	var z flowpath.Zones
	require.ErrorIs(t, z.Sweep(nil, nil), flowpath.ErrNoWays)
	require.ErrorIs(t, z.SweepOpen(nil), flowpath.ErrNoWays)
	require.ErrorContains(t, z.Sweep(g, open[:1]), "1 open marks for 4 arcs")
	assert.Zero(t, z.Count())

	var l flowpath.Loops
	require.ErrorIs(t, l.Sweep(nil, false), flowpath.ErrNoWays)
	assert.Equal(t, flowpath.None, l.Loop(0))

	var h flowpath.Highest
	require.ErrorIs(t, h.Sweep(nil, nil, nil, 0), flowpath.ErrNoWays)
	require.NoError(t, h.Sweep(ways, source, []float64{1}, 0))
	require.ErrorContains(t, h.Sweep(ways, source, nil, 0), "1 sources but 0 values")
	require.ErrorContains(t, h.Sweep(ways, source, []float64{math.NaN()}, 0), "no number")
	require.ErrorContains(t, h.Sweep(ways, source, []float64{1}, 8), "0..7")
	require.Error(t, h.Sweep(ways, source, []float64{1}, -1))
	require.Error(t, h.Sweep(ways, bad, []float64{1}, 0))
	_, found = h.Value(0, 0)
	assert.False(t, found)

	var runs flowpath.Runs
	none, turn := flowpath.Labels{}, flowpath.MayTurnBack
	require.ErrorIs(t, runs.Sweep(nil, machine, none, source, turn, flowpath.Avoid{}), flowpath.ErrNoWays)
	require.ErrorIs(t, runs.Sweep(ways, nil, none, source, turn, flowpath.Avoid{}), flowpath.ErrNoWays)
	require.Error(t, runs.Sweep(ways, machine, flowpath.Labels{Nodes: make([]uint8, 2)}, source, turn, flowpath.Avoid{}))
	require.Error(t, runs.Sweep(ways, machine, flowpath.Labels{Arcs: make([]uint8, 2)}, source, turn, flowpath.Avoid{}))
	require.Error(t, runs.Sweep(ways, machine, none, bad, turn, flowpath.Avoid{}))
	require.Error(t, runs.Sweep(ways, machine, none, source, flowpath.Turning(2), flowpath.Avoid{}))
	require.Error(t, runs.Sweep(ways, machine, none, source, turn, flowpath.Avoid{Arcs: small}))
	assert.Zero(t, runs.States(0))

	var by flowpath.Bypasses
	require.ErrorIs(t, by.Sweep(nil), flowpath.ErrNoWays)
	assert.Empty(t, by.Arcs())

	var cut flowpath.MinCut
	four := []int32{1, 1, 1, 1}
	require.ErrorIs(t, cut.Sweep(nil, nil, nil, nil, nil, 1), flowpath.ErrNoWays)
	require.ErrorContains(t, cut.Sweep(g, nil, nil, source, source, 1), "0 capacities for 4 arcs")
	require.ErrorContains(t, cut.Sweep(g, four, four, source, source, 1), "4 node capacities for 3 nodes")
	require.ErrorContains(t, cut.Sweep(g, []int32{1, -1, 1, 1}, nil, source, source, 1), "arc 1 has capacity -1")
	require.ErrorContains(t, cut.Sweep(g, four, []int32{1, 1, -2}, source, source, 1), "node 2 has capacity -2")
	require.ErrorContains(t, cut.Sweep(g, four, nil, source, source, -1), "limit -1")
	require.ErrorContains(t, cut.Sweep(g, four, nil, source, source, flowpath.Unlimited), "limit")
	require.Error(t, cut.Sweep(g, four, nil, bad, source, 1))
	require.Error(t, cut.Sweep(g, four, nil, source, bad, 1))
	_, found = cut.Value()
	assert.False(t, found)

	var d flowpath.DeadEnds
	require.ErrorIs(t, d.Sweep(nil, nil, nil), flowpath.ErrNoWays)
	require.Error(t, d.Sweep(g, nil, nil))
	require.ErrorContains(t, d.Sweep(g, open, small), "set of terminals has size 1")
	assert.False(t, d.Dead(0))
}

func TestEmptyGraph(t *testing.T) {
	g, err := flowpath.NewGraph(0, nil, nil, nil)
	require.NoError(t, err)
	ways, err := flowpath.NewWays(g, nil)
	require.NoError(t, err)
	var (
		w     flowpath.Weakest
		z     flowpath.Zones
		l     flowpath.Loops
		by    flowpath.Bypasses
		c     flowpath.MinCut
		h     flowpath.Highest
		reach flowpath.Reach
	)
	require.NoError(t, w.Sweep(ways, flowpath.Forward, nil))
	require.NoError(t, z.Sweep(g, nil))
	require.NoError(t, l.Sweep(ways, true))
	require.NoError(t, by.Sweep(ways))
	require.NoError(t, c.Sweep(g, nil, nil, nil, nil, 0))
	require.NoError(t, h.Sweep(ways, nil, nil, 1))
	require.NoError(t, reach.Sweep(ways, flowpath.Backward, nil, flowpath.Avoid{}))
	assert.Zero(t, z.Count()+l.Count()+reach.Count())
	value, ok := c.Value()
	assert.True(t, ok, "nothing leads anywhere, so nothing needs to be cut")
	assert.Zero(t, value)
}
