package fact

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
)

// How pressure spreads from its sources and from machines, in both ends of what is known.

// limit finds the limits of both ends, once for all that spreads over them.
func (x *pressures) limit(mode spreadMode) {
	for failures, h := range x.heights {
		if failures == 1 && x.level() {
			x.limits[1] = x.limits[0]
			break
		}
		for end := range 2 {
			drops := h.drops[end]
			list := arcLimits{make([]int32, 0, len(drops)+len(x.g.limits)), make([]flowpath.LevelLimit, 0, len(drops)+len(x.g.limits))}
			dropsBefore := func(arc int32) {
				for ; len(drops) > 0 && drops[0].arc < arc; drops = drops[1:] {
					list.add(drops[0].arc, flowpath.LevelLimit{Value: math.Inf(1), Drop: drops[0].drop})
				}
			}
			for _, l := range x.g.limits {
				dropsBefore(l.arc)
				limit := flowpath.LevelLimit{Value: h.head(x.g.graph.To(l.arc), endOf(l.highest, end), end), MayFail: l.regulator && mode.regulatorsFail}
				if len(drops) > 0 && drops[0].arc == l.arc {
					limit.Drop, drops = drops[0].drop, drops[1:]
				}
				list.add(l.arc, limit)
			}
			dropsBefore(math.MaxInt32)
			if low := &x.limits[failures][lowEnd]; end == highEnd && slices.Equal(list.arcs, low.arcs) && slices.Equal(list.limits, low.limits) {
				x.limits[failures][end] = *low
				continue
			}
			x.limits[failures][end] = boundLimits{list, list.of(x.g.graph)}
		}
	}
}

// input is what a sweep of a corner is asked, without its ways and sources. Where heights differ, what holds and what has failed are
// spread apart from each other: then nothing fails in the first.
func (x *pressures) input(c corner, mode spreadMode) flowpath.LevelInput {
	holds := mode.regulatorsFail || c.failures == 0 && !x.level()
	in := flowpath.LevelInput{ArcLimits: x.limits[c.failures][c.end].bound, NodeLimits: x.nodeLimits(c), Hold: holds, Scratch: x.scratch}
	if !holds {
		in.Groups = x.g.groups
	}
	return in
}

// nodeLimits are what relief devices hold nodes down to; with heights alike those while everything holds.
func (x *pressures) nodeLimits(c corner) []float64 {
	switch {
	case x.relief == nil:
		return nil
	case x.level():
		return x.relief.limits[0][c.end]
	}
	return x.relief.limits[c.failures][c.end]
}

// distinct lists the fields of a kind, each once.
func (x *pressures) distinct(kind int) (list []*field) {
	for failures := range 2 {
		for end := range 2 {
			if f := x.fields[failures][end][kind]; !slices.Contains(list, f) {
				list = append(list, f)
			}
		}
	}
	return list
}

// empty gives a field without sources, in memory that is spare.
func (x *pressures) empty() *field {
	n := len(x.spare)
	if n == 0 {
		return &field{}
	}
	f := x.spare[n-1]
	x.spare = x.spare[:n-1]
	f.seeds = f.seeds[:0]
	return f
}

// endOf gives one end of a number.
func endOf(n Number, end int) float64 {
	if end == lowEnd {
		return n.Low
	}
	return n.High
}

// enterSources lists where what stands by itself enters.
func (x *pressures) enterSources(c corner) entries {
	h, n := x.heights[c.failures], len(x.sources)
	e := entries{make([]flowpath.LevelSource, 0, n), make([]int32, 0, n)}
	for i := range x.sources {
		if v := endOf(x.sources[i].value, c.end); v > math.Inf(-1) {
			node := x.sources[i].node
			e.sources = append(e.sources, flowpath.LevelSource{Node: node, Value: h.head(node, v, c.end)})
			e.of = append(e.of, int32(i))
		}
	}
	return e
}

// enterMachines lists where what machines make enters.
func (x *pressures) enterMachines(c corner) (e entries) {
	h := x.heights[c.failures]
	for i := range x.machines {
		m := &x.machines[i]
		for count := range 2 {
			v := endOf(m.makes[count], c.end)
			if v == math.Inf(-1) || count == 1 && (c.failures == 0 && !x.level() || v == endOf(m.makes[0], c.end)) {
				continue
			}
			e.sources = append(e.sources, flowpath.LevelSource{Node: m.outlet, Value: h.madeHead(m, v, c.end), Failures: uint8(count)})
			e.of = append(e.of, int32(len(x.sources)+i))
		}
	}
	return e
}

// spreadFrom spreads what enters, over ways that may be closed against going back through machines: what runs lets nothing back, and what
// it makes stands at its own outlet.
func (x *pressures) spreadFrom(c corner, e entries, mode spreadMode, ways *flowpath.Ways) *field {
	f, h := x.empty(), x.heights[c.failures]
	f.corner, f.entries, f.ways, f.of = c, e, ways, slices.Clip(e.of)
	in := x.input(c, mode)
	in.Ways, in.Sources = ways, slices.Clip(e.sources)
	f.lifted = h.spread(&f.main, in, c.end, h.lifts, f.mainOfGas(x), func(source int32) { f.of = append(f.of, f.of[source]) })
	f.pass(x, h, in, c.end)
	return f
}

// madeHead is the head of what a machine makes. Where its own elevation is not stated that counts only as far as it makes its
// pressure of the atmosphere: what comes to it brings a head of its own.
func (h *heights) madeHead(m *machine, made float64, end int) float64 {
	if end == lowEnd {
		return made + h.end(m.outlet, lowEnd)
	}
	return max(made+h.end(m.outlet, highEnd), min(made, max(0, m.head.High))+h.start(m.outlet, highEnd))
}

// starts lists the nodes from which pressure spreads, and those at which something holds it. What a drain pushes back counts as
// without a column.
func (x *pressures) starts(w *World) (starts, held []int32) {
	for i := range x.sources {
		if w.Plant.Components[x.sources[i].component].Kind != plant.KindDrainPoint {
			starts = append(starts, x.sources[i].node)
		}
	}
	for i := range x.machines {
		starts = append(starts, x.machines[i].outlet)
	}
	for _, kind := range reliefKinds {
		for _, component := range w.OfKind(kind) {
			held = append(held, w.Plant.PortByTrait(component, 0))
		}
	}
	for i := range x.g.limits {
		held = append(held, x.g.graph.To(x.g.limits[i].arc))
	}
	return starts, held
}

// spread sweeps levels. Where gas of a source pushes water above the level of its gas space, or comes to a space of a higher level,
// what it brings there is a source of its own at the high end; again notes that a source is added that repeats one. Water that
// presses on gas lifts no other water above itself: the two are taken to be one body. It tells whether there is such a source.
func (h *heights) spread(l *flowpath.Levels, in flowpath.LevelInput, end int, arcs []int32, ofGas func(source int32) bool, again func(source int32)) (lifted bool) {
	must(l.Sweep(in))
	if end == lowEnd {
		return false
	}
	failures := 0
	if l.Fails() {
		failures = 1
	}
	list := h.lift(l, in.Ways, in.Avoid, failures, arcs, ofGas)
	if len(list) == 0 {
		return false
	}
	for _, s := range list {
		in.Sources = append(in.Sources, s.LevelSource)
		again(s.of)
	}
	must(l.Sweep(in))
	return true
}

// liftedSource is a source that repeats another where its gas lifts water.
type liftedSource struct {
	flowpath.LevelSource
	of int32
}

// lift lists, at the high end, the places behind some arcs to which gas brings more than comes to them, with up to so many failures.
func (h *heights) lift(l *flowpath.Levels, ways *flowpath.Ways, avoid *flowpath.Set, failures int, arcs []int32, ofGas func(source int32) bool) (list []liftedSource) {
	for _, arc := range arcs {
		from, to := ways.Graph().From(arc), ways.Graph().To(arc)
		if ways.Cost(arc) == flowpath.Blocked || avoid.Has(to) {
			continue
		}
		for failed := range failures + 1 {
			v, ok := l.Value(from, failed)
			if !ok || math.IsInf(v, 0) || !ofGas(l.Source(from, failed)) {
				continue
			}
			v = h.passes(from, to, v, highEnd)
			if had, ok := l.Value(to, failed); ok && had >= v {
				continue
			}
			list = append(list, liftedSource{flowpath.LevelSource{Node: to, Value: v, Failures: uint8(failed)}, l.Source(from, failed)})
		}
	}
	return list
}

// oneWay closes the way back through machines.
func (g *pressureGraph) oneWay(ways *flowpath.Ways, ms []machine) *flowpath.Ways {
	return ways.Without(g.backThrough(ms)...)
}

// backThrough lists the arcs that lead back through machines.
func (g *pressureGraph) backThrough(ms []machine) (back []int32) {
	for i := range ms {
		// Both layers of the passage, if it has two.
		way := g.of[ms[i].passage/2]
		for arc := ms[i].passage; arc >= 0 && g.of[arc/2] == way; arc -= 2 {
			back = append(back, arc+1)
		}
		for arc := ms[i].passage + 2; int(arc/2) < len(g.of) && g.of[arc/2] == way; arc += 2 {
			back = append(back, arc+1)
		}
	}
	return back
}

// uses tells whether any pressure of the field, with at most so many failures, comes by one of the arcs.
func (f *field) uses(arcs *flowpath.Set, failures int) bool {
	return f.main.Uses(arcs, failures) || f.through.Uses(arcs, failures)
}

// pass spreads what comes through restrictions, over places where it can build up.
func (f *field) pass(x *pressures, h *heights, in flowpath.LevelInput, end int) {
	g := x.g
	ways, vented := g.throughAt(end)
	in.Sources = nil
	for _, arc := range g.restrictions {
		from, to := g.graph.From(arc), g.graph.To(arc)
		cost := ways.Cost(arc)
		if cost == flowpath.Blocked || cost == flowpath.Barrier && in.Hold || vented.Has(to) {
			continue
		}
		for failures := range 2 - int(cost) {
			v, ok := f.main.Value(from, failures)
			if before, had := f.main.Value(from, 0); !ok || failures == 1 && had && before == v {
				continue
			}
			in.Sources = append(in.Sources, flowpath.LevelSource{Node: to, Value: h.passes(from, to, v, end), Failures: uint8(failures) + cost})
			f.seeds = append(f.seeds, throughSeed{arc, failures})
		}
	}
	if len(in.Sources) == 0 {
		return
	}
	in.Ways, in.Avoid = ways, vented
	lifted := h.spread(&f.through, in, end, h.liftsThrough(), f.throughOfGas(x), func(source int32) { f.seeds = append(f.seeds, f.seeds[source]) })
	f.lifted = f.lifted || lifted
}

// liftsThrough lists the arcs by which gas that has passed a restriction pushes water up or comes to a space of a higher level.
func (h *heights) liftsThrough() []int32 { return slices.Concat(h.lifts, h.rises) }

// mainOfGas tells the sources of main that bring gas.
func (f *field) mainOfGas(x *pressures) func(source int32) bool {
	return func(source int32) bool { return x.isGas(f.of[source]) }
}

// throughOfGas tells the sources of through that bring gas.
func (f *field) throughOfGas(x *pressures) func(source int32) bool {
	return func(source int32) bool {
		seed := f.seeds[source]
		return x.isGas(f.of[f.main.Source(x.g.graph.From(seed.arc), seed.failures)])
	}
}

// isGas tells whether a source brings gas.
func (x *pressures) isGas(source int32) bool {
	if int(source) < len(x.sources) {
		return x.sources[source].gas
	}
	return x.machines[int(source)-len(x.sources)].gas
}
