package unitop

import "github.com/skidrule/skidrule/internal/fluid"

// AirSaturated returns what water holds in equilibrium with moist air.
//
//   - t: water temperature in K, 273.15 to 313.15.
//   - p: pressure of the moist air in Pa absolute, above the vapour pressure of the water.
//
// Source: Henry's law with fluid.HenryOxygen, HenryNitrogen and HenryArgon on the dry part of the pressure.
func AirSaturated(t, p float64) (Dissolved, error) {
	w, err := NewContactWater(t)
	if err != nil {
		return Dissolved{}, err
	}
	return w.AirSaturated(p)
}

// AirSaturated is the function of that name for water whose properties are known.
func (w *ContactWater) AirSaturated(p float64) (Dissolved, error) {
	if err := fluid.Within("air pressure", p, w.vapour, 2e6, "Pa"); err != nil {
		return Dissolved{}, err
	}
	air := fluid.DryAir()
	dry := p - w.vapour
	return Dissolved{
		O2: w.henry[0].Best * air.O2 * dry,
		N2: w.henry[1].Best * air.N2 * dry,
		Ar: w.henry[2].Best * air.Ar * dry,
	}, nil
}
