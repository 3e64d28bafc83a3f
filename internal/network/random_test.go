package network_test

import (
	"context"
	"errors"
	"math"
	"math/rand"
	"os"
	"runtime"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/network"
)

// builder makes random well-posed networks: every part has a pressure, and
// fixed flows stand only where they can be taken or supplied whatever the
// switching elements do.
type builder struct {
	r *rand.Rand
	p network.Problem
	// supply and drain tell for each node whether a way leads from, and to,
	// a fixed pressure that no one-way element can shut.
	supply, drain []bool
}

func (b *builder) chance(p float64) bool { return b.r.Float64() < p }

func (b *builder) node(ph network.Phase, z float64) int {
	b.p.Nodes = append(b.p.Nodes, network.Node{Phase: ph, Elevation: z})
	b.supply, b.drain = append(b.supply, false), append(b.drain, false)
	return len(b.p.Nodes) - 1
}

func (b *builder) fixed(ph network.Phase, z, p float64) int {
	i := b.node(ph, z)
	b.p.Nodes[i].Pressure = &p
	b.supply[i], b.drain[i] = true, true
	return i
}

func (b *builder) add(from, to, fluid int, l network.Law) int {
	b.p.Elements = append(b.p.Elements, network.Element{From: from, To: to, Fluid: fluid, Law: l})
	return len(b.p.Elements) - 1
}

// link joins parent and child by an element of random kind and direction; tree
// says that it is the child's only way.
func (b *builder) link(ph network.Phase, parent, child int, tree bool) {
	r := b.r
	fluid, bore := 0, logBetween(r, 0.02, 0.2)
	if ph == network.Gas {
		fluid, bore = 1, logBetween(r, 0.006, 0.08)
	}
	// Kv of about the size of the bore: velocity of 1.5 m/s at 0.1 bar.
	valve := network.Valve{Kv: bore * bore * 1.3e4 * logBetween(r, 0.1, 3), PressureRatioFactor: between(r, 0.3, 0.85)}
	from, to := parent, child
	if b.chance(0.5) {
		from, to = child, parent
	}
	oneWay := false
	var l network.Law
	k := r.Float64()
	rise := math.Abs(b.p.Nodes[parent].Elevation - b.p.Nodes[child].Elevation)
	if ph == network.Liquid && tree && k >= 0.5 { // only pipes climb
		b.p.Nodes[child].Elevation = b.p.Nodes[parent].Elevation
	}
	if !tree && rise > 0.5 && ph == network.Liquid {
		k = 0
	}
	switch {
	case k < 0.5:
		l = network.Pipe{Length: rise + logBetween(r, 0.5, 100), Diameter: bore, Roughness: bore * logBetween(r, 1e-5, 2e-2), K: between(r, 0, 10)}
	case k < 0.62:
		l = network.Fitting{K: logBetween(r, 0.2, 50), Diameter: bore}
	case k < 0.74:
		l = valve
	case k < 0.84:
		l = network.CheckValve{Valve: valve, Opening: between(r, 0, 1e4)}
		oneWay = true
	case k < 0.88:
		l = network.Orifice{Diameter: bore / 2, Coefficient: 0.62}
	case k < 0.92 && ph == network.Liquid:
		l = network.Pump{Curve: threePoint(between(r, 5, 60), bore*bore*between(r, 1, 5), 0), Speed: between(r, 0, 1.1)}
	case k < 0.92:
		l = network.Blower{Curve: threePoint(between(r, 500, 2e4), bore*bore*between(r, 5, 30), 0), Speed: between(r, 0, 1.1)}
	case k < 0.96:
		l = network.Regulator{Valve: valve, Set: between(r, 0.8e5, 5e5)}
		oneWay = true
	case k < 0.98:
		l = network.BackPressure{Valve: valve, Set: between(r, 1e5, 5e5)}
		oneWay = true
	default:
		if tree {
			l = valve
		} else {
			l = network.FlowControl{Valve: valve, Set: bore * bore * between(r, 50, 1000)}
			oneWay = true
		}
	}
	b.add(from, to, fluid, l)
	if tree {
		b.supply[child] = b.supply[parent] && (!oneWay || from == parent)
		b.drain[child] = b.drain[parent] && (!oneWay || to == parent)
		switch l.(type) {
		case network.BackPressure: // stays shut when its inlet falls below the set pressure
			b.supply[child] = false
		case network.Regulator: // stays shut when its outlet is above the set pressure
			b.drain[child] = false
		}
	}
}

// tree grows n nodes of one phase from root and closes loops.
func (b *builder) tree(ph network.Phase, roots []int, n int) []int {
	nodes := append([]int(nil), roots...)
	for range n {
		parent := nodes[b.r.Intn(len(nodes))]
		if b.chance(0.6) { // rather long than bushy
			parent = nodes[len(nodes)-1-b.r.Intn(min(3, len(nodes)))]
		}
		z := math.Max(-3, math.Min(9, b.p.Nodes[parent].Elevation+between(b.r, -2, 2)))
		if ph == network.Gas {
			z = b.p.Nodes[parent].Elevation
		}
		child := b.node(ph, z)
		b.link(ph, parent, child, true)
		nodes = append(nodes, child)
	}
	return nodes
}

// randomNetwork is a network as an engineer would call well-posed: every part
// has a pressure, only pipes climb, and fixed flows stand where some way can
// carry them. All else may be anywhere: injectors and vessels with float vents
// in meshed water, gas that is pushed back through stopped injectors, check
// valves, regulators and back-pressure valves, pumps and blowers, gas that goes
// round from vent to suction.
func randomNetwork(r *rand.Rand) *network.Problem {
	b := &builder{r: r, p: network.Problem{Fluids: []network.Fluid{water, oxygen}}}
	size := int(logBetween(r, 30, 500))
	var liquids, gases []int
	for range 1 + r.Intn(3) {
		liquids = append(liquids, b.fixed(network.Liquid, between(r, 0, 5), between(r, 1e5, 6e5)))
	}
	for range 1 + r.Intn(3) {
		gases = append(gases, b.fixed(network.Gas, 0, between(r, 0.95e5, 5e5)))
	}
	share := between(r, 0.2, 0.8)
	liquids = b.tree(network.Liquid, liquids, int(share*float64(size)*0.75))
	gases = b.tree(network.Gas, gases, int((1-share)*float64(size)*0.75))
	for _, i := range liquids {
		if b.p.Nodes[i].Pressure != nil {
			continue
		}
		if b.supply[i] && b.chance(0.2) {
			b.p.Nodes[i].Inflow = -logBetween(r, 0.005, 0.2)
		} else if b.drain[i] && b.chance(0.05) {
			b.p.Nodes[i].Inflow = logBetween(r, 0.005, 0.2)
		}
	}
	for _, i := range gases {
		if b.p.Nodes[i].Pressure == nil && b.drain[i] && b.chance(0.1) {
			b.p.Nodes[i].Inflow = logBetween(r, 1e-4, 1e-2)
		}
	}
	// Vessels with float vents anywhere.
	tied := map[int]bool{}
	for range r.Intn(4) {
		tank := liquids[r.Intn(len(liquids))]
		if b.p.Nodes[tank].Pressure != nil || tied[tank] {
			continue
		}
		tied[tank] = true
		z := b.p.Nodes[tank].Elevation
		gasCap := b.node(network.Gas, z)
		b.add(tank, gasCap, 0, network.Vessel{Level: z + between(r, 0.5, 4), Released: between(r, 0.2, 1), Sets: network.LiquidSets, GasFluid: 1})
		to := gases[r.Intn(len(gases))]
		if b.chance(0.6) {
			to = b.fixed(network.Gas, 0, atm)
		}
		vent := network.FloatVent{Orifice: network.Orifice{Diameter: logBetween(r, 0.002, 0.02), Coefficient: 0.7}}
		if b.chance(0.5) {
			vent.MaxDifference = logBetween(r, 1e5, 1e6)
		}
		b.add(gasCap, to, 1, vent)
	}
	// Injectors between any two places of the water.
	for range r.Intn(5) {
		kv := logBetween(r, 1, 20)
		jet := jetModel{MotiveKv: kv, Density: water.Density, Recovery: between(r, 1.5, 4), MaxRatio: between(r, 0.05, 0.8),
			Spread: logBetween(r, 5e3, 5e4), VapourPressure: water.VapourPressure, Gas: oxygen}
		from, to := liquids[r.Intn(len(liquids))], liquids[r.Intn(len(liquids))]
		if from == to {
			continue
		}
		z := b.p.Nodes[from].Elevation
		suction := gases[r.Intn(len(gases))]
		if b.chance(0.6) {
			gasCheck := network.CheckValve{Valve: network.Valve{Kv: logBetween(r, 0.1, 3), PressureRatioFactor: 0.7}, Opening: between(r, 0, 7e3)}
			s := b.node(network.Gas, 0)
			b.add(suction, s, 1, gasCheck)
			suction = s
		}
		if b.chance(0.6) {
			pumped := b.node(network.Liquid, z)
			b.add(from, pumped, 0, network.Pump{Curve: threePoint(between(r, 10, 50), kv/3600*2.5, 0), Speed: float64(r.Intn(4)) / 3})
			from = pumped
			if b.chance(0.6) {
				motive := b.node(network.Liquid, z)
				b.add(pumped, motive, 0, network.CheckValve{Valve: network.Valve{Kv: 2 * kv, PressureRatioFactor: 0.7}, Opening: between(r, 0, 1e4)})
				from = motive
			}
		}
		if b.chance(0.6) || math.Abs(z-b.p.Nodes[to].Elevation) > 0.5 {
			out := b.node(network.Liquid, z)
			b.add(out, to, 0, network.Pipe{Length: math.Abs(z-b.p.Nodes[to].Elevation) + logBetween(r, 1, 20), Diameter: math.Sqrt(kv) * 0.012, Roughness: 1e-5, K: 2})
			to = out
		}
		b.add(from, to, 0, network.Injector{SuctionNode: suction, GasFluid: 1, MotiveKv: kv, Suction: jet.suction, ReverseLeak: b.chance(0.3)})
	}
	for tries := 0; len(b.p.Elements) < size && tries < 10*size; tries++ {
		ph, nodes := network.Liquid, liquids
		if b.chance(1 - share) {
			ph, nodes = network.Gas, gases
		}
		i, j := r.Intn(len(nodes)), 0
		if b.chance(0.7) {
			j = i - 6 + r.Intn(13)
		} else {
			j = r.Intn(len(nodes))
		}
		if j < 0 || j >= len(nodes) || i == j {
			continue
		}
		b.link(ph, nodes[i], nodes[j], false)
	}
	for i := range b.p.Elements {
		if _, pipe := b.p.Elements[i].Law.(network.Valve); pipe && i > len(b.p.Elements)*9/10 && b.chance(0.3) {
			b.p.Elements[i].Blocked = true
		}
	}
	return &b.p
}

// TestRandomNetworks solves random well-posed networks of 30 to 500 elements
// from cold starts. SKIDRULE_NETWORKS sets another number of networks.
//
// What turns out to have no steady state, gas that gathers where no liquid
// flows or liquid asked below its vapour pressure, must be named as that and is
// counted apart.
func TestRandomNetworks(t *testing.T) {
	count := 1500
	if testing.Short() {
		count = 200
	}
	if v, err := strconv.Atoi(os.Getenv("SKIDRULE_NETWORKS")); err == nil && v > 0 {
		count = v
	}
	solved, named, iterations, most, hard, elements := 0, 0, 0, 0, 0, 0
	// Solved on all cores, judged in order.
	type result struct {
		p   *network.Problem
		sol *network.Solution
		err error
	}
	results := make([]result, count)
	var next atomic.Int64
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := next.Add(1) - 1; int(i) < count; i = next.Add(1) - 1 {
				r := &results[i]
				r.p = randomNetwork(rand.New(rand.NewSource(i)))
				r.sol, r.err = network.Solve(context.Background(), r.p, nil)
			}
		})
	}
	wait.Wait()
	for i := range results {
		p, sol, err := results[i].p, results[i].sol, results[i].err
		elements += len(p.Elements)
		var stranded *network.StrandedGasError
		var broken *network.BrokenColumnError
		var open *network.NotConvergedError
		switch {
		case err == nil:
			solved++
			iterations += sol.Iterations
			most = max(most, sol.Iterations)
			if sol.Iterations > 60 {
				hard++
			}
			requireProven(t, p, sol)
		case errors.As(err, &stranded), errors.As(err, &broken):
			named++
			t.Logf("network %d, %d elements: %v", i, len(p.Elements), err)
		default:
			require.ErrorAs(t, err, &open, "network %d", i)
			t.Logf("network %d, %d elements: %v", i, len(p.Elements), err)
		}
	}
	t.Logf("%d of %d solved, %d named as without steady state; mean size %d; iterations mean %.1f, most %d, above 60: %d",
		solved, count, named, elements/count, float64(iterations)/float64(solved), most, hard)
	require.GreaterOrEqual(t, float64(solved), 0.999*float64(count-named))
	require.LessOrEqual(t, float64(named), 0.005*float64(count))
}

// requireProven adds up the flows at every node anew, from the answer alone.
func requireProven(t *testing.T, p *network.Problem, sol *network.Solution) {
	t.Helper()
	require.True(t, sol.Converged)
	net := make([]float64, len(p.Nodes))
	largest := [3]float64{network.Liquid: 1e-3, network.Gas: 1e-5}
	book := func(from, to int, q float64) {
		net[from] -= q
		if to >= 0 {
			net[to] += q
		}
		ph := p.Nodes[from].Phase
		largest[ph] = math.Max(largest[ph], math.Abs(q))
	}
	for i, e := range p.Elements {
		r := sol.Elements[i]
		switch l := e.Law.(type) {
		case network.Vessel:
			net[e.To] += r.Flow
			continue
		case network.Injector:
			if !l.ReverseLeak {
				require.GreaterOrEqual(t, r.Gas, 0.0)
			}
			book(l.SuctionNode, -1, r.Gas)
		case network.CheckValve:
			require.True(t, r.Flow >= 0 || l.LeakKv > 0, "element %d", i)
		case network.Regulator, network.BackPressure, network.FlowControl:
			require.GreaterOrEqual(t, r.Flow, 0.0, "element %d", i)
		}
		book(e.From, e.To, r.Flow)
	}
	requireGasProven(t, p, sol)
	for i, n := range p.Nodes {
		require.False(t, math.IsNaN(sol.Nodes[i].Pressure))
		require.InDelta(t, 0, (net[i]+n.Inflow+sol.Nodes[i].Exchange)/largest[n.Phase], 1e-7, "node %d", i)
	}
}

// requireGasProven adds up the gas that liquid carries: what comes to a node
// leaves it in proportion to the liquid, or is said to stay. Nodes beside
// injectors are left out: their motive side reports only what it draws.
func requireGasProven(t *testing.T, p *network.Problem, sol *network.Solution) {
	t.Helper()
	n := len(p.Nodes)
	come, gone, flow := make([]float64, n), make([]float64, n), make([]float64, n)
	apart := make([]bool, n)
	largest, liquid := 1e-5, 1e-3
	for i, e := range p.Elements {
		r := sol.Elements[i]
		if _, vessel := e.Law.(network.Vessel); !vessel && p.Nodes[e.From].Phase == network.Liquid {
			liquid = math.Max(liquid, math.Abs(r.Flow))
		}
		switch e.Law.(type) {
		case network.Vessel:
			apart[e.From] = true
			continue
		case network.Injector:
			apart[e.From], apart[e.To] = true, true
			largest = math.Max(largest, r.Gas)
			continue
		}
		if p.Nodes[e.From].Phase == network.Gas || r.Flow == 0 {
			continue
		}
		from, to := e.From, e.To
		if r.Flow < 0 {
			from, to = to, from
		}
		come[to] += r.Gas
		gone[from] += r.Gas
		flow[from] += math.Abs(r.Flow)
	}
	for i, v := range p.Nodes {
		if v.Phase == network.Gas || apart[i] || v.Pressure != nil {
			continue
		}
		require.InDelta(t, come[i], sol.Nodes[i].CarriedGas, 1e-6*largest, "node %d", i)
		if flow[i] > 0 {
			taken := gone[i] / flow[i] * math.Max(0, -v.Inflow)
			// The liquid's own balance is good to a hundred-millionth of the largest flow.
			require.InDelta(t, come[i], gone[i]+taken+sol.Nodes[i].StrandedGas, 1e-6*largest+1e-7*liquid*gone[i]/flow[i], "node %d", i)
		}
	}
}
