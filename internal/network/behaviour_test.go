package network_test

import (
	"context"
	"encoding/json"
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/network"
)

func laws(r *rand.Rand, ph network.Phase) []network.Law {
	v := network.Valve{Kv: logBetween(r, 0.1, 10), PressureRatioFactor: 0.7}
	d := logBetween(r, 0.005, 0.1)
	ls := []network.Law{network.Pipe{Length: logBetween(r, 0.1, 100), Diameter: d, Roughness: d * 1e-4, K: between(r, 0, 5)},
		network.Fitting{K: logBetween(r, 0.1, 100), Diameter: d}, v, network.Orifice{Diameter: d / 2, Coefficient: 0.62}}
	if ph == network.Liquid {
		ls = append(ls, network.PowerLaw{Resistance: logBetween(r, 1e2, 1e7), Exponent: between(r, 1, 3)})
	}
	return ls
}

// Ends swapped, the flow is the same backwards.
func TestReversal(t *testing.T) {
	r := rand.New(rand.NewSource(3))
	for range 50 {
		for _, f := range []network.Fluid{water, oxygen} {
			pa, pb, z := between(r, 1e5, 5e5), between(r, 1e5, 5e5), between(r, -3, 3)
			for _, l := range laws(r, f.Phase) {
				_, ahead := single(t, f, l, pa, pb, 0, z)
				_, back := single(t, f, l, pb, pa, z, 0)
				q := ahead.Elements[0].Flow
				require.InDelta(t, q, -back.Elements[0].Flow, 1e-6*math.Abs(q)+1e-12, "%T", l)
			}
		}
	}
}

// Quadratic laws: four times the difference is twice the flow; twice the Kv is
// twice the flow; gas: all pressures doubled is twice the flow.
func TestScaling(t *testing.T) {
	r := rand.New(rand.NewSource(4))
	for range 50 {
		kv, d := logBetween(r, 0.1, 10), between(r, 1e3, 5e4)
		flow := func(f network.Fluid, l network.Law, pa, pb float64) float64 {
			_, s := single(t, f, l, pa, pb, 0, 0)
			return s.Elements[0].Flow
		}
		v, v2 := network.Valve{Kv: kv, PressureRatioFactor: 0.7}, network.Valve{Kv: 2 * kv, PressureRatioFactor: 0.7}
		require.InEpsilon(t, 2*flow(water, v, 1e5+d, 1e5), flow(water, v, 1e5+4*d, 1e5), 1e-6)
		require.InEpsilon(t, 2*flow(water, v, 1e5+d, 1e5), flow(water, v2, 1e5+d, 1e5), 1e-6)
		require.InEpsilon(t, 2*flow(oxygen, v, 1e5+d, 1e5), flow(oxygen, v, 2*(1e5+d), 2e5), 1e-6)
		o := network.Orifice{Diameter: 0.003, Coefficient: 0.7}
		require.InEpsilon(t, 2*flow(oxygen, o, 1e5+d, 1e5), flow(oxygen, o, 2*(1e5+d), 2e5), 1e-6)
	}
}

// Raising a source never lowers what it gives, in networks of one phase whose
// elements only resist.
func TestMonotoneResponse(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewSource(int64(rapid.IntRange(0, 1<<30).Draw(rt, "seed"))))
		f := water
		if r.Intn(2) == 0 {
			f = oxygen
		}
		p := &network.Problem{Fluids: []network.Fluid{f}}
		for i := range 8 {
			n := network.Node{Phase: f.Phase}
			if i < 2 {
				n.Pressure = new(between(r, 1e5, 4e5))
			}
			p.Nodes = append(p.Nodes, n)
			for j := range i {
				if j == i-1 || r.Intn(3) == 0 {
					ls := laws(r, f.Phase)
					l := ls[r.Intn(len(ls))]
					if v, ok := l.(network.Valve); ok && r.Intn(2) == 0 {
						l = network.CheckValve{Valve: v, Opening: between(r, 0, 2e4)}
					}
					p.Elements = append(p.Elements, network.Element{From: i, To: j, Law: l})
				}
			}
		}
		before := solve(t, p)
		*p.Nodes[0].Pressure *= 1 + between(r, 0.01, 0.5)
		after := solve(t, p)
		require.GreaterOrEqual(rt, after.Nodes[0].Exchange, before.Nodes[0].Exchange-1e-6*math.Abs(before.Nodes[0].Exchange)-1e-9)
		for i := range p.Nodes { // and no pressure falls
			if !after.Nodes[i].ShutIn && !before.Nodes[i].ShutIn {
				require.GreaterOrEqual(rt, after.Nodes[i].Pressure, before.Nodes[i].Pressure-1)
			}
		}
	})
}

// The same problem gives the same bytes, whatever was solved before; a warm
// start ends at the cold answer.
func TestDeterminism(t *testing.T) {
	for i := range 20 {
		p := randomNetwork(rand.New(rand.NewSource(int64(i))))
		first, err := network.Solve(context.Background(), p, nil)
		require.NoError(t, err)
		_, err = network.Solve(context.Background(), demo(i%6), nil)
		require.NoError(t, err)
		second, err := network.Solve(context.Background(), p, nil)
		require.NoError(t, err)
		a, err := json.Marshal(first)
		require.NoError(t, err)
		b, err := json.Marshal(second)
		require.NoError(t, err)
		require.Equal(t, string(a), string(b))
	}
	for c := range skidCases {
		p := demo(c)
		cold, err := network.Solve(context.Background(), p, nil)
		require.NoError(t, err)
		warm, err := network.Solve(context.Background(), p, &network.Options{Start: cold})
		require.NoError(t, err)
		require.LessOrEqual(t, warm.Iterations, 4, skidCases[c])
		for i := range cold.Nodes {
			require.Equal(t, cold.Nodes[i].ShutIn, warm.Nodes[i].ShutIn)
			if !cold.Nodes[i].ShutIn { // a shut-in pressure is only one of many
				require.InEpsilon(t, cold.Nodes[i].Pressure, warm.Nodes[i].Pressure, 1e-6)
			}
		}
	}
}

// counted is a context that ends when it has been asked a number of times.
type counted struct {
	context.Context
	left, after int
}

func (c *counted) Err() error {
	if c.left > 0 {
		c.left--
		return nil
	}
	c.after++
	return context.Canceled
}

// A solve stops at the next question, wherever the context ends: in the
// analysis, in a factorisation, in any of the attempts.
func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := network.Solve(ctx, demo(0), nil)
	require.ErrorIs(t, err, context.Canceled)

	// Questions of a whole solve, also of one that goes through all attempts.
	mesh := &network.Problem{Fluids: []network.Fluid{water}}
	const side = 60
	for i := range side * side {
		mesh.Nodes = append(mesh.Nodes, network.Node{Phase: network.Liquid, Inflow: -1e-3})
		for _, j := range []int{i - 1, i - side} {
			if j >= 0 && (j != i-1 || i%side > 0) {
				mesh.Elements = append(mesh.Elements, network.Element{From: j, To: i, Law: network.Valve{Kv: 5}})
			}
		}
	}
	mesh.Nodes[0].Pressure, mesh.Nodes[0].Inflow = new(5e5), 0
	hopeless := &network.Problem{Fluids: []network.Fluid{water},
		Nodes:    []network.Node{{Phase: network.Liquid, Pressure: new(2e5)}, {Phase: network.Liquid, Inflow: -0.1}},
		Elements: []network.Element{{From: 1, To: 0, Law: network.CheckValve{Valve: network.Valve{Kv: 5}}}}}
	for _, p := range []*network.Problem{mesh, hopeless, randomNetwork(rand.New(rand.NewSource(7)))} {
		whole := &counted{Context: context.Background(), left: 1 << 30}
		_, _ = network.Solve(whole, p, nil)
		asked := 1<<30 - whole.left
		require.Greater(t, asked, 10)
		for k := 0; k < asked; k += 1 + asked/25 {
			c := &counted{Context: context.Background(), left: k}
			_, err := network.Solve(c, p, nil)
			require.ErrorIs(t, err, context.Canceled, "after %d of %d", k, asked)
			require.LessOrEqual(t, c.after, 4)
		}
	}
	// The mesh is analysed and factorised in parts.
	fresh := *mesh
	fresh.Nodes = append(append([]network.Node(nil), mesh.Nodes...), network.Node{Phase: network.Liquid})
	fresh.Elements = append(append([]network.Element(nil), mesh.Elements...), network.Element{From: 0, To: side * side, Law: network.Valve{Kv: 1}})
	c := &counted{Context: context.Background(), left: 1 << 30}
	sol, err := network.Solve(c, &fresh, nil)
	require.NoError(t, err)
	require.Greater(t, 1<<30-c.left, sol.Iterations+5)
}

func TestDuty(t *testing.T) {
	// H = 40 − 1e6 Q² against a static lift of 10 m and a Kv: closed form.
	w := network.Fluid{Phase: network.Liquid, Density: 1000, Viscosity: 1e-3, VapourPressure: 2339}
	kv := 20.0
	p := &network.Problem{Fluids: []network.Fluid{w},
		Nodes: []network.Node{{Phase: network.Liquid, Pressure: new(1e5)}, {Phase: network.Liquid},
			{Phase: network.Liquid, Elevation: 10, Pressure: new(1e5)}},
		Elements: []network.Element{
			{From: 0, To: 1, Law: network.Pump{Speed: 1, Curve: network.Curve{ShutOff: 40, Quadratic: 1e6},
				NPSHRequired: network.Curve{ShutOff: 1, Quadratic: -1e5}}},
			{From: 1, To: 2, Law: network.Valve{Kv: kv}}}}
	sol := solve(t, p)
	valve := 1e5 / (network.Gravity * 999.1) * math.Pow(3600/kv, 2)
	q := math.Sqrt(30 / (1e6 + valve))
	require.InEpsilon(t, q, sol.Elements[0].Flow/1000, 1e-7)
	require.InEpsilon(t, (1e5-2339)/(1000*network.Gravity), sol.Elements[0].NPSHAvailable, 1e-9)
	require.InEpsilon(t, 1+1e5*q*q, sol.Elements[0].NPSHRequired, 1e-6)

	// A table of points on the same curve meets nearly the same duty.
	var pts []network.CurvePoint
	for i := range 9 {
		v := float64(i) * 0.8e-3
		pts = append(pts, network.CurvePoint{Flow: v, Rise: 40 - 1e6*v*v})
	}
	p.Elements[0].Law = network.Pump{Speed: 1, Curve: network.Curve{Points: pts}}
	require.InEpsilon(t, q, solve(t, p).Elements[0].Flow/1000, 1e-3)

	// Shut off: the full head stands before the valve.
	p.Elements[1].Blocked = true
	sol = solve(t, p)
	require.InDelta(t, 1e5+40*1000*network.Gravity, sol.Nodes[1].Pressure, 1)
	require.Zero(t, sol.Elements[1].Flow)
	require.Equal(t, network.Shut, sol.Elements[1].State)

	// Affinity: at speed s the curve is s² H(Q/s).
	p.Elements[1].Blocked = false
	p.Elements[0].Law = network.Pump{Speed: 0.8, Curve: network.Curve{ShutOff: 40, Quadratic: 1e6}}
	require.InEpsilon(t, math.Sqrt((0.64*40-10)/(1e6+valve)), solve(t, p).Elements[0].Flow/1000, 1e-7)

	// Beyond the stated points the answer says so.
	p.Elements[0].Law = network.Pump{Speed: 1, Curve: network.Curve{Points: []network.CurvePoint{{Flow: 0, Rise: 40}, {Flow: 1e-3, Rise: 39}}}}
	require.NotZero(t, solve(t, p).Elements[0].Limits&network.LimitCurve)
}

func TestSwitching(t *testing.T) {
	valve := network.Valve{Kv: 2, PressureRatioFactor: 0.7}
	for _, f := range []network.Fluid{water, oxygen} {
		check := network.CheckValve{Valve: valve, Opening: 5e3}
		_, s := single(t, f, check, 2e5, 1e5, 0, 0)
		assert.Equal(t, network.Open, s.Elements[0].State)
		_, plain := single(t, f, valve, 1.95e5, 1e5, 0, 0)
		require.InEpsilon(t, plain.Elements[0].Flow, s.Elements[0].Flow, 1e-6)
		for _, pb := range []float64{1.98e5, 2e5, 3e5} { // below opening, equal, reverse
			_, s = single(t, f, check, 2e5, pb, 0, 0)
			assert.Zero(t, s.Elements[0].Flow)
			assert.Equal(t, network.Shut, s.Elements[0].State)
		}
		leaky := check
		leaky.LeakKv = 0.02
		_, s = single(t, f, leaky, 2e5, 3e5, 0, 0)
		_, small := single(t, f, network.Valve{Kv: 0.02, PressureRatioFactor: 0.7}, 2e5, 3e5, 0, 0)
		require.InEpsilon(t, small.Elements[0].Flow, s.Elements[0].Flow, 1e-6)

		// Regulators between a source, a load and a sink.
		line := func(l network.Law, source, sink float64) (*network.Solution, float64) {
			p := &network.Problem{Fluids: []network.Fluid{f}, Nodes: []network.Node{
				{Phase: f.Phase, Pressure: &source}, {Phase: f.Phase}, {Phase: f.Phase}, {Phase: f.Phase, Pressure: &sink}},
				Elements: []network.Element{{From: 0, To: 1, Law: valve}, {From: 1, To: 2, Law: l}, {From: 2, To: 3, Law: valve}}}
			sol := solve(t, p)
			return sol, sol.Elements[1].Flow
		}
		reduce := network.Regulator{Valve: valve, Set: 1.5e5}
		s, _ = line(reduce, 4e5, 1e5)
		assert.Equal(t, network.Controlling, s.Elements[1].State)
		require.InEpsilon(t, 1.5e5, s.Nodes[2].Pressure, 1e-7)
		s, q := line(reduce, 1.6e5, 1e5)
		assert.Equal(t, network.Open, s.Elements[1].State)
		_, free := line(valve, 1.6e5, 1e5)
		require.InEpsilon(t, free, q, 1e-6)
		s, q = line(reduce, 4e5, 1.7e5)
		assert.Equal(t, network.Shut, s.Elements[1].State)
		assert.Zero(t, q)

		back := network.BackPressure{Valve: valve, Set: 3e5}
		s, _ = line(back, 3.3e5, 1e5)
		assert.Equal(t, network.Controlling, s.Elements[1].State)
		require.InEpsilon(t, 3e5, s.Nodes[1].Pressure, 1e-7)
		s, _ = line(back, 2.9e5, 1e5)
		assert.Equal(t, network.Shut, s.Elements[1].State)
		s, _ = line(back, 9e5, 1e5)
		assert.Equal(t, network.Open, s.Elements[1].State)

		_, most := line(valve, 4e5, 1e5)
		s, q = line(network.FlowControl{Valve: valve, Set: most / 2}, 4e5, 1e5)
		assert.Equal(t, network.Controlling, s.Elements[1].State)
		require.InEpsilon(t, most/2, q, 1e-9)
		s, q = line(network.FlowControl{Valve: valve, Set: most * 2}, 4e5, 1e5)
		assert.Equal(t, network.Open, s.Elements[1].State)
		require.InEpsilon(t, most, q, 1e-6)
		_, q = line(network.FlowControl{Valve: valve, Set: most}, 1e5, 4e5)
		assert.Zero(t, q)
		_, q = line(network.FixedFlow{Flow: most / 3}, 4e5, 1e5)
		require.InEpsilon(t, most/3, q, 1e-12)
	}
}

// Two closed check valves shut in what lies between them; equal small leaks
// put it in the middle of the range that keeps both closed.
func TestShutIn(t *testing.T) {
	check := network.CheckValve{Valve: network.Valve{Kv: 1, PressureRatioFactor: 0.7}, Opening: 4e3}
	p := &network.Problem{Fluids: []network.Fluid{oxygen},
		Nodes:    []network.Node{{Phase: network.Gas, Pressure: new(1e5)}, {Phase: network.Gas}, {Phase: network.Gas, Pressure: new(2e5)}},
		Elements: []network.Element{{From: 0, To: 1, Law: check}, {From: 1, To: 2, Law: check}}}
	sol := solve(t, p)
	require.True(t, sol.Nodes[1].ShutIn)
	require.InDelta(t, 1.5e5, sol.Nodes[1].Pressure, 1)
	// A fixed flow into the middle opens the way out.
	p.Nodes[1].Inflow = 0.01
	sol = solve(t, p)
	require.False(t, sol.Nodes[1].ShutIn)
	require.Greater(t, sol.Nodes[1].Pressure, 2.04e5)
	require.InEpsilon(t, 0.01, sol.Elements[1].Flow, 1e-9)
}
