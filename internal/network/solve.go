package network

import (
	"context"
	"math"
	"slices"
	"sync"
)

// solver is the workspace of one solve; it is kept and used again.
type solver struct {
	p         *Problem
	factor    float64
	edges     []edge
	vessels   []vessel
	injectors []injection
	curves    []Curve

	tied   []int32   // node → node whose pressure it follows, or −1
	offset []float64 // pressure over that node
	row    []int32   // node → equation, −1 if it has none
	col    []int32   // node → unknown, −1 if its pressure is fixed
	nvar   int

	matrix   matrix
	pairs    []int64
	rhs      []float64
	pressure []float64
	balance  []float64
	scale    [3]float64 // largest flow by phase

	broken   error // what a function of the caller did wrong
	part     parts
	carriers carriers
	tol      float64
	slow     bool    // injectors are relaxed
	soft     float64 // leak of shut elements in the smooth approach; 0: exact states
	changed  bool    // some element changed state since the last factorisation
}

var pool = sync.Pool{New: func() any { return new(solver) }}

// Solve finds the steady state of p. It does not change p or opt and keeps no
// reference to them.
//
// Errors: [*BadInputError] for data that cannot be used, [*FloatingError] and
// [*ContradictionError] for networks that are ill-posed, [*NotConvergedError]
// together with the last (not converged) state, or the error of ctx, which is
// looked at before every iteration.
func Solve(ctx context.Context, p *Problem, opt *Options) (*Solution, error) {
	if p == nil {
		return nil, &BadInputError{What: "problem", Value: 0, Want: "not nil"}
	}
	var o Options
	if opt != nil {
		o = *opt
	}
	if o.MaxIterations == 0 {
		o.MaxIterations = 200
	}
	if o.Tolerance == 0 {
		o.Tolerance = 1e-8
	}
	if err := firstError(inRange("tolerance", o.Tolerance, 1e-12, 1e-3, "1e-12 to 1e-3, or 0 for 1e-8"),
		inRange("highest number of iterations", float64(o.MaxIterations), 1, 1e5, "1 to 1e5, or 0 for 200")); err != nil {
		return nil, err
	}
	if o.Start != nil && (len(o.Start.Nodes) != len(p.Nodes) || len(o.Start.Elements) != len(p.Elements)) {
		return nil, &BadInputError{What: "number of nodes in the start", Value: float64(len(o.Start.Nodes)),
			Want: "nodes and elements as many as in the problem"}
	}
	s := pool.Get().(*solver)
	defer func() {
		s.p, s.broken = nil, nil
		clear(s.injectors)
		clear(s.curves)
		pool.Put(s)
	}()
	if err := s.compile(p); err != nil {
		return nil, err
	}
	if err := s.wellPosed(); err != nil {
		return nil, err
	}
	s.tol = o.Tolerance
	s.carriers.prepare(s)
	if err := s.number(); err != nil {
		return nil, err
	}
	return s.run(ctx, &o)
}

func (s *solver) run(ctx context.Context, o *Options) (*Solution, error) {
	s.soft, s.slow, s.broken = 0, false, nil
	s.scale = smallestScale
	if o.Start != nil {
		s.warm(o.Start)
	} else {
		s.cold()
	}
	total, ok, err := s.iterate(ctx, min(o.MaxIterations, 60), manner{})
	if err != nil {
		return nil, err
	}
	for i, path := range approaches {
		if ok {
			break
		}
		s.cold()
		s.slow = len(s.injectors) > 0
		s.relax(1)
		for _, soft := range path {
			s.soft = soft
			n, _, err := s.iterate(ctx, min(o.MaxIterations, 40), manner{damped: i > 0})
			total += n
			if err != nil {
				return nil, err
			}
		}
		s.harden()
		for _, slow := range [...]bool{true, false} {
			if slow && !s.slow {
				continue
			}
			s.slow = slow
			n, done, err := s.iterate(ctx, 4*o.MaxIterations, manner{careful: true, damped: i > 0})
			total += n
			if err != nil {
				return nil, err
			}
			ok = done
		}
	}
	sol := s.solution(total, ok)
	if !ok {
		return sol, s.failure(sol)
	}
	return sol, nil
}

// approaches are the leaks by which the ideal elements are approached when the
// direct way has failed.
var approaches = [][]float64{{0.1, 0.01, 1e-3, 1e-4}, {0.3, 0.1, 0.03, 0.01, 3e-3, 1e-3, 3e-4, 1e-4, 1e-5}}

// number gives every node its equation and unknown and analyses the matrix.
func (s *solver) number() error {
	n := len(s.p.Nodes)
	s.row, s.col = grow(s.row, n), grow(s.col, n)
	s.nvar = 0
	for i := range s.p.Nodes {
		s.row[i], s.col[i] = -1, -1
		if s.p.Nodes[i].Pressure == nil && s.tied[i] < 0 {
			s.row[i], s.col[i] = int32(s.nvar), int32(s.nvar)
			s.nvar++
		}
	}
	for i, m := range s.tied {
		if m >= 0 {
			s.col[i] = s.col[m]
		}
	}
	s.pairs = s.pairs[:0]
	add := func(r, c int32) {
		if r >= 0 && c >= 0 && r != c {
			if r > c {
				r, c = c, r
			}
			s.pairs = append(s.pairs, int64(r)<<32|int64(c))
		}
	}
	for i := range s.edges {
		e := &s.edges[i]
		if e.b >= 0 {
			add(s.row[e.a], s.col[e.b])
			add(s.row[e.b], s.col[e.a])
			continue
		}
		add(s.row[e.a], s.col[e.in])
		add(s.row[e.a], s.col[e.out])
	}
	for i := range s.carriers.pairs {
		c := &s.carriers.pairs[i]
		e, in := &s.edges[c.edge], &s.edges[s.injectors[c.injector].suction]
		for _, col := range [...]int32{s.col[in.a], s.col[in.in], s.col[in.out]} {
			add(s.row[e.a], col)
			add(s.row[e.b], col)
		}
	}
	slices.Sort(s.pairs)
	s.pairs = slices.Compact(s.pairs)
	if !s.matrix.analyse(s.nvar, s.pairs) {
		return &BadInputError{What: "number of loops", Value: float64(len(s.pairs) - s.nvar),
			Want: "fewer: the network is meshed too densely to be solved"}
	}
	for i := range s.edges {
		e := &s.edges[i]
		if e.b >= 0 {
			e.pos = [4]int32{s.matrix.spot(s.row[e.a], s.col[e.a]), s.matrix.spot(s.row[e.a], s.col[e.b]),
				s.matrix.spot(s.row[e.b], s.col[e.a]), s.matrix.spot(s.row[e.b], s.col[e.b])}
			continue
		}
		e.pos = [4]int32{s.matrix.spot(s.row[e.a], s.col[e.a]), -1, -1, -1}
		e.extra = [2]int32{s.matrix.spot(s.row[e.a], s.col[e.in]), s.matrix.spot(s.row[e.a], s.col[e.out])}
	}
	for i := range s.carriers.pairs {
		c := &s.carriers.pairs[i]
		e, in := &s.edges[c.edge], &s.edges[s.injectors[c.injector].suction]
		for j, col := range [...]int32{s.col[in.a], s.col[in.in], s.col[in.out]} {
			c.pos[j], c.pos[3+j] = s.matrix.spot(s.row[e.a], col), s.matrix.spot(s.row[e.b], col)
		}
	}
	s.rhs = grow(s.rhs, s.nvar)
	s.pressure, s.balance = grow(s.pressure, n), grow(s.balance, n)
	return nil
}

// cold sets pressures and flows to start from without knowledge.
func (s *solver) cold() {
	var sum [3]float64
	var count [3]float64
	for i := range s.p.Nodes {
		if n := &s.p.Nodes[i]; n.Pressure != nil {
			sum[n.Phase] += *n.Pressure
			count[n.Phase]++
		}
	}
	mean := func(ph Phase) float64 {
		if count[ph] > 0 {
			return sum[ph] / count[ph]
		}
		if other := 3 - ph; count[other] > 0 {
			return sum[other] / count[other]
		}
		return 1e5
	}
	pl, pg := mean(Liquid), mean(Gas)
	for i := range s.p.Nodes {
		n := &s.p.Nodes[i]
		switch {
		case n.Pressure != nil:
			s.pressure[i] = *n.Pressure
		case n.Phase == Liquid:
			s.pressure[i] = pl
		default:
			s.pressure[i] = pg
		}
	}
	s.follow()
	clear(s.carriers.share)
	for i := range s.edges {
		e := &s.edges[i]
		e.flips, e.memo, e.n, e.m, e.pv, e.dv = 0, 0, 0, 0, 0, 0
		e.state = Open
		e.q = s.firstFlow(e)
		if e.blocked {
			e.state, e.q = Shut, 0
		}
	}
}

// firstFlow is a flow of ordinary size for the edge.
func (s *solver) firstFlow(e *edge) float64 {
	switch e.form {
	case formPipeLiquid: // about 1 m/s
		return e.density * math.Pi / 4 * sq(e.diameter)
	case formPipeGas: // about 5 m/s at 1 bar: q = p V A / (Z R T); A² = M Z R T / r
		return 5e5 * math.Sqrt(s.molarMassOf(e)/(e.r*s.molarEnergyOf(e)))
	case formQuadratic:
		return quadraticInverse(e.r, e.q1, 1e4)
	case formValveGas, formOrificeGas:
		return quadraticInverse(e.r, e.q1, 2e9)
	case formPower:
		return math.Pow(1e4/e.k1, 1/e.k2)
	case formPump:
		c := &s.curves[e.in]
		return e.density * c.middle() * math.Max(e.k2, 0.1)
	case formBlower:
		c := &s.curves[e.in]
		return 1e5 / e.k1 * c.middle() * math.Max(e.k2, 0.1)
	case formFixed:
		return e.set
	}
	return 0
}

func (s *solver) fluid(e *edge) *Fluid {
	el := &s.p.Elements[e.elem]
	if in, ok := el.Law.(Injector); ok && e.gas {
		return &s.p.Fluids[in.GasFluid]
	}
	return &s.p.Fluids[el.Fluid]
}

func (s *solver) molarMassOf(e *edge) float64   { return s.fluid(e).MolarMass }
func (s *solver) molarEnergyOf(e *edge) float64 { return s.fluid(e).molarEnergy() }

// warm starts from an earlier solution.
func (s *solver) warm(from *Solution) {
	s.cold()
	for i := range s.p.Nodes {
		if v := from.Nodes[i].Pressure; s.p.Nodes[i].Pressure == nil && finite(v) && math.Abs(v) < 1e11 {
			s.pressure[i] = v
			if s.p.Nodes[i].Phase == Gas {
				s.pressure[i] = math.Max(v, 100)
			}
		}
	}
	s.follow()
	for i := range s.edges {
		e := &s.edges[i]
		r := &from.Elements[e.elem]
		if e.blocked || e.form == formFixed || !finite(r.Flow) {
			continue
		}
		e.q = r.Flow
		if e.form == formSuction {
			e.q = r.Gas
		}
		if e.control == controlNone {
			continue
		}
		s.warmState(e, r.State)
	}
}

// warmState takes over a state. A one-way element that is reported shut may have
// been open at rest, at the edge of opening: then it starts open again.
func (s *solver) warmState(e *edge, st State) {
	switch e.control {
	case controlSuction:
		if e.q > 0 {
			return
		}
		in := &s.injectors[int(e.set)]
		v := in.draw(math.Max(s.pressure[e.in], lowestPressure), math.Max(s.pressure[e.out], lowestPressure),
			math.Max(s.pressure[e.a], lowestPressure))
		if e.q = 0; math.Abs(v) > 1e-3*smallestScale[Gas] {
			e.state = Shut
		}
		return
	case controlCheck:
		if e.q == 0 && math.Abs(s.slack(e)) < 1e-6*math.Abs(s.pressure[e.a]) {
			return
		}
	}
	switch st {
	case Shut, HeldShut:
		e.state, e.q = Shut, 0
	case Controlling:
		if e.control != controlCheck {
			e.state = Controlling
		}
	}
}

// follow sets the pressures of tied nodes.
func (s *solver) follow() {
	for i, m := range s.tied {
		if m >= 0 {
			s.pressure[i] = s.pressure[m] + s.offset[i]
		}
	}
}
