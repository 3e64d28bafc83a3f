package operate

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
)

// Elements in reserve stand shut until their pressure is reached: water seals, rupture discs and vacuum breakers. A case is solved with
// them shut; where that brings one beyond its pressure, at the best values or at an end of an uncertain datum, the case is solved again
// with that one armed, which lets it open by its own law. So what stands behind an element that stays shut matters nowhere else.
//
//   - A water seal between gas and gas holds until the difference across it, either way, is the column of its depth; beyond it gas
//     bubbles through, and nothing but the column is counted as lost. Water that drains through a seal is not counted.
//   - A vacuum breaker on a gas space lets air in so that the pressure does not fall below its set point, up to its stated capacity,
//     which holds at the set point. One on a water line is named where it would open: air in the water is not computed.
//   - A rupture disc stays shut; a case that reaches its burst pressure is named, for what follows is no steady state of the plant.

// wideOpen is the flow coefficient, m3/h at 1 bar, of a seal that is blown: nothing but its column is counted.
const wideOpen = 1000

// armed names an element in reserve that may open, back where it is reached from its outlet.
type armed struct {
	component int32
	back      bool
}

// isArmed tells whether an element in reserve may open in a scenario.
func (s *scenario) isArmed(component int32, back bool) bool {
	return slices.Contains(s.armed, armed{component, back})
}

// inReserve makes the links of an element in reserve.
func (w *wiring) inReserve(at int32) {
	c := &w.p.Components[at]
	from, to := c.FirstPort, c.FirstPort+1
	l := w.between(at, from, to)
	l.law, l.blocked = placeholder, true
	switch c.Kind {
	case plant.KindWaterSeal:
		ahead, back := w.s.isArmed(at, false), w.s.isArmed(at, true)
		if !ahead && !back {
			break
		}
		depth := w.number(c.Data.GetWaterSeal().DepthM, ref(at, "depth"))
		for _, d := range w.fluidLacks[fluidWater] {
			w.lack(d)
		}
		lacks, used := w.take(), w.takeUsed()
		for _, turned := range [2]bool{false, true} {
			if turned && !back || !turned && !ahead {
				continue
			}
			one := w.between(at, from, to)
			if one.back = turned; turned {
				one.from, one.to = one.to, one.from
			}
			one.missing, one.used, one.switches = lacks, used, true
			one.law = network.CheckValve{Valve: network.Valve{Kv: wideOpen, PressureRatioFactor: valveRatio},
				Opening: math.Max(0, depth) * w.fluids[fluidWater].Density * network.Gravity}
			w.add(one)
		}
		return
	case plant.KindVacuumBreaker:
		l = w.between(at, to, from)
		l.law, l.blocked = placeholder, true
		if w.p.Ports[to].Joints > 0 || w.s.isArmed(at, false) {
			w.fix(w.knotOf[to], 0)
		}
		if w.s.isArmed(at, false) {
			l.law, l.blocked, l.switches, l.fluid = w.breaker(at), false, true, fluidAir
		}
	}
	w.add(l)
}

// breaker is the law of a vacuum breaker that may open: a regulator that lets the stated capacity in at its set point.
func (w *wiring) breaker(at int32) network.Law {
	v := w.p.Components[at].Data.GetVacuumBreaker()
	gauge := w.number(v.OpeningPressurePaGauge, ref(at, "opening_pressure"))
	capacity := w.number(v.CapacityMolPerS, ref(at, "capacity"))
	f := &w.fluids[fluidAir]
	if len(w.missing) > 0 || f.MolarMass == 0 || w.atmosphere == 0 {
		return placeholder
	}
	p1, p2 := w.atmosphere, w.atmosphere+gauge
	if !(p2 > 0 && gauge < 0) {
		w.lack(ref(at, "opening_pressure"))
		return placeholder
	}
	if !(capacity > 0) {
		w.lack(ref(at, "capacity"))
		return placeholder
	}
	return network.Regulator{Valve: network.Valve{Kv: gasCoefficient(f, p1, p2, capacity), PressureRatioFactor: valveRatio}, Set: p2}
}

// reserved lists the elements in reserve that a solved scenario brings to their pressure. It marks those that cannot open by a law, and
// those that lack the datum that would tell.
func (s *solved) reserved() (reached []armed) {
	w := s.w
	for i := range w.links {
		l := &w.links[i]
		if l.component < 0 || !l.blocked {
			continue
		}
		at := l.component
		c := &w.p.Components[at]
		switch c.Kind {
		case plant.KindWaterSeal, plant.KindRuptureDisc, plant.KindVacuumBreaker:
		default:
			continue
		}
		in, out := s.portPressure(c.FirstPort), s.portPressure(c.FirstPort+1)
		gas := w.knots[w.knotOf[c.FirstPort]].phase == network.Gas
		switch c.Kind {
		case plant.KindWaterSeal:
			depth := c.Data.GetWaterSeal().DepthM
			d := math.Abs(in - out)
			if math.IsNaN(d) || !gas || w.knots[w.knotOf[c.FirstPort+1]].phase != network.Gas || d < reserveSlack {
				continue
			}
			low, _, known := w.ends(depth, ref(at, "depth"))
			switch {
			case !known:
				s.beyond[i] = "its depth is not stated"
			case d > low*w.fluids[fluidWater].Density*network.Gravity:
				reached = append(reached, armed{at, in < out})
			}
		case plant.KindRuptureDisc:
			low, _, known := w.ends(c.Data.GetRuptureDisc().BurstPressurePaGauge, ref(at, "burst_pressure"))
			behind := out
			if math.IsNaN(behind) {
				behind = w.atmosphere
			}
			if d := in - behind; known && d >= low {
				s.beyond[i] = "its burst pressure is reached"
			}
		case plant.KindVacuumBreaker:
			_, high, known := w.ends(c.Data.GetVacuumBreaker().OpeningPressurePaGauge, ref(at, "opening_pressure"))
			switch d := in - w.atmosphere; {
			case math.IsNaN(d) || d > -reserveSlack:
			case !known:
				s.beyond[i] = "its opening pressure is not stated"
			case d >= high:
			case gas:
				reached = append(reached, armed{at, false})
			default:
				s.beyond[i] = "it lets air into the water"
			}
		}
	}
	return reached
}

// reserveSlack in Pa is a difference that no element in reserve opens at.
const reserveSlack = 1

// ends are the ends between which a datum lies; false where it is neither stated nor assumed.
func (w *wiring) ends(x *float64, d Datum) (low, high float64, ok bool) {
	if x != nil {
		return *x, *x, true
	}
	if a := w.p.Assumed(d.Path(w.p)); a != nil {
		return a.GetLow(), a.GetHigh(), true
	}
	return 0, 0, false
}

// portPressure is the solved pressure at the height of a port; NaN where it is not known. What is shut in has none of its own.
func (s *solved) portPressure(port int32) float64 {
	w := s.w
	k := w.knotOf[port]
	n := &w.knots[k]
	p := s.pressure[k]
	if s.shutIn[k] {
		return math.NaN()
	}
	if n.phase == network.Liquid {
		if z, ok := Height(w.p, port); ok {
			p += w.fluids[fluidWater].Density * network.Gravity * (n.z - z)
		}
	}
	return p
}

// arm adds to the armed elements of a scenario those that a solution of it reaches; false where there are no new ones. What an end
// says of an element that opens by no law holds for the case.
func (s *scenario) arm(h *hydraulics) bool {
	reached := h.best.reserved()
	for _, v := range h.ends {
		reached = append(reached, v.reserved()...)
		for i := range v.w.links {
			if l := &v.w.links[i]; l.blocked && h.best.beyond[i] == "" {
				h.best.beyond[i] = v.beyond[i]
			}
		}
	}
	before := len(s.armed)
	for _, a := range reached {
		if !s.isArmed(a.component, a.back) {
			s.armed = append(s.armed, a)
		}
	}
	return len(s.armed) > before
}
