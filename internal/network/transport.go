package network

import "math"

// carriers follows the gas that injectors add through the liquid: with the
// flow, divided at branches as the liquid divides, mixed where lines meet,
// until a vessel or the edge of the network.
//
// The unknown of a node is b, the product of pressure and gas volume in each
// kilogram of liquid that leaves it, J/kg. Of a mixture that flows from the
// node at pressure p, ρ b/p is the volume of gas in one volume of liquid. The
// balances of gas stand beside those of liquid in one Newton system.
type carriers struct {
	nodes []int32   // liquid nodes that gas can reach, in order of distance
	seen  []int32   // node → place in nodes, −1
	col   []int32   // node → unknown, −1 if it has none
	vess  []bool    // node → gas leaves the liquid here
	b     []float64 // by node, J/kg
	count []float64 // by node: mol of gas for each J; of the last mixture
	mass  []float64 // by node: kg of gas for each J
	in    []float64 // by node: liquid that arrives, kg/s
	out   []float64 // by node: liquid that leaves in lines or is taken, kg/s
	rest  []float64 // by node: residual of the gas balance, W
	n     []float64 // by node: gas that arrives, mol/s
	first []int32   // edges of node i are touch[first[i]:first[i+1]]
	touch []int32
	lines []carrier
	jets  []outlet
	freed []release
	mixed bool    // injectors add different gases
	unit  float64 // energy of a mole for tolerances, J/mol
}

// carrier is a liquid edge that can carry gas, with its places in the matrix.
type carrier struct {
	edge int32
	pos  [12]int32 // (a p, b p) × (a gas, b gas), then (a gas, b gas) × (a p, b p, a gas, b gas)
}

// outlet is where an injector's gas goes in, with its places in the matrix.
type outlet struct {
	pos  [6]int32 // (in gas, out gas) × (suction, in, out)
	line int32    // its motive side among the lines, or −1
}

// release is how gas that comes to a vessel by a line goes on in the gas
// network, with its places in the matrix.
type release struct {
	vessel, vent int32 // vent: edge of a float vent, or −1 where the gas sets the pressure
	line         int32 // index in lines
	to           int32 // gas node
	pos          [4]int32
}

const (
	// mostGas, J/kg, is about a thousand volumes of gas at 1 bar in one of
	// liquid: no mixture any more. What is beyond it stays behind.
	mostGas = 1e5
	// strand, kg/s, is how fast gas beyond mostGas stays behind.
	strand = 1e-3
	// slowest is the velocity, m/s, below which liquid carries gas both ways:
	// bubbles rise at about 0.25 m/s (common practice, no source), so that
	// far below it the direction of the liquid does not decide what fills a
	// line. Between, the content of a line changes smoothly.
	slowest = 0.05
)

// prepare lists what gas can reach.
func (c *carriers) prepare(s *solver) {
	c.nodes, c.lines, c.jets, c.freed = c.nodes[:0], c.lines[:0], c.jets[:0], c.freed[:0]
	if len(s.injectors) == 0 {
		return
	}
	n := len(s.p.Nodes)
	c.seen, c.col, c.vess = grow(c.seen, n), grow(c.col, n), grow(c.vess, n)
	for i := range c.seen {
		c.seen[i], c.col[i], c.vess[i] = -1, -1, false
	}
	for i := range s.vessels {
		c.vess[s.vessels[i].liquid] = true
	}
	c.b, c.count, c.mass, c.rest, c.n = grow(c.b, n), grow(c.count, n), grow(c.mass, n), grow(c.rest, n), grow(c.n, n)
	c.in, c.out = grow(c.in, n), grow(c.out, n)
	clear(c.n)
	clear(c.rest)
	push := func(i int32) {
		if c.seen[i] < 0 {
			c.seen[i] = int32(len(c.nodes))
			c.nodes = append(c.nodes, i)
		}
	}
	c.mixed, c.unit = false, 0
	for i := range s.injectors {
		m := &s.edges[s.injectors[i].motive]
		push(m.b)
		push(m.a)
		c.mixed = c.mixed || s.injectors[i].carriage != s.injectors[0].carriage
		c.unit = math.Max(c.unit, s.injectors[i].carriage.molarEnergy)
	}
	c.incidence(s)
	for k := 0; k < len(c.nodes); k++ {
		i := c.nodes[k]
		if c.vess[i] {
			continue
		}
		for _, t := range c.touch[c.first[i]:c.first[i+1]] {
			push(s.edges[t].a)
			push(s.edges[t].b)
		}
	}
	for i := range s.edges {
		if e := &s.edges[i]; !e.gas && !e.blocked && c.seen[e.a] >= 0 && c.seen[e.b] >= 0 {
			c.lines = append(c.lines, carrier{edge: int32(i)})
		}
	}
	c.releases(s)
}

// incidence lists the liquid edges of each node, by counting.
func (c *carriers) incidence(s *solver) {
	c.first = grow(c.first, len(s.p.Nodes)+1)
	clear(c.first)
	for i := range s.edges {
		if e := &s.edges[i]; !e.gas && !e.blocked {
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
		if e := &s.edges[i]; !e.gas && !e.blocked {
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
}

// releases lists where the gas of vessels goes on.
func (c *carriers) releases(s *solver) {
	c.freed = c.freed[:0]
	for j := range s.vessels {
		v := &s.vessels[j]
		for k := range c.lines {
			e := &s.edges[c.lines[k].edge]
			if e.a != v.liquid && e.b != v.liquid {
				continue
			}
			if v.sets == GasSets {
				c.freed = append(c.freed, release{vessel: int32(j), vent: -1, line: int32(k), to: v.gas})
				continue
			}
			for i := range s.edges {
				if f := &s.edges[i]; f.control == controlVent && f.vessel == int32(j) && !f.blocked {
					c.freed = append(c.freed, release{vessel: int32(j), vent: int32(i), line: int32(k), to: f.b})
				}
			}
		}
	}
}

// number gives the nodes their unknowns, from next on.
func (c *carriers) number(next int) int {
	for _, i := range c.nodes {
		if !c.vess[i] {
			c.col[i] = int32(next)
			next++
		}
	}
	return next
}

// pattern adds the places that the gas balances need.
func (c *carriers) pattern(s *solver, add func(r, c int32)) {
	for i := range c.lines {
		e := &s.edges[c.lines[i].edge]
		rows := [4]int32{s.row[e.a], s.row[e.b], c.col[e.a], c.col[e.b]}
		cols := [4]int32{s.col[e.a], s.col[e.b], c.col[e.a], c.col[e.b]}
		for j, r := range rows {
			for k, x := range cols {
				if j >= 2 || k >= 2 {
					add(r, x)
				}
			}
		}
	}
	for i := range c.freed {
		f := &c.freed[i]
		e := &s.edges[c.lines[f.line].edge]
		for _, x := range [4]int32{s.col[e.a], s.col[e.b], c.col[e.a], c.col[e.b]} {
			add(s.row[f.to], x)
		}
	}
	for i := range s.injectors {
		g := &s.edges[s.injectors[i].suction]
		for _, r := range [2]int32{c.col[g.in], c.col[g.out]} {
			for _, x := range [3]int32{s.col[g.a], s.col[g.in], s.col[g.out]} {
				add(r, x)
			}
		}
	}
}

// places finds those places in the matrix.
func (c *carriers) places(s *solver) {
	m := s.matrix
	for i := range c.lines {
		l := &c.lines[i]
		e := &s.edges[l.edge]
		ga, gb := c.col[e.a], c.col[e.b]
		pa, pb := s.col[e.a], s.col[e.b]
		ra, rb := s.row[e.a], s.row[e.b]
		l.pos = [12]int32{m.spot(ra, ga), m.spot(ra, gb), m.spot(rb, ga), m.spot(rb, gb),
			m.spot(ga, pa), m.spot(ga, pb), m.spot(ga, ga), m.spot(ga, gb),
			m.spot(gb, pa), m.spot(gb, pb), m.spot(gb, ga), m.spot(gb, gb)}
	}
	for i := range c.freed {
		f := &c.freed[i]
		e := &s.edges[c.lines[f.line].edge]
		for j, x := range [4]int32{s.col[e.a], s.col[e.b], c.col[e.a], c.col[e.b]} {
			f.pos[j] = m.spot(s.row[f.to], x)
		}
	}
	c.jets = c.jets[:0]
	for i := range s.injectors {
		g := &s.edges[s.injectors[i].suction]
		o := outlet{line: -1}
		for k := range c.lines {
			if c.lines[k].edge == s.injectors[i].motive {
				o.line = int32(k)
			}
		}
		for j, x := range [3]int32{s.col[g.a], s.col[g.in], s.col[g.out]} {
			o.pos[j], o.pos[3+j] = m.spot(c.col[g.in], x), m.spot(c.col[g.out], x)
		}
		c.jets = append(c.jets, o)
	}
}

// clean takes all gas out of the liquid.
func (c *carriers) clean(s *solver) {
	if len(s.injectors) == 0 {
		return
	}
	g := s.injectors[0].carriage
	for _, i := range c.nodes {
		c.b[i], c.count[i], c.mass[i] = 0, 1/g.molarEnergy, g.molarMass/g.molarEnergy
	}
}
