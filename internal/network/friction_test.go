package network_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/network"
)

func TestFrictionFactor(t *testing.T) {
	for _, c := range []struct {
		re, rr, want, tol float64
		source            string
	}{
		{5e4, 1e-3, 0.0240208, 1e-6, "Colebrook–White (Clamond 2009, Eq. 1) solved by fixed point and Newton"},
		{1e5, 0, 0.0179898, 1e-6, "same"},
		{1e5, 1e-3, 0.0221745, 1e-6, "same"},
		{1e6, 0, 0.0116450, 1e-6, "same"},
		{1e6, 1e-3, 0.0199435, 1e-6, "same"},
		{1e8, 0.05, 0.0715509, 1e-6, "same"},
		{127324, 0.0013, 0.0225, 0.015, "White, Fluid Mechanics, Example 6.7 (chart reading)"},
		{1000, 0.01, 0.064, 1e-12, "Hagen–Poiseuille, f = 64/Re"},
	} {
		f, err := network.FrictionFactor(c.re, c.rr)
		require.NoError(t, err)
		// The tabled values carry six digits.
		require.InDelta(t, c.want, f, math.Max(c.tol*c.want, 5.1e-8), "Re %g, ε/D %g: %s", c.re, c.rr, c.source)
	}
	for _, c := range [][2]float64{{0, 0}, {-1, 0}, {math.NaN(), 0}, {math.Inf(1), 0}, {1e5, -1e-9}, {1e5, 0.06}, {1e5, math.NaN()}} {
		_, err := network.FrictionFactor(c[0], c[1])
		var bad *network.BadInputError
		require.ErrorAs(t, err, &bad)
	}
}

// The residual of Colebrook–White vanishes everywhere, and the pressure loss
// f Re² rises with flow through the blend from laminar to turbulent.
func TestFrictionProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		re := math.Exp(rapid.Float64Range(math.Log(4000), math.Log(1e9)).Draw(t, "ln Re"))
		rr := rapid.Float64Range(0, 0.05).Draw(t, "rr")
		f, err := network.FrictionFactor(re, rr)
		require.NoError(t, err)
		x := 1 / math.Sqrt(f)
		require.InDelta(t, x, -2*math.Log10(rr/3.7+2.51*x/re), 1e-10*x)
	})
	for _, rr := range []float64{0, 1e-4, 1e-2, 0.05} {
		last := 0.0
		for re := 10.0; re < 2e4; re *= 1.003 {
			f, err := network.FrictionFactor(re, rr)
			require.NoError(t, err)
			require.Greater(t, f*re*re, last, "Re %g", re)
			last = f * re * re
		}
	}
}

// single solves one element between two fixed pressures.
func single(t *testing.T, fluid network.Fluid, l network.Law, pa, pb, za, zb float64) (*network.Problem, *network.Solution) {
	t.Helper()
	p := &network.Problem{Fluids: []network.Fluid{fluid},
		Nodes: []network.Node{
			{ID: "a", Phase: fluid.Phase, Elevation: za, Pressure: &pa},
			{ID: "b", Phase: fluid.Phase, Elevation: zb, Pressure: &pb}},
		Elements: []network.Element{{ID: "e", From: 0, To: 1, Law: l}}}
	return p, solve(t, p)
}

func solve(t *testing.T, p *network.Problem) *network.Solution {
	t.Helper()
	sol, err := network.Solve(context.Background(), p, nil)
	require.NoError(t, err)
	requireProven(t, p, sol)
	return sol
}

func TestLines(t *testing.T) {
	// Water line: 10 m³/h at 20 °C, L 20 m, ID 52.5 mm, ε 1.5 µm: V 1.2832 m/s,
	// Δp 6168 Pa. Source: water density of IAPWS with Colebrook–White, derived;
	// the pressure loss is compared by feeding the flow.
	w := network.Fluid{Phase: network.Liquid, Density: 998.2, Viscosity: 1.0016e-3}
	p := &network.Problem{Fluids: []network.Fluid{w},
		Nodes: []network.Node{{Phase: network.Liquid, Inflow: 10 * 998.2 / 3600}, {Phase: network.Liquid, Pressure: new(1e5)}},
		Elements: []network.Element{{From: 0, To: 1,
			Law: network.Pipe{Length: 20, Diameter: 0.0525, Roughness: 1.5e-6}}}}
	sol := solve(t, p)
	require.InEpsilon(t, 1.2832, sol.Elements[0].Velocity, 1e-4)
	require.InEpsilon(t, 6168, sol.Nodes[0].Pressure-1e5, 2e-3)

	// Oxygen line at low pressure: 10 Nm³/h, 20 °C, 1 atm, L 10 m, ID 27.86 mm,
	// ε 1.5 µm: V 4.890 m/s, Δp 182.2 Pa. Source: ideal gas with
	// Colebrook–White, derived.
	g := &network.Problem{Fluids: []network.Fluid{oxygen},
		Nodes: []network.Node{{Phase: network.Gas, Inflow: 10 / 3600.0 * 101325 / (network.GasConstant * 273.15)},
			{Phase: network.Gas, Pressure: new(atm)}},
		Elements: []network.Element{{From: 0, To: 1,
			Law: network.Pipe{Length: 10, Diameter: 0.02786, Roughness: 1.5e-6}}}}
	sol = solve(t, g)
	require.InEpsilon(t, 4.890, sol.Elements[0].Velocity, 1e-3)
	require.InEpsilon(t, 182.2, sol.Nodes[0].Pressure-atm, 5e-3)
}

// What stands at rest in a riser does not flow: hydrostatics.
func TestHydrostatics(t *testing.T) {
	w := network.Fluid{Phase: network.Liquid, Density: 1000, Viscosity: 1e-3}
	_, sol := single(t, w, network.Pipe{Length: 20, Diameter: 0.05}, 2*atm, 2*atm-1000*network.Gravity*10, 0, 10)
	require.InDelta(t, 0, sol.Elements[0].Flow, 1e-9)
	// Gas at rest: p2/p1 = exp(−M g h/(R T)), barometric formula.
	ratio := math.Exp(-oxygen.MolarMass * network.Gravity * 10 / (network.GasConstant * oxygen.Temperature))
	_, sol = single(t, oxygen, network.Pipe{Length: 20, Diameter: 0.05}, atm, atm*ratio, 0, 10)
	require.InDelta(t, 0, sol.Elements[0].Flow, 1e-9)
}
