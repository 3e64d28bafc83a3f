package network_test

import (
	"context"
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/network"
)

func TestIllPosed(t *testing.T) {
	pipe := network.Pipe{Length: 1, Diameter: 0.05}
	p := &network.Problem{Fluids: []network.Fluid{water},
		Nodes: []network.Node{{ID: "main", Phase: network.Liquid, Pressure: new(2e5)}, {ID: "tee", Phase: network.Liquid},
			{ID: "far", Phase: network.Liquid, Inflow: -0.1}, {ID: "end", Phase: network.Liquid}},
		Elements: []network.Element{{ID: "P-1", From: 0, To: 1, Law: pipe}, {ID: "P-2", From: 2, To: 3, Law: pipe}}}
	_, err := network.Solve(context.Background(), p, nil)
	var floating *network.FloatingError
	require.ErrorAs(t, err, &floating)
	require.Equal(t, []int{2, 3}, floating.Nodes)
	require.Equal(t, []string{"far", "end"}, floating.Names)
	require.Contains(t, err.Error(), "no pressure boundary")

	// Joined by a blocked element the part is shut in, and the demand cannot
	// be met.
	p.Elements = append(p.Elements, network.Element{ID: "HV-1", From: 1, To: 2, Law: network.Valve{Kv: 5}, Blocked: true})
	_, err = network.Solve(context.Background(), p, nil)
	var contradiction *network.ContradictionError
	require.ErrorAs(t, err, &contradiction)
	require.Equal(t, []string{"far", "end"}, contradiction.Names)
	require.InDelta(t, -0.1, contradiction.Net, 1e-12)

	// Without the demand it is merely shut in; open, it flows.
	p.Nodes[2].Inflow = 0
	sol := solve(t, p)
	require.True(t, sol.Nodes[2].ShutIn)
	require.False(t, sol.Nodes[1].ShutIn)
	p.Nodes[2].Inflow = -0.1
	p.Elements[2].Blocked = false
	require.InEpsilon(t, 0.1, solve(t, p).Elements[0].Flow, 1e-9)

	// A demand behind a check valve that points the wrong way has no steady
	// state: the answer names the place.
	p.Elements[2] = network.Element{ID: "CV-1", From: 2, To: 1, Law: network.CheckValve{Valve: network.Valve{Kv: 5}}}
	sol, err = network.Solve(context.Background(), p, nil)
	var nc *network.NotConvergedError
	require.ErrorAs(t, err, &nc)
	require.False(t, sol.Converged)
	require.Contains(t, []string{"far", "end"}, nc.NodeName)
	require.InDelta(t, 0.1, math.Abs(nc.Imbalance), 1e-6)
}

func TestBadInput(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	good := func() *network.Problem { return demo(0) }
	for name, spoil := range map[string]func(p *network.Problem){
		"no nodes":            func(p *network.Problem) { p.Nodes = nil },
		"too many nodes":      func(p *network.Problem) { p.Nodes = make([]network.Node, network.MaxElements+1) },
		"phase":               func(p *network.Problem) { p.Nodes[1].Phase = 0 },
		"phase of a fluid":    func(p *network.Problem) { p.Fluids[0].Phase = 7 },
		"density":             func(p *network.Problem) { p.Fluids[0].Density = nan },
		"viscosity":           func(p *network.Problem) { p.Fluids[1].Viscosity = 0 },
		"molar mass in g":     func(p *network.Problem) { p.Fluids[1].MolarMass = 32 },
		"heat ratio":          func(p *network.Problem) { p.Fluids[1].HeatRatio = 0 },
		"pressure":            func(p *network.Problem) { p.Nodes[0].Pressure = new(-1.0) },
		"pressure and inflow": func(p *network.Problem) { p.Nodes[0].Inflow = 1 },
		"inflow":              func(p *network.Problem) { p.Nodes[1].Inflow = inf },
		"elevation":           func(p *network.Problem) { p.Nodes[1].Elevation = nan },
		"index":               func(p *network.Problem) { p.Elements[0].From = 1000 },
		"negative index":      func(p *network.Problem) { p.Elements[0].To = -1 },
		"fluid index":         func(p *network.Problem) { p.Elements[0].Fluid = 9 },
		"fluid phase":         func(p *network.Problem) { p.Elements[0].Fluid = 1 },
		"loop":                func(p *network.Problem) { p.Elements[0].To = p.Elements[0].From },
		"no law":              func(p *network.Problem) { p.Elements[0].Law = nil },
		"law by pointer":      func(p *network.Problem) { p.Elements[0].Law = &network.Pipe{Length: 1, Diameter: 1} },
		"phases joined":       func(p *network.Problem) { p.Elements[0].To = nFeed },
		"no resistance":       func(p *network.Problem) { p.Elements[0].Law = network.Pipe{Diameter: 1} },
		"roughness":           func(p *network.Problem) { p.Elements[0].Law = network.Pipe{Length: 1, Diameter: 0.01, Roughness: 0.01} },
		"rising curve": func(p *network.Problem) {
			p.Elements[1].Law = network.Pump{Speed: 1, Curve: network.Curve{Points: []network.CurvePoint{{0, 10}, {1, 11}}}}
		},
		"empty curve": func(p *network.Problem) { p.Elements[1].Law = network.Pump{Speed: 1} },
		"speed": func(p *network.Problem) {
			p.Elements[1].Law = network.Pump{Speed: 3, Curve: threePoint(10, 1, 5)}
		},
		"pump for gas": func(p *network.Problem) {
			p.Elements[9].Law = network.Pump{Speed: 1, Curve: threePoint(10, 1, 5)}
		},
		"no suction": func(p *network.Problem) {
			p.Elements[3].Law = network.Injector{SuctionNode: nSuction, GasFluid: 1, MotiveKv: 1}
		},
		"blocked vessel": func(p *network.Problem) { p.Elements[5].Blocked = true },
		"suction of NaN": func(p *network.Problem) {
			p.Elements[3].Law = network.Injector{SuctionNode: nSuction, GasFluid: 1, MotiveKv: 1,
				Suction: func(_, _, _ float64) float64 { return nan }}
		},
		"vent not on a cap": func(p *network.Problem) { p.Elements[12].From = nPot },
		"xT":                func(p *network.Problem) { p.Elements[9].Law = network.Valve{Kv: 1} },
		"fixed cap":         func(p *network.Problem) { p.Nodes[nCap].Pressure = new(1e5) },
		"two-phase factor":  func(p *network.Problem) { p.TwoPhaseFactor = -1 },
		"leak above Kv": func(p *network.Problem) {
			p.Elements[10].Law = network.CheckValve{Valve: network.Valve{Kv: 1, PressureRatioFactor: 0.7}, LeakKv: 2}
		},
	} {
		p := good()
		spoil(p)
		_, err := network.Solve(context.Background(), p, nil)
		var bad *network.BadInputError
		assert.ErrorAs(t, err, &bad, name)
	}
	_, err := network.Solve(context.Background(), nil, nil)
	require.Error(t, err)
	_, err = network.Solve(context.Background(), good(), &network.Options{Start: &network.Solution{}})
	require.Error(t, err)
	_, err = network.Solve(context.Background(), good(), &network.Options{Tolerance: -1})
	require.Error(t, err)
}

// FuzzNetwork spoils numbers of the demo at random: never a crash, never a NaN
// in a converged answer.
func FuzzNetwork(f *testing.F) {
	for i := range 20 {
		f.Add(int64(i), math.Pow(10, float64(i-10)))
	}
	f.Fuzz(func(t *testing.T, seed int64, x float64) {
		r := rand.New(rand.NewSource(seed))
		p := demo(r.Intn(len(skidCases)))
		for range 1 + r.Intn(3) {
			switch r.Intn(8) {
			case 0:
				p.Nodes[r.Intn(len(p.Nodes))].Pressure = &x
			case 1:
				p.Nodes[r.Intn(len(p.Nodes))].Inflow = x
			case 2:
				p.Nodes[r.Intn(len(p.Nodes))].Elevation = x
			case 3:
				p.Elements[r.Intn(len(p.Elements))].Law = network.Pipe{Length: x, Diameter: 0.1}
			case 4:
				p.Elements[r.Intn(len(p.Elements))].Law = network.Valve{Kv: x, PressureRatioFactor: 0.5}
			case 5:
				p.Elements[r.Intn(len(p.Elements))].Law = network.FixedFlow{Flow: x}
			case 6:
				p.Elements[r.Intn(len(p.Elements))].Blocked = true
			default:
				p.Elements[r.Intn(len(p.Elements))].To = r.Intn(len(p.Nodes))
			}
		}
		sol, err := network.Solve(context.Background(), p, nil)
		if err != nil {
			return
		}
		for _, n := range sol.Nodes {
			require.False(t, math.IsNaN(n.Pressure) || math.IsNaN(n.Imbalance) || math.IsNaN(n.Exchange))
		}
		for _, e := range sol.Elements {
			require.False(t, math.IsNaN(e.Flow) || math.IsNaN(e.Velocity) || math.IsNaN(e.Residual))
		}
	})
}
