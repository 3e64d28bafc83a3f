package unitop

import (
	"fmt"
	"math"
	"sort"

	"github.com/skidrule/skidrule/internal/fluid"
)

// CurvePoint is one measured point of y against x; what they are says the
// field that holds the curve.
type CurvePoint struct{ X, Y float64 }

// curveAt interpolates a measured curve by straight lines; no extrapolation.
func curveAt(name, unit string, points []CurvePoint, x float64) (float64, error) {
	if len(points) < 2 {
		return 0, fmt.Errorf("%s has %d points and needs two: %w", name, len(points), ErrNoTable)
	}
	for i, p := range points {
		// The names are put together only for the error.
		for _, axis := range [2]struct {
			name string
			at   float64
		}{{" (x)", p.X}, {" (y)", p.Y}} {
			if !(math.Abs(axis.at) <= 1e12) {
				return 0, fluid.Within(name+axis.name, axis.at, -1e12, 1e12, "")
			}
		}
		if i > 0 && p.X <= points[i-1].X {
			return 0, fmt.Errorf("%s does not rise along x: %g after %g: %w", name, p.X, points[i-1].X, fluid.ErrOutOfRange)
		}
	}
	if err := fluid.Within(name, x, points[0].X, points[len(points)-1].X, unit); err != nil {
		return 0, err
	}
	i := sort.Search(len(points), func(i int) bool { return points[i].X >= x })
	if i == 0 {
		return points[0].Y, nil
	}
	a, b := points[i-1], points[i]
	return a.Y + (x-a.X)/(b.X-a.X)*(b.Y-a.Y), nil
}

// ConcentratorInput describes an oxygen concentrator (pressure swing) and the
// state in which it runs.
type ConcentratorInput struct {
	Name        string       // tag, used to name what is missing
	Purity      []CurvePoint // X: product flow in mol/s, rising; Y: mole fraction of oxygen in the dry product
	Air         float64      // dry feed air in mol/s, above 0
	ProductFlow float64      // product in mol/s, above 0, within the curve
	Error       float64      // stated absolute error of the purity, 0 to 0.2
}

// Concentrator is the product and the oxygen-poor exhaust.
type Concentrator struct {
	Purity        fluid.Range // mole fraction of oxygen in the product
	Product       fluid.Gas   // best composition; the rest is argon and nitrogen
	ExhaustFlow   float64     // dry exhaust in mol/s
	ExhaustOxygen fluid.Range // mole fraction of oxygen in the dry exhaust
	Exhaust       fluid.Gas   // best composition of the dry exhaust
	Recovery      fluid.Range // oxygen in the product over that in the air
}

// RunConcentrator returns the purity of a concentrator from its curve of
// purity against product flow, and its exhaust from the balance of oxygen,
// argon and nitrogen.
//
// Zeolites do not part argon from oxygen: argon is taken to go with the oxygen
// in the ratio of air as far as the purity leaves room. Water and carbon
// dioxide leave with the exhaust and are not counted. Outside the curve, or
// where it is missing: an error. More oxygen in the product than in the air is
// a contradiction.
//
// Source: measured curve; balance over dry air (US Standard Atmosphere 1976).
// No published curve fits every maker: held by conservation.
func RunConcentrator(in ConcentratorInput) (Concentrator, error) {
	if len(in.Purity) == 0 {
		return Concentrator{}, fmt.Errorf("concentrator %q: purity against product flow is not stated: %w", in.Name, ErrNoTable)
	}
	if err := positive("feed air flow", in.Air, 1e4, "mol/s"); err != nil {
		return Concentrator{}, err
	}
	if err := positive("product flow", in.ProductFlow, 1e4, "mol/s"); err != nil {
		return Concentrator{}, err
	}
	if err := within(limit{"error of the purity", in.Error, 0, 0.2, ""}); err != nil {
		return Concentrator{}, err
	}
	purity, err := curveAt("product flow of concentrator "+in.Name, "mol/s", in.Purity, in.ProductFlow)
	if err != nil {
		return Concentrator{}, err
	}
	if err := within(limit{"purity of concentrator " + in.Name, purity, 0, 1, ""}); err != nil {
		return Concentrator{}, err
	}
	c := Concentrator{
		Purity:      fluid.Range{Low: max(0, purity-in.Error), Best: purity, High: min(1, purity+in.Error)},
		ExhaustFlow: in.Air - in.ProductFlow,
	}
	air := fluid.DryAir()
	if c.ExhaustFlow <= 0 {
		return Concentrator{}, &ContradictionError{Reason: fmt.Sprintf(
			"concentrator %q: product %g mol/s is not less than the feed air %g mol/s", in.Name, in.ProductFlow, in.Air)}
	}
	c.Recovery = c.Purity.Scale(in.ProductFlow / (in.Air * air.O2))
	if c.Recovery.Best > 1 {
		return Concentrator{}, &ContradictionError{Reason: fmt.Sprintf(
			"concentrator %q: product holds %.3g times the oxygen of the feed air", in.Name, c.Recovery.Best)}
	}
	c.Recovery.High = min(1, c.Recovery.High)
	argon := min(1-purity, air.Ar/air.O2*purity, air.Ar*in.Air/in.ProductFlow)
	if c.Product, err = fluid.DryOxygen(purity, argon); err != nil {
		return Concentrator{}, err
	}
	left := func(feed, product float64) float64 { return feed*in.Air - product*in.ProductFlow }
	nitrogen := left(air.N2, c.Product.N2)
	if nitrogen < 0 {
		return Concentrator{}, &ContradictionError{Reason: fmt.Sprintf(
			"concentrator %q: product at purity %g holds more nitrogen than the feed air", in.Name, purity)}
	}
	if c.Exhaust, err = fluid.GasFromAmounts(left(air.O2, purity), nitrogen, max(0, left(air.Ar, argon)), 0, 0); err != nil {
		return Concentrator{}, err
	}
	c.ExhaustOxygen = c.Purity.Map(func(y float64) float64 { return max(0, left(air.O2, y)) / c.ExhaustFlow })
	return c, nil
}
