package network_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/network"
)

const (
	foot = 0.3048
	gpm  = 231 * 0.0254 * 0.0254 * 0.0254 / 60 // US gallon (231 in³) per minute, m³/s
)

// gridNetwork is the example network 1 of the EPANET manual: a reservoir, a
// pump, a tank and twelve pipes with the Hazen–Williams formula (C = 100),
// h = 4.727 C^-1.852 d^-4.871 L q^1.852 in ft and ft³/s.
func gridNetwork(tankHead float64) *network.Problem {
	w := network.Fluid{Phase: network.Liquid, Density: 1000, Viscosity: 1e-3}
	p := &network.Problem{Fluids: []network.Fluid{w}}
	place := map[int]int{}
	for _, n := range [][3]float64{{10, 710, 0}, {11, 710, 150}, {12, 700, 150}, {13, 695, 100}, {21, 700, 150},
		{22, 695, 200}, {23, 690, 150}, {31, 700, 100}, {32, 710, 100}} {
		place[int(n[0])] = len(p.Nodes)
		p.Nodes = append(p.Nodes, network.Node{Phase: network.Liquid, Elevation: n[1] * foot, Inflow: -n[2] * gpm * 1000})
	}
	for _, n := range [][2]float64{{9, 800}, {2, tankHead}} { // at their surface, 1 bar stands for the atmosphere
		place[int(n[0])] = len(p.Nodes)
		p.Nodes = append(p.Nodes, network.Node{Phase: network.Liquid, Elevation: n[1] * foot, Pressure: new(1e5)})
	}
	for _, l := range [][4]float64{{10, 11, 10530, 18}, {11, 12, 5280, 14}, {12, 13, 5280, 10}, {21, 22, 5280, 10},
		{22, 23, 5280, 12}, {31, 32, 5280, 6}, {2, 12, 200, 18}, {11, 21, 5280, 10}, {12, 22, 5280, 12},
		{13, 23, 5280, 8}, {21, 31, 5280, 8}, {22, 32, 5280, 6}} {
		cubicFoot := foot * foot * foot
		r := 4.727 * math.Pow(100, -1.852) * math.Pow(l[3]/12, -4.871) * l[2] * foot / math.Pow(cubicFoot, 1.852)
		p.Elements = append(p.Elements, network.Element{From: place[int(l[0])], To: place[int(l[1])],
			Law: network.PowerLaw{Resistance: r, Exponent: 1.852}})
	}
	// Single-point pump curve: shut-off head 4/3 of the point's, quadratic.
	p.Elements = append(p.Elements, network.Element{From: place[9], To: place[10],
		Law: network.Pump{Speed: 1, Curve: threePoint(4.0/3*250*foot, 1500*gpm, 250*foot)}})
	return p
}

// Heads and flows at 0 h and the flows at 1 h (same demands, tank head
// 973.068 ft), from the reference output of the EPANET engine (example 1).
func TestPublishedGrid(t *testing.T) {
	p := gridNetwork(970)
	sol := solve(t, p)
	head := func(i int) float64 {
		return (p.Nodes[i].Elevation + (sol.Nodes[i].Pressure-1e5)/(1000*network.Gravity)) / foot
	}
	for node, want := range map[int]float64{0: 1004.3474, 1: 985.2303, 3: 968.8727, 6: 968.6452, 7: 967.3916} {
		require.InDelta(t, want, head(node), 0.01, "node %d", node)
	}
	flow := func(s *network.Solution, i int) float64 { return s.Elements[i].Flow / 1000 / gpm }
	for link, want := range map[int]float64{0: 1866.1758, 2: 129.3351, 5: 40.8105, 6: -766.1758, 7: 481.9686, 8: 188.6962, 11: 59.1895} {
		require.InEpsilon(t, want, flow(sol, link), 5e-4, "link %d", link)
	}
	later := solve(t, gridNetwork(973.068))
	for i, want := range []float64{1848.5812, 1220.4274, 130.1116, 187.6893, 119.8884, 40.4645, -748.5811,
		478.1538, 191.7346, 30.1116, 140.4645, 59.5355, 1848.5812} {
		require.InEpsilon(t, want, flow(later, i), 5e-4, "link %d", i)
	}
}

// Water of 20 °C between reservoirs at 5 m and 13 m by two parallel pipes of 36 m
// with 4 cm and 8 cm bore and a pump of 5.6 kW useful power; minor losses left
// out. Results as printed: 0.0300, 0.00415 and 0.0259 m³/s. Source: Çengel and
// Cimbala, "Fluid Mechanics: Fundamentals and Applications", Example 8–7;
// roughness 0.045 mm, density 998 kg/m³, viscosity 1.002 mPa s as there.
func TestPublishedParallelPipes(t *testing.T) {
	w := network.Fluid{Phase: network.Liquid, Density: 998, Viscosity: 1.002e-3}
	var curve network.Curve // H = P/(ρ g Q)
	for q := 0.010; q < 0.06; q += 0.001 {
		curve.Points = append(curve.Points, network.CurvePoint{Flow: q, Rise: 5600 / (998 * network.Gravity * q)})
	}
	pipe := func(d float64) network.Law { return network.Pipe{Length: 36, Diameter: d, Roughness: 4.5e-5} }
	p := &network.Problem{Fluids: []network.Fluid{w},
		Nodes: []network.Node{{Phase: network.Liquid, Elevation: 5, Pressure: new(1e5)}, {Phase: network.Liquid, Elevation: 5},
			{Phase: network.Liquid, Elevation: 13, Pressure: new(1e5)}},
		Elements: []network.Element{{From: 0, To: 1, Law: network.Pump{Speed: 1, Curve: curve}},
			{From: 1, To: 2, Law: pipe(0.04)}, {From: 1, To: 2, Law: pipe(0.08)}}}
	sol := solve(t, p)
	for i, want := range []float64{0.0300, 0.00415, 0.0259} {
		require.InEpsilon(t, want, sol.Elements[i].Flow/998, 4e-3, "element %d", i) // half a unit of the last digit printed
	}
}

// Three reservoirs at 135, 120 and 112 m meet in a junction; losses of 0.7594,
// 36.33 and 8.168 s²/m⁵. Worked result: the junction stands at 131.6 m, and
// 2.116, 0.565 and 1.549 m³/s flow from and to the reservoirs. Source: FOSSEE
// textbook companion 1962, example 9.12, with the flows of its formulas.
func TestPublishedReservoirs(t *testing.T) {
	w := network.Fluid{Phase: network.Liquid, Density: 1000, Viscosity: 1e-3}
	p := &network.Problem{Fluids: []network.Fluid{w}, Nodes: []network.Node{{Phase: network.Liquid}}}
	for i, c := range [][2]float64{{135, 0.7594}, {120, 36.33}, {112, 8.168}} {
		p.Nodes = append(p.Nodes, network.Node{Phase: network.Liquid, Pressure: new(1e5 + 1000*network.Gravity*c[0])})
		e := network.Element{From: 0, To: i + 1, Law: network.PowerLaw{Resistance: c[1], Exponent: 2}}
		if i == 0 {
			e.From, e.To = e.To, e.From
		}
		p.Elements = append(p.Elements, e)
	}
	sol := solve(t, p)
	require.InDelta(t, 131.6, (sol.Nodes[0].Pressure-1e5)/(1000*network.Gravity), 0.05)
	for i, want := range []float64{math.Sqrt((135 - 131.6) / 0.7594), math.Sqrt((131.6 - 120) / 36.33), math.Sqrt((131.6 - 112) / 8.168)} {
		require.InEpsilon(t, want, sol.Elements[i].Flow/1000, 5e-3, "reservoir %d", i)
	}
}

// A bridge of five quadratic resistances: balanced, the middle branch carries
// nothing and the rest is two parallel pairs; closed form.
func TestClosedForms(t *testing.T) {
	w := network.Fluid{Phase: network.Liquid, Density: 1000, Viscosity: 1e-3}
	pl := func(r float64) network.Law { return network.PowerLaw{Resistance: r, Exponent: 2} }
	bridge := func(r [5]float64) *network.Problem {
		return &network.Problem{Fluids: []network.Fluid{w},
			Nodes: []network.Node{{Phase: network.Liquid, Pressure: new(3e5)}, {Phase: network.Liquid},
				{Phase: network.Liquid}, {Phase: network.Liquid, Pressure: new(1e5)}},
			Elements: []network.Element{{From: 0, To: 1, Law: pl(r[0])}, {From: 0, To: 2, Law: pl(r[1])},
				{From: 1, To: 3, Law: pl(r[2])}, {From: 2, To: 3, Law: pl(r[3])}, {From: 1, To: 2, Law: pl(r[4])}}}
	}
	h := 2e5 / (1000 * network.Gravity)
	sol := solve(t, bridge([5]float64{1000, 4000, 2000, 8000, 500}))
	require.InEpsilon(t, 1000*math.Sqrt(h/3000), sol.Elements[0].Flow, 1e-7)
	require.InEpsilon(t, 1000*math.Sqrt(h/12000), sol.Elements[1].Flow, 1e-7)
	require.InDelta(t, 0, sol.Elements[4].Flow, 1e-6)

	// Two loops, unbalanced: the losses around each loop add up to zero and
	// both ways around to the whole difference.
	sol = solve(t, bridge([5]float64{1000, 1000, 5000, 1000, 300}))
	loss := func(r, q float64) float64 { return r * q * math.Abs(q) / 1e6 }
	q := func(i int) float64 { return sol.Elements[i].Flow }
	require.InDelta(t, 0, loss(1000, q(0))+loss(300, q(4))-loss(1000, q(1)), 1e-7*h)
	require.InDelta(t, 0, loss(300, q(4))+loss(1000, q(3))-loss(5000, q(2)), 1e-7*h)
	require.InDelta(t, h, loss(1000, q(0))+loss(5000, q(2)), 1e-7*h)

	// Series: 1/Kv² adds; parallel: Kv adds (definition of Kv, IEC 60534-1).
	series := &network.Problem{Fluids: []network.Fluid{w},
		Nodes: []network.Node{{Phase: network.Liquid, Pressure: new(3e5)}, {Phase: network.Liquid}, {Phase: network.Liquid, Pressure: new(1e5)}},
		Elements: []network.Element{{From: 0, To: 1, Law: network.Valve{Kv: 3}}, {From: 1, To: 2, Law: network.Valve{Kv: 4}},
			{From: 0, To: 2, Law: network.Valve{Kv: 2}}}}
	sol = solve(t, series)
	unit := math.Sqrt(2*999.1/1000) * 1000 / 3600
	require.InEpsilon(t, 2.4*unit, q(0), 1e-7)
	require.InEpsilon(t, 4.4*unit, q(0)+q(2), 1e-7)
}
