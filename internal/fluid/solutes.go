package fluid

// Solutes is how the gases of air and ozone dissolve and spread in water at one temperature.
type Solutes struct {
	// Solubility in mol/(m3 Pa) and diffusivity in m2/s, in the order oxygen, nitrogen, argon, ozone.
	Henry, Diffusivity [4]Range
}

// SolutesAt returns what [HenryOxygen], [DiffusivityOxygen] and their kin return at a temperature, each the same to the last bit. The
// density and the viscosity of the water, which most of the time goes into, are found once for all of them.
//
//   - t: temperature, 273.15 to 313.15 K.
//
// Outside the range: an error.
//
// Source: as those functions.
func SolutesAt(t float64) (Solutes, error) {
	var s Solutes
	if err := checkHenry(t); err != nil {
		return s, err
	}
	var err error
	if s.Henry[0], err = HenryOxygen(t); err != nil {
		return s, err
	}
	if s.Henry[3], err = HenryOzone(t); err != nil {
		return s, err
	}
	if s.Diffusivity[0], err = DiffusivityOxygen(t); err != nil {
		return s, err
	}
	if s.Diffusivity[3], err = DiffusivityOzone(t); err != nil {
		return s, err
	}
	volume := region1Volume(t, NormalPressure)
	s.Henry[1], s.Henry[2] = Spread(nitrogenHenry.hcp(t, volume), nitrogenHenryError), Spread(argonHenry.hcp(t, volume), argonHenryError)
	mu := viscosityIAPWS(t, 1/volume)
	s.Diffusivity[1], s.Diffusivity[2] = nitrogenDiffusivity(t, mu), argonDiffusivity(t, mu)
	return s, nil
}
