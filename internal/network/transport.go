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
	// gas that arrives at a node: mol/s, kg/s, W
	n, m, pv []float64
	total    float64
}

// prepare lists what gas can reach.
func (c *carriers) prepare(s *solver) {
	c.nodes = c.nodes[:0]
	if len(s.injectors) == 0 {
		return
	}
	n := len(s.p.Nodes)
	c.seen = grow(c.seen, n)
	for i := range c.seen {
		c.seen[i] = -1
	}
	c.n, c.m, c.pv = grow(c.n, n), grow(c.m, n), grow(c.pv, n)
	clear(c.n)
	clear(c.m)
	clear(c.pv)
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
}

func (s *solver) isVessel(i int32) bool {
	for j := range s.vessels {
		if s.vessels[j].liquid == i {
			return true
		}
	}
	return false
}

// carry updates the gas in every liquid edge for the present flows and reports
// whether it has stayed the same.
func (c *carriers) carry(s *solver) bool {
	if len(c.nodes) == 0 {
		return true
	}
	size, change := 1e-12, 0.0
	for i := range s.injectors {
		size = math.Max(size, math.Abs(s.edges[s.injectors[i].suction].q))
	}
	for pass := range 4 {
		moved := 0.0
		for _, i := range c.nodes {
			moved = math.Max(moved, c.visit(s, i))
		}
		if pass == 0 {
			change = moved
		}
		if moved <= 1e-12*size {
			break
		}
	}
	for j := range s.vessels {
		v := &s.vessels[j]
		out := 0.0
		if c.seen[v.liquid] >= 0 {
			out = c.n[v.liquid] * v.released
		}
		change = math.Max(change, math.Abs(out-v.gasOut))
		v.gasOut = out
	}
	return change <= s.tol*size
}

// visit sums what arrives at node i and hands it to the edges that leave.
func (c *carriers) visit(s *solver, i int32) (moved float64) {
	var n, m, pv, out float64
	edges := c.touch[c.first[i]:c.first[i+1]]
	for _, t := range edges {
		e := &s.edges[t]
		q := e.q
		if e.a == i {
			q = -q
		}
		if q >= 0 {
			n, m, pv = n+e.n, m+e.m, pv+e.pv
			if e.injects() {
				in, k := s.addition(e)
				n, m, pv = n+in, m+in*k.molarMass, pv+in*k.molarEnergy
			}
		} else {
			out -= q
		}
	}
	if v := s.p.Nodes[i].Inflow; v < 0 {
		out -= v
	}
	c.n[i], c.m[i], c.pv[i] = n, m, pv
	if s.isVessel(i) {
		n, m, pv = 0, 0, 0
	}
	for _, t := range edges {
		e := &s.edges[t]
		q := e.q
		if e.b == i {
			q = -q
		}
		if q <= 0 {
			continue
		}
		share := q / out
		moved = math.Max(moved, math.Abs(e.n-n*share))
		e.n, e.m, e.pv = n*share, m*share, pv*share
	}
	return moved
}

// injects tells whether a liquid edge is the motive side of an injector.
func (e *edge) injects() bool { return e.motive >= 0 && !e.gas }

// addition is the gas that the injector adds to its motive edge.
func (s *solver) addition(e *edge) (float64, carriage) {
	in := &s.injectors[int(e.set)]
	return math.Max(s.edges[in.suction].q, 0), in.carriage
}
