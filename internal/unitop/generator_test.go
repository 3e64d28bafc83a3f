package unitop_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/unitop"
)

// inventedTable is a made-up cell: output bends with flow and is linear in the
// rest. No published output table is used: every maker has its own.
func inventedTable() *unitop.OutputTable {
	o := &unitop.OutputTable{
		Flow:    unitop.OutputAxis{0.002, 0.004, 0.006, 0.010},
		Purity:  unitop.OutputAxis{0.90, 0.95},
		Power:   unitop.OutputAxis{300, 600},
		Coolant: unitop.OutputAxis{288.15, 303.15},
		Error:   0.05,
	}
	for _, f := range o.Flow {
		for _, y := range o.Purity {
			for _, p := range o.Power {
				for _, c := range o.Coolant {
					o.Output = append(o.Output, inventedOutput(f, y, p, c))
				}
			}
		}
	}
	return o
}

// inventedOutput is the function behind the invented table in kg/s.
func inventedOutput(flow, purity, power, coolant float64) float64 {
	return 1e-5 * (1 - math.Exp(-flow/0.004)) * purity * power / 600 * (1 - 0.01*(coolant-288.15))
}

// generator returns a state in the middle of the invented table.
func generator() unitop.GeneratorInput {
	feed, err := fluid.DryOxygen(0.93, 0.04)
	if err != nil {
		panic(err)
	}
	return unitop.GeneratorInput{Name: "G-1", Table: inventedTable(), Feed: feed, Flow: 0.005, Power: 450, Coolant: 293.15}
}

// Cells come back exactly but for the table's own error; between them the
// range holds the true function.
func TestGeneratorRecoversItsTable(t *testing.T) {
	in := generator()
	in.Flow, in.Power, in.Coolant = 0.004, 600, 303.15
	in.Feed.O2, in.Feed.N2 = 0.95, 0.01
	g, err := unitop.RunGenerator(in)
	require.NoError(t, err)
	want := inventedOutput(0.004, 0.95, 600, 303.15)
	assert.InEpsilon(t, want, g.Output.Best, 1e-12)
	assert.InEpsilon(t, want*1.05, g.Output.High, 1e-9)
	rapid.Check(t, func(t *rapid.T) {
		in := generator()
		in.Flow = rapid.Float64Range(0.002, 0.010).Draw(t, "flow")
		in.Power = rapid.Float64Range(300, 600).Draw(t, "power")
		in.Coolant = rapid.Float64Range(288.15, 303.15).Draw(t, "coolant")
		g, err := unitop.RunGenerator(in)
		require.NoError(t, err)
		if !g.Output.Contains(inventedOutput(in.Flow, 0.93, in.Power, in.Coolant)) {
			t.Fatalf("%g outside %+v", inventedOutput(in.Flow, 0.93, in.Power, in.Coolant), g.Output)
		}
	})
}

// What follows from an output does not ask where it comes from.
func TestGeneratorAtIsThatOfItsTable(t *testing.T) {
	in := generator()
	want, err := unitop.RunGenerator(in)
	require.NoError(t, err)
	in.Table = nil
	got, err := unitop.GeneratorAt(in, want.Output)
	require.NoError(t, err)
	assert.Equal(t, want, got)
	for _, bad := range []float64{-1e-9, 1001, math.NaN()} {
		_, err = unitop.GeneratorAt(in, fluid.Exact(bad))
		assert.Error(t, err)
	}
	in.Flow = 0
	_, err = unitop.GeneratorAt(in, want.Output)
	assert.ErrorIs(t, err, fluid.ErrOutOfRange)
}

// Mass, energy and composition agree with each other.
func TestGeneratorBalances(t *testing.T) {
	in := generator()
	g, err := unitop.RunGenerator(in)
	require.NoError(t, err)
	m, err := in.Feed.MolarMass()
	require.NoError(t, err)
	product, err := g.Product.MolarMass()
	require.NoError(t, err)
	assert.InEpsilon(t, in.Flow*m, g.ProductFlow.Best*product, 1e-12, "mass is kept")
	assert.InEpsilon(t, g.Output.Best, g.ProductFlow.Best*g.Product.O3*fluid.MolarMassO3, 1e-12)
	assert.InEpsilon(t, g.MoleFraction.Best, g.Product.O3, 1e-12)
	// 0.8257 W for each g/h leaves as heat of formation (derived).
	assert.InEpsilon(t, 450-0.8257*g.Output.Best*3.6e6, g.CoolingDuty.Best, 1e-3)
	assert.InEpsilon(t, 450/g.Output.Best, g.Energy.Best, 1e-12)
	for _, r := range []fluid.Range{g.Output, g.MassFraction, g.MoleFraction, g.ProductFlow, g.Energy, g.CoolingDuty} {
		require.NoError(t, r.Check("generator"))
	}
}

func TestGeneratorRefuses(t *testing.T) {
	in := generator()
	in.Table = nil
	_, err := unitop.RunGenerator(in)
	require.ErrorIs(t, err, unitop.ErrNoTable)
	assert.ErrorContains(t, err, `"G-1"`)
	for name, change := range map[string]func(*unitop.GeneratorInput){
		"feed gas flow":       func(in *unitop.GeneratorInput) { in.Flow = 0.011 },
		"power":               func(in *unitop.GeneratorInput) { in.Power = 200 },
		"coolant temperature": func(in *unitop.GeneratorInput) { in.Coolant = 310 },
		"oxygen purity":       func(in *unitop.GeneratorInput) { in.Feed = fluid.DryAir() },
		"error":               func(in *unitop.GeneratorInput) { in.Table.Error = 2 },
		"outputs":             func(in *unitop.GeneratorInput) { in.Table.Output = in.Table.Output[1:] },
		"rise":                func(in *unitop.GeneratorInput) { in.Table.Power = unitop.OutputAxis{600, 300} },
		"no oxygen purity":    func(in *unitop.GeneratorInput) { in.Table.Purity = nil },
		"not a finite":        func(in *unitop.GeneratorInput) { in.Table.Output[3] = math.NaN() },
	} {
		in := generator()
		change(&in)
		_, err := unitop.RunGenerator(in)
		assert.ErrorContains(t, err, name)
	}
	// More ozone than power or oxygen can give.
	in = generator()
	for i := range in.Table.Output {
		in.Table.Output[i] *= 1e3
	}
	_, err = unitop.RunGenerator(in)
	require.ErrorIs(t, err, unitop.ErrContradiction)
	in = generator()
	in.Table.Power = unitop.OutputAxis{1, 2}
	in.Power = 1.5
	_, err = unitop.RunGenerator(in)
	require.ErrorIs(t, err, unitop.ErrContradiction)
}

// Between the values of a table that bends like a parabola the straight line errs by half the second derivative times the distances
// to both values, as every text on interpolation has it; the range is that wide and no wider.
func TestGeneratorRangeIsTheBendOfItsTable(t *testing.T) {
	const bend = 0.08 // kg/s per (mol/s)^2
	output := func(flow float64) float64 { return 1e-5 + bend*flow*flow }
	in := generator()
	in.Table = &unitop.OutputTable{Flow: unitop.OutputAxis{0.002, 0.004, 0.007, 0.010}, Purity: unitop.OutputAxis{in.Feed.O2},
		Power: unitop.OutputAxis{450}, Coolant: unitop.OutputAxis{293.15}}
	for _, f := range in.Table.Flow {
		in.Table.Output = append(in.Table.Output, output(f))
	}
	for _, c := range []struct{ low, high float64 }{{0.002, 0.004}, {0.004, 0.007}, {0.007, 0.010}} {
		in.Flow = c.low + (c.high-c.low)/3
		g, err := unitop.RunGenerator(in)
		require.NoError(t, err)
		errs := bend * (in.Flow - c.low) * (c.high - in.Flow)
		assert.InEpsilon(t, output(in.Flow)+errs, g.Output.Best, 1e-9, "%g", in.Flow)
		assert.InEpsilon(t, errs, g.Output.High-g.Output.Best, 1e-6, "%g", in.Flow)
		assert.InEpsilon(t, errs, g.Output.Best-g.Output.Low, 1e-6, "%g", in.Flow)
	}
}
