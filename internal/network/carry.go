package network

import "math"

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
	c.assembleNodes(s, rhs)
	for k := range c.lines {
		c.assembleLine(s, rhs, k)
	}
	if s.slow || !s.coupled {
		return
	}
	for i := range c.freed {
		c.assembleFreed(s, rhs, i)
	}
	for j := range s.injectors {
		c.assembleJet(s, rhs, j)
	}
}

// assembleNodes adds to each balance what leaves its node with the liquid.
func (c *carriers) assembleNodes(s *solver, rhs []float64) {
	val := s.matrix.val
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
}

// assembleLine adds what line k brings to the balance at its lower end, and takes from fresh liquid at its upper end.
func (c *carriers) assembleLine(s *solver, rhs []float64, k int) {
	val := entries(s.matrix.val)
	l := &c.lines[k]
	e := &s.edges[l.edge]
	pos := &l.pos
	val.put(pos[0], e.da)
	val.put(pos[1], e.db)
	val.put(pos[2], -e.da)
	val.put(pos[3], -e.db)
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
			val.flow(at, t, e)
			rhs[r] -= t * e.c
		}
		if sign > 0 {
			val.put(at[2], -q)
		} else {
			val.put(at[3], -q)
		}
	}
	if r := c.col[from]; r >= 0 && s.coupled && c.fresh(s, from) {
		t := b * sign
		val.flow(pos[12-up:16-up], t, e)
		rhs[r] -= t * e.c
	}
}

// assembleFreed adds to the balance of the gas what liquid sets free in a vessel, at place i of those where it does.
func (c *carriers) assembleFreed(s *solver, rhs []float64, i int) {
	val := entries(s.matrix.val)
	f := &c.freed[i]
	v := &s.vessels[f.vessel]
	if f.vent >= 0 && s.edges[f.vent].state != Controlling {
		return
	}
	e := &s.edges[c.lines[f.line].edge]
	from, to, q, sign := e.a, e.b, e.q, 1.0
	if q < 0 {
		from, to, q, sign = to, from, -q, -1.0
	}
	r := s.row[f.to]
	if to != v.liquid || c.vess[from] || r < 0 {
		return
	}
	k := v.released * c.count[from]
	t := k * c.b[from] * sign
	val.flow(f.pos[:], -t, e)
	if sign > 0 {
		val.put(f.pos[2], -k*q)
	} else {
		val.put(f.pos[3], -k*q)
	}
	rhs[r] += t * e.c
}

// assembleJet adds what injector j gives to the liquid on the side to which its motive water flows.
func (c *carriers) assembleJet(s *solver, rhs []float64, j int) {
	val := entries(s.matrix.val)
	in := &s.injectors[j]
	g, m := &s.edges[in.suction], &s.edges[in.motive]
	if g.state == Shut || g.q <= 0 {
		return
	}
	f, turn := m.ahead(m.q)
	o := &c.jets[j]
	if t := turn * g.q * in.carriage.molarEnergy; t != 0 && o.line >= 0 {
		// The side at which the gas goes in turns with the liquid.
		pos := &c.lines[o.line].pos
		for side, u := range [2]float64{t, -t} {
			val.flow(pos[4+4*side:8+4*side], u, m)
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
		val.put(o.pos[3*side], -w*g.ga)
		val.put(o.pos[3*side+1], -w*g.gi)
		val.put(o.pos[3*side+2], -w*g.go_)
		r := c.col[m.a]
		if side == 1 {
			r = c.col[m.b]
		}
		if r >= 0 {
			rhs[r] += w * g.c
		}
	}
}

// entries are those of a matrix, to which a term is added where it has a place.
type entries []float64

func (e entries) put(at int32, v float64) {
	if at >= 0 {
		e[at] += v
	}
}

// flow adds t times the slopes of an edge's flow, by the pressures of its ends and the gas there.
func (e entries) flow(at []int32, t float64, of *edge) {
	e.put(at[0], t*of.ga)
	e.put(at[1], -t*of.gb)
	e.put(at[2], t*of.da)
	e.put(at[3], t*of.db)
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
