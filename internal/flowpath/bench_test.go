package flowpath_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/flowpath"
)

// plainSearch is a breadth-first search over compressed sparse rows with
// nothing on top: the yardstick for all questions.
type plainSearch struct {
	start, to []int32
	depth     []int32
	queue     []int32
}

func newPlainSearch(m model) *plainSearch {
	p := &plainSearch{start: make([]int32, m.n+1), to: make([]int32, len(m.to)), depth: make([]int32, m.n), queue: make([]int32, m.n)}
	for _, u := range m.from {
		p.start[u+1]++
	}
	for i := range m.n {
		p.start[i+1] += p.start[i]
	}
	next := append([]int32{}, p.start...)
	for a, u := range m.from {
		p.to[next[u]] = m.to[a]
		next[u]++
	}
	return p
}

func (p *plainSearch) run(source int32) int {
	for i := range p.depth {
		p.depth[i] = -1
	}
	p.depth[source] = 0
	p.queue[0] = source
	tail := 1
	for q := 0; q < tail; q++ {
		u := p.queue[q]
		for _, v := range p.to[p.start[u]:p.start[u+1]] {
			if p.depth[v] < 0 {
				p.depth[v] = p.depth[u] + 1
				p.queue[tail] = v
				tail++
			}
		}
	}
	return tail
}

func BenchmarkQuestions(b *testing.B) {
	for _, components := range []int{1_000, 10_000, 100_000} {
		p := newPlant(components, true)
		b.Run(fmt.Sprintf("components=%d", components), func(b *testing.B) { questions(b, p) })
		if components == 100_000 {
			b.Run("scattered", func(b *testing.B) { questions(b, p.scattered()) })
		}
	}
}

func questions(b *testing.B, p *plantModel) {
	ways := p.ways(b)
	g, open := ways.Graph(), p.open()
	groups, plain := p.groups(b, g), newPlainSearch(p.model)
	checked, reverseOnly := flowpath.NewSet(len(p.from)), flowpath.Avoid{Barriers: true}
	for a, l := range p.arcLabels {
		if l == labelCheck {
			checked.Add(int32(a))
		}
	}
	values := make([]float64, 0, len(p.water)+len(p.generators))
	pressed := append(append([]int32{}, p.water...), p.generators...)
	for i := range pressed {
		values = append(values, float64(1000-i%7))
	}
	unit := make([]int32, len(p.from))
	for i := range unit {
		unit[i] = 1
	}
	var (
		weakest flowpath.Weakest
		causes  flowpath.CauseGroups
		reach   flowpath.Reach
		many    flowpath.ReachMany
		zones   flowpath.Zones
		loops   flowpath.Loops
		highest flowpath.Highest
		runs    flowpath.Runs
		bypass  flowpath.Bypasses
		cut     flowpath.MinCut
		dead    flowpath.DeadEnds
	)
	require.NoError(b, weakest.Sweep(ways, flowpath.Forward, p.water))
	labels := flowpath.Labels{Nodes: p.nodeLabels, Arcs: p.arcLabels}
	order, target := flowpath.Since(labelCheck, labelTrap), p.generators[len(p.generators)/2]
	var last flowpath.Weakest
	require.NoError(b, last.Sweep(ways, flowpath.Forward, p.water))
	for _, q := range []struct {
		name string
		ask  func() error
	}{
		{"PlainSearch", func() error { plain.run(p.water[0]); return nil }},
		{"NewGraph", func() error { _, err := flowpath.NewGraph(p.n, p.from, p.to, p.twin); return err }},
		{"NewWays", func() error { _, err := flowpath.NewWays(g, p.cost); return err }},
		{"NewGroups", func() error {
			_, err := flowpath.NewGroups(g, p.numCauses, p.arcCauses, p.causes)
			return err
		}},
		{"Weakest", func() error { return weakest.Sweep(ways, flowpath.Forward, p.water) }},
		{"CauseGroups", func() error { return causes.Sweep(&last, groups, p.generators) }},
		{"ReachAvoiding", func() error {
			return reach.Sweep(ways, flowpath.Forward, p.water, flowpath.Avoid{Arcs: checked})
		}},
		{"ReachMany", func() error {
			return many.Sweep(ways, flowpath.Backward, p.generators, p.generators, reverseOnly)
		}},
		{"Zones", func() error { return zones.Sweep(g, open) }},
		{"Loops", func() error { return loops.Sweep(ways, false) }},
		{"Highest0", func() error { return highest.Sweep(ways, pressed, values, 0) }},
		{"Highest1", func() error { return highest.Sweep(ways, pressed, values, 1) }},
		{"RunsMayTurnBack", func() error {
			return runs.Sweep(ways, order, labels, p.water, flowpath.MayTurnBack, flowpath.Avoid{})
		}},
		{"RunsNoTurnBack", func() error {
			return runs.Sweep(ways, order, labels, p.water, flowpath.NoTurnBack, flowpath.Avoid{})
		}},
		{"Bypasses", func() error { return bypass.Sweep(ways) }},
		{"MinCut", func() error {
			return cut.Sweep(g, unit, nil, p.water, []int32{target}, flowpath.MaxCut)
		}},
		{"DeadEnds", func() error { return dead.Sweep(g, open, nil) }},
	} {
		b.Run(q.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if err := q.ask(); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(p.n), "ns/node")
		})
	}
}
