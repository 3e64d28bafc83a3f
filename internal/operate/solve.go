package operate

import (
	"context"
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
)

// Solver solves the cases of one plant. It is for one goroutine.
type Solver struct {
	m     model
	cases []Case
	ready bool // prepared
	// Cases in which nothing but generators and destructs stands otherwise are solved once.
	normal  *hydraulics
	islands *islands  // made when the first case is solved
	kept    *Kept     // nil where nothing is kept
	keys    []caseKey // of the cases, where states are kept
}

// hydraulics is a scenario solved at its best values and at the ends of what is uncertain, two for each datum.
type hydraulics struct {
	best *solved
	ends []*solved
}

// NewSolver gives the solver of a plant. The error says that there are no cases.
func NewSolver(p *plant.Plant, cases []Case) (*Solver, error) {
	if len(cases) == 0 {
		return nil, fmt.Errorf("no operating cases to solve")
	}
	return newSolver(p, cases), nil
}

func newSolver(p *plant.Plant, cases []Case) *Solver {
	return &Solver{m: model{p: p, released: -1}, cases: cases}
}

// read reads of the plant what is the same in every scenario. A plant that is solved island by island is read so as well.
func (s *Solver) read() {
	if s.m.joints == nil {
		s.m.phase, s.m.tables = phases(s.m.p), injectorTables(s.m.p)
		s.m.joints = newJoints(&s.m)
	}
}

// Keep lets the solver take states that were kept, and keep its own.
func (s *Solver) Keep(k *Kept) { s.kept = k }

// prepare sets throttled gas valves as on site, so that in normal operation the design flow passes, and reads the spread of the
// injectors at their operating points. Errors: those of the context.
func (s *Solver) prepare(ctx context.Context) error {
	if s.ready {
		return nil
	}
	s.read()
	normal := scenario{c: &Case{ID: Normal.ID(), Standard: Normal}, failed: -1}
	first, err := wire(&s.m, &normal, variant{}).solve(ctx, nil)
	if err != nil {
		return err
	}
	s.setThrottles(first)
	s.m.share = map[int32]float64{}
	s.m.released = 1
	drawn, held := 0.0, 0.0
	for i := range first.w.links {
		l := &first.w.links[i]
		if l.suction < 0 || math.IsNaN(first.gas[i]) {
			continue
		}
		j := first.w.jetOf(l.component)
		if j == nil {
			continue
		}
		state, _, err := j.table.SuctionHeld(first.pressure[l.from]+j.shift, first.pressure[l.to]+j.shift, first.pressure[l.suction]+j.shift)
		if err == nil && state.Flow > 0 {
			s.m.share[l.component] = math.Min(0.5, state.Error/state.Flow)
		}
		// What the water can hold of pure oxygen at the outlet pressure at most.
		if h, err := fluid.HenryOxygen(first.w.water); err == nil && first.gas[i] > 0 {
			drawn += first.gas[i]
			held += h.High * first.pressure[l.to] * math.Max(0, first.flow[i]) / first.w.fluids[fluidWater].Density
		}
	}
	if drawn > 0 {
		s.m.released = math.Max(0, 1-held/drawn)
	}
	s.ready = true
	return nil
}

// setThrottles finds the flow coefficients to which throttled gas valves are set.
func (s *Solver) setThrottles(n *solved) {
	s.m.throttle = map[int32]float64{}
	for i := range n.w.links {
		l := &n.w.links[i]
		law, ok := l.law.(network.FlowControl)
		if !ok || math.IsNaN(n.flow[i]) {
			continue
		}
		kv := law.Kv
		if f := &n.w.fluids[fluidGas]; n.state[i] == network.Controlling && n.flow[i] > 0 {
			kv = math.Min(kv, gasCoefficient(f, n.pressure[l.from], n.pressure[l.to], n.flow[i]))
		}
		if kv > 0 {
			s.m.throttle[l.component] = kv
		}
	}
}

// gasCoefficient is the flow coefficient, m3/h at 1 bar, with which a valve passes flow, mol/s, from p1 to p2, Pa absolute.
//
// Source: IEC 60534-2-1: W = Kv Y sqrt(x p1 rho1) in the units of its definition with water of 999.1 kg/m3.
func gasCoefficient(f *network.Fluid, p1, p2, flow float64) float64 {
	limit := f.HeatRatio / 1.4 * valveRatio
	x := math.Min((p1-p2)/p1, limit)
	y := 1 - x/(3*limit)
	return 3600 * flow * f.MolarMass / (y * math.Sqrt(999.1e-5*f.GasDensity(p1)*x*p1))
}

// Case solves one case: at the best values, and with each uncertain datum at both of its ends in turn. The deviations that these
// make add up, as if all stood at their adverse ends together; that holds as long as they are small or work the same way.
// A plant of several islands is solved island by island. A plant that cannot be solved is no error: what is not known is named in the
// state. Errors: those of the context.
func (s *Solver) Case(ctx context.Context, at int) (*State, error) {
	d, err := s.apart(ctx)
	if err != nil {
		return nil, err
	}
	if d != nil {
		return d.solve(ctx, s.m.p, &s.cases[at], at)
	}
	if s.kept == nil || !s.keyed() {
		return s.solve(ctx, at)
	}
	if st := s.kept.take(s.keys[at], &s.cases[at]); st != nil {
		return st, nil
	}
	st, err := s.solve(ctx, at)
	if err == nil {
		s.kept.keep(s.keys[at], st)
	}
	return st, err
}

// keyed makes the keys of the cases; false where a message cannot be written, and so has no key.
func (s *Solver) keyed() bool {
	if s.keys == nil {
		s.keys, _ = caseKeys(s.m.p, s.cases)
	}
	return s.keys != nil
}

// apart gives the islands of the plant; nil where it is one. Errors: those of the context.
func (s *Solver) apart(ctx context.Context) (*islands, error) {
	if s.islands == nil {
		d, err := fallApart(ctx, s.m.p, s.cases)
		if err != nil {
			return nil, err
		}
		for _, own := range d.solvers {
			own.Keep(s.kept)
		}
		s.islands = d
	}
	if len(s.islands.lots) == 0 {
		return nil, nil
	}
	return s.islands, nil
}

// solve solves one case of a plant of one island.
func (s *Solver) solve(ctx context.Context, at int) (*State, error) {
	if err := s.prepare(ctx); err != nil {
		return nil, err
	}
	c := &s.cases[at]
	p := s.m.p
	var st *State
	for n, sc := range scenarios(p, c, s.m.phase) {
		h, err := s.hydraulics(ctx, &sc)
		if err != nil {
			return nil, err
		}
		one := s.gather(&sc, h)
		one.Solves = 1 + len(h.ends)
		if len(h.best.w.uncertain) > maxUncertain {
			one.forget(fmt.Sprintf("more than %d data are uncertain", maxUncertain))
		}
		if h != s.normal {
			h.best.w.free()
			for _, e := range h.ends {
				e.w.free()
			}
		}
		if n == 0 {
			st = one
		} else {
			st.widen(one)
		}
	}
	return st, nil
}

// hydraulics solves a scenario at all ends.
func (s *Solver) hydraulics(ctx context.Context, sc *scenario) (*hydraulics, error) {
	same := sc.failed < 0 && len(sc.c.Design.GetStates()) == 0 && (sc.c.Design == nil || sc.c.Design.WaterTemperatureK == nil)
	switch sc.c.Standard {
	case Normal, GeneratorOff, ColdDestruct, Purge:
	default:
		same = false
	}
	if same && s.normal != nil {
		return s.normal, nil
	}
	var h *hydraulics
	for {
		best, err := wire(&s.m, sc, variant{}).solve(ctx, nil)
		if err != nil {
			return nil, err
		}
		h = &hydraulics{best: best}
		if len(best.w.uncertain) <= maxUncertain {
			if h.ends, err = s.ends(ctx, sc, best); err != nil {
				return nil, err
			}
		}
		if !sc.arm(h) {
			break
		}
	}
	if same {
		s.normal = h
	}
	return h, nil
}

// single is the one scenario of a case.
func (s *Solver) single(at int) (scenario, error) {
	if at < 0 || at >= len(s.cases) {
		return scenario{}, fmt.Errorf("there is no case %d", at)
	}
	s.read()
	list := scenarios(s.m.p, &s.cases[at], s.m.phase)
	if len(list) != 1 {
		return scenario{}, fmt.Errorf("the case %s stands for %d scenarios, of which each has a state of its own", s.cases[at].ID, len(list))
	}
	return list[0], nil
}

// forget makes a state unknown.
func (st *State) forget(why string) {
	for i := range st.Ports {
		st.Ports[i].Known, st.Ports[i].Why = false, why
	}
	for i := range st.Ways {
		st.Ways[i].Known, st.Ways[i].Why = false, why
	}
}
