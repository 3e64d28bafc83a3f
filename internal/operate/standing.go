package operate

import (
	"math"

	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
)

// Standing is the water in the gas line of an injector in a case in which the gas stands still.
type Standing struct {
	Injector int32
	Case     int
	// GradeLine is the elevation in m up to which the water pressure at the suction port would lift water into a line that is open
	// to the atmosphere above it.
	GradeLine Span
	// Vacuum is the lowest gauge pressure in Pa at the suction port; 0 where there is none.
	Vacuum float64
}

// Standing lists the standing water and the vacuum at every injector, in order of injectors and cases, as far as it is known.
//
// Source: hydrostatics.
func (s *States) Standing() []Standing {
	var out []Standing
	for i := range s.Plant.Components {
		c := &s.Plant.Components[i]
		if c.Kind != plant.KindVenturiInjector {
			continue
		}
		outlet, suction := c.FirstPort+2, c.FirstPort+1
		for at, st := range s.States {
			if st == nil || !st.Ports[outlet].Known || st.Density == 0 {
				continue
			}
			z, ok := Height(s.Plant, outlet)
			if !ok {
				continue
			}
			p := st.Ports[outlet].Pressure
			lift := func(p float64) float64 { return z + (p-st.Atmosphere)/(st.Density*network.Gravity) }
			e := Standing{Injector: int32(i), Case: at, GradeLine: Span{lift(p.Low), lift(p.Best), lift(p.High)}}
			if q := &st.Ports[suction]; q.Known {
				e.Vacuum = math.Min(0, q.Pressure.Low-st.Atmosphere)
			}
			out = append(out, e)
		}
	}
	return out
}

// Height is the elevation of a port in m: its own, else that of its component; false where neither is stated.
func Height(p *plant.Plant, port int32) (float64, bool) {
	q := &p.Ports[port]
	if q.Stated != nil && q.Stated.ElevationM != nil {
		return *q.Stated.ElevationM, true
	}
	if e := p.Components[q.Component].Data.ElevationM; e != nil {
		return *e, true
	}
	return 0, false
}
