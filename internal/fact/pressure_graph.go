package fact

import (
	"cmp"
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// pressureGraph is the plant as pressure spreads through it, in two layers: a node for the liquid and one for the gas at
// each port. What holds one may pass the other: a trap's float keeps water back, and gas passes it. A port that is made for
// liquid alone has one node, for gas that gets there pushes the liquid.
type pressureGraph struct {
	graph *flowpath.Graph
	gas   []int32 // of each port, its gas node; its liquid node is the port itself
	port  []int32 // of each gas node that is no liquid node, its port; they are numbered behind the ports
	// of tells whose passage each pair of arcs is: a way of the plant, or ^component where ports are joined inside.
	of []int32

	sure, hoped *flowpath.Ways // restrictions are no way in them; nil hoped means that nothing is doubtful
	// through is sure and hoped with restrictions as ways, for what has passed one.
	sureThrough, hopedThrough *flowpath.Ways
	restrictions              []int32 // arcs that throttle
	limits                    []limit // of arcs that hold their outlet down, ascending by arc
	groups                    *flowpath.Groups
	vents                     vents
	wayPairs                  int // how many pairs of arcs are ways of the plant: the first ones, in order of ways
}

// limit is the most that a passage lets through along an arc, and whether it counts as a regulator that may fail open.
type limit struct {
	arc       int32
	highest   Number
	regulator bool
}

// passing is what a passage does to pressure that pushes along it.
type passing struct {
	cost      uint8 // flowpath.Open, Barrier or Blocked
	doubtful  bool  // a barrier only if missing data turn out well
	throttles bool
}

var (
	passes  = passing{cost: flowpath.Open}
	blocked = passing{cost: flowpath.Blocked}
)

// arcBuilder collects pairs of arcs.
type arcBuilder struct {
	w          *World
	p          *pressureGraph
	a, b, of   []int32
	arcs       []passing
	openInCase map[int32]bool
	causes     grouping
}

func (w *World) pressureGraph() *pressureGraph { return w.ratings.graph.get(w.buildPressureGraph) }

func (w *World) buildPressureGraph() *pressureGraph {
	p := w.Plant
	n := int32(len(p.Ports))
	g := &pressureGraph{gas: make([]int32, n), port: make([]int32, 0, n)}
	b := &arcBuilder{w: w, p: g, openInCase: w.openInSomeCase()}
	pairs := 2*len(p.Ways) + len(p.Components)
	b.a, b.b, b.of, b.arcs = make([]int32, 0, pairs), make([]int32, 0, pairs), make([]int32, 0, pairs), make([]passing, 0, 2*pairs)
	for i := range n {
		if p.Ports[i].Phase == skidrulev1.Phase_PHASE_LIQUID {
			g.gas[i] = i
			continue
		}
		g.gas[i] = n + int32(len(g.port))
		g.port = append(g.port, i)
	}
	for i := range p.Ways {
		b.way(int32(i))
	}
	g.wayPairs = len(b.of)
	for i := range p.Components {
		b.inside(int32(i))
	}
	b.conversions()
	var err error
	g.graph, err = flowpath.FromPassages(int(n)+len(g.port), b.a, b.b)
	must(err)
	g.graph.Borrow(w.shelf)
	g.of = b.of
	g.vents = w.ventedNodes(g)
	b.finish()
	return g
}

// pair adds the two arcs between two nodes.
func (b *arcBuilder) pair(from, to, of int32, forward, backward passing) int32 {
	b.a, b.b, b.of = append(b.a, from), append(b.b, to), append(b.of, of)
	b.arcs = append(b.arcs, forward, backward)
	return int32(2*len(b.of) - 2)
}

// way adds a way of the plant in both layers.
func (b *arcBuilder) way(way int32) {
	q, gas := &b.w.Plant.Ways[way], b.p.gas
	for _, isGas := range [2]bool{false, true} {
		from, to := q.From, q.To
		if isGas {
			from, to = gas[from], gas[to]
			if from == q.From && to == q.To {
				continue
			}
		}
		forward, backward := passes, passes
		if !q.IsPipe() {
			forward, backward = b.passage(q, true, isGas), b.passage(q, false, isGas)
		}
		// Gas pushes liquid where a port is made for liquid alone; liquid does not become gas there.
		if isGas && from == q.From {
			forward = blocked
		}
		if isGas && to == q.To {
			backward = blocked
		}
		arc := b.pair(from, to, way, forward, backward)
		if q.IsPipe() {
			continue
		}
		if l, ok := b.w.passageLimit(q); ok {
			l.arc = arc
			b.p.limits = append(b.p.limits, l)
		}
		for d, x := range [2]passing{forward, backward} {
			if x.cost == flowpath.Barrier {
				for _, cause := range b.w.sharedCausesOf(q.Component) {
					b.causes.add(arc+int32(d), cause)
				}
			}
		}
	}
}

// inside joins the ports of components whose kind states no passages: points where pipes meet, and unknown components.
func (b *arcBuilder) inside(component int32) {
	c := &b.w.Plant.Components[component]
	x := passes
	switch c.Kind {
	case plant.KindJunction:
	case plant.KindOther, plant.KindNone:
		through := c.Data.GetOther()
		switch {
		case through == nil || through.PassesFluid == nil:
			x = mayHold
		case !through.GetPassesFluid():
			return
		}
	default:
		return
	}
	for i := int32(1); i < c.NumPorts; i++ {
		first, port := c.FirstPort, c.FirstPort+i
		b.pair(first, port, ^component, x, x)
		b.pair(b.p.gas[first], b.p.gas[port], ^component, x, x)
	}
}

// conversions join the layers: where gas gathers over water it has the water's pressure, and gas that enters water pushes it.
func (b *arcBuilder) conversions() {
	p := b.w.Plant
	for i := range p.Ports {
		port := int32(i)
		if b.p.gas[port] == port {
			continue
		}
		toGas := b.gasGathersAt(port)
		toLiquid := p.Ports[i].Phase == skidrulev1.Phase_PHASE_TWO_PHASE
		if !toGas && !toLiquid {
			continue
		}
		forward, backward := blocked, blocked
		if toGas {
			forward = passes
		}
		if toLiquid {
			backward = passes
		}
		b.pair(port, b.p.gas[port], ^p.Ports[i].Component, forward, backward)
	}
}

// gasGathersAt tells whether gas over water leaves by the port.
func (b *arcBuilder) gasGathersAt(port int32) bool {
	p := b.w.Plant
	c := &p.Components[p.Ports[port].Component]
	switch c.Kind {
	case plant.KindReactionVessel, plant.KindContactVessel, plant.KindDegassingVessel:
		if t := p.Ports[port].Trait; t >= 0 {
			switch c.Kind.Info().Ports[t].Name {
			case "vent", "relief", "level":
				return true
			}
		}
	case plant.KindFloatVentValve, plant.KindKnockOutPot:
		return p.Ports[port].Trait == 0
	}
	return false
}

// finish binds costs to the graph. Restrictions whose way behind cannot be blocked end their zone; the others pass pressure
// on, but only to places where it can build up.
func (b *arcBuilder) finish() {
	g := b.p
	doubts := false
	for i, x := range b.arcs {
		doubts = doubts || x.doubtful
		if x.throttles {
			g.restrictions = append(g.restrictions, int32(i))
		}
	}
	g.sure, g.sureThrough = b.ways(false, false), b.ways(true, false)
	g.hoped, g.hopedThrough = g.sure, g.sureThrough
	if doubts {
		g.hoped, g.hopedThrough = b.ways(false, true), b.ways(true, true)
	}
	g.groups = b.sharedCauses()
}

// ways tells what each arc is, through restrictions or not, and with what is doubtful as it is hoped to be or as it surely is.
func (b *arcBuilder) ways(through, hope bool) *flowpath.Ways {
	ways, err := flowpath.JudgeWays(b.p.graph, func(arc int32) uint8 {
		switch x := b.arcs[arc]; {
		case x.throttles && !through:
			return flowpath.Blocked
		case !x.doubtful || !hope:
			return x.cost
		case b.p.of[arc/2] < 0:
			return flowpath.Blocked
		}
		return flowpath.Barrier
	})
	must(err)
	return ways
}

// sharedCauses keeps the causes that barriers of several components share; a component's own failure is any one failure.
func (b *arcBuilder) sharedCauses() *flowpath.Groups {
	owner := make([]int32, len(b.causes.names))
	for i := range owner {
		owner[i] = math.MinInt32
	}
	shared := make([]bool, len(owner))
	any := false
	for i, arc := range b.causes.arcs {
		k := b.causes.groups[i]
		c := b.w.Plant.Ways[b.p.of[arc/2]].Component
		if owner[k] != math.MinInt32 && owner[k] != c {
			shared[k], any = true, true
		}
		owner[k] = c
	}
	if !any {
		return nil
	}
	var arcs, groups []int32
	number := make([]int32, len(owner))
	count := int32(0)
	for k, is := range shared {
		number[k] = count
		if is {
			count++
		}
	}
	for i, arc := range b.causes.arcs {
		if k := b.causes.groups[i]; shared[k] {
			arcs, groups = append(arcs, arc), append(groups, number[k])
		}
	}
	out, err := flowpath.NewGroups(b.p.graph, int(count), arcs, groups)
	must(err)
	return out
}

// openInSomeCase gathers the valves that some case of the design opens.
func (w *World) openInSomeCase() map[int32]bool {
	out := map[int32]bool{}
	for i := range w.Cases {
		c := &w.Cases[i]
		if c.Excluded != "" {
			continue
		}
		for _, s := range c.Design.GetStates() {
			switch s.GetPosition() {
			case skidrulev1.ValvePosition_VALVE_POSITION_OPEN, skidrulev1.ValvePosition_VALVE_POSITION_THROTTLED:
				if component, ok := w.Plant.FindComponent(s.GetTag()); ok {
					out[component] = true
				}
			}
		}
	}
	return out
}

// arcWay is the way of the plant that an arc belongs to; -1 where it joins ports inside a component.
func (g *pressureGraph) arcWay(arc int32) int32 { return max(g.of[arc/2], -1) }

// pairOf gives the first pair of arcs of a way of the plant, that in the layer of liquid; a pair of gas may follow.
func (g *pressureGraph) pairOf(way int32) int {
	pair, _ := slices.BinarySearch(g.of[:g.wayPairs], way)
	return pair
}

// limitOf gives the limit of an arc; nil where it has none.
func (g *pressureGraph) limitOf(arc int32) *limit {
	i, ok := slices.BinarySearchFunc(g.limits, arc, func(l limit, arc int32) int { return cmp.Compare(l.arc, arc) })
	if !ok {
		return nil
	}
	return &g.limits[i]
}

// waysAt are the ways of one end of what is known, with restrictions as none.
func (g *pressureGraph) waysAt(end int) *flowpath.Ways {
	if end == lowEnd {
		return g.hoped
	}
	return g.sure
}

// throughAt are the ways, at one end of what is known, of what has passed a restriction, and the nodes where it builds up no pressure.
func (g *pressureGraph) throughAt(end int) (ways *flowpath.Ways, vented *flowpath.Set) {
	if end == lowEnd {
		return g.hopedThrough, g.vents.hoped
	}
	return g.sureThrough, g.vents.sure
}

// portOf is the port of a node.
func (g *pressureGraph) portOf(node int32) int32 {
	if n := int32(len(g.gas)); node >= n {
		return g.port[node-n]
	}
	return node
}

// arcLimits collects what arcs pass, in ascending order of arcs.
type arcLimits struct {
	arcs   []int32
	limits []flowpath.LevelLimit
}

func (l *arcLimits) add(arc int32, limit flowpath.LevelLimit) {
	l.arcs, l.limits = append(l.arcs, arc), append(l.limits, limit)
}

// boundLimits are limits with what they are as a list.
type boundLimits struct {
	arcLimits
	bound *flowpath.Limits
}

// of binds them to a graph; nil where there are none.
func (l *arcLimits) of(g *flowpath.Graph) *flowpath.Limits {
	if len(l.arcs) == 0 {
		return nil
	}
	limits, err := flowpath.NewLimits(g, l.arcs, l.limits)
	must(err)
	return limits
}
