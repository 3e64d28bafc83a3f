package operate

import (
	"context"
	"math"

	"github.com/skidrule/skidrule/internal/network"
)

// solved is one scenario in one variant.
type solved struct {
	w *wiring
	// By knot: pressure in Pa absolute, NaN where it is unknown, with what is missing or why.
	pressure []float64
	missing  [][]Datum
	why      []string
	shutIn   []bool
	exchange []float64 // kg/s or mol/s that a fixed pressure brings in
	// By link; NaN where unknown.
	flow, gas, velocity []float64
	beyond              []string // by link: outside what its law covers
	npsh                []float64
	state               []network.State
	imbalance, residual float64
	iterations          int
	plan                *plan
	found               []*network.Solution // by group
}

// restFlow in kg/s or mol/s is taken as rest: what rounding leaves of no flow.
const restFlow = 1e-9

func rested(q float64) float64 {
	if math.Abs(q) < restFlow {
		return 0
	}
	return q
}

// Reasons why nothing is known of a place although no datum is missing.
const (
	whyShutIn = "shut in: everything around it is closed, so that what stood there before stays"
	whyAlone  = "joined to no boundary"
)

// solve partitions the wiring into parts that depend on each other and solves those that lack nothing. Where a base is given, the
// same scenario at its best values, only what rests on the varied datum is solved again.
func (w *wiring) solve(ctx context.Context, base *solved) (*solved, error) {
	n := len(w.knots)
	s := &solved{w: w, pressure: make([]float64, n), missing: make([][]Datum, n), why: make([]string, n), shutIn: make([]bool, n), exchange: make([]float64, n),
		flow: nans(len(w.links)), gas: nans(len(w.links)), velocity: nans(len(w.links)), beyond: make([]string, len(w.links)), npsh: nans(len(w.links)), state: make([]network.State, len(w.links))}
	for i := range s.pressure {
		s.pressure[i] = math.NaN()
	}
	for i := range w.links {
		if w.links[i].blocked {
			s.flow[i], s.state[i] = 0, network.Shut
		}
	}
	if base != nil {
		s.plan = base.plan
		for i, dead := range s.plan.dead {
			if dead {
				w.links[i].missing, w.links[i].law = nil, placeholder
			}
		}
	} else {
		s.plan = w.divide()
	}
	s.found = make([]*network.Solution, len(s.plan.groups))
	for k := range w.knots {
		s.missing[k] = s.plan.lacks[s.plan.part[k]]
	}
	for g := range s.plan.groups {
		m := &s.plan.members[g]
		var start *network.Solution
		if base != nil {
			if start = base.found[g]; !w.rests(m) {
				s.copy(base, m)
				continue
			}
		}
		if err := s.group(ctx, g, start); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// copy takes over what a group was at the best values.
func (s *solved) copy(base *solved, m *members) {
	for _, k := range m.knots {
		s.pressure[k], s.why[k], s.shutIn[k], s.exchange[k] = base.pressure[k], base.why[k], base.shutIn[k], base.exchange[k]
	}
	for _, i := range m.links {
		s.flow[i], s.gas[i], s.velocity[i], s.beyond[i], s.npsh[i], s.state[i] = base.flow[i], base.gas[i], base.velocity[i], base.beyond[i], base.npsh[i], base.state[i]
	}
}

func nans(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = math.NaN()
	}
	return out
}
