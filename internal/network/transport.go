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

// ahead is the part of the content of an edge that comes from a when q flows:
// 1 well forwards, 0 well backwards, and its slope.
func (e *edge) ahead(q float64) (part, slope float64) {
	t := q / e.still
	switch {
	case t >= 1:
		return 1, 0
	case t <= -1:
		return 0, 0
	}
	return 0.5 + t*(0.75-0.25*t*t), 0.75 * (1 - t*t) / e.still
}

// carry sums up the gas for the present flows and returns the worst residual
// of its balances, relative to the most gas that an injector adds.
func (c *carriers) carry(s *solver) (worst float64) {
	if len(s.injectors) == 0 {
		return 0
	}
	for _, i := range c.nodes {
		c.in[i], c.out[i], c.rest[i], c.n[i] = 0, 0, 0, 0
		if v := s.p.Nodes[i].Inflow; v > 0 {
			c.in[i] = v
		} else {
			c.out[i] = -v
		}
	}
	for k := range c.lines {
		e := &s.edges[c.lines[k].edge]
		from, to, q := e.a, e.b, e.q
		if q < 0 {
			from, to, q = to, from, -q
		}
		c.out[from] += q
		c.in[to] += q
		b := 0.0
		if !c.vess[from] {
			b = c.b[from]
		}
		e.pv = q * b
		e.n, e.m = e.pv*c.count[from], e.pv*c.mass[from]
		c.rest[to] -= e.pv
		c.n[to] += e.n
		e.ba, e.bb = c.content(s, e.a), c.content(s, e.b)
		e.light = c.mass[from]
	}
	most := 0.0 // gas that an injector adds
	for j := range s.injectors {
		in := &s.injectors[j]
		n := s.draw(in)
		most = math.Max(most, n)
		m := &s.edges[in.motive]
		f, _ := m.ahead(m.q)
		c.rest[m.b] -= f * n * in.carriage.molarEnergy
		c.rest[m.a] -= (1 - f) * n * in.carriage.molarEnergy
		c.n[m.b] += f * n
		c.n[m.a] += (1 - f) * n
	}
	if c.mixed {
		worst = c.mix(s)
	}
	unit := math.Max(most, smallestScale[Gas]) * c.unit
	for _, i := range c.nodes {
		if c.vess[i] {
			continue
		}
		c.rest[i] += c.b[i]*(c.passes(s, i)+c.trace(s)) + strand*math.Max(0, c.b[i]-mostGas)
		worst = math.Max(worst, math.Abs(c.rest[i])/unit)
	}
	for j := range s.vessels {
		v := &s.vessels[j]
		v.gasOut = 0
		if c.seen[v.liquid] >= 0 {
			v.gasOut = c.n[v.liquid] * v.released
		}
	}
	return worst
}

// content is the gas in the liquid of a node that leaves it.
func (c *carriers) content(s *solver, i int32) float64 {
	if c.vess[i] {
		return 0
	}
	return s.thin * c.b[i]
}

// passes is the liquid in which the gas of a node leaves, kg/s. A fixed
// pressure takes or brings what is left over.
func (c *carriers) passes(s *solver, i int32) float64 {
	if s.p.Nodes[i].Pressure != nil {
		return math.Max(c.in[i], c.out[i])
	}
	return c.in[i]
}

// trace keeps the balance regular where no liquid flows.
func (c *carriers) trace(s *solver) float64 { return 1e-11 * s.scale[Liquid] }

// mix updates what the gas in each node is where injectors add different gases.
func (c *carriers) mix(s *solver) (change float64) {
	count, mass, total := c.n, make([]float64, len(c.n)), make([]float64, len(c.n))
	clear(count)
	book := func(i int32, pv, n, m float64) {
		total[i] += pv
		count[i] += n
		mass[i] += m
	}
	for k := range c.lines {
		e := &s.edges[c.lines[k].edge]
		to := e.b
		if e.q < 0 {
			to = e.a
		}
		book(to, e.pv, e.n, e.m)
	}
	for j := range s.injectors {
		in := &s.injectors[j]
		n := s.draw(in)
		m := &s.edges[in.motive]
		f, _ := m.ahead(m.q)
		book(m.b, f*n*in.carriage.molarEnergy, f*n, f*n*in.carriage.molarMass)
		f = 1 - f
		book(m.a, f*n*in.carriage.molarEnergy, f*n, f*n*in.carriage.molarMass)
	}
	for _, i := range c.nodes {
		if total[i] <= 0 {
			continue
		}
		x := count[i] / total[i]
		change = math.Max(change, math.Abs(x/c.count[i]-1)*math.Min(1, count[i]/s.scale[Gas]))
		c.count[i], c.mass[i] = x, mass[i]/total[i]
	}
	return change
}

// assemble adds the gas balances, and how the flow of an edge depends on the
// gas at its ends, to matrix and right side.
func (c *carriers) assemble(s *solver, rhs []float64) {
	if len(s.injectors) == 0 {
		return
	}
	val := s.matrix.val
	put := func(at int32, v float64) {
		if at >= 0 {
			val[at] += v
		}
	}
	trace := c.trace(s)
	for _, i := range c.nodes {
		g := c.col[i]
		if g < 0 {
			continue
		}
		d := trace
		if c.b[i] > mostGas {
			d += strand
		}
		if c.fresh(s, i) {
			d += c.out[i]
		} else {
			d += c.in[i]
		}
		if s.pace > 0 {
			d += (d + 1e-3*s.scale[Liquid]) / s.pace
		}
		val[s.matrix.place[g]] += d
		rhs[g] -= c.rest[i]
	}
	for k := range c.lines {
		l := &c.lines[k]
		e := &s.edges[l.edge]
		pos := &l.pos
		put(pos[0], e.da)
		put(pos[1], e.db)
		put(pos[2], -e.da)
		put(pos[3], -e.db)
		// The balance at the lower end: q (b there − b above), and at a fixed
		// pressure that brings fresh liquid: q b above, taken from what leaves.
		from, to, q, sign, up := e.a, e.b, e.q, 1.0, 8
		if q < 0 {
			from, to, q, sign, up = to, from, -q, -1.0, 4
		}
		b := 0.0
		if !c.vess[from] {
			b = c.b[from]
		}
		if r := c.col[to]; r >= 0 {
			t := -b
			if !c.fresh(s, to) {
				t += c.b[to]
			}
			t *= sign
			at := pos[up : up+4]
			if s.coupled {
				put(at[0], t*e.ga)
				put(at[1], -t*e.gb)
				put(at[2], t*e.da)
				put(at[3], t*e.db)
				rhs[r] -= t * e.c
			}
			if sign > 0 {
				put(at[2], -q)
			} else {
				put(at[3], -q)
			}
		}
		if r := c.col[from]; r >= 0 && s.coupled && c.fresh(s, from) {
			t := b * sign
			at := pos[12-up : 16-up]
			put(at[0], t*e.ga)
			put(at[1], -t*e.gb)
			put(at[2], t*e.da)
			put(at[3], t*e.db)
			rhs[r] -= t * e.c
		}
	}
	if s.slow || !s.coupled {
		return
	}
	for i := range c.freed {
		f := &c.freed[i]
		v := &s.vessels[f.vessel]
		if f.vent >= 0 && s.edges[f.vent].state != Controlling {
			continue
		}
		e := &s.edges[c.lines[f.line].edge]
		from, to, q, sign := e.a, e.b, e.q, 1.0
		if q < 0 {
			from, to, q, sign = to, from, -q, -1.0
		}
		r := s.row[f.to]
		if to != v.liquid || c.vess[from] || r < 0 {
			continue
		}
		k := v.released * c.count[from]
		t := k * c.b[from] * sign
		put(f.pos[0], -t*e.ga)
		put(f.pos[1], t*e.gb)
		put(f.pos[2], -t*e.da)
		put(f.pos[3], -t*e.db)
		if sign > 0 {
			put(f.pos[2], -k*q)
		} else {
			put(f.pos[3], -k*q)
		}
		rhs[r] += t * e.c
	}
	for j := range s.injectors {
		in := &s.injectors[j]
		g, m := &s.edges[in.suction], &s.edges[in.motive]
		if g.state == Shut || g.q <= 0 {
			continue
		}
		f, turn := m.ahead(m.q)
		o := &c.jets[j]
		if t := turn * g.q * in.carriage.molarEnergy; t != 0 && o.line >= 0 {
			// The side at which the gas goes in turns with the liquid.
			pos := &c.lines[o.line].pos
			for side, u := range [2]float64{t, -t} {
				put(pos[4+4*side], u*m.ga)
				put(pos[5+4*side], -u*m.gb)
				put(pos[6+4*side], u*m.da)
				put(pos[7+4*side], u*m.db)
			}
			if r := c.col[m.a]; r >= 0 {
				rhs[r] -= t * m.c
			}
			if r := c.col[m.b]; r >= 0 {
				rhs[r] += t * m.c
			}
		}
		for side, w := range [2]float64{1 - f, f} {
			w *= in.carriage.molarEnergy
			put(o.pos[3*side], -w*g.ga)
			put(o.pos[3*side+1], -w*g.gi)
			put(o.pos[3*side+2], -w*g.go_)
			r := c.col[m.a]
			if side == 1 {
				r = c.col[m.b]
			}
			if r >= 0 {
				rhs[r] += w * g.c
			}
		}
	}
}

// fresh tells whether a fixed pressure brings liquid in.
func (c *carriers) fresh(s *solver, i int32) bool {
	return s.p.Nodes[i].Pressure != nil && c.out[i] > c.in[i]
}

// part is the change of an edge's flow that the change x of the gas makes.
func (c *carriers) part(e *edge, x []float64) (dq float64) {
	if g := c.col[e.a]; g >= 0 {
		dq += e.da * x[g]
	}
	if g := c.col[e.b]; g >= 0 {
		dq += e.db * x[g]
	}
	return dq
}

// couple is the residual below which the gas in the liquid and the pressures are
// moved together; farther off each is moved as if the other stood.
const couple = 0.1

// step moves the gas by theta of the change x.
func (c *carriers) step(x []float64, theta float64) {
	for _, i := range c.nodes {
		if g := c.col[i]; g >= 0 {
			c.b[i] = math.Min(math.Max(c.b[i]+theta*x[g], 0), 1e3*mostGas)
		}
	}
}

// warm takes over the gas of an earlier solution.
func (c *carriers) warm(s *solver, from *Solution) {
	c.clean(s)
	for k := range c.lines {
		e := &s.edges[c.lines[k].edge]
		r := &from.Elements[e.elem]
		up := e.a
		if r.Flow < 0 {
			up = e.b
		}
		if _, motive := s.p.Elements[e.elem].Law.(Injector); motive || !(r.Gas > 0) || r.Flow == 0 || c.count[up] == 0 {
			continue
		}
		if b := r.Gas / math.Abs(r.Flow) / c.count[up]; b < mostGas {
			c.b[up] = b
		}
	}
}

// injects tells whether a liquid edge is the motive side of an injector.
func (e *edge) injects() bool { return e.motive >= 0 && !e.gas }
