package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
)

// maxChainVisits bounds the search for pumps in series.
const maxChainVisits = 50_000_000

// pumpChains are, for each island, the highest pressure rise against a closed outlet of pumps that stand one behind the other in the
// direction of flow. An open tank between two pumps ends a chain, and a pump in a circle counts once.
func (w *World) pumpChains() []Number {
	p, pumps := w.Plant, w.OfKind(plant.KindPump)
	highest := byIsland(w, Exactly(0))
	if len(pumps) == 0 {
		return highest
	}
	head := func(pump int32) Number {
		return w.number(shutOffHead(p.Components[pump].Data.GetPump()), specRef(pump, "shut_off_head"))
	}
	if !w.pumpsMeet(pumps) {
		for _, pump := range pumps {
			at := w.island(pump)
			highest[at] = highest[at].Max(head(pump))
		}
		return highest
	}
	ways := w.openWays(func(way int32, forward bool) bool {
		k := w.kindOfWay(way)
		return forward && k != plant.KindOpenTank && k != plant.KindPump
	})
	heads := make([]Number, len(pumps))
	inlets, outlets := make([]int32, len(pumps)), make([]int32, len(pumps))
	place := make(map[int32]int, len(pumps)) // of an inlet
	for i, pump := range pumps {
		heads[i] = head(pump)
		inlets[i], outlets[i] = p.PortByTrait(pump, 0), p.PortByTrait(pump, 1)
		place[inlets[i]] = i
	}
	next := flowpath.ReachMany{Limit: maxChainVisits}
	if err := next.Sweep(ways, flowpath.Forward, outlets, inlets, flowpath.Avoid{}); err != nil {
		// Too many pumps lead to too many others: between the largest alone and all of them in series.
		all, largest := byIsland(w, Exactly(0)), highest
		for i, pump := range pumps {
			at := w.island(pump)
			all[at], largest[at] = all[at].Add(heads[i]), largest[at].Max(heads[i])
		}
		for at := range highest {
			highest[at] = largest[at].with(all[at], largest[at].Low, all[at].High)
		}
		return highest
	}
	chains := make([]Number, len(pumps))
	state := make([]uint8, len(pumps)) // 0 not asked yet, 1 being asked, 2 known
	var chain func(i int) Number
	chain = func(i int) Number {
		if state[i] != 0 {
			return chains[i]
		}
		state[i], chains[i] = 1, heads[i]
		behind := Exactly(0)
		for _, inlet := range next.Subjects(i) {
			if j := place[inlet]; state[j] != 1 {
				behind = behind.Max(chain(j))
			}
		}
		state[i], chains[i] = 2, heads[i].Add(behind)
		return chains[i]
	}
	for i, pump := range pumps {
		at := w.island(pump)
		highest[at] = highest[at].Max(chain(i))
	}
	return highest
}

// pumpsMeet tells whether two pumps stand in one island: else no pump can stand behind another.
func (w *World) pumpsMeet(pumps []int32) bool {
	seen := flowpath.NewSet(w.islandIndex().count)
	for _, pump := range pumps {
		at := w.island(pump)
		if seen.Has(at) {
			return true
		}
		seen.Add(at)
	}
	return false
}
