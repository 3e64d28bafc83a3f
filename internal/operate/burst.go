package operate

import (
	"context"
	"math"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
)

// burstTemperature is that of the coldest gas over water, K: most molecules pass an orifice then.
const burstTemperature = 273.15

// Burst is the gas ways behind float vents while all of them stand fully open at once.
type Burst struct {
	Atmosphere float64 // Pa absolute; 0 where it is not known
	// Ports by index, as in a solved case; only gas ways behind float vents are known.
	Ports []PortState
	// Flow of each float vent in mol/s, by component. A vent that is not in it is not known.
	Flow map[int32]Span
	// Missing lists what is missing by float vent.
	Missing map[int32][]Datum
}

// Bursts solves the gas ways behind float vents that all stand fully open before gas of the given gauge pressures in Pa, by
// component of the vent. The gas is air at the freezing point of water, of which most molecules pass an orifice; what the ways hold
// back is the same for any gas that an orifice lets in, since both go with the mass flow. Blowers stand, so that nothing helps.
//
// Errors: those of the context.
func (s *Solver) Bursts(ctx context.Context, gauge map[int32]float64) (*Burst, error) {
	d, err := s.apart(ctx)
	if err != nil {
		return nil, err
	}
	if d != nil {
		return d.bursts(ctx, s.m.p, gauge)
	}
	if err := s.prepare(ctx); err != nil {
		return nil, err
	}
	sc := scenario{c: &Case{ID: BlowerLost.ID(), Standard: BlowerLost}, failed: -1, burst: true}
	out := &Burst{Flow: map[int32]Span{}, Missing: map[int32][]Datum{}}
	best, vents, err := s.burst(ctx, &sc, variant{}, gauge, nil)
	if err != nil {
		return nil, err
	}
	var ends []*solved
	if len(best.w.uncertain) <= maxUncertain {
		for _, d := range best.w.uncertain {
			for _, end := range []int8{-1, 1} {
				v, _, err := s.burst(ctx, &sc, variant{d, end}, gauge, best)
				if err != nil {
					return nil, err
				}
				ends = append(ends, v)
			}
		}
	}
	w := best.w
	out.Atmosphere = w.atmosphere
	out.Ports = make([]PortState, len(s.m.p.Ports))
	behind := map[int32]bool{}
	for i := range w.links {
		l := &w.links[i]
		behind[l.from], behind[l.to] = true, true
		if !vents[i] {
			continue
		}
		if flow, ok := deviation(best.flow[i], ends, func(e *solved) float64 { return e.flow[i] }); ok {
			out.Flow[l.component] = flow
		} else {
			out.Missing[l.component] = best.missing[l.to]
		}
	}
	for i := range out.Ports {
		q, k := &out.Ports[i], w.knotOf[i]
		q.Phase = w.knots[k].phase
		if !behind[k] || q.Phase != network.Gas {
			continue
		}
		q.Missing, q.Why, q.ShutIn = best.missing[k], best.why[k], best.shutIn[k]
		q.Pressure, q.Known = deviation(best.pressure[k], ends, func(e *solved) float64 { return e.pressure[k] })
	}
	return out, nil
}

// burstGas puts the gas of a burst in the place of what flows in the cases.
func (w *wiring) burstGas() {
	f, ok := gasFluid(fluid.DryAir(), burstTemperature)
	if !ok {
		return
	}
	for _, i := range [...]int{fluidGas, fluidAir} {
		w.fluids[i], w.fluidLacks[i], w.fluidUsed[i] = f, w.airLacks, w.airUsed
	}
}

// burst solves one variant. It tells which of the links are float vents.
func (s *Solver) burst(ctx context.Context, sc *scenario, v variant, gauge map[int32]float64, base *solved) (*solved, map[int]bool, error) {
	w := wire(&s.m, sc, v)
	sets := flowpath.NewSets(len(w.knots))
	float := func(l *link) bool {
		return l.component >= 0 && w.p.Components[l.component].Kind == plant.KindFloatVentValve
	}
	for i := range w.links {
		if l := &w.links[i]; !l.blocked && !l.vessel && !float(l) && l.suction < 0 {
			sets.Join(l.from, l.to)
		}
	}
	behind := map[int32]bool{}
	for i := range w.links {
		if l := &w.links[i]; float(l) && w.knots[l.to].phase == network.Gas {
			behind[sets.Root(l.to)] = true
		}
	}
	var kept []link
	vents := map[int]bool{}
	for i := range w.links {
		l := w.links[i]
		switch {
		case float(&l):
			p, open := gauge[l.component]
			if !open || !behind[sets.Root(l.to)] {
				continue
			}
			l.from = w.extra(l.component)
			w.fix(l.from, p)
			l.law, l.missing = w.fullOpen(l.component, w.fluids[fluidAir])
			l.switches = false
			vents[len(kept)] = true
		case l.vessel || l.suction >= 0 || !behind[sets.Root(l.to)] && !behind[sets.Root(l.from)]:
			continue
		}
		kept = append(kept, l)
	}
	w.links = kept
	sol, err := w.solve(ctx, base)
	return sol, vents, err
}

// fullOpen is a float vent as an orifice: of its stated capacity, else of its bore.
func (w *wiring) fullOpen(at int32, air network.Fluid) (network.Law, []Datum) {
	v := w.p.Components[at].Data.GetFloatVentValve()
	if v.CapacityMolPerS != nil && v.CapacityDifferencePa != nil && w.atmosphere > 0 {
		gas := unitop.Gas{MolarMass: air.MolarMass, HeatRatio: air.HeatRatio, Compressibility: 1}
		area, err := unitop.OrificeGasArea(*v.CapacityMolPerS*gas.MolarMass, ventCoefficient, w.atmosphere+*v.CapacityDifferencePa, w.atmosphere, burstTemperature, gas)
		if err == nil && area > 0 {
			return network.Orifice{Diameter: math.Sqrt(4 * area / math.Pi), Coefficient: ventCoefficient}, nil
		}
	}
	d := w.number(v.OrificeDiameterM, ref(at, "orifice_diameter"))
	return network.Orifice{Diameter: d, Coefficient: ventCoefficient}, w.take()
}
