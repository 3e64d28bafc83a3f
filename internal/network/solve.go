package network

import (
	"context"
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

	matrix   *matrix
	layouts  []*layout // of the networks solved last, the last one first
	key      []int64
	pairs    []int64
	rhs      []float64
	pressure []float64
	balance  []float64
	scale    [3]float64 // largest flow by phase

	stop     func() bool // the context has ended
	broken   error       // what a function of the caller did wrong
	part     parts
	carriers carriers
	tol      float64
	slow     bool    // injectors are relaxed
	soft     float64 // leak of shut elements in the smooth approach; 0: exact states
	thin     float64 // part of the effect of gas on the liquid that counts
	pace     float64
	doubt    error // what seems to leave no steady state
	coupled  bool  // gas in the liquid and pressures move together
	changed  bool  // some element changed state since the last factorisation
}

var pool = sync.Pool{New: func() any { return new(solver) }}

// Solve finds the steady state of p. It does not change p or opt and keeps no
// reference to them.
//
// Errors: [*BadInputError] for data that cannot be used, [*FloatingError] and
// [*ContradictionError] for networks that are ill-posed, [*StrandedGasError] or
// [*BrokenColumnError] for what seems to have no steady state and
// [*NotConvergedError] for the rest, these three together with the last (not
// converged) state, or the error of ctx, which is looked at before every
// iteration and within long ones.
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
		s.p, s.broken, s.doubt, s.stop = nil, nil, nil, nil
		if s.matrix != nil {
			s.matrix.stop = nil
		}
		clear(s.injectors)
		clear(s.curves)
		pool.Put(s)
	}()
	s.stop = func() bool { return ctx.Err() != nil }
	if s.stop() {
		return nil, ctx.Err()
	}
	if err := s.compile(p); err != nil {
		return nil, err
	}
	if err := s.wellPosed(); err != nil {
		return nil, err
	}
	s.tol = o.Tolerance
	s.carriers.prepare(s)
	if err := s.number(); err != nil {
		if stopped := ctx.Err(); stopped != nil {
			return nil, stopped
		}
		return nil, err
	}
	return s.run(ctx, &o)
}
