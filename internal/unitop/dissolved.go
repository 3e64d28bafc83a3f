package unitop

import "github.com/skidrule/skidrule/internal/fluid"

// AirSaturated returns what water holds in equilibrium with moist air.
//
//   - t: water temperature in K, 273.15 to 313.15.
//   - p: pressure of the moist air in Pa absolute, above the vapour pressure of the water.
//
// Source: Henry's law with fluid.HenryOxygen, HenryNitrogen and HenryArgon on the dry part of the pressure.
func AirSaturated(t, p float64) (Dissolved, error) {
	vapour, err := fluid.WaterSaturationPressure(t)
	if err != nil {
		return Dissolved{}, err
	}
	if err := fluid.Within("air pressure", p, vapour, 2e6, "Pa"); err != nil {
		return Dissolved{}, err
	}
	dry := fluid.DryAir()
	var d Dissolved
	for _, g := range [3]struct {
		into  *float64
		share float64
		henry func(float64) (fluid.Range, error)
	}{{&d.O2, dry.O2, fluid.HenryOxygen}, {&d.N2, dry.N2, fluid.HenryNitrogen}, {&d.Ar, dry.Ar, fluid.HenryArgon}} {
		h, err := g.henry(t)
		if err != nil {
			return Dissolved{}, err
		}
		*g.into = h.Best * g.share * (p - vapour)
	}
	return d, nil
}
