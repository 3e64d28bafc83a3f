package fact

import (
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
)

// Limits on the work of telling which machines stand in series. Beyond them all count as in series, which is the worst case.
const (
	maxSeriesVisits = 20_000_000
	maxLoopTests    = 256
)

// series tells how pumps and blowers add up: which stand upstream of each, and which share its loop.
type series struct {
	// upstream lists machines whose flow comes to the machine's inlet while its own does not come to theirs.
	upstream [][]int32
	// together lists machines without which the machine's own loop would be cut: all of them add to its pressure.
	together [][]int32
}

// seriesOf follows the flow from every machine's outlet to other machines' inlets.
func (g *pressureGraph) seriesOf(ms []machine) *series {
	s := &series{upstream: make([][]int32, len(ms)), together: make([][]int32, len(ms))}
	if len(ms) < 2 {
		return s
	}
	forward := make([]uint8, g.graph.NumArcs())
	for arc := range forward {
		forward[arc] = flowpath.Blocked
		if arc%2 == 0 || g.of[arc/2] < 0 {
			if g.sureThrough.Cost(int32(arc)) == flowpath.Open {
				forward[arc] = flowpath.Open
			}
		}
	}
	for _, arc := range g.restrictions {
		if g.vents.sure.Has(g.graph.To(arc)) {
			forward[arc] = flowpath.Blocked // nothing builds up behind it
		}
	}
	ways, err := flowpath.NewWays(g.graph, forward)
	must(err)
	outlets, inlets := make([]int32, len(ms)), make([]int32, len(ms))
	at := make(map[int32]int32, len(ms))
	for i := range ms {
		outlets[i], inlets[i] = ms[i].outlet, ms[i].inlet
		at[ms[i].inlet] = int32(i)
	}
	reach := flowpath.ReachMany{Limit: maxSeriesVisits}
	if reach.Sweep(ways, flowpath.Forward, outlets, inlets, flowpath.Avoid{}) != nil {
		for i := range ms {
			for j := range ms {
				if i != j {
					s.together[i] = append(s.together[i], int32(j))
				}
			}
		}
		return s
	}
	tests := 0
	for p := range ms {
		for _, inlet := range reach.Subjects(p) {
			q := at[inlet]
			switch {
			case int(q) == p:
			case !slices.Contains(reach.Subjects(int(q)), ms[p].inlet):
				s.upstream[q] = append(s.upstream[q], int32(p))
			default:
				if tests++; tests > maxLoopTests || !g.loopsWithout(ways, &ms[q], &ms[p]) {
					s.together[q] = append(s.together[q], int32(p))
				}
			}
		}
	}
	return s
}

// loopsWithout tells whether flow comes from a machine's outlet back to its inlet without passing another machine: then the
// two stand side by side, and one does not add to the other.
func (g *pressureGraph) loopsWithout(ways *flowpath.Ways, m, other *machine) bool {
	avoid, err := flowpath.SetOf(g.graph.NumArcs(), other.passage)
	must(err)
	var r flowpath.Reach
	must(r.Sweep(ways, flowpath.Forward, []int32{m.outlet}, flowpath.Avoid{Arcs: avoid}))
	return r.Reached(m.inlet)
}

// makes computes what every machine makes against a closed outlet from what stands at its inlet and from the machines in
// series with it.
func (s *series) makes(ms []machine, standing func(node int32, failures int) Number) {
	for failures := range 2 {
		done := make([]bool, len(ms))
		for i := range ms {
			s.make(ms, int32(i), failures, standing, done)
		}
	}
}

// make computes one machine after those upstream of it. Upstream has no loops, so the recursion ends; it is written with a
// stack because a chain may be long.
func (s *series) make(ms []machine, first int32, failures int, standing func(int32, int) Number, done []bool) {
	stack := []int32{first}
	for len(stack) > 0 {
		i := stack[len(stack)-1]
		waits := false
		for _, up := range s.upstream[i] {
			if !done[up] {
				stack, waits = append(stack, up), true
			}
		}
		if waits {
			continue
		}
		stack = stack[:len(stack)-1]
		if done[i] {
			continue
		}
		inlet, head := standing(ms[i].inlet, failures), ms[i].head.Max(Exactly(0))
		for _, up := range s.upstream[i] {
			inlet = inlet.Max(ms[up].makes[failures])
		}
		for _, other := range s.together[i] {
			inlet = inlet.Max(standing(ms[other].inlet, failures))
			head = head.Add(ms[other].head.Max(Exactly(0)))
		}
		ms[i].makes[failures], done[i] = inlet.Max(Exactly(0)).Add(head), true
	}
}
