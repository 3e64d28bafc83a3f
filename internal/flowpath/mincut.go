package flowpath

import (
	"fmt"
	"math"
)

// Unlimited is the capacity of an arc or a node that no cut may take.
const Unlimited int32 = math.MaxInt32

// MaxCut is the highest limit that MinCut takes.
const MaxCut int32 = math.MaxInt32 - 1

// MinCut finds the cheapest set of arcs and nodes that every path from the
// sources to the targets meets: where one more barrier protects all paths, or
// how few must hold. It computes a maximum flow (Dinic's method), whose value
// is the cost of the cheapest cut.
type MinCut struct {
	g        *Graph // of the question, or its split form
	nodes    int32  // of the question
	arcs     int32  // of the question
	split    bool
	capacity []int32
	flow     []int32
	level    []int32
	cursor   []int32
	queue    []int32
	path     []residual
	sources  []int32
	targets  []int32
	isTarget Set
	side     Set
	value    int32
	open     bool
	exceeded bool
}

// residual is a step over an arc (forward) or back over its flow.
type residual struct {
	arc  int32
	back bool
}

// Sweep finds the cheapest cut. capacity is what it costs to cut each arc: 0
// for no way, Unlimited for an arc that cannot be cut. nodeCapacity is the same
// for each node, nil if no node can be cut; sources and targets can be cut
// there too. Capacities are zero or more. Work stops as soon as the cut is
// known to cost more than limit (0..MaxCut).
//
// At most O(n² m); for capacities of 0, 1 and Unlimited close to O(m) for each
// unit of the answer, at worst.
func (c *MinCut) Sweep(g *Graph, capacity, nodeCapacity, sources, targets []int32, limit int32) error {
	c.g, c.value, c.open, c.exceeded = nil, 0, false, false
	if g == nil {
		return ErrNoWays
	}
	if err := checkCapacities(g, capacity, nodeCapacity, limit); err != nil {
		return err
	}
	if err := g.checkNodes("source", sources); err != nil {
		return err
	}
	if err := g.checkNodes("target", targets); err != nil {
		return err
	}
	c.nodes, c.arcs, c.split = g.nodes, int32(len(g.from)), nodeCapacity != nil
	c.sources = append(c.sources[:0], sources...)
	c.targets = append(c.targets[:0], targets...)
	c.capacity = append(c.capacity[:0], capacity...)
	if c.split {
		s, err := splitNodes(g)
		if err != nil {
			return err
		}
		g = s
		c.capacity = append(c.capacity, nodeCapacity...)
		for i := range c.sources {
			c.sources[i] *= 2
		}
		for i := range c.targets {
			c.targets[i] = 2*c.targets[i] + 1
		}
	}
	c.g = g
	n := int(g.nodes)
	c.flow = sized(c.flow, len(g.from))
	clear(c.flow)
	c.level, c.cursor, c.queue = sized(c.level, n), sized(c.cursor, n), sized(c.queue, n)
	c.isTarget.resize(n)
	for _, t := range c.targets {
		c.isTarget.Add(t)
	}
	if c.unguarded() {
		c.open = true
		return nil
	}
	for !c.exceeded && c.layer() {
		clear(c.cursor)
		for _, s := range c.sources {
			c.augment(s, limit)
		}
	}
	return nil
}

func checkCapacities(g *Graph, capacity, nodeCapacity []int32, limit int32) error {
	if len(capacity) != len(g.from) {
		return fmt.Errorf("flowpath: %d capacities for %d arcs; give one for each arc", len(capacity), len(g.from))
	}
	if nodeCapacity != nil && len(nodeCapacity) != int(g.nodes) {
		return fmt.Errorf("flowpath: %d node capacities for %d nodes; give one for each node, or nil", len(nodeCapacity), g.nodes)
	}
	if limit < 0 || limit > MaxCut {
		return fmt.Errorf("flowpath: limit %d of a cut; it is 0..%d", limit, MaxCut)
	}
	for a, x := range capacity {
		if x < 0 {
			return fmt.Errorf("flowpath: arc %d has capacity %d; a capacity is zero or more", a, x)
		}
	}
	for v, x := range nodeCapacity {
		if x < 0 {
			return fmt.Errorf("flowpath: node %d has capacity %d; a capacity is zero or more", v, x)
		}
	}
	return nil
}

// splitNodes makes an arc of every node: what came into node v now comes into
// 2v, what left it leaves 2v+1, and arc m+v joins the two.
func splitNodes(g *Graph) (*Graph, error) {
	n, m := int(g.nodes), len(g.from)
	if err := checkSize(2*n, n+m); err != nil {
		return nil, err
	}
	from, to := make([]int32, m+n), make([]int32, m+n)
	for a := range m {
		from[a], to[a] = 2*g.from[a]+1, 2*g.to[a]
	}
	for v := range n {
		from[m+v], to[m+v] = int32(2*v), int32(2*v+1)
	}
	return NewGraph(2*n, from, to, nil)
}

// unguarded tells whether a path leads to a target over what cannot be cut.
func (c *MinCut) unguarded() bool {
	tail := c.start(c.sources)
	for q := 0; q < tail; q++ {
		u := c.queue[q]
		if c.isTarget.Has(u) {
			return true
		}
		for _, h := range c.g.out.half[c.g.out.start[u]:c.g.out.start[u+1]] {
			if c.capacity[h.arc] == Unlimited && !c.side.Has(h.node) {
				c.side.Add(h.node)
				c.queue[tail] = h.node
				tail++
			}
		}
	}
	return false
}

// start puts nodes into the queue, once each, marks them alone in side and
// returns their number.
func (c *MinCut) start(nodes []int32) int {
	c.side.resize(int(c.g.nodes))
	tail := 0
	for _, s := range nodes {
		if !c.side.Has(s) {
			c.side.Add(s)
			c.queue[tail] = s
			tail++
		}
	}
	return tail
}

// step returns residual step i at node u, the node that it leads to and how
// much more it carries.
func (c *MinCut) step(u, i int32) (r residual, v, room int32, ok bool) {
	out, in := &c.g.out, c.g.inward()
	i += out.start[u]
	if i < out.start[u+1] {
		h := out.half[i]
		r = residual{h.arc, false}
		return r, h.node, c.room(r), true
	}
	i += in.start[u] - out.start[u+1]
	if i < in.start[u+1] {
		h := in.half[i]
		r = residual{h.arc, true}
		return r, h.node, c.room(r), true
	}
	return residual{}, None, 0, false
}

// room tells how much more a step carries.
func (c *MinCut) room(r residual) int32 {
	switch {
	case r.back:
		return c.flow[r.arc]
	case c.capacity[r.arc] == Unlimited:
		return Unlimited
	}
	return c.capacity[r.arc] - c.flow[r.arc]
}

// layer numbers the nodes by their distance from the sources in what is left,
// and tells whether a target is among them.
func (c *MinCut) layer() bool {
	for i := range c.level {
		c.level[i] = None
	}
	tail := c.start(c.sources)
	for _, s := range c.queue[:tail] {
		c.level[s] = 0
	}
	found := false
	for q := 0; q < tail; q++ {
		u := c.queue[q]
		if c.isTarget.Has(u) {
			found = true
			continue
		}
		for i := int32(0); ; i++ {
			_, v, room, ok := c.step(u, i)
			if !ok {
				break
			}
			if room > 0 && c.level[v] == None {
				c.level[v] = c.level[u] + 1
				c.side.Add(v)
				c.queue[tail] = v
				tail++
			}
		}
	}
	return found
}

// augment sends flow from a source along layers until nothing more passes, or
// the value exceeds the limit.
func (c *MinCut) augment(source, limit int32) {
	c.path = c.path[:0]
	for u := source; !c.exceeded; {
		if c.isTarget.Has(u) {
			u = c.send(source, limit)
			continue
		}
		r, v, room, ok := c.step(u, c.cursor[u])
		switch {
		case ok && room > 0 && c.level[v] == c.level[u]+1:
			c.path = append(c.path, r)
			u = v
		case ok:
			c.cursor[u]++
		case len(c.path) == 0:
			return
		default:
			u = c.tail(c.path[len(c.path)-1])
			c.path = c.path[:len(c.path)-1]
			c.cursor[u]++
		}
	}
}

func (c *MinCut) tail(r residual) int32 {
	if r.back {
		return c.g.to[r.arc]
	}
	return c.g.from[r.arc]
}

// send puts as much flow as fits on the path, drops the path from its first
// full step on, and returns the node where it now ends.
func (c *MinCut) send(source, limit int32) int32 {
	amount := limit - c.value + 1
	for _, r := range c.path {
		amount = min(amount, c.room(r))
	}
	full := len(c.path)
	for i := len(c.path) - 1; i >= 0; i-- {
		r := c.path[i]
		if r.back {
			c.flow[r.arc] -= amount
		} else {
			c.flow[r.arc] += amount
		}
		if c.room(r) == 0 {
			full = i
		}
	}
	c.value += amount
	if c.value > limit {
		c.exceeded = true
		return source
	}
	end := c.tail(c.path[full])
	c.path = c.path[:full]
	return end
}

// Unguarded tells whether a path leads from a source to a target over arcs and
// nodes that cannot be cut. There is no cut then.
func (c *MinCut) Unguarded() bool { return c.open }

// Exceeded tells whether every cut costs more than the limit.
func (c *MinCut) Exceeded() bool { return c.exceeded }

// Value returns the cost of the cheapest cut, and whether there is one within
// the limit.
func (c *MinCut) Value() (int32, bool) {
	return c.value, c.g != nil && !c.open && !c.exceeded
}

// Cut returns the arcs and nodes of a cheapest cut, each in ascending order:
// with Forward the one nearest the sources, with Backward the one nearest the
// targets. Both are empty when there is no cut or nothing needs to be cut.
// Neither depends on the order of the arcs. The slices are the caller's.
// O(n+m).
func (c *MinCut) Cut(near Direction) (arcs, nodes []int32) {
	if _, ok := c.Value(); !ok {
		return nil, nil
	}
	if near == Forward {
		c.fill(c.sources, false)
	} else {
		c.fill(c.targets, true)
	}
	for a := range c.g.from {
		from, to := c.side.Has(c.g.from[a]), c.side.Has(c.g.to[a])
		if c.capacity[a] == 0 || from == to || from != (near == Forward) {
			continue
		}
		if int32(a) < c.arcs {
			arcs = append(arcs, int32(a))
		} else {
			nodes = append(nodes, int32(a)-c.arcs)
		}
	}
	return arcs, nodes
}

// fill marks in side every node that steps with room lead to, or with against
// every node from which they lead.
func (c *MinCut) fill(from []int32, against bool) {
	tail := c.start(from)
	for q := 0; q < tail; q++ {
		for i := int32(0); ; i++ {
			r, v, room, ok := c.step(c.queue[q], i)
			if !ok {
				break
			}
			if against {
				room = c.room(residual{r.arc, !r.back})
			}
			if room > 0 && !c.side.Has(v) {
				c.side.Add(v)
				c.queue[tail] = v
				tail++
			}
		}
	}
}
