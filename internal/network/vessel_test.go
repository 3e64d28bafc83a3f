package network_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/network"
)

// vesselRig feeds water and, through an injector that draws a constant flow,
// gas into a vessel with a float vent.
func vesselRig(gasFlow float64, vent network.FloatVent) *network.Problem {
	return &network.Problem{Fluids: []network.Fluid{water, oxygen},
		Nodes: []network.Node{
			{ID: "in", Phase: network.Liquid, Pressure: new(4e5)}, {ID: "mixed", Phase: network.Liquid},
			{ID: "vessel", Phase: network.Liquid}, {ID: "out", Phase: network.Liquid, Pressure: new(2e5)},
			{ID: "gas", Phase: network.Gas, Pressure: new(1.2e5)}, {ID: "cap", Phase: network.Gas},
			{ID: "outdoors", Phase: network.Gas, Pressure: new(atm)}},
		Elements: []network.Element{
			{ID: "injector", From: 0, To: 1, Law: network.Injector{SuctionNode: 4, GasFluid: 1, MotiveKv: 4,
				Suction: func(_, _, p float64) float64 { return gasFlow * p / 1.2e5 }}},
			{ID: "line", From: 1, To: 2, Law: network.Pipe{Length: 5, Diameter: 0.04, Roughness: 1.5e-6, K: 2}},
			{ID: "vessel", From: 2, To: 5, Law: network.Vessel{Level: 2, Released: 0.5, Sets: network.LiquidSets, GasFluid: 1}},
			{ID: "outlet", From: 2, To: 3, Law: network.Valve{Kv: 6}},
			{ID: "vent", From: 5, To: 6, Fluid: 1, Law: vent}}}
}

func TestFloatVent(t *testing.T) {
	vent := network.FloatVent{Orifice: network.Orifice{Diameter: 0.003, Coefficient: 0.7}}
	p := vesselRig(0.02, vent)
	sol := solve(t, p)
	require.InEpsilon(t, 0.02, sol.Elements[0].Gas, 1e-9)
	require.InEpsilon(t, 0.02, sol.Elements[1].Gas, 1e-9)
	require.InEpsilon(t, 0.02, sol.Nodes[2].CarriedGas, 1e-9)
	require.Zero(t, sol.Elements[3].Gas)
	assert.Equal(t, network.Controlling, sol.Elements[4].State)
	require.InEpsilon(t, 0.01, sol.Elements[4].Flow, 1e-9)
	require.InEpsilon(t, 0.01, sol.Elements[2].Flow, 1e-9)
	require.InDelta(t, 0, sol.Nodes[5].Exchange, 1e-9)
	require.InDelta(t, sol.Nodes[2].Pressure-998.2*network.Gravity*2, sol.Nodes[5].Pressure, 1e-3)

	// Too small a bore: full open, the rest is dragged on with the water.
	vent.Diameter = 0.0005
	sol = solve(t, vesselRig(0.02, vent))
	assert.Equal(t, network.Open, sol.Elements[4].State)
	full := network.IsentropicFlow(sol.Nodes[5].Pressure, atm, 0.7*math.Pi/4*0.0005*0.0005, oxygen)
	require.InEpsilon(t, full, sol.Elements[4].Flow, 1e-6)
	require.InEpsilon(t, full-0.01, sol.Nodes[5].Exchange, 1e-6)

	// No gas: shut. Too high a difference: held shut.
	sol = solve(t, vesselRig(0, vent))
	assert.Equal(t, network.Shut, sol.Elements[4].State)
	vent.MaxDifference = 5e4
	sol = solve(t, vesselRig(0.02, vent))
	assert.Equal(t, network.HeldShut, sol.Elements[4].State)
	require.Zero(t, sol.Elements[4].Flow)

	// A plain open valve on the gas space lets more out than comes.
	p = vesselRig(0.001, network.FloatVent{Orifice: vent.Orifice})
	p.Elements[4].Law = network.Valve{Kv: 5, PressureRatioFactor: 0.7}
	assert.NotZero(t, solve(t, p).Elements[2].Limits&network.LimitOverfill)
}

// A trap in a gas line: the gas sets the pressure, the float drain passes the
// water that leaks in, and without a way out the level drifts.
func TestFloatDrain(t *testing.T) {
	drain := network.FloatDrain{Orifice: network.Orifice{Diameter: 0.004, Coefficient: 0.6}}
	p := &network.Problem{Fluids: []network.Fluid{water, oxygen},
		Nodes: []network.Node{
			{ID: "line", Phase: network.Gas, Pressure: new(1.5e5)}, {ID: "trap", Phase: network.Gas},
			{ID: "sump", Phase: network.Liquid, Inflow: 0.01}, {ID: "drain", Phase: network.Liquid, Pressure: new(atm)}},
		Elements: []network.Element{
			{From: 0, To: 1, Fluid: 1, Law: network.Pipe{Length: 1, Diameter: 0.01}},
			{From: 2, To: 1, Law: network.Vessel{Level: 0.2, Sets: network.GasSets, GasFluid: 1}},
			{From: 2, To: 3, Law: drain}}}
	sol := solve(t, p)
	require.InDelta(t, 1.5e5+998.2*network.Gravity*0.2, sol.Nodes[2].Pressure, 1e-2)
	assert.Equal(t, network.Controlling, sol.Elements[2].State)
	require.InEpsilon(t, 0.01, sol.Elements[2].Flow, 1e-9)
	require.InDelta(t, 0, sol.Nodes[2].Exchange, 1e-9)

	p.Nodes[2].Inflow = 1 // more than the orifice passes: the trap fills
	sol = solve(t, p)
	full := 0.6 * math.Pi / 4 * 0.004 * 0.004 * math.Sqrt(2*998.2*(sol.Nodes[2].Pressure-atm))
	assert.Equal(t, network.Open, sol.Elements[2].State)
	require.InEpsilon(t, full, sol.Elements[2].Flow, 1e-6)
	require.InEpsilon(t, full-1, sol.Nodes[2].Exchange, 1e-6)

	p.Nodes[0].Pressure = new(0.8e5) // vacuum: it must not suck air back
	sol = solve(t, p)
	require.Zero(t, sol.Elements[2].Flow)
	p.Nodes[2].Inflow = 0
	sol = solve(t, p)
	require.Equal(t, network.Shut, sol.Elements[2].State)
}

// The two-phase line against a step-by-step integration of the homogeneous
// model, and the stated factor on its friction.
func TestTwoPhaseLine(t *testing.T) {
	p := vesselRig(0.05, network.FloatVent{Orifice: network.Orifice{Diameter: 0.006, Coefficient: 0.7}})
	line := network.Pipe{Length: 60, Diameter: 0.04, Roughness: 1.5e-6}
	p.Elements[1].Law = line
	sol := solve(t, p)
	q, gas := sol.Elements[1].Flow, sol.Elements[1].Gas
	area := math.Pi / 4 * 0.04 * 0.04
	f, err := network.FrictionFactor(q*0.04/(area*water.Viscosity), 1.5e-6/0.04)
	require.NoError(t, err)
	pr := sol.Nodes[1].Pressure
	const steps = 20000
	for range steps {
		x := gas * oxygen.MolarMass / (q + gas*oxygen.MolarMass)
		rho := 1 / (x/oxygen.GasDensity(pr) + (1-x)/water.Density)
		both := (q + gas*oxygen.MolarMass) / area
		pr -= f * 60 / 0.04 / steps * both * both / (2 * rho)
	}
	drop := sol.Nodes[1].Pressure - sol.Nodes[2].Pressure
	require.InEpsilon(t, sol.Nodes[1].Pressure-pr, drop, 2e-3)

	loss := func(factor float64) float64 {
		p.TwoPhaseFactor = factor
		s := solve(t, p)
		return (s.Nodes[1].Pressure - s.Nodes[2].Pressure) / (s.Elements[1].Flow * s.Elements[1].Flow)
	}
	require.Greater(t, loss(1.5), 1.3*loss(1))
	require.Less(t, loss(0.7), 0.8*loss(1))

	// A riser that carries gas weighs less than one of water alone.
	up := vesselRig(0.05, network.FloatVent{Orifice: network.Orifice{Diameter: 0.006, Coefficient: 0.7}})
	up.Nodes[2].Elevation = 3
	v := up.Elements[2].Law.(network.Vessel)
	v.Level = 5
	up.Elements[2].Law = v
	with := solve(t, up)
	require.Greater(t, with.Elements[1].Void, 0.05)
	require.Less(t, with.Nodes[1].Pressure-with.Nodes[2].Pressure, 998.2*network.Gravity*3+
		0.9*(sol.Nodes[1].Pressure-sol.Nodes[2].Pressure))
}

// Feed shut: the injector draws the line behind two check valves down to its
// dead-end pressure plus both opening pressures. Pump stopped under a live
// return main: no water and no gas passes the check valves.
func TestInjectorRest(t *testing.T) {
	p := demo(3)
	sol := solve(t, p)
	suction, generator := sol.Nodes[nSuction].Pressure, sol.Nodes[nGenerator].Pressure
	require.Zero(t, sol.Elements[3].Gas)
	in := p.Elements[3].Law.(network.Injector)
	require.InDelta(t, 0, in.Suction(sol.Nodes[nMotive].Pressure, sol.Nodes[nDischarge].Pressure, suction), 1e-7)
	require.InDelta(t, suction+4e3, generator, 10)

	sol = solve(t, demo(2))
	require.Negative(t, sol.Elements[3].Flow)
	require.NotZero(t, sol.Elements[3].Limits&network.LimitReverse)
	require.GreaterOrEqual(t, sol.Elements[3].Gas, 0.0)
	require.GreaterOrEqual(t, sol.Elements[10].Flow, 0.0)
}

// A motive function of its own gives what it says, both ways.
func TestMotiveFunction(t *testing.T) {
	p := vesselRig(0.01, network.FloatVent{Orifice: network.Orifice{Diameter: 0.006, Coefficient: 0.7}})
	in := p.Elements[0].Law.(network.Injector)
	in.Motive = func(pIn, pOut, _ float64) float64 { // a plateau: hardly any dependence on the outlet
		return 0.003 * math.Sqrt(pIn-0.3*pOut-0.7*math.Min(pOut, 0.6*pIn))
	}
	p.Elements[0].Law = in
	sol := solve(t, p)
	require.InEpsilon(t, in.Motive(sol.Nodes[0].Pressure, sol.Nodes[1].Pressure, 0), sol.Elements[0].Flow, 1e-6)
	p.Nodes[0].Pressure, p.Nodes[3].Pressure = new(2e5), new(4e5)
	sol, err := network.Solve(context.Background(), p, nil)
	require.NoError(t, err)
	require.InEpsilon(t, -in.Motive(sol.Nodes[1].Pressure, sol.Nodes[0].Pressure, 0), sol.Elements[0].Flow, 1e-6)
}
