package network_test

import (
	"context"
	"math/rand"
	"testing"

	"github.com/skidrule/skidrule/internal/network"
)

// demo is the skid of the spike with pipes, fittings and side branches of an
// ordinary drawing: about 30 elements.
func demo(c int) *network.Problem {
	k := skid{
		source: 1.6e5, main: 1.9e5, feed: 3e5, pumpHead: 45, pumpFlow: 0.005, suctionPipe: 4, returnPipe: 30,
		waterBore: 0.05, gasBore: 0.008, injectorKv: 7, recovery: 2, ratio: 0.4, spread: 1.5e4, checkKv: 0.6,
		opening1: 2e3, opening2: 2e3, twoPhaseLength: 3, rise: 1.5, level: 2, outletKv: 25, ventBore: 0.004, ventMax: 6e5,
		regulatorSet: 1.25e5, needleKv: 0.15, generatorK: 10, destructBore: 0.02, destructK: 30, blowerRise: 1500,
	}
	p := k.problem(c)
	gasPipe := network.Pipe{Length: 1.5, Diameter: k.gasBore, Roughness: 1.5e-6, K: 2}
	waterPipe := network.Pipe{Length: 1.5, Diameter: k.waterBore, Roughness: 1.5e-6, K: 2}
	split := func(element int, l network.Law) { // puts l between an element and its To
		e := &p.Elements[element]
		n := p.Nodes[e.To]
		n.Pressure, n.Inflow = nil, 0
		p.Nodes = append(p.Nodes, n)
		p.Elements = append(p.Elements, network.Element{From: len(p.Nodes) - 1, To: e.To, Fluid: e.Fluid, Law: l})
		e.To = len(p.Nodes) - 1
	}
	for _, i := range []int{8, 9, 10, 11, 13, 14} {
		split(i, gasPipe)
	}
	for _, i := range []int{0, 1, 2, 4, 6, 7} {
		split(i, waterPipe)
	}
	// A bypass of the injector and a sample line.
	p.Elements = append(p.Elements,
		network.Element{From: nPumpOut, To: nOutlet, Law: network.Valve{Kv: 1}},
		network.Element{From: nPot, To: nOutdoors, Fluid: 1, Law: network.Pipe{Length: 5, Diameter: 0.004, Roughness: 1.5e-6}})
	return p
}

func BenchmarkDemoCold(b *testing.B) {
	p := demo(0)
	b.ReportMetric(float64(len(p.Elements)), "elements")
	b.ReportAllocs()
	its := 0
	for b.Loop() {
		sol, err := network.Solve(context.Background(), p, nil)
		if err != nil {
			b.Fatal(err)
		}
		its = sol.Iterations
	}
	b.ReportMetric(float64(its), "iterations")
}

func BenchmarkDemoWarm(b *testing.B) {
	p := demo(0)
	start, err := network.Solve(context.Background(), p, nil)
	if err != nil {
		b.Fatal(err)
	}
	near := *p
	near.Nodes = append([]network.Node(nil), p.Nodes...)
	near.Nodes[nMain].Pressure = new(1.95e5)
	b.ReportAllocs()
	its := 0
	for b.Loop() {
		sol, err := network.Solve(context.Background(), &near, &network.Options{Start: start})
		if err != nil {
			b.Fatal(err)
		}
		its = sol.Iterations
	}
	b.ReportMetric(float64(its), "iterations")
}

// BenchmarkDemoCases solves all six cases of the demo, each from cold.
func BenchmarkDemoCases(b *testing.B) {
	var ps []*network.Problem
	for c := range skidCases {
		ps = append(ps, demo(c))
	}
	for b.Loop() {
		for _, p := range ps {
			if _, err := network.Solve(context.Background(), p, nil); err != nil {
				b.Fatal(err)
			}
		}
	}
}

func BenchmarkRandom(b *testing.B) {
	var ps []*network.Problem
	for i := range 50 {
		ps = append(ps, randomNetwork(rand.New(rand.NewSource(int64(i)))))
	}
	b.ReportAllocs()
	n := 0
	for b.Loop() {
		if _, err := network.Solve(context.Background(), ps[n%len(ps)], nil); err != nil {
			b.Fatal(err)
		}
		n++
	}
}
