package unitop

import (
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
)

// OutputAxis is one condition along which an ozone generator's output was
// measured: values in rising order. One value alone means that the output is
// known there only.
type OutputAxis []float64

// OutputTable is the measured output of an ozone generator or cell. The
// makers state it; nothing is assumed where it is missing.
type OutputTable struct {
	Flow    OutputAxis // feed gas in mol/s
	Purity  OutputAxis // mole fraction of oxygen in the feed gas
	Power   OutputAxis // electrical power in W
	Coolant OutputAxis // coolant temperature at the inlet in K

	// Output is ozone in kg/s, one value for each combination, with Coolant
	// the fastest, then Power, then Purity, then Flow.
	Output []float64

	// Error is the stated relative error of the table, 0 to 0.5.
	Error float64
}

// maxTableCells bounds the size of an output table.
const maxTableCells = 100000

// axes gives the axes from slowest to fastest with their names and units.
func (o *OutputTable) axes() [4]struct {
	name, unit string
	axis       OutputAxis
} {
	return [4]struct {
		name, unit string
		axis       OutputAxis
	}{
		{"feed gas flow", "mol/s", o.Flow},
		{"oxygen purity", "", o.Purity},
		{"power", "W", o.Power},
		{"coolant temperature", "K", o.Coolant},
	}
}

// check returns an error unless every axis rises and is finite, the number of
// outputs is that of the combinations, and no output is negative.
func (o *OutputTable) check() error {
	cells := 1
	for _, a := range o.axes() {
		if len(a.axis) == 0 {
			return fmt.Errorf("output table has no %s: %w: state at least the one at which it was measured", a.name, ErrNoTable)
		}
		if len(a.axis) > maxTableCells/cells {
			return fmt.Errorf("output table has more than %d cells: %w", maxTableCells, fluid.ErrOutOfRange)
		}
		cells *= len(a.axis)
		for i, x := range a.axis {
			if !(x >= 0 && x <= 1e9) {
				// The name is put together only for the error.
				return fluid.Within(a.name+" of the output table", x, 0, 1e9, a.unit)
			}
			if i > 0 && x <= a.axis[i-1] {
				return fmt.Errorf("%s of the output table does not rise: %g after %g: %w", a.name, x, a.axis[i-1], fluid.ErrOutOfRange)
			}
		}
	}
	if len(o.Output) != cells {
		return fmt.Errorf("output table holds %d outputs for %d combinations: %w", len(o.Output), cells, ErrContradiction)
	}
	for _, x := range o.Output {
		if err := fluid.Within("ozone output of the table", x, 0, 1e3, "kg/s"); err != nil {
			return err
		}
	}
	return fluid.Within("error of the output table", o.Error, 0, 0.5, "")
}

// GeneratorInput is the state in which a generator runs.
type GeneratorInput struct {
	Name    string       // tag, used to name what is missing
	Table   *OutputTable // measured output; nil is an error that names it
	Feed    fluid.Gas    // feed gas without ozone (mole fractions)
	Flow    float64      // feed gas in mol/s
	Power   float64      // electrical power in W
	Coolant float64      // coolant temperature at the inlet in K
}

// Generator is what a generator makes and what must be cooled away.
type Generator struct {
	Output       fluid.Range // ozone in kg/s
	MassFraction fluid.Range // of ozone in the product gas
	MoleFraction fluid.Range // of ozone in the product gas
	Product      fluid.Gas   // best composition of the product gas
	ProductFlow  fluid.Range // mol/s
	Energy       fluid.Range // electrical energy for each kg of ozone in J/kg
	CoolingDuty  fluid.Range // W: the power that does not leave as the heat of formation of ozone
}

// RunGenerator returns the output of an ozone generator from its table at the
// actual flow, purity, power and coolant temperature, by straight lines
// between the cells along each axis.
//
// Low and high carry the error of the table and that of the straight lines,
// estimated from how much the neighbouring cells bend (at most an eighth of
// their second difference). Outside the table, along any axis: an error that
// names the axis. A table that is missing is an error that names the
// generator. More ozone than the oxygen can give is a contradiction.
//
// The cooling duty is power - output 2.972 MJ/kg (heat of formation); what the
// product gas carries away is not subtracted.
//
// Source: measured table; heat of formation NIST Chemistry WebBook, 142.67
// kJ/mol. No published table fits every maker: the method is held by exact
// recovery of cells, bilinear functions and refusals.
func RunGenerator(in GeneratorInput) (Generator, error) {
	if in.Table == nil {
		return Generator{}, fmt.Errorf("generator %q: ozone output against flow, purity, power and coolant temperature is not stated: %w",
			in.Name, ErrNoTable)
	}
	if err := in.Table.check(); err != nil {
		return Generator{}, fmt.Errorf("generator %q: %w", in.Name, err)
	}
	output, err := in.Table.at([4]float64{in.Flow, in.Feed.O2, in.Power, in.Coolant})
	if err != nil {
		return Generator{}, fmt.Errorf("generator %q: %w", in.Name, err)
	}
	return GeneratorAt(in, output)
}

// GeneratorAt returns everything that follows from an ozone output in kg/s, 0 to 1000, that is known; the table of the input plays no
// part. Ranges, errors and source are those of [RunGenerator].
func GeneratorAt(in GeneratorInput, output fluid.Range) (Generator, error) {
	if err := checkRange("ozone output", output, 0, 1e3, "kg/s"); err != nil {
		return Generator{}, err
	}
	if err := in.Feed.Check(); err != nil {
		return Generator{}, fmt.Errorf("generator %q feed gas: %w", in.Name, err)
	}
	if err := positive("feed gas flow", in.Flow, 1e4, "mol/s"); err != nil {
		return Generator{}, err
	}
	m, err := in.Feed.MolarMass()
	if err != nil {
		return Generator{}, err
	}
	mass := in.Flow * m
	g := Generator{Output: output, MassFraction: output.Scale(1 / mass)}
	if oxygen := in.Feed.O2 * fluid.MolarMassO2 / m; g.MassFraction.High > oxygen {
		return Generator{}, &ContradictionError{Reason: fmt.Sprintf(
			"generator %q: %.6g kg/s of ozone from a feed with %.6g kg/s of oxygen", in.Name, output.High, oxygen*mass)}
	}
	g.Product, err = in.Feed.WithOzone(g.MassFraction.Best)
	if err != nil {
		return Generator{}, err
	}
	// Two moles of ozone take the place of three of oxygen.
	g.ProductFlow = output.Map(func(o float64) float64 { return in.Flow - o/fluid.MolarMassO3/2 })
	g.MoleFraction = output.Map(func(o float64) float64 {
		n := o / fluid.MolarMassO3
		return n / (in.Flow - n/2)
	})
	const formation = fluid.OzoneFormationEnthalpy / fluid.MolarMassO3 // J/kg
	g.CoolingDuty = fluid.Exact(in.Power).Sub(output.Scale(formation))
	if g.CoolingDuty.Low < 0 {
		return Generator{}, &ContradictionError{Reason: fmt.Sprintf(
			"generator %q: %.6g W cannot form %.6g kg/s of ozone, which takes %.6g W", in.Name, in.Power, output.High, output.High*formation)}
	}
	if output.Low > 0 {
		g.Energy = output.Map(func(o float64) float64 { return in.Power / o })
	}
	return g, nil
}

// at interpolates the table at a point given from slowest to fastest axis.
func (o *OutputTable) at(x [4]float64) (fluid.Range, error) {
	var cell [4]int
	var share [4]float64
	axes := o.axes()
	for k, a := range axes {
		low, high := a.axis[0], a.axis[len(a.axis)-1]
		// A purity or temperature that went through a conversion may miss a
		// lone value by rounding only.
		if slack := 1e-9 * math.Abs(high); x[k] < low && low-x[k] <= slack {
			x[k] = low
		} else if x[k] > high && x[k]-high <= slack {
			x[k] = high
		}
		if !(x[k] >= low && x[k] <= high) {
			return fluid.Range{}, fluid.Within(a.name+" (output table)", x[k], low, high, a.unit)
		}
		for i := 1; i < len(a.axis); i++ {
			if x[k] >= a.axis[i-1] {
				cell[k] = i - 1
				share[k] = (x[k] - a.axis[i-1]) / (a.axis[i] - a.axis[i-1])
			}
		}
	}
	best := o.corner(cell, share)
	curvature := 0.0
	for k, a := range axes {
		curvature += o.curvature(k, a.axis, cell, share)
	}
	spread := best*o.Error + curvature
	return fluid.Range{Low: max(0, best-spread), Best: best, High: best + spread}, nil
}

// corner interpolates linearly along each axis from a cell.
func (o *OutputTable) corner(cell [4]int, share [4]float64) float64 {
	axes := o.axes()
	sum := 0.0
	for bits := range 16 {
		weight, index := 1.0, 0
		for k := range axes {
			i := cell[k]
			w := 1 - share[k]
			if bits>>k&1 == 1 {
				i, w = i+1, share[k]
			}
			weight *= w
			index = index*len(axes[k].axis) + min(i, len(axes[k].axis)-1)
		}
		if weight > 0 {
			sum += weight * o.Output[index]
		}
	}
	return sum
}

// curvature estimates how far the output may bend away from the straight line
// of a cell along axis k: the second difference of the nodes around it,
// weighted by the place in the cell. It is zero at a node and where the axis
// has fewer than three values.
func (o *OutputTable) curvature(k int, axis OutputAxis, cell [4]int, share [4]float64) float64 {
	s := share[k]
	if len(axis) < 3 || s <= 0 || s >= 1 {
		return 0
	}
	node := func(i int) float64 {
		c, f := cell, share
		c[k], f[k] = i, 0
		return o.corner(c, f)
	}
	second := func(i int) float64 {
		h1, h2 := axis[i]-axis[i-1], axis[i+1]-axis[i]
		slope1, slope2 := (node(i)-node(i-1))/h1, (node(i+1)-node(i))/h2
		return math.Abs(2 * (slope2 - slope1) / (h1 + h2))
	}
	worst := 0.0
	for _, i := range [2]int{cell[k], cell[k] + 1} {
		if i >= 1 && i+1 < len(axis) {
			worst = max(worst, second(i))
		}
	}
	h := axis[cell[k]+1] - axis[cell[k]]
	return worst * h * h * s * (1 - s) / 2
}
