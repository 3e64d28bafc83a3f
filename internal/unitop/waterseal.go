package unitop

// WaterSeal states a dip tube that stands in a pot of water: the gas side is
// the tube, the pot is open to the other side.
type WaterSeal struct {
	Submergence float64 // m, depth of the tube end below the resting level, above 0 to 50
	TubeBore    float64 // m, above 0 to 5
	PotArea     float64 // m2, free water surface of the pot outside the tube, above 0 to 100
	Density     float64 // kg/m3, of the liquid, 300 to 3000
	LevelLoss   float64 // m, by which the level may have sunk before it is refilled (evaporation, splash), 0 to Submergence
}

// SealLimits is what a water seal withstands.
type SealLimits struct {
	Pressure float64 // Pa, gas over pot, at which gas blows out under the tube end
	Vacuum   float64 // Pa, gas below pot, at which the pot is drawn empty to the tube end and air comes in
	Rise     float64 // m, height of the water in the tube above the sunken level of the pot at that vacuum; the tube must be taller or water is drawn out
}

// Limits returns the pressure and the vacuum at which the seal breaks, at the
// sunken level. With pressure the water is pushed down the tube by the depth d
// and rises in the pot by d a/A: p = rho g d (1 + a/A). With vacuum the pot
// sinks by d and the tube rises by d A/a: p = rho g d (1 + A/a).
//
// Source: hydrostatics and conservation of the liquid volume.
func (s WaterSeal) Limits() (SealLimits, error) {
	if err := above(
		limit{"submergence", s.Submergence, 0, 50, "m"},
		limit{"tube bore", s.TubeBore, 0, 5, "m"},
		limit{"pot surface", s.PotArea, 0, 100, "m2"},
	); err != nil {
		return SealLimits{}, err
	}
	if err := within(
		limit{"liquid density", s.Density, 300, 3000, "kg/m3"},
		limit{"level loss", s.LevelLoss, 0, s.Submergence, "m"},
	); err != nil {
		return SealLimits{}, err
	}
	d := s.Submergence - s.LevelLoss
	ratio := circle(s.TubeBore) / s.PotArea
	return SealLimits{
		Pressure: s.Density * StandardGravity * d * (1 + ratio),
		Vacuum:   s.Density * StandardGravity * d * (1 + 1/ratio),
		Rise:     d * (1 + 1/ratio),
	}, nil
}

// SealDepth returns the submergence in m that holds a pressure difference (Pa,
// 0 to 5e5) with liquid of density rho (300 to 3000 kg/m3), a margin in m on
// top (0 to 5) and no help from the rise of the pot: dp/(rho g) + margin.
//
// Source: hydrostatics.
func SealDepth(difference, rho, margin float64) (float64, error) {
	if err := within(
		limit{"pressure difference", difference, 0, 5e5, "Pa"},
		limit{"liquid density", rho, 300, 3000, "kg/m3"},
		limit{"margin", margin, 0, 5, "m"},
	); err != nil {
		return 0, err
	}
	return difference/(rho*StandardGravity) + margin, nil
}
