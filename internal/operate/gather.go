package operate

import (
	"math"

	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
)

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

// beyondParts names for each knot the curves and tables that end before the solved state, wherever it depends on them.
func (s *solved) beyondParts() [][]Datum {
	w := s.w
	part := s.plan.part
	own := make([][]Datum, len(w.knots))
	for i := range w.links {
		l := &w.links[i]
		if s.beyond[i] == "" || l.component < 0 {
			continue
		}
		field := "curve"
		switch w.p.Components[l.component].Kind {
		case plant.KindVenturiInjector:
			field = "performance"
		case plant.KindOxygenConcentrator:
			field = "product"
		case plant.KindWaterSeal:
			field = "depth"
		case plant.KindRuptureDisc:
			field = "burst_pressure"
		case plant.KindVacuumBreaker:
			field = "opening_pressure"
		case plant.KindPump, plant.KindBlower, plant.KindCompressor:
		default:
			continue
		}
		at := part[l.from]
		if field == "opening_pressure" { // what it draws on is the atmosphere
			at = part[l.to]
		}
		own[at] = joinData(own[at], []Datum{ref(l.component, field)})
	}
	spread(own, s.plan.depends)
	out := make([][]Datum, len(w.knots))
	for k := range out {
		out[k] = own[part[k]]
	}
	return out
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
					za, oka := Height(p, q.From)
					zb, okb := Height(p, q.To)
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
