package network

import "math"

// carriers follows the gas that injectors add through the liquid network:
// with the flow, divided at branches as the liquid divides, mixed where lines
// meet, until a vessel or the edge of the network.
type carriers struct {
	nodes []int32 // liquid nodes that gas can reach, in order of distance
	first []int32 // edges of nodes[i] are touch[first[i]:first[i+1]]
	touch []int32
	seen  []int32
	n     []float64 // gas that arrives at a node, mol/s
	share []float64 // of edge × injector: part of the injector's gas in the edge
	sum   []float64
	still float64 // flow that counts as none, kg/s
	pairs []coupling
}

// prepare lists what gas can reach.
func (c *carriers) prepare(s *solver) {
	c.nodes, c.pairs = c.nodes[:0], c.pairs[:0]
	if len(s.injectors) == 0 {
		return
	}
	n := len(s.p.Nodes)
	c.seen = grow(c.seen, n)
	for i := range c.seen {
		c.seen[i] = -1
	}
	c.n = grow(c.n, n)
	clear(c.n)
	push := func(i int32) {
		if c.seen[i] < 0 {
			c.seen[i] = int32(len(c.nodes))
			c.nodes = append(c.nodes, i)
		}
	}
	for i := range s.injectors {
		push(s.edges[s.injectors[i].motive].b)
	}
	// Incidence of liquid edges, by counting.
	c.first = grow(c.first, n+1)
	clear(c.first)
	for i := range s.edges {
		if e := &s.edges[i]; !e.gas {
			c.first[e.a]++
			c.first[e.b]++
		}
	}
	sum := int32(0)
	for i := range c.first {
		k := c.first[i]
		c.first[i] = sum
		sum += k
	}
	c.touch = grow(c.touch, int(sum))
	for i := range s.edges {
		if e := &s.edges[i]; !e.gas {
			c.touch[c.first[e.a]] = int32(i)
			c.first[e.a]++
			c.touch[c.first[e.b]] = int32(i)
			c.first[e.b]++
		}
	}
	for i := len(c.first) - 1; i > 0; i-- {
		c.first[i] = c.first[i-1]
	}
	c.first[0] = 0
	for k := 0; k < len(c.nodes); k++ {
		i := c.nodes[k]
		if s.isVessel(i) {
			continue
		}
		for _, t := range c.touch[c.first[i]:c.first[i+1]] {
			e := &s.edges[t]
			push(e.a)
			push(e.b)
		}
	}
	c.couple(s)
}

func (s *solver) isVessel(i int32) bool {
	for j := range s.vessels {
		if s.vessels[j].liquid == i {
			return true
		}
	}
	return false
}

// couple lists which edges may carry the gas of which injector, for the matrix.
func (c *carriers) couple(s *solver) {
	k := len(s.injectors)
	c.pairs = c.pairs[:0]
	c.share = grow(c.share, k*len(s.edges))
	clear(c.share)
	c.sum = grow(c.sum, k)
	for i := range s.edges {
		e := &s.edges[i]
		if e.gas || (e.form != formPipeLiquid && e.form != formQuadratic) || c.seen[e.a] < 0 || c.seen[e.b] < 0 {
			continue
		}
		for j := range s.injectors {
			if len(c.pairs) < mostCouplings {
				c.pairs = append(c.pairs, coupling{edge: int32(i), injector: int32(j)})
			}
		}
	}
}

// coupling is how the loss of a two-phase edge depends on the draw of an
// injector. Beyond mostCouplings the draw is taken from the iteration before.
type coupling struct {
	edge, injector int32
	pos            [6]int32 // (a, b) × (suction, in, out)
	k              float64  // ∂(edge flow)/∂(suction flow), kg/mol
}

const mostCouplings = 20000

// carry updates the gas in every liquid edge for the present flows and reports
// whether its division among them has stayed the same.
func (c *carriers) carry(s *solver) bool {
	k := len(s.injectors)
	if k == 0 {
		return true
	}
	change := 0.0
	c.still = 1e-9 * s.scale[Liquid]
	for pass := range 4 {
		moved := 0.0
		for _, i := range c.nodes {
			moved = math.Max(moved, c.visit(s, i))
		}
		if pass == 0 {
			change = moved
		}
		if moved <= 1e-12 {
			break
		}
	}
	for _, i := range c.nodes {
		c.n[i] = 0
	}
	for i := range s.edges {
		e := &s.edges[i]
		if e.gas || c.seen[e.a] < 0 || c.seen[e.b] < 0 {
			continue
		}
		e.n, e.m, e.pv = 0, 0, 0
		for j, f := range c.share[i*k : i*k+k] {
			if f == 0 {
				continue
			}
			in := &s.injectors[j]
			n := f * s.draw(in)
			e.n, e.m, e.pv = e.n+n, e.m+n*in.carriage.molarMass, e.pv+n*in.carriage.molarEnergy
		}
		to := e.b
		if e.q < 0 {
			to = e.a
		}
		c.n[to] += e.n
		if e.injects() {
			c.n[to] += s.draw(&s.injectors[int(e.set)])
		}
	}
	for j := range s.vessels {
		v := &s.vessels[j]
		v.gasOut = 0
		if c.seen[v.liquid] >= 0 {
			v.gasOut = c.n[v.liquid] * v.released
		}
	}
	return change <= s.tol
}

// visit sums the shares of each injector's gas that arrive at node i and hands
// them to the edges that leave, as the liquid divides.
func (c *carriers) visit(s *solver, i int32) (moved float64) {
	k := len(s.injectors)
	sum := c.sum
	clear(sum)
	out := 0.0
	edges := c.touch[c.first[i]:c.first[i+1]]
	for _, t := range edges {
		e := &s.edges[t]
		q := e.q
		if e.a == i {
			q = -q
		}
		if q <= c.still {
			out -= math.Min(q, 0)
			continue
		}
		for j, f := range c.share[int(t)*k : int(t)*k+k] {
			sum[j] += f
		}
		if e.injects() {
			sum[int(e.set)]++
		}
	}
	if v := s.p.Nodes[i].Inflow; v < 0 {
		out -= v
	}
	if s.isVessel(i) {
		clear(sum)
	}
	for _, t := range edges {
		e := &s.edges[t]
		q := e.q
		if e.b == i {
			q = -q
		}
		if q <= c.still {
			if q > -c.still && e.a == i { // at rest: it carries nothing on
				clear(c.share[int(t)*k : int(t)*k+k])
			}
			continue
		}
		part := q / out
		e.part = part
		shares := c.share[int(t)*k : int(t)*k+k]
		for j := range shares {
			f := sum[j] * part
			if g := &s.edges[s.injectors[j].suction]; math.Abs(g.q) > s.flowTolerance(g) {
				moved = math.Max(moved, math.Abs(f-shares[j]))
			}
			shares[j] = math.Min(f, 10)
		}
	}
	return moved
}

// injects tells whether a liquid edge is the motive side of an injector.
func (e *edge) injects() bool { return e.motive >= 0 && !e.gas }
