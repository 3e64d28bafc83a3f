package unitop

import (
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
)

// Drag returns the drag coefficient of a rigid sphere at a Reynolds number.
type Drag func(reynolds float64) float64

// SphereDrag is the drag correlation used for the best value, Re 0 to 3e5:
//
//	Cd = 24/Re (1 + 0.15 Re^0.687) + 0.42/(1 + 42500 Re^-1.16)
//
// Below Re about 800 it is the Schiller–Naumann equation; the second term
// carries it through the Newton range. At Re of 0 or less, where there is no
// coefficient, it returns +Inf.
//
// Source: L. Schiller, A. Naumann (1933) for the first term, verified in a
// transcription; R. Clift, W. H. Gauvin, Can. J. Chem. Eng. 49 (1971) 439, for
// the sum, verified in transcriptions. An equation of theirs of 1970 has other
// coefficients.
func SphereDrag(reynolds float64) float64 {
	if !(reynolds > 0) {
		return math.Inf(1)
	}
	return 24/reynolds*(1+0.15*math.Pow(reynolds, 0.687)) + 0.42/(1+42500*math.Pow(reynolds, -1.16))
}

// PiecewiseDrag is the second published correlation, whose difference from
// [SphereDrag] is the spread of the settling velocity:
//
//	Cd = 24/Re                     Re < 0.1
//	Cd = 24/Re (1 + 0.14 Re^0.7)   0.1 to 1000
//	Cd = 0.445                     1000 to 3.5e5
//
// Source: Perry's Chemical Engineers' Handbook, 6th and 7th editions, section
// 5, and 8th, pages 6-51 and 6-52, verified in transcriptions.
func PiecewiseDrag(reynolds float64) float64 {
	switch {
	case !(reynolds > 0):
		return math.Inf(1)
	case reynolds < 0.1:
		return 24 / reynolds
	case reynolds <= 1000:
		return 24 / reynolds * (1 + 0.14*math.Pow(reynolds, 0.7))
	default:
		return 0.445
	}
}

// highestReynolds is the end of the Newton range, where the boundary layer
// turns turbulent and the drag drops.
const highestReynolds = 3e5

// SphereVelocity returns the terminal velocity in m/s of a rigid sphere of
// diameter d (1e-7 to 0.1 m) and density rhoSphere falling (or rising) in a
// fluid of density rhoFluid (kg/m3) and viscosity mu (Pa s) at acceleration g
// (m/s2, above 0 to 1e4), with the drag correlation given:
//
//	(3/4) Cd Re^2 = rhoFluid d^3 |rhoSphere - rhoFluid| g/mu^2
//
// The left side rises steadily with Re, so there is one root. A
// Reynolds number above 3e5 is out of range.
//
// Source: balance of weight, buoyancy and drag.
func SphereVelocity(d, rhoSphere, rhoFluid, mu, g float64, drag Drag) (float64, error) {
	target, err := archimedes(d, rhoSphere, rhoFluid, mu, g, drag)
	if err != nil || target == 0 {
		return 0, err
	}
	group := func(re float64) float64 { return 0.75 * drag(re) * re * re }
	// The Stokes value is the highest Reynolds number that the sphere can have. No correlation's drag reaches ten thousand
	// times that of Stokes below it, so its ten-thousandth lies below the root.
	high := math.Min(highestReynolds, target/18)
	if group(high) <= target {
		return high * mu / (rhoFluid * d), nil
	}
	low, ends := high/1e4, math.Log(target)
	re := rise(low, high, func(re float64) float64 { return math.Log(group(re)) - ends })
	return re * mu / (rhoFluid * d), nil
}

// archimedes is the right side of the balance of [SphereVelocity] after what goes into it has been checked against its ranges.
func archimedes(d, rhoSphere, rhoFluid, mu, g float64, drag Drag) (float64, error) {
	if err := above(
		limit{"sphere density", rhoSphere, 0, 3e4, "kg/m3"},
		limit{"fluid density", rhoFluid, 0, 3e4, "kg/m3"},
		limit{"viscosity", mu, 0, 1e3, "Pa s"},
		limit{"acceleration", g, 0, 1e4, "m/s2"},
	); err != nil {
		return 0, err
	}
	if err := within(limit{"sphere diameter", d, 1e-7, 0.1, "m"}); err != nil {
		return 0, err
	}
	target := rhoFluid * d * d * d * math.Abs(rhoSphere-rhoFluid) * g / (mu * mu)
	if highest := 0.75 * drag(highestReynolds) * highestReynolds * highestReynolds; highest < target {
		return 0, &fluid.ValueError{Quantity: "Archimedes number of the sphere", Value: target, High: highest, Kind: fluid.ErrOutOfRange}
	}
	return target, nil
}

// Range of droplet diameters in which the rigid-sphere model holds in gas.
const (
	SmallestModelDroplet = 5e-6 // m; below it the gas slips past the droplet
	LargestModelDroplet  = 2e-3 // m; above it droplets flatten and fall more slowly than a sphere
)

// DropletVelocity returns the terminal velocity in m/s of a liquid droplet of
// diameter d (5e-6 to 2e-3 m) and density rhoLiquid in gas of density rhoGas
// (kg/m3) and viscosity muGas (Pa s). Best follows [SphereDrag], the spread is
// the difference to [PiecewiseDrag]. Against the fall of water drops measured
// in air the model is within 10 % from 0.1 to 1 mm; above about 2 mm real drops
// flatten, hence the limit.
//
// Source: [SphereVelocity]; measured: R. Gunn, G. D. Kinzer, J. Meteorol. 6
// (1949) 243.
func DropletVelocity(d, rhoLiquid, rhoGas, muGas float64) (fluid.Range, error) {
	if err := within(limit{"droplet diameter", d, SmallestModelDroplet, LargestModelDroplet, "m"}); err != nil {
		return fluid.Range{}, err
	}
	if rhoGas >= rhoLiquid {
		return fluid.Range{}, heavyGas(rhoGas, rhoLiquid)
	}
	best, err := SphereVelocity(d, rhoLiquid, rhoGas, muGas, StandardGravity, SphereDrag)
	if err != nil {
		return fluid.Range{}, err
	}
	other, err := SphereVelocity(d, rhoLiquid, rhoGas, muGas, StandardGravity, PiecewiseDrag)
	if err != nil {
		return fluid.Range{}, err
	}
	return fluid.Exact(best).Envelope(fluid.Exact(other)), nil
}

// SmallestDroplet returns the diameter in m of the smallest droplet that falls
// at least at the velocity (m/s, above 0): in an upward gas stream of that
// velocity smaller ones are carried out. If even a 2 mm droplet is carried the
// error wraps [ErrNoSolution]; a velocity below the fall of a 5 µm droplet
// gives 5 µm as the high end and best and says so by belowModel.
//
// Source: inverse of [DropletVelocity].
func SmallestDroplet(velocity, rhoLiquid, rhoGas, muGas float64) (size fluid.Range, belowModel bool, err error) {
	if err := positive("gas velocity", velocity, 100, "m/s"); err != nil {
		return fluid.Range{}, false, err
	}
	if rhoGas >= rhoLiquid {
		return fluid.Range{}, false, heavyGas(rhoGas, rhoLiquid)
	}
	for _, drag := range dropletDrags {
		if _, err := archimedes(LargestModelDroplet, rhoLiquid, rhoGas, muGas, StandardGravity, drag); err != nil {
			return fluid.Range{}, false, err
		}
	}
	// At its terminal velocity v a sphere's drag coefficient is 4 g d (rhoLiquid - rhoGas)/(3 rhoGas v^2). Over the diameter
	// that rises and the correlation's coefficient falls, so that they cross once: a larger sphere falls, a smaller one is carried.
	excess := func(drag Drag, d float64) float64 {
		weight := 4 * StandardGravity * d * (rhoLiquid - rhoGas) / (3 * rhoGas * velocity * velocity)
		return math.Log(weight / drag(rhoGas*velocity*d/muGas))
	}
	if excess(SphereDrag, LargestModelDroplet) < 0 || excess(PiecewiseDrag, LargestModelDroplet) < 0 {
		fastest, err := DropletVelocity(LargestModelDroplet, rhoLiquid, rhoGas, muGas)
		if err != nil {
			return fluid.Range{}, false, err
		}
		return fluid.Range{}, false, &NoSolutionError{
			Wanted: fmt.Sprintf("droplet that falls against %.4g m/s", velocity),
			Reach:  fmt.Sprintf("a 2 mm droplet, the largest that the model covers, falls at %.4g m/s", fastest.Low),
		}
	}
	if excess(SphereDrag, SmallestModelDroplet) >= 0 && excess(PiecewiseDrag, SmallestModelDroplet) >= 0 {
		return fluid.Exact(SmallestModelDroplet), true, nil
	}
	cross := func(drag Drag) float64 {
		d := rise(SmallestModelDroplet/4, LargestModelDroplet*4, func(d float64) float64 { return excess(drag, d) })
		return min(max(d, SmallestModelDroplet), LargestModelDroplet)
	}
	best, other := cross(SphereDrag), cross(PiecewiseDrag)
	return fluid.Exact(best).Envelope(fluid.Exact(other)), false, nil
}

// dropletDrags are the correlations between which droplets fall.
var dropletDrags = [2]Drag{SphereDrag, PiecewiseDrag}

func heavyGas(rhoGas, rhoLiquid float64) error {
	return &ContradictionError{Reason: fmt.Sprintf("gas of %.4g kg/m3 is not lighter than the liquid of %.4g kg/m3", rhoGas, rhoLiquid)}
}

// SoudersBrownK returns the coefficient K in m/s of the Souders–Brown limit for
// a vertical drum at a gauge pressure of 0 to 6.3e6 Pa. With a horizontal mesh
// pad K is 0.107 up to 7 bar gauge and falls by 0.003 for each further 7 bar;
// without a pad about half of it, 20 % either way.
//
// Source: GPSA Engineering Data Book, section 7.
func SoudersBrownK(gauge float64, pad bool) (fluid.Range, error) {
	if err := within(limit{"gauge pressure", gauge, 0, 6.3e6, "Pa gauge"}); err != nil {
		return fluid.Range{}, err
	}
	k := 0.107 - 0.003*math.Max(0, gauge-7e5)/7e5
	if pad {
		return fluid.Exact(k), nil
	}
	return fluid.Spread(k/2, 0.2), nil
}

// SoudersBrownVelocity returns the highest gas velocity in m/s in a drum: K
// sqrt((rhoLiquid - rhoGas)/rhoGas), densities in kg/m3, K in m/s (0.001 to 1).
//
// Source: M. Souders, G. G. Brown (1934), as in the GPSA Engineering Data
// Book, section 7.
func SoudersBrownVelocity(k fluid.Range, rhoLiquid, rhoGas float64) (fluid.Range, error) {
	if err := checkRange("Souders–Brown K", k, 0.001, 1, "m/s"); err != nil {
		return fluid.Range{}, err
	}
	if err := positive("gas density", rhoGas, 3000, "kg/m3"); err != nil {
		return fluid.Range{}, err
	}
	if err := positive("liquid density", rhoLiquid, 3000, "kg/m3"); err != nil {
		return fluid.Range{}, err
	}
	if rhoGas >= rhoLiquid {
		return fluid.Range{}, heavyGas(rhoGas, rhoLiquid)
	}
	return k.Scale(math.Sqrt((rhoLiquid - rhoGas) / rhoGas)), nil
}
