package operate

import (
	"context"
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/crew"
	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
)

// maxUncertain bounds the uncertain data of a plant: both ends of each are solved in every case.
const maxUncertain = 64

// Solver solves the cases of one plant. It is for one goroutine.
type Solver struct {
	m     model
	cases []Case
	ready bool // prepared
	// Cases in which nothing but generators and destructs stands otherwise are solved once.
	normal  *hydraulics
	islands *islands // made when the first case is solved
	kept    *Kept    // nil where nothing is kept
	keys    []Key    // of the cases, where states are kept
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
	s := &Solver{m: model{p: p, phase: phases(p), tables: injectorTables(p), released: -1}, cases: cases}
	s.m.joints = newJoints(&s.m)
	return s
}

// Keep lets the solver take states that were kept, and keep its own.
func (s *Solver) Keep(k *Kept) { s.kept = k }

// prepare sets throttled gas valves as on site, so that in normal operation the design flow passes, and reads the spread of the
// injectors at their operating points. Errors: those of the context.
func (s *Solver) prepare(ctx context.Context) error {
	if s.ready {
		return nil
	}
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
		j := first.w.jetOf(l)
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

// SolveAll solves every case that can occur.
func SolveAll(ctx context.Context, p *plant.Plant, cases []Case) (*States, error) {
	s, err := NewSolver(p, cases)
	if err != nil {
		return nil, err
	}
	out := &States{Plant: p, Cases: cases, States: make([]*State, len(cases))}
	for i := range cases {
		if cases[i].Excluded != "" {
			continue
		}
		if out.States[i], err = s.Case(ctx, i); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// Solve solves one case of a plant by itself. Errors: those of the context. A plant that cannot be solved is no error: what is not
// known is named in the state.
func Solve(ctx context.Context, p *plant.Plant, c Case) (*State, error) {
	s, err := NewSolver(p, []Case{c})
	if err != nil {
		return nil, err
	}
	return s.Case(ctx, 0)
}

// Case solves one case: at the best values, and with each uncertain datum at both of its ends in turn. The deviations that these
// make add up, as if all stood at their adverse ends together; that holds as long as they are small or work the same way.
// A plant of several islands is solved island by island. Errors: those of the context.
func (s *Solver) Case(ctx context.Context, at int) (*State, error) {
	if d := s.apart(); d != nil {
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
		s.keys, _ = Keys(s.m.p, s.cases)
	}
	return s.keys != nil
}

// apart gives the islands of the plant; nil where it is one.
func (s *Solver) apart() *islands {
	if s.islands == nil {
		s.islands = fallApart(s.m.p, s.cases)
		for _, own := range s.islands.solvers {
			own.Keep(s.kept)
		}
	}
	if len(s.islands.lots) == 0 {
		return nil
	}
	return s.islands
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

// ends solves a scenario at both ends of each uncertain datum in turn, on all cores: each end is a network of its own that starts
// from the best values, so that their order does not matter.
func (s *Solver) ends(ctx context.Context, sc *scenario, best *solved) ([]*solved, error) {
	data := best.w.uncertain
	out := make([]*solved, 2*len(data))
	err := crew.Each(len(out), func(i int) (err error) {
		out[i], err = wire(&s.m, sc, variant{data[i/2], int8(2*(i%2) - 1)}).solve(ctx, best)
		return err
	})
	if err != nil {
		return nil, err
	}
	return out, nil
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

// deviation adds what the ends of uncertain data make of a value.
func deviation(best float64, ends []*solved, read func(*solved) float64) (Span, bool) {
	out := Span{best, best, best}
	if math.IsNaN(best) {
		return out, false
	}
	least, most := best, best
	for i := 0; i+1 < len(ends); i += 2 {
		a, b := read(ends[i]), read(ends[i+1])
		if math.IsNaN(a) || math.IsNaN(b) {
			return out, false
		}
		out.Low += math.Min(0, math.Min(a, b)-best)
		out.High += math.Max(0, math.Max(a, b)-best)
		least, most = math.Min(least, math.Min(a, b)), math.Max(most, math.Max(a, b))
	}
	// A flow that no end turns round is not turned round by adding ends up.
	if least >= 0 {
		out.Low = math.Max(0, out.Low)
	}
	if most <= 0 {
		out.High = math.Min(0, out.High)
	}
	return out, true
}

// gather turns solved networks into the state of a case.
func (s *Solver) gather(sc *scenario, h *hydraulics) *State {
	ends, p, c := h.ends, s.m.p, sc.c
	// What the gas is and how warm it is depends on the scenario, even where the hydraulics are those of another one.
	best, w := *h.best, *h.best.w
	w.s = sc
	best.w = &w
	st := &State{Case: c, Ports: make([]PortState, len(p.Ports)), Ways: make([]WayState, len(p.Ways)), Imbalance: best.imbalance, Residual: best.residual,
		Atmosphere: w.atmosphere, WaterK: w.water, Density: w.fluids[fluidWater].Density}
	for _, e := range ends {
		st.Imbalance, st.Residual = math.Max(st.Imbalance, e.imbalance), math.Max(st.Residual, e.residual)
	}
	s.gatherPorts(st, &best, ends)
	gatherWays(st, &best, ends)
	s.gatherVents(st, &w)
	s.spreadAlong(st)
	gatherExchanges(st, &best, ends)
	return st
}

// gatherPorts puts together what is known at each port, between the ends of the uncertain data.
func (s *Solver) gatherPorts(st *State, best *solved, ends []*solved) {
	w := best.w
	beyond := best.beyondParts()
	compositions := best.compositions()
	for i := range st.Ports {
		q := &st.Ports[i]
		k := w.knotOf[i]
		n := &w.knots[k]
		q.Phase, q.Missing, q.Why, q.ShutIn = n.phase, best.missing[k], best.why[k], best.shutIn[k]
		q.Assumed = w.assumed
		q.Beyond = beyond[k]
		q.Temperature = s.temperature(best, int32(i))
		if n.phase == network.Gas {
			if g, ok := compositions[k]; ok {
				q.Gas, q.GasKnown = g, true
			}
		}
		shift := 0.0
		if n.phase == network.Liquid {
			z, d, ok := w.height(int32(i))
			if !ok {
				q.Missing = joinData(q.Missing, []Datum{d})
				continue
			}
			shift = st.Density * network.Gravity * (n.z - z)
		}
		q.Pressure, q.Known = deviation(best.pressure[k]+shift, ends, func(e *solved) float64 { return e.pressure[k] + shift })
		if !q.Known && q.Why == "" && len(q.Missing) == 0 {
			q.Why = "no steady state was found at one end of the uncertain data"
		}
		if q.Known && n.phase == network.Liquid {
			// A column of water cannot be pulled below its vapour pressure: it breaks.
			pv := w.fluids[fluidWater].VapourPressure
			q.Pressure = Span{math.Max(pv, q.Pressure.Low), math.Max(pv, q.Pressure.Best), math.Max(pv, q.Pressure.High)}
		}
		if q.Known {
			q.Pressure.Low = math.Max(0, q.Pressure.Low)
		}
	}
}

// gatherWays puts together what flows along each way that a link stands for, between the ends of the uncertain data.
func gatherWays(st *State, best *solved, ends []*solved) {
	w := best.w
	for i := range st.Ways {
		st.Ways[i].Why = "nothing is computed of this way"
	}
	for i := range w.links {
		l := &w.links[i]
		if l.way < 0 {
			continue
		}
		q := &st.Ways[l.way]
		unit := 1.0
		if w.knots[l.from].phase == network.Liquid && !l.vessel && st.Density > 0 {
			unit = 1 / st.Density
		}
		q.Why, q.Missing, q.Assumed, q.Beyond, q.State = best.why[l.from], best.missing[l.from], w.assumed, best.beyond[i], best.state[i]
		if l.back {
			unit = -unit
		}
		before, other := q.Flow, l.back && q.Known // the same way forwards
		q.Flow, q.Known = deviation(unit*best.flow[i], ends, func(e *solved) float64 { return unit * e.flow[i] })
		if other && q.Known {
			q.Flow = Span{q.Flow.Low + before.Low, q.Flow.Best + before.Best, q.Flow.High + before.High}
		}
		if q.Known {
			q.Why = ""
			q.Missing = nil
		}
		q.Carried, _ = deviation(zeroed(best.gas[i]), ends, func(e *solved) float64 { return zeroed(e.gas[i]) })
		if l.component < 0 {
			q.Velocity, _ = deviation(zeroed(best.velocity[i]), ends, func(e *solved) float64 { return zeroed(e.velocity[i]) })
		}
		q.NPSH, _ = deviation(zeroed(best.npsh[i]), ends, func(e *solved) float64 { return zeroed(e.npsh[i]) })
	}
}

// gatherVents gives the way to the chamber of a float vent what the vent passes.
func (s *Solver) gatherVents(st *State, w *wiring) {
	p := s.m.p
	for id := range w.vents {
		q := &p.Ways[id]
		for _, port := range [2]int32{q.From, q.To} {
			if isFloat(p, port) {
				for _, other := range p.WaysAt(port) {
					if o := &p.Ways[other]; !o.IsPipe() && o.From == port {
						st.Ways[id] = st.Ways[other]
						st.Ways[id].Velocity, st.Ways[id].State = Span{}, network.Open
					}
				}
			}
		}
	}
}

// gatherExchanges puts together what comes and goes at the fixed pressures and demands.
func gatherExchanges(st *State, best *solved, ends []*solved) {
	w := best.w
	for k := range w.knots {
		n := &w.knots[k]
		if !n.fixed && n.inflow == 0 {
			continue
		}
		unit := 1.0
		if n.phase == network.Liquid && st.Density > 0 {
			unit = 1 / st.Density
		}
		read := func(e *solved) float64 {
			if math.IsNaN(e.pressure[k]) {
				return math.NaN()
			}
			return unit * (e.exchange[k] + e.w.knots[k].inflow)
		}
		if flow, ok := deviation(read(best), ends, read); ok {
			owner := n.own
			if owner < 0 {
				owner = w.ownerOf(int32(k))
			}
			st.Exchanges = append(st.Exchanges, Exchange{owner, n.phase, flow})
		}
	}
}

func zeroed(x float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return x
}

// ownerOf is the component of the first port of a knot.
func (w *wiring) ownerOf(k int32) int32 {
	for i, q := range w.knotOf {
		if q == k {
			return w.p.Ports[i].Component
		}
	}
	return -1
}

// spreadAlong widens the pressures between the ends of a line: how its length and losses are shared out over its pipes is not
// stated, so that all of them may lie before or behind a place on it.
func (s *Solver) spreadAlong(st *State) {
	p := s.m.p
	for i := range p.Lines {
		l := &p.Lines[i]
		pipes := make([]int32, 0, l.NumWays) // that have a share in its losses
		for k := l.FirstWay; k < l.FirstWay+l.NumWays; k++ {
			if !s.m.joints.vents[k] {
				pipes = append(pipes, k)
			}
		}
		if len(pipes) < 2 {
			continue
		}
		drop := make([]float64, len(pipes))
		total := 0.0
		for j, k := range pipes {
			q := &p.Ways[k]
			a, b := &st.Ports[q.From], &st.Ports[q.To]
			if a.Known && b.Known && st.Ways[k].Known {
				d := a.Pressure.Best - b.Pressure.Best
				if a.Phase == network.Liquid {
					za, oka := heightOf(p, q.From)
					zb, okb := heightOf(p, q.To)
					if oka && okb {
						d += st.Density * network.Gravity * (za - zb)
					}
				}
				drop[j] = d
			}
			total += drop[j]
		}
		before := 0.0
		for j := 0; j+1 < len(drop); j++ {
			before += drop[j]
			up, down := before, total-before
			if up < 0 || down < 0 {
				up, down = math.Abs(down), math.Abs(up)
			}
			for _, port := range [2]int32{p.Ways[pipes[j]].To, p.Ways[pipes[j+1]].From} {
				if q := &st.Ports[port]; q.Known {
					q.Pressure.Low, q.Pressure.High = math.Max(0, q.Pressure.Low-down), q.Pressure.High+up
				}
			}
		}
	}
}

// widen makes a state hold another scenario of the same case too.
func (st *State) widen(o *State) {
	st.Solves += o.Solves
	st.Imbalance, st.Residual = math.Max(st.Imbalance, o.Imbalance), math.Max(st.Residual, o.Residual)
	for i := range st.Ports {
		a, b := &st.Ports[i], &o.Ports[i]
		if a.Known && b.Known {
			a.Pressure.hull(b.Pressure)
		} else if a.Known {
			a.Known, a.Why, a.Missing = false, b.Why, b.Missing
		}
		a.Missing, a.Assumed, a.Beyond = joinData(a.Missing, b.Missing), joinData(a.Assumed, b.Assumed), joinData(a.Beyond, b.Beyond)
		a.ShutIn = a.ShutIn || b.ShutIn
	}
	for i := range st.Ways {
		a, b := &st.Ways[i], &o.Ways[i]
		if a.Known && b.Known {
			a.Flow.hull(b.Flow)
			a.Carried.hull(b.Carried)
			a.Velocity.hull(b.Velocity)
		} else if a.Known {
			a.Known, a.Why, a.Missing = false, b.Why, b.Missing
		}
		if a.Beyond == "" {
			a.Beyond = b.Beyond
		}
	}
	for i := range st.Exchanges {
		if i < len(o.Exchanges) && o.Exchanges[i].Component == st.Exchanges[i].Component {
			st.Exchanges[i].Flow.hull(o.Exchanges[i].Flow)
		}
	}
}
