package flowpath_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"
	"gonum.org/v1/gonum/graph/topo"

	"github.com/skidrule/skidrule/internal/flowpath"
)

// plantModel is an invented plant: trains of thirty components between a gas
// header, a water header and an off-gas header. Each component has two ports
// and every second one a signal port that no line reaches.
type plantModel struct {
	model
	arcCauses  []int32
	causes     []int32
	numCauses  int
	water      []int32
	generators []int32
	nodeLabels []uint8
	arcLabels  []uint8
	// forgotten is set when train 9 lacks its shut-off valve.
	forgotten bool
}

const trainLength = 30

// Labels of the plant.
const (
	labelCheck = 1
	labelTrap  = 2
)

func newPlant(components int, forgotten bool) *plantModel {
	p := &plantModel{forgotten: forgotten}
	trains := max(components/trainLength, 1)
	gas, water, vent := p.header(trains), p.header(trains), p.header(trains)
	p.water = water[:1]
	p.numCauses = trains/10 + 1 + trains/50 + 1
	for k := range trains {
		p.train(k, trains, gas[k], water[k], vent[k])
	}
	p.nodeLabels = append(p.nodeLabels, make([]uint8, p.n-len(p.nodeLabels))...)
	return p
}

func (p *plantModel) node(label uint8) int32 {
	p.nodeLabels = append(p.nodeLabels, label)
	p.n++
	return int32(p.n - 1)
}

func (p *plantModel) passage(u, v int32, there, back, label uint8) int32 {
	a := int32(len(p.from))
	p.from, p.to = append(p.from, u, v), append(p.to, v, u)
	p.twin = append(p.twin, a+1, a)
	p.cost = append(p.cost, there, back)
	p.arcLabels = append(p.arcLabels, label, label)
	return a
}

func (p *plantModel) cause(arc, group int32) {
	p.arcCauses, p.causes = append(p.arcCauses, arc), append(p.causes, group)
}

func (p *plantModel) header(trains int) []int32 {
	list := []int32{p.node(0)}
	for range trains - 1 {
		v := p.node(0)
		p.passage(list[len(list)-1], v, flowpath.Open, flowpath.Open, 0)
		list = append(list, v)
	}
	return list
}

func (p *plantModel) train(k, trains int, gas, water, vent int32) {
	last := gas
	checks, feed := int32(k/10), int32(trains/10+1+k/50)
	own := func(arc int32) {
		p.cause(arc, int32(p.numCauses))
		p.numCauses++
	}
	var ins, outs [trainLength]int32
	for i := range trainLength {
		label := uint8(0)
		if i == 10 {
			label = labelTrap
		}
		in, out := p.node(label), p.node(0)
		if i%2 == 1 {
			p.node(0)
		}
		p.passage(last, in, flowpath.Open, flowpath.Open, 0)
		last, ins[i], outs[i] = out, in, out
		switch {
		case i == 6:
			p.generators = append(p.generators, in)
			p.passage(in, out, flowpath.Open, flowpath.Open, 0)
		case i == 8 && (k != 9 || !p.forgotten): // shut-off valve
			a := p.passage(in, out, flowpath.Open, flowpath.Barrier, 0)
			own(a + 1)
			p.cause(a+1, feed)
		case i == 12 || i == 13: // check valves
			a := p.passage(in, out, flowpath.Open, flowpath.Barrier, labelCheck)
			own(a + 1)
			p.cause(a+1, checks)
		case i == 16: // injector
			p.passage(in, out, flowpath.Open, flowpath.Open, 0)
			p.passage(water, in, flowpath.Open, flowpath.Open, 0)
		default:
			p.passage(in, out, flowpath.Open, flowpath.Open, 0)
		}
	}
	if k%40 == 7 { // a closed valve past both check valves
		a := p.passage(outs[11], ins[14], flowpath.Barrier, flowpath.Barrier, 0)
		own(a)
		own(a + 1)
	}
	p.passage(last, vent, flowpath.Open, flowpath.Open, 0)
}

func (p *plantModel) groups(t require.TestingT, g *flowpath.Graph) *flowpath.Groups {
	groups, err := flowpath.NewGroups(g, p.numCauses, p.arcCauses, p.causes)
	require.NoError(t, err)
	return groups
}

func (p *plantModel) open() []bool {
	open := make([]bool, len(p.cost))
	for a, c := range p.cost {
		open[a] = c == flowpath.Open
	}
	return open
}

// scattered returns the plant with its node numbers shuffled, the worst case
// for memory.
func (p *plantModel) scattered() *plantModel {
	r := rand.New(rand.NewPCG(1, 2))
	number := r.Perm(p.n)
	s := *p
	move := func(list []int32) []int32 {
		moved := make([]int32, len(list))
		for i, v := range list {
			moved[i] = int32(number[v])
		}
		return moved
	}
	s.from, s.to, s.water, s.generators = move(p.from), move(p.to), move(p.water), move(p.generators)
	s.nodeLabels = make([]uint8, p.n)
	for v, l := range p.nodeLabels {
		s.nodeLabels[number[v]] = l
	}
	return &s
}

// weighted is the plant as a gonum graph: barriers weigh more than all arcs
// together. Of parallel arcs the lightest stays.
func (p *plantModel) weighted() *simple.WeightedDirectedGraph {
	g := simple.NewWeightedDirectedGraph(0, 1e18)
	for v := range p.n {
		g.AddNode(simple.Node(v))
	}
	for a := range p.from {
		if p.cost[a] == flowpath.Blocked || p.from[a] == p.to[a] {
			continue
		}
		u, v, w := simple.Node(p.from[a]), simple.Node(p.to[a]), 1+1e6*float64(p.cost[a])
		if e := g.WeightedEdge(int64(u), int64(v)); e == nil || e.Weight() > w {
			g.SetWeightedEdge(g.NewWeightedEdge(u, v, w))
		}
	}
	return g
}

// tangle adds random passages to a plant, so that it is no longer made of lines
// that hardly branch.
func (p *plantModel) tangle(passages int, seed uint64) *plantModel {
	r := rand.New(rand.NewPCG(seed, 0))
	costs := []uint8{flowpath.Open, flowpath.Barrier, flowpath.Barrier, flowpath.Blocked}
	for range passages {
		u, v := int32(r.IntN(p.n)), int32(r.IntN(p.n))
		p.passage(u, v, costs[r.IntN(4)], costs[r.IntN(4)], 0)
	}
	return p
}

func TestPlantAgainstGonum(t *testing.T) {
	for seed := range uint64(4) {
		p := newPlant(600, seed%2 == 1).tangle(200*int(seed), seed)
		g := p.weighted()
		ways := p.ways(t)

		var w flowpath.Weakest
		require.NoError(t, w.Sweep(ways, flowpath.Forward, p.water))
		shortest := path.DijkstraFrom(simple.Node(p.water[0]), g)
		for v := range int32(p.n) {
			want := shortest.WeightTo(int64(v))
			if want > 1e17 {
				require.Equal(t, -1, w.Barriers(v))
				continue
			}
			require.Equal(t, int(want)/1e6, w.Barriers(v), "node %d", v)
			require.Equal(t, int(want)%1e6, w.Arcs(v), "node %d", v)
		}

		var z flowpath.Zones
		require.NoError(t, z.SweepOpen(ways))
		either, oneWay := simple.NewUndirectedGraph(), simple.NewDirectedGraph()
		for v := range p.n {
			either.AddNode(simple.Node(v))
			oneWay.AddNode(simple.Node(v))
		}
		for a, o := range p.open() {
			if o && p.from[a] != p.to[a] {
				either.SetEdge(either.NewEdge(simple.Node(p.from[a]), simple.Node(p.to[a])))
				oneWay.SetEdge(oneWay.NewEdge(simple.Node(p.from[a]), simple.Node(p.to[a])))
			}
		}
		components := topo.ConnectedComponents(either)
		require.Equal(t, len(components), z.Count())
		for _, c := range components {
			for _, v := range c {
				require.Equal(t, z.Zone(int32(c[0].ID())), z.Zone(int32(v.ID())))
			}
		}

		var l flowpath.Loops
		require.NoError(t, l.Sweep(ways, false))
		loops := topo.TarjanSCC(oneWay)
		require.Equal(t, len(loops), l.Count())
		for _, c := range loops {
			for _, v := range c {
				require.Equal(t, l.Loop(int32(c[0].ID())), l.Loop(int32(v.ID())))
			}
		}
	}
}

func TestPlantAnswers(t *testing.T) {
	for _, forgotten := range []bool{false, true} {
		p := newPlant(3000, forgotten)
		ways := p.ways(t)
		var w flowpath.Weakest
		require.NoError(t, w.Sweep(ways, flowpath.Forward, p.water))
		var c flowpath.CauseGroups
		require.NoError(t, c.Sweep(&w, p.groups(t, ways.Graph()), p.generators))
		for i, v := range p.generators {
			assert.False(t, c.Unguarded(i))
			if forgotten {
				// Water that passes the two check valves of train 9, which have
				// one cause, comes to every generator by way of the gas header.
				assert.Equal(t, 2, w.Barriers(v), "train %d", i)
				assert.Equal(t, []int32{0}, c.Groups(i), "train %d", i)
				path, ok := c.Path(i, 0)
				assert.True(t, ok)
				p.requirePath(t, path, p.water, v)
				assert.Equal(t, 2, p.barriers(path))
				continue
			}
			// Trains 7, 47 and 87 have a closed valve past their check valves;
			// behind it only the shut-off valve remains, and the gas header
			// spreads that to all trains.
			assert.Equal(t, 2, w.Barriers(v), "train %d", i)
			assert.Empty(t, c.Groups(i))
		}
	}
}

// A second sweep over a plant of the same size takes no memory.
func TestSweepsReuseMemory(t *testing.T) {
	p := newPlant(1000, true)
	ways := p.ways(t)
	groups, open := p.groups(t, ways.Graph()), p.open()
	var (
		w flowpath.Weakest
		c flowpath.CauseGroups
		r flowpath.Reach
		z flowpath.Zones
		l flowpath.Loops
		y flowpath.Bypasses
		h flowpath.Highest
		d flowpath.DeadEnds
	)
	values := make([]float64, len(p.water))
	for name, sweep := range map[string]func() error{
		"weakest":  func() error { return w.Sweep(ways, flowpath.Forward, p.water) },
		"reach":    func() error { return r.Sweep(ways, flowpath.Forward, p.water, flowpath.Avoid{}) },
		"zones":    func() error { return z.Sweep(ways.Graph(), open) },
		"loops":    func() error { return l.Sweep(ways, true) },
		"bypasses": func() error { return y.Sweep(ways) },
		"highest":  func() error { return h.Sweep(ways, p.water, values, 1) },
		"deadends": func() error { return d.Sweep(ways.Graph(), open, nil) },
		"causes": func() error {
			if err := w.Sweep(ways, flowpath.Forward, p.water); err != nil {
				return err
			}
			return c.Sweep(&w, groups, p.generators)
		},
	} {
		require.NoError(t, sweep(), name)
		require.NoError(t, sweep(), name)
		// A few words of bookkeeping are let pass; arrays of nodes are not.
		assert.LessOrEqual(t, testing.AllocsPerRun(5, func() { _ = sweep() }), 3.0, name)
	}
}
