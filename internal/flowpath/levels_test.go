package flowpath_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/flowpath"
)

// levelCase is a small random question with all that the answer depends on.
type levelCase struct {
	n         int
	from, to  []int32
	cost      []uint8
	in        flowpath.LevelInput
	limits    map[int32]flowpath.LevelLimit
	groupArcs [][]int32
}

func drawLevelCase(t *rapid.T) levelCase {
	var c levelCase
	c.n = rapid.IntRange(1, 8).Draw(t, "nodes")
	node := rapid.Int32Range(0, int32(c.n)-1)
	value := rapid.Float64Range(0, 5)
	passages := rapid.IntRange(0, 14).Draw(t, "passages")
	var a, b []int32
	for range passages {
		a, b = append(a, node.Draw(t, "a")), append(b, node.Draw(t, "b"))
	}
	g, err := flowpath.FromPassages(c.n, a, b)
	require.NoError(t, err)
	c.limits = map[int32]flowpath.LevelLimit{}
	var limited []int32
	var limits []flowpath.LevelLimit
	for arc := range int32(g.NumArcs()) {
		c.from, c.to = append(c.from, g.From(arc)), append(c.to, g.To(arc))
		c.cost = append(c.cost, rapid.SampledFrom([]uint8{flowpath.Open, flowpath.Open, flowpath.Barrier, flowpath.Blocked}).Draw(t, "cost"))
		if rapid.IntRange(0, 4).Draw(t, "limited") == 0 {
			limit := flowpath.LevelLimit{Value: math.Round(value.Draw(t, "limit")), MayFail: rapid.Bool().Draw(t, "may fail") && c.cost[arc] != flowpath.Barrier}
			if rapid.Bool().Draw(t, "drops") {
				limit.Drop = float64(rapid.IntRange(0, 3).Draw(t, "drop"))
				if rapid.Bool().Draw(t, "unlimited") {
					limit.Value = math.Inf(1)
				}
			}
			c.limits[arc] = limit
			limited, limits = append(limited, arc), append(limits, limit)
		}
	}
	c.in.Ways, err = flowpath.NewWays(g, c.cost)
	require.NoError(t, err)
	c.in.ArcLimits, err = flowpath.NewLimits(g, limited, limits)
	require.NoError(t, err)
	for range rapid.IntRange(0, 4).Draw(t, "sources") {
		c.in.Sources = append(c.in.Sources, flowpath.LevelSource{
			Node: node.Draw(t, "source"), Value: math.Round(value.Draw(t, "value")), Failures: uint8(rapid.IntRange(0, 1).Draw(t, "failures"))})
	}
	if rapid.Bool().Draw(t, "node limits") {
		for range c.n {
			limit := math.Inf(1)
			if rapid.Bool().Draw(t, "held") {
				limit = math.Round(value.Draw(t, "node limit"))
			}
			c.in.NodeLimits = append(c.in.NodeLimits, limit)
		}
	}
	if rapid.IntRange(0, 3).Draw(t, "avoid") == 0 {
		c.in.Avoid, err = flowpath.SetOf(c.n, node.Draw(t, "avoided"))
		require.NoError(t, err)
	}
	if c.in.Hold = rapid.IntRange(0, 3).Draw(t, "hold") == 0; !c.in.Hold && g.NumArcs() > 0 {
		var arcs, groups []int32
		c.groupArcs = make([][]int32, 2)
		for k := range int32(2) {
			for range rapid.IntRange(0, 4).Draw(t, "members") {
				arc := rapid.Int32Range(0, int32(g.NumArcs())-1).Draw(t, "member")
				arcs, groups = append(arcs, arc), append(groups, k)
				c.groupArcs[k] = append(c.groupArcs[k], arc)
			}
		}
		c.in.Groups, err = flowpath.NewGroups(g, 2, arcs, groups)
		require.NoError(t, err)
	}
	return c
}

// relax finds the levels by repeating every step until nothing changes: row 0 without, row 1 with a failure. Barriers in
// open fail for nothing.
func (c *levelCase) relax(open map[int32]bool) [2][]float64 {
	var v [2][]float64
	for f := range v {
		v[f] = make([]float64, c.n)
		for i := range v[f] {
			v[f][i] = math.Inf(-1)
		}
	}
	raise := func(f int, node int32, x float64) bool {
		if c.in.Avoid != nil && c.in.Avoid.Has(node) || f > 1 {
			return false
		}
		if c.in.NodeLimits != nil {
			x = min(x, c.in.NodeLimits[node])
		}
		changed := false
		for ; f < 2; f++ {
			if x > v[f][node] {
				v[f][node], changed = x, true
			}
		}
		return changed
	}
	for again := true; again; {
		again = false
		for _, s := range c.in.Sources {
			again = raise(int(s.Failures), s.Node, s.Value) || again
		}
		for arc := range c.cost {
			a := int32(arc)
			step := int(c.cost[arc])
			if open[a] {
				step = 0
			}
			if c.cost[arc] == flowpath.Blocked || step == 1 && c.in.Hold {
				continue
			}
			for f := range 2 {
				x := v[f][c.from[arc]]
				limit, limited := c.limits[a]
				if limited && limit.MayFail && step == 0 && f == 0 && len(open) == 0 {
					again = raise(1, c.to[arc], x-limit.Drop) || again
				}
				if limited {
					x = min(x-limit.Drop, limit.Value)
				}
				if f+step < 2 {
					again = raise(f+step, c.to[arc], x) || again
				}
			}
		}
	}
	return v
}

// TestLevelsAgainstRelaxation compares all values with the plain fixed point and walks every path.
func TestLevelsAgainstRelaxation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawLevelCase(t)
		var l flowpath.Levels
		require.NoError(t, l.Sweep(c.in))
		want := c.relax(nil)
		for _, arcs := range c.groupArcs {
			open := map[int32]bool{}
			for _, a := range arcs {
				if c.cost[a] == flowpath.Barrier {
					open[a] = true
				}
			}
			if len(open) == 0 {
				continue
			}
			for i, x := range c.relax(open)[0] {
				want[1][i] = max(want[1][i], x)
			}
		}
		for node := range int32(c.n) {
			for f := range 2 {
				x, ok := l.Value(node, f)
				assert.Equal(t, want[f][node], x, "node %d with %d failures", node, f)
				assert.Equal(t, !math.IsInf(want[f][node], -1), ok)
				path, has := l.Path(node, f)
				require.Equal(t, ok, has)
				if ok {
					c.walk(t, &l, path, node, f)
				}
			}
		}
	})
}

// walk follows a path from its source and demands that it delivers the value with no more failures than allowed.
func (c *levelCase) walk(t *rapid.T, l *flowpath.Levels, path []int32, node int32, failures int) {
	s := c.in.Sources[l.Source(node, failures)]
	at, x := s.Node, s.Value
	hold := func() {
		if c.in.NodeLimits != nil {
			x = min(x, c.in.NodeLimits[at])
		}
	}
	hold()
	failed := flowpath.None
	if failures == 1 {
		failed = l.Failed(node)
	}
	var crossed []int32
	want, _ := l.Value(node, failures)
	for _, a := range path {
		require.Equal(t, at, c.from[a], "the path is broken")
		require.NotEqual(t, flowpath.Blocked, c.cost[a])
		at = c.to[a]
		if c.cost[a] == flowpath.Barrier {
			crossed = append(crossed, a)
		}
		if limit, ok := c.limits[a]; ok {
			x -= limit.Drop
			switch {
			case min(x, limit.Value) < want:
				require.True(t, limit.MayFail)
				crossed = append(crossed, a)
			case a != failed || !limit.MayFail:
				x = min(x, limit.Value)
			}
		}
		hold()
	}
	require.Equal(t, node, at, "the path ends elsewhere")
	assert.Equal(t, want, x)
	if len(crossed)+int(s.Failures) <= failures {
		return
	}
	require.Equal(t, 1, failures)
	require.Zero(t, s.Failures)
	together := false
	for _, arcs := range c.groupArcs {
		all := true
		for _, a := range crossed {
			in := false
			for _, b := range arcs {
				in = in || a == b
			}
			all = all && in
		}
		together = together || all
	}
	assert.True(t, together, "arcs %v do not fail together", crossed)
	assert.Equal(t, crossed[0], failed)
}

// TestLevelsRefusesBadInput demands an error for what cannot be asked.
func TestLevelsRefusesBadInput(t *testing.T) {
	g, err := flowpath.FromPassages(2, []int32{0}, []int32{1})
	require.NoError(t, err)
	ways, err := flowpath.NewWays(g, []uint8{flowpath.Open, flowpath.Open})
	require.NoError(t, err)
	shut, err := flowpath.NewWays(g, []uint8{flowpath.Barrier, flowpath.Open})
	require.NoError(t, err)
	other, err := flowpath.FromPassages(1, nil, nil)
	require.NoError(t, err)
	groups, err := flowpath.NewGroups(other, 0, nil, nil)
	require.NoError(t, err)
	limits := func(g *flowpath.Graph, list ...flowpath.LevelLimit) *flowpath.Limits {
		arcs := []int32{0, 1}[:len(list)]
		l, err := flowpath.NewLimits(g, arcs, list)
		require.NoError(t, err)
		return l
	}
	for name, in := range map[string]flowpath.LevelInput{
		"no ways":          {},
		"unknown node":     {Ways: ways, Sources: []flowpath.LevelSource{{Node: 2}}},
		"no number":        {Ways: ways, Sources: []flowpath.LevelSource{{Value: math.NaN()}}},
		"two failures":     {Ways: ways, Sources: []flowpath.LevelSource{{Failures: 2}}},
		"few limits":       {Ways: ways, NodeLimits: []float64{1}},
		"barrier may fail": {Ways: shut, ArcLimits: limits(g, flowpath.LevelLimit{MayFail: true})},
		"foreign limits":   {Ways: ways, ArcLimits: limits(other)},
		"foreign groups":   {Ways: ways, Groups: groups},
	} {
		var l flowpath.Levels
		assert.Error(t, l.Sweep(in), name)
		_, ok := l.Value(0, 1)
		assert.False(t, ok, name)
	}
	var l flowpath.Levels
	require.NoError(t, l.Sweep(flowpath.LevelInput{Ways: ways, Sources: []flowpath.LevelSource{{Value: 3}}}))
	_, ok := l.Value(-1, 0)
	assert.False(t, ok)
	_, ok = l.Path(9, 1)
	assert.False(t, ok)
}

// TestLevelsWithoutArcsThatAreNotUsed blocks arcs by which nothing arrives: no value may change.
func TestLevelsWithoutArcsThatAreNotUsed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawLevelCase(t)
		var l, without flowpath.Levels
		require.NoError(t, l.Sweep(c.in))
		arcs := flowpath.NewSet(len(c.from))
		var left []int32
		for arc := range int32(len(c.from)) {
			one, err := flowpath.SetOf(len(c.from), arc)
			require.NoError(t, err)
			if !l.Uses(one, 1) {
				left = append(left, arc)
				arcs.Add(arc)
			}
		}
		assert.False(t, l.Uses(arcs, 1))
		in := c.in
		in.Ways = c.in.Ways.Without(left...)
		require.NoError(t, without.Sweep(in))
		for node := range int32(c.n) {
			for f := range 2 {
				x, _ := l.Value(node, f)
				y, _ := without.Value(node, f)
				assert.Equal(t, x, y, "node %d with %d failures", node, f)
			}
		}
	})
}

// TestLimitsRefuseBadInput demands an error for what limits nothing.
func TestLimitsRefuseBadInput(t *testing.T) {
	g, err := flowpath.FromPassages(2, []int32{0}, []int32{1})
	require.NoError(t, err)
	type limit = flowpath.LevelLimit
	for name, c := range map[string]struct {
		arcs   []int32
		limits []limit
	}{
		"unknown arc":     {[]int32{7}, []limit{{}}},
		"negative arc":    {[]int32{-1}, []limit{{}}},
		"too few":         {[]int32{0, 1}, []limit{{}}},
		"twice":           {[]int32{1, 1}, []limit{{}, {}}},
		"out of order":    {[]int32{1, 0}, []limit{{}, {}}},
		"drop no number":  {[]int32{0}, []limit{{Drop: math.NaN()}}},
		"drop that lifts": {[]int32{0}, []limit{{Drop: -1}}},
		"limit no number": {[]int32{0}, []limit{{Value: math.NaN()}}},
	} {
		_, err := flowpath.NewLimits(g, c.arcs, c.limits)
		assert.Error(t, err, name)
	}
	_, err = flowpath.NewLimits(nil, nil, nil)
	assert.Error(t, err)
}
