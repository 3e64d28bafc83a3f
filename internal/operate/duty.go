package operate

import (
	"context"
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
)

// Point is a point of a curve.
type Point struct{ X, Y float64 }

// speeds at which a pump is run to find the curve of the system around it, over its speed in the case.
var speeds = [...]float64{0.6, 0.7, 0.8, 0.9, 1, 1.1}

// SystemCurve gives the pressure rise in Pa that the system around a pump asks for at flows in m3/s: what comes about when the pump
// runs slower or faster. The last result is the duty point at its own speed; false where it is not known or the pump stands.
func (s *Solver) SystemCurve(ctx context.Context, at int, pump int32) (system []Point, duty Point, ok bool, err error) {
	d, err := s.apart(ctx)
	if err != nil {
		return nil, Point{}, false, err
	}
	if d != nil {
		for i, lot := range d.lots {
			if place, ok := lot.Place(pump); ok {
				return d.solvers[i].SystemCurve(ctx, at, place)
			}
		}
	}
	c := &s.cases[at]
	base := scenario{c: c, failed: -1}
	if err := s.prepare(ctx); err != nil {
		return nil, Point{}, false, err
	}
	own := base.speed(s.m.p, pump)
	if own == 0 || s.m.p.Components[pump].Kind != plant.KindPump {
		return nil, Point{}, false, nil
	}
	for _, k := range speeds {
		sc := base
		sc.turned, sc.turnedTo = pump, math.Min(2, k*own)
		sol, err := wire(&s.m, &sc, variant{}).solve(ctx, nil)
		if err != nil {
			return nil, Point{}, false, err
		}
		for i := range sol.w.links {
			l := &sol.w.links[i]
			if _, is := l.law.(network.Pump); !is || l.component != pump || math.IsNaN(sol.flow[i]) {
				continue
			}
			rho := sol.w.fluids[fluidWater].Density
			q := Point{sol.flow[i] / rho, sol.pressure[l.to] - sol.pressure[l.from] + rho*network.Gravity*(sol.w.knots[l.to].z-sol.w.knots[l.from].z)}
			if q.X > 0 {
				system = append(system, q)
			}
			if k == 1 {
				duty, ok = q, true
			}
		}
	}
	return system, duty, ok, nil
}

// SuctionCurve gives the gas in mol/s that an injector draws against the outlet gauge pressure in Pa, at the inlet and suction
// pressure of a solved case, over the outlet pressures that its table holds, with the point at which it works; false where that is
// not known or lies outside the table.
func (s *Solver) SuctionCurve(st *State, injector int32) (curve []Point, duty Point, ok bool) {
	s.read()
	c := &s.m.p.Components[injector]
	table := s.m.tables[injector]
	in, suction, out := &st.Ports[c.FirstPort], &st.Ports[c.FirstPort+1], &st.Ports[c.FirstPort+2]
	if table == nil || !in.Known || !suction.Known || !out.Known {
		return nil, Point{}, false
	}
	shift := tableAtmosphere - st.Atmosphere
	low, high, err := table.OutletSpan(in.Pressure.Best + shift)
	if err != nil {
		return nil, Point{}, false
	}
	for i := range s.m.p.Ways {
		if q := &s.m.p.Ways[i]; q.From == c.FirstPort && q.To == c.FirstPort+2 && st.Ways[i].Known {
			duty, ok = Point{out.Pressure.Best - st.Atmosphere, st.Ways[i].Carried.Best}, true
		}
	}
	here, _, err := table.SuctionHeld(in.Pressure.Best+shift, out.Pressure.Best+shift, suction.Pressure.Best+shift)
	if !ok || err != nil || here.Flow <= 0 {
		return nil, duty, false
	}
	// What is drawn in service over what the table draws of its own gas.
	factor := duty.Y / here.Flow
	const steps = 40
	for i := 0; i <= steps; i++ {
		p := low + (high-low)*float64(i)/steps
		if f, _, err := table.SuctionHeld(in.Pressure.Best+shift, p, suction.Pressure.Best+shift); err == nil {
			curve = append(curve, Point{p - tableAtmosphere, factor * f.Flow})
		}
	}
	return curve, duty, true
}

// Drawn gives the gas that an injector draws by its table at gauge pressures in Pa of its motive inlet, suction port and outlet in
// a case, of the gas that generators are fed with. Errors: a case or injector that there is not, a table that is not stated or
// does not reach so far, and gas data that is missing.
func (s *Solver) Drawn(at int, injector int32, inlet, suction, outlet float64) (unitop.Drawn, error) {
	sc, err := s.single(at)
	if err != nil {
		return unitop.Drawn{}, err
	}
	table := s.m.tables[injector]
	if table == nil {
		return unitop.Drawn{}, fmt.Errorf("%s states no performance table that can be read", s.m.p.Components[injector].Tag)
	}
	w := wire(&s.m, &sc, variant{})
	if lacks := w.fluidLacks[fluidGas]; len(lacks) > 0 {
		return unitop.Drawn{}, fmt.Errorf("%s is not stated", lacks[0].Path(s.m.p))
	}
	gas := unitop.SuctionGas{MolarMass: w.fluids[fluidGas].MolarMass, Temperature: w.gasT}
	return table.Draw(inlet+tableAtmosphere, outlet+tableAtmosphere, suction+tableAtmosphere, gas)
}
