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
			x.limits[failures][end] = list.of(x.g.graph)
		}
	}
}

// input is what a sweep of one end is asked, without its sources. Where heights differ, what holds and what has failed are spread
// apart from each other: then nothing fails in the first.
func (x *pressures) input(failures, end int, mode spreadMode) flowpath.LevelInput {
	holds := mode.regulatorsFail || failures == 0 && !x.level()
	in := flowpath.LevelInput{Ways: x.g.sure, ArcLimits: x.limits[failures][end], Hold: holds, Scratch: x.scratch}
	if end == lowEnd {
		in.Ways = x.g.hoped
	}
	if !holds {
		in.Groups = x.g.groups
	}
	if x.relief != nil {
		in.NodeLimits = x.relief.limits[x.limitsOf(failures)][end]
	}
	return in
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
	f.of, f.seeds = f.of[:0], f.seeds[:0]
	return f
}

// limitsOf tells which limits of relief devices hold: with heights alike those while everything holds.
func (x *pressures) limitsOf(failures int) int {
	if x.level() {
		return 0
	}
	return failures
}

// endOf gives one end of a number.
func endOf(n Number, end int) float64 {
	if end == lowEnd {
		return n.Low
	}
	return n.High
}

// spreadSources spreads what stands by itself; where machines run it does not go back through them.
func (x *pressures) spreadSources(failures, end int, mode spreadMode, running bool) *field {
	f, h := x.empty(), x.heights[failures]
	in := x.input(failures, end, mode)
	if running {
		in.Ways = x.oneWay[end]
	}
	for i := range x.sources {
		if v := endOf(x.sources[i].value, end); v > math.Inf(-1) {
			node := x.sources[i].node
			in.Sources = append(in.Sources, flowpath.LevelSource{Node: node, Value: h.head(node, v, end)})
			f.of = append(f.of, int32(i))
		}
	}
	h.spread(&f.main, in, end, h.lifts, func(source int32) bool { return x.isGas(f.of[source]) }, func(source int32) { f.of = append(f.of, f.of[source]) })
	f.pass(x, h, in, end)
	return f
}

// spreadMachines spreads what machines make. It does not go back through a machine: what one makes stands at its own outlet.
func (x *pressures) spreadMachines(failures, end int, mode spreadMode) *field {
	f, h := x.empty(), x.heights[failures]
	in := x.input(failures, end, mode)
	in.Ways = x.oneWay[end]
	for i := range x.machines {
		m := &x.machines[i]
		for count := range 2 {
			v := endOf(m.makes[count], end)
			if v == math.Inf(-1) || count == 1 && (failures == 0 && !x.level() || v == endOf(m.makes[0], end)) {
				continue
			}
			in.Sources = append(in.Sources, flowpath.LevelSource{Node: m.outlet, Value: h.madeHead(m, v, end), Failures: uint8(count)})
			f.of = append(f.of, int32(len(x.sources)+i))
		}
	}
	h.spread(&f.main, in, end, h.lifts, func(source int32) bool { return x.isGas(f.of[source]) }, func(source int32) { f.of = append(f.of, f.of[source]) })
	f.pass(x, h, in, end)
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
// presses on gas lifts no other water above itself: the two are taken to be one body.
func (h *heights) spread(l *flowpath.Levels, in flowpath.LevelInput, end int, arcs []int32, ofGas func(source int32) bool, again func(source int32)) {
	must(l.Sweep(in))
	if end == lowEnd {
		return
	}
	before, layers := len(in.Sources), 1
	if l.Fails() {
		layers = 2
	}
	for _, arc := range arcs {
		from, to := in.Ways.Graph().From(arc), in.Ways.Graph().To(arc)
		if in.Ways.Cost(arc) == flowpath.Blocked || in.Avoid != nil && in.Avoid.Has(to) {
			continue
		}
		for failures := range layers {
			v, ok := l.Value(from, failures)
			if !ok || math.IsInf(v, 0) || !ofGas(l.Source(from, failures)) {
				continue
			}
			v = h.passes(from, to, v, end)
			if had, ok := l.Value(to, failures); ok && had >= v {
				continue
			}
			in.Sources = append(in.Sources, flowpath.LevelSource{Node: to, Value: v, Failures: uint8(failures)})
			again(l.Source(from, failures))
		}
	}
	if len(in.Sources) > before {
		must(l.Sweep(in))
	}
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

// uses tells whether any pressure of the field comes by one of the arcs.
func (f *field) uses(arcs *flowpath.Set) bool { return f.main.Uses(arcs, 1) || f.through.Uses(arcs, 1) }

// pass spreads what comes through restrictions, over places where it can build up.
func (f *field) pass(x *pressures, h *heights, in flowpath.LevelInput, end int) {
	g := x.g
	ways := g.sureThrough
	vented := g.vents.sure
	if end == lowEnd {
		ways, vented = g.hopedThrough, g.vents.hoped
	}
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
	h.spread(&f.through, in, end, slices.Concat(h.lifts, h.rises), func(source int32) bool {
		seed := f.seeds[source]
		return x.isGas(f.of[f.main.Source(g.graph.From(seed.arc), seed.failures)])
	}, func(source int32) { f.seeds = append(f.seeds, f.seeds[source]) })
}

// isGas tells whether a source brings gas.
func (x *pressures) isGas(source int32) bool {
	if int(source) < len(x.sources) {
		return x.sources[source].gas
	}
	return x.machines[int(source)-len(x.sources)].gas
}
