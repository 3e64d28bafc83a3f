package fact

import (
	"math"

	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
)

// mostBursts is the number of float vents up to which each is solved by itself. With more, bursts rest on their orifices alone.
const mostBursts = 12

// solvedBursts is the gas ways behind float vents, solved with the vents fully open before the highest pressure of their vessels.
type solvedBursts struct {
	alone    map[int32]operate.Span // mol/s of each vent while the others are shut: what stands behind it is then least
	together *operate.Burst         // all at once: what stands behind them is then most
}

// solvedBursts solves the bursts; nil where no case is solved or there is no vent.
func (w *World) solvedBursts(x *ventLoads) *solvedBursts {
	vents := w.OfKind(plant.KindFloatVentValve)
	if !w.solves() || len(vents) == 0 {
		return nil
	}
	gauge := map[int32]float64{}
	for _, v := range vents {
		if vessel, ok := x.vesselOf.find(v); ok {
			if high := w.vesselPressure(vessel).High; !math.IsInf(high, 0) {
				gauge[v] = max(0, high)
			}
		}
	}
	s := &solvedBursts{alone: map[int32]operate.Span{}}
	if len(vents) <= mostBursts {
		for _, v := range vents {
			if p, ok := gauge[v]; ok {
				if b, err := w.bursts(map[int32]float64{v: p}); err == nil {
					if flow, known := b.Flow[v]; known {
						s.alone[v] = flow
					}
				}
			}
		}
	}
	if len(gauge) < len(vents) {
		return s // what stands behind vents of unknown pressure is not known
	}
	if b, err := w.bursts(gauge); err == nil {
		s.together = b
	}
	return s
}

// limit lowers the burst of a float vent to what the ways behind it let through at the high end of what is uncertain. It is never more
// than what its orifice passes into the open.
func (s *solvedBursts) limit(vent int32, bound Number) Number {
	if s == nil {
		return bound
	}
	if flow, ok := s.alone[vent]; ok {
		bound.Low, bound.High = min(bound.Low, flow.High), min(bound.High, flow.High)
	}
	return bound
}

// behind is the gauge pressure at a port while all vents stand open; false where the bursts are not solved at all.
func (s *solvedBursts) behind(port int32) (Number, bool) {
	if s == nil {
		return Number{}, false
	}
	if s.together == nil {
		return Missing(), true
	}
	q := &s.together.Ports[port]
	if !q.Known {
		return Missing(datumRefs(q.Missing)...), true
	}
	return between(q.Pressure.Low-s.together.Atmosphere, q.Pressure.High-s.together.Atmosphere), true
}

// burstBasis says whether the burst of a float vent is solved or bounded.
func (w *World) burstBasis(vents ...int32) Text {
	s := w.ventLoads().solved
	for _, v := range vents {
		if s == nil {
			return Text{Value: "bounded: orifice into the open air"}
		}
		if _, ok := s.alone[v]; !ok {
			return Text{Value: "bounded: orifice into the open air"}
		}
	}
	return Text{Value: "solved with the lines behind it"}
}

// backPressureBasis says whether the back pressure of a float vent is solved.
func (w *World) backPressureBasis(vent int32) Text {
	n, asked := w.ventLoads().solved.behind(w.Plant.PortByTrait(vent, 1))
	switch {
	case asked && !n.Unknown():
		return Text{Value: "solved, all vents open"}
	case asked:
		return Text{Value: "not solved: data is missing"}
	}
	return Text{Value: "parts alone, without pipes"}
}

// makesOzone tells the cases in which generators run and water flows: what comes to a destruct in others bears no ozone.
func makesOzone(c *operate.Case) bool {
	switch c.Standard {
	case operate.Normal, operate.LowFlow, operate.HighFlow, operate.ZeroTransfer, operate.ColdDestruct:
		return true
	}
	return false
}

// solvedThrough is the highest gas flow in mol/s through a destruct over the solved cases that bring ozone, from inlet to outlet, with
// the case in which it comes about; -1 where no case knows it. open lists data for want of which a case that can occur does not tell it.
func (w *World) solvedThrough(component int32) (n Number, at int32, open []Ref) {
	c := &w.Plant.Components[component]
	n, at = Missing(), -1
	for _, way := range w.passages(component) {
		if q := &w.Plant.Ways[way]; q.From != c.FirstPort || q.To != c.FirstPort+1 {
			continue
		}
		for i := range w.Cases {
			st := w.solvedCase(int32(i))
			if st == nil || !makesOzone(&w.Cases[i]) {
				continue
			}
			f := &st.Ways[way]
			switch {
			case !f.Known || f.Beyond != "":
				open = joinRefs(open, statable(datumRefs(f.Missing)))
			case at < 0 || f.Flow.High > n.High:
				n, at = between(min(max(0, f.Flow.Low), f.Flow.High), f.Flow.High), int32(i)
			}
		}
	}
	if at < 0 {
		n.Missing = open
	}
	return n, at, open
}

// solvedStrength is the strongest ozone in the gas that comes to a destruct in a solved case while nothing dissolves, as a mass
// fraction; 0 where it is not known.
func (w *World) solvedStrength(destruct int32) float64 {
	strongest := 0.0
	port := w.Plant.PortByTrait(destruct, 0)
	for i := range w.Cases {
		if st := w.solvedCase(int32(i)); st != nil && st.Ports[port].GasKnown {
			if x, err := st.Ports[port].Gas.OzoneMassFraction(); err == nil {
				strongest = max(strongest, x)
			}
		}
	}
	return strongest
}
