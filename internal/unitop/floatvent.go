package unitop

import (
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
)

// Float states the float, lever and seat of a float vent or float drain.
type Float struct {
	Mass         float64 // kg, float with its lever as it weighs on the pivot, above 0 to 50
	Volume       float64 // m3, displaced when fully submerged, above 0 to 0.1
	LeverRatio   float64 // float arm over seat arm, 0.2 to 50; 1 when the float carries the seat itself
	PlugMass     float64 // kg, parts that hang on the seat side, 0 to 5
	Bore         float64 // m, orifice bore, above 0 to 0.2
	SeatDiameter float64 // m, outer edge of the seat's contact ring, at least Bore; equal to Bore for a knife edge
}

// check refuses a float that cannot be, and a liquid of density rho that is none.
func (f Float) check(rho float64) error {
	if err := above(
		limit{"float mass", f.Mass, 0, 50, "kg"},
		limit{"float volume", f.Volume, 0, 0.1, "m3"},
		limit{"orifice bore", f.Bore, 0, 0.2, "m"},
	); err != nil {
		return err
	}
	return within(
		limit{"lever ratio", f.LeverRatio, 0.2, 50, ""},
		limit{"plug mass", f.PlugMass, 0, 5, "kg"},
		limit{"seat diameter", f.SeatDiameter, f.Bore, 0.4, "m"},
		limit{"liquid density", rho, 300, 3000, "kg/m3"},
	)
}

// weight is the force in N by which the empty float and the parts on the seat side pull at the seat.
func (f Float) weight() float64 { return (f.LeverRatio*f.Mass + f.PlugMass) * StandardGravity }

// lift is the force in N by which the fully submerged float pulls the other way.
func (f Float) lift(rho float64) float64 {
	return (f.LeverRatio*(rho*f.Volume-f.Mass) - f.PlugMass) * StandardGravity
}

// meanArea is the mean in m2 of the areas of bore and seat.
func (f Float) meanArea() float64 { return (circle(f.Bore) + circle(f.SeatDiameter)) / 2 }

// perArea turns an opening force in N into the pressure difference that it
// overcomes: low with the pressure acting up to the outer edge of the seat,
// high with it acting on the bore alone, best on the mean area.
func (f Float) perArea(force float64) fluid.Range {
	return fluid.Range{Low: force / circle(f.SeatDiameter), Best: force / f.meanArea(), High: force / circle(f.Bore)}
}

// VentOpening says when a float vent opens and whether it shuts.
type VentOpening struct {
	// HighestDifference is the highest pressure difference in Pa, body over
	// outlet, at which the empty float still pulls the seat open.
	HighestDifference fluid.Range

	// ClosingForce is the force in N by which the fully submerged float presses
	// the seat shut at no pressure difference.
	ClosingForce float64
}

// VentOpeningLimit returns the opening limit of a float vent, whose float falls
// when gas fills the body and pulls the seat open against the pressure
// difference over the orifice:
//
//	dp A <= L m g + mp g
//
// and whose float shuts when submerged in liquid of density rho (300 to 3000
// kg/m3). A float that does not rise is a contradiction. The spread is the
// unknown effective area of the seat, between bore and contact ring. Friction
// and sticking seats are not in it.
//
// Source: statics of a lever; buoyancy after Archimedes.
func (f Float) VentOpeningLimit(rho float64) (VentOpening, error) {
	if err := f.check(rho); err != nil {
		return VentOpening{}, err
	}
	closing := f.lift(rho)
	if closing <= 0 {
		return VentOpening{}, &ContradictionError{Reason: fmt.Sprintf(
			"the submerged float lifts %.4g N at the seat, so the vent never shuts: its mass is %.4g kg, the liquid it displaces %.4g kg",
			closing, f.Mass, rho*f.Volume)}
	}
	return VentOpening{HighestDifference: f.perArea(f.weight()), ClosingForce: closing}, nil
}

// VentSubmergence returns the fraction of the float's volume that is submerged
// at the moment when a float vent opens at the pressure difference (Pa, 0 to
// 1e7): s = (L m g + mp g - dp A)/(L rho V g), on the mean seat area. At a difference
// above the opening limit even the empty float does not open: an error that
// wraps [ErrNoSolution].
//
// Source: statics of a lever; buoyancy after Archimedes.
func (f Float) VentSubmergence(difference, rho float64) (float64, error) {
	limits, err := f.VentOpeningLimit(rho)
	if err != nil {
		return 0, err
	}
	if err := within(limit{"pressure difference", difference, 0, 1e7, "Pa"}); err != nil {
		return 0, err
	}
	force := f.weight() - difference*f.meanArea()
	if force < 0 {
		return 0, &NoSolutionError{
			Wanted: fmt.Sprintf("vent open at a pressure difference of %.6g Pa", difference),
			Reach:  fmt.Sprintf("the empty float opens up to %.6g Pa", limits.HighestDifference.Best),
		}
	}
	return force / (f.LeverRatio * rho * f.Volume * StandardGravity), nil
}

// DrainOpeningLimit returns the highest pressure difference in Pa, body over
// outlet, at which the fully submerged float of a float drain still lifts the
// seat open:
//
//	dp A <= L (rho V - m) g - mp g
//
// A float that does not float is a contradiction. The spread is the unknown
// effective area of the seat. Density 300 to 3000 kg/m3.
//
// Source: statics of a lever; buoyancy after Archimedes.
func (f Float) DrainOpeningLimit(rho float64) (fluid.Range, error) {
	if err := f.check(rho); err != nil {
		return fluid.Range{}, err
	}
	force := f.lift(rho)
	if force <= 0 {
		return fluid.Range{}, &ContradictionError{Reason: fmt.Sprintf(
			"the submerged float gives %.4g N at the seat, so the drain never opens: its mass is %.4g kg, the liquid it displaces %.4g kg",
			force, f.Mass, rho*f.Volume)}
	}
	return f.perArea(force), nil
}

// DrainSubmergence returns the fraction of the float's volume that is submerged
// when a float drain opens at the pressure difference (Pa, 0 to 1e7), on the
// mean seat area. Above the opening limit the error wraps [ErrNoSolution].
//
// Source: statics of a lever; buoyancy after Archimedes.
func (f Float) DrainSubmergence(difference, rho float64) (float64, error) {
	limits, err := f.DrainOpeningLimit(rho)
	if err != nil {
		return 0, err
	}
	if err := within(limit{"pressure difference", difference, 0, 1e7, "Pa"}); err != nil {
		return 0, err
	}
	needed := difference*f.meanArea() + f.weight()
	s := needed / (f.LeverRatio * rho * f.Volume * StandardGravity)
	if s > 1 {
		return 0, &NoSolutionError{
			Wanted: fmt.Sprintf("drain open at a pressure difference of %.6g Pa", difference),
			Reach:  fmt.Sprintf("the submerged float opens up to %.6g Pa", limits.Best),
		}
	}
	return s, nil
}

// BurstFlow returns the gas flow of a vent at full opening: the orifice of the
// bore (m) with a discharge coefficient given as a spread, from vessel pressure
// p1 to back pressure p2 (Pa absolute) at t (K). Low, best and high follow the
// coefficient. A float vent discharges in such bursts, not at the mean flow.
//
// Source: [OrificeGasFlow].
func BurstFlow(bore float64, coefficient fluid.Range, p1, p2, t float64, gas Gas) (fluid.Range, error) {
	if err := coefficient.Check("discharge coefficient"); err != nil {
		return fluid.Range{}, err
	}
	if err := positive("orifice bore", bore, 1, "m"); err != nil {
		return fluid.Range{}, err
	}
	return coefficient.MapErr(func(cd float64) (float64, error) {
		f, err := OrificeGasFlow(circle(bore), cd, p1, p2, t, gas)
		return f.Mass, err
	})
}

// DrainCapacity returns the liquid flow in m3/s of an open drain orifice of the
// bore (m): pressures in Pa absolute, head of liquid above the orifice in m (0
// to 100), density in kg/m3, vapour pressure in Pa absolute.
//
// Source: [OrificeLiquidFlow].
func DrainCapacity(bore float64, coefficient fluid.Range, p1, p2, head, rho, pv float64) (fluid.Range, error) {
	if err := coefficient.Check("discharge coefficient"); err != nil {
		return fluid.Range{}, err
	}
	if err := positive("orifice bore", bore, 1, "m"); err != nil {
		return fluid.Range{}, err
	}
	if err := within(
		limit{"liquid head", head, 0, 100, "m"},
		limit{"liquid density", rho, 300, 3000, "kg/m3"},
	); err != nil {
		return fluid.Range{}, err
	}
	return coefficient.MapErr(func(cd float64) (float64, error) {
		w, err := OrificeLiquidFlow(circle(bore), cd, p1+rho*StandardGravity*head, p2, rho, pv)
		return w / rho, err
	})
}

// LimitingBore returns the bore in m of a restriction that passes at most the
// mass flow (kg/s) from p1 to p2 (Pa absolute) at t (K): what limits a burst to
// what the parts behind it bear. Low, best and high follow the coefficient in
// reverse: the high coefficient needs the smallest bore, which is the safe one.
func LimitingBore(mass float64, coefficient fluid.Range, p1, p2, t float64, gas Gas) (fluid.Range, error) {
	if err := coefficient.Check("discharge coefficient"); err != nil {
		return fluid.Range{}, err
	}
	return coefficient.MapErr(func(cd float64) (float64, error) {
		a, err := OrificeGasArea(mass, cd, p1, p2, t, gas)
		return math.Sqrt(4 * a / math.Pi), err
	})
}
