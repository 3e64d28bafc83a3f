package network

import (
	"math"

	"github.com/skidrule/skidrule/internal/flowpath"
)

// parts finds the parts of the network that have no open way to a pressure.
type parts struct {
	up       flowpath.Sets
	grounded []bool
	roots    []int32 // one node of each part without ground, ascending
	number   []int32 // node → index in roots, or −1
	stale    bool
	pushing  bool      // fixed flows push into a shut-in part
	a        []float64 // small dense system for the levels
	b        []float64
}

// begin puts each node in a part of its own, but for those that are tied to another.
func (t *parts) begin(s *solver) {
	n := len(s.p.Nodes)
	t.up, t.grounded, t.number = grow(t.up, n), grow(t.grounded, n), grow(t.number, n)
	t.up.Part()
	clear(t.grounded)
	for i, m := range s.tied {
		if m >= 0 {
			t.up.Join(int32(i), m)
		}
	}
}

// ground marks the parts that hold a node of given pressure; what joins parts must be joined before.
func (t *parts) ground(s *solver) {
	for i := range s.p.Nodes {
		if s.p.Nodes[i].Pressure != nil {
			t.grounded[t.up.Root(int32(i))] = true
		}
	}
}

// passes tells whether an edge in its present state ties the pressures of its
// ends to each other.
func (e *edge) passes() bool {
	if e.blocked || e.form == formFixed || e.form == formSuction {
		return false
	}
	switch e.state {
	case Open:
		return true
	case Shut:
		return e.r2 > 0
	}
	return false
}

// find marks the parts for the present states.
func (t *parts) find(s *solver) {
	t.stale = false
	t.begin(s)
	for i := range s.edges {
		if e := &s.edges[i]; e.passes() || s.soft > 0 && e.switches() {
			t.up.Join(e.a, e.b)
		}
	}
	t.ground(s)
	for i := range s.edges {
		e := &s.edges[i]
		if e.state != Controlling {
			continue
		}
		switch e.control {
		case controlReduce:
			t.grounded[t.up.Root(e.b)] = true
		case controlBack:
			t.grounded[t.up.Root(e.a)] = true
		}
	}
	for i := range s.edges {
		if e := &s.edges[i]; e.form == formSuction && e.state == Open && !e.blocked {
			t.grounded[t.up.Root(e.a)] = true
		}
	}
	t.roots = t.roots[:0]
	for i := range t.number {
		t.number[i] = -1
	}
	for i := range s.p.Nodes {
		r := t.up.Root(int32(i))
		if t.grounded[r] {
			continue
		}
		if t.number[r] < 0 {
			t.number[r] = int32(len(t.roots))
			// Anchor at a node that has an equation.
			t.roots = append(t.roots, int32(i))
		}
		k := t.number[r]
		if s.row[t.roots[k]] < 0 {
			t.roots[k] = int32(i)
		}
		t.number[i] = k
	}
}

// mostLevels bounds the dense system for the levels of shut-in parts.
const mostLevels = 300

// level moves the pressures of shut-in parts so that the excesses over the
// closed elements around each part balance, as equal small leaks would have
// it. Parts that fixed flows push into, or draw from, move as far as it takes
// to open the next element around them.
func (t *parts) level(s *solver) {
	k := len(t.roots)
	t.pushing = false
	if k == 0 || k > mostLevels {
		return
	}
	t.a, t.b = grow(t.a, k*k), grow(t.b, k)
	clear(t.a)
	clear(t.b)
	for i := range s.edges {
		e := &s.edges[i]
		if e.passes() || e.form == formFixed || e.state == Open && !e.blocked || e.state == Controlling {
			continue
		}
		i, j := t.number[e.a], int32(-1)
		var over float64
		if e.form == formSuction {
			if i < 0 || e.blocked {
				continue
			}
			ga := e.ga
			v := s.evaluateSuction(e)
			over = math.Max(-1e5, math.Min(1e5, v/math.Max(e.ga, 1e-12)))
			e.ga, e.gi, e.go_ = ga, 0, 0
		} else {
			j = t.number[e.b]
			if i == j {
				continue
			}
			over = s.slack(e)
		}
		if i >= 0 {
			t.a[int(i)*k+int(i)]++
			t.b[i] -= over
		}
		if j >= 0 {
			t.a[int(j)*k+int(j)]++
			t.b[j] += over
		}
		if i >= 0 && j >= 0 {
			t.a[int(i)*k+int(j)]--
			t.a[int(j)*k+int(i)]--
		}
	}
	for i := range k {
		if net := t.net(s, int32(i)); net != 0 {
			if !t.pushing { // the parts at rest wait
				t.pushing = true
				clear(t.b)
			}
			t.b[i] = t.reach(s, int32(i), net > 0)
		}
	}
	if !t.pushing {
		t.eliminate(k)
	}
	for i := range s.p.Nodes {
		if j := t.number[i]; j >= 0 && s.p.Nodes[i].Pressure == nil {
			p := s.pressure[i] + t.b[j]
			if s.p.Nodes[i].Phase == Gas {
				p = math.Max(p, 0.1*s.pressure[i])
			}
			s.pressure[i] = p
		}
	}
	s.follow()
}

// net is the fixed flow into a shut-in part less that out of it, 0 if balanced.
func (t *parts) net(s *solver, k int32) float64 {
	net := 0.0
	for i := range s.p.Nodes {
		if t.number[i] == k {
			net += s.p.Nodes[i].Inflow
		}
	}
	ph := s.p.Nodes[t.roots[k]].Phase
	for i := range s.edges {
		e := &s.edges[i]
		if e.blocked || e.form != formFixed && e.state != Controlling {
			continue
		}
		if t.number[e.a] == k {
			net -= e.q
		}
		if t.number[e.b] == k {
			net += e.q
		}
	}
	if math.Abs(net) <= 1e-9*s.scale[ph] {
		return 0
	}
	return net
}

// reach is the signed change of pressure of part k at which the first shut
// element around it opens, when the pressure rises or falls.
func (t *parts) reach(s *solver, k int32, rises bool) float64 {
	best := math.Inf(1)
	for i := range s.edges {
		e := &s.edges[i]
		if e.blocked || e.state == Open {
			continue
		}
		if e.control == controlVent || e.control == controlDrain {
			// It pushes until hardly any difference is left; the orifice then
			// decides.
			if rises && t.number[e.b] == k && e.state == Controlling {
				best = math.Min(best, (1-1e-6)*s.slack(e))
			}
			continue
		}
		if e.state == Controlling {
			// What it holds at the other end, or the flow it lets pass,
			// ends where it is full open.
			if t.number[e.a] == k && !rises && e.control != controlBack ||
				t.number[e.b] == k && rises && e.control != controlReduce {
				l := s.evaluate(e, s.pressure[e.a], s.pressure[e.b], e.q)
				best = math.Min(best, l.pascal()+10*s.tol*s.pressure[t.roots[k]])
			}
			continue
		}
		if e.form == formSuction {
			if rises && t.number[e.a] == k {
				v := s.evaluateSuction(e)
				best = math.Min(best, -v/math.Max(e.ga, 1e-12))
				e.ga, e.gi, e.go_ = 0, 0, 0
			}
			continue
		}
		from, to := t.number[e.a] == k, t.number[e.b] == k
		if from == to || from != rises {
			continue
		}
		need := -s.slack(e)
		pa, pb := s.pressure[e.a], s.pressure[e.b]
		switch e.control {
		case controlBack:
			if !rises && pa < e.set {
				continue
			}
			if rises {
				need = math.Max(need, e.set-pa)
			}
		case controlReduce:
			if rises && pb > e.set {
				continue
			}
			if !rises {
				need = math.Max(need, pb-e.set)
			}
		}
		best = math.Min(best, need+10*s.tol*math.Max(math.Abs(pa), math.Abs(pb)))
	}
	if math.IsInf(best, 1) {
		return 0
	}
	if best = math.Max(best, 0); !rises {
		best = -best
	}
	return best
}

// eliminate solves the small dense system in place; it is diagonally dominant.
func (t *parts) eliminate(k int) {
	a, b := t.a, t.b
	for i := range k {
		d := a[i*k+i]
		if math.Abs(d) < 1e-9 {
			d = 1
			a[i*k+i] = 1
			b[i] = 0
		}
		for r := i + 1; r < k; r++ {
			f := a[r*k+i] / d
			if f == 0 {
				continue
			}
			for c := i + 1; c < k; c++ {
				a[r*k+c] -= f * a[i*k+c]
			}
			b[r] -= f * b[i]
		}
	}
	for i := k - 1; i >= 0; i-- {
		v := b[i]
		for c := i + 1; c < k; c++ {
			v -= a[i*k+c] * b[c]
		}
		b[i] = v / a[i*k+i]
	}
}

// wellPosed reports parts that no pressure boundary can reach even with
// everything open, and fixed flows into parts that are shut off for good.
func (s *solver) wellPosed() error {
	t := &s.part
	for _, through := range [...]bool{true, false} {
		t.begin(s)
		for i := range s.edges {
			e := &s.edges[i]
			if e.b >= 0 && e.form != formFixed && (through || !e.blocked) {
				t.up.Join(e.a, e.b)
			}
		}
		t.ground(s)
		for i := range s.edges {
			e := &s.edges[i]
			if e.form == formSuction && (through || !e.blocked) {
				t.grounded[t.up.Root(e.a)] = true
			}
		}
		if through {
			if e := s.floating(); e != nil {
				return e
			}
		} else if e := s.contradiction(); e != nil {
			return e
		}
	}
	return nil
}

func (s *solver) members(root int32) (nodes []int, names []string) {
	for i := range s.p.Nodes {
		if s.part.up.Root(int32(i)) == root {
			nodes = append(nodes, i)
			names = append(names, s.p.nodeName(i))
		}
	}
	return nodes, names
}

func (s *solver) floating() error {
	for i := range s.p.Nodes {
		if r := s.part.up.Root(int32(i)); !s.part.grounded[r] {
			e := &FloatingError{Phase: s.p.Nodes[i].Phase}
			e.Nodes, e.Names = s.members(r)
			return e
		}
	}
	return nil
}

func (s *solver) contradiction() error {
	t := &s.part
	s.balance = grow(s.balance, len(s.p.Nodes))
	clear(s.balance)
	var most float64
	for i := range s.p.Nodes {
		s.balance[t.up.Root(int32(i))] += s.p.Nodes[i].Inflow
		most = math.Max(most, math.Abs(s.p.Nodes[i].Inflow))
	}
	for i := range s.edges {
		if e := &s.edges[i]; e.form == formFixed && !e.blocked {
			s.balance[t.up.Root(e.a)] -= e.set
			s.balance[t.up.Root(e.b)] += e.set
			most = math.Max(most, math.Abs(e.set))
		}
	}
	for i := range s.p.Nodes {
		r := t.up.Root(int32(i))
		if !t.grounded[r] && math.Abs(s.balance[r]) > 1e-9*most {
			e := &ContradictionError{Phase: s.p.Nodes[i].Phase, Net: s.balance[r]}
			e.Nodes, e.Names = s.members(r)
			return e
		}
	}
	return nil
}
