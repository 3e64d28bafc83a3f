package fact

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Pressure in the whole drawing, over all cases, from what the drawing states: what each source brings spreads along
// every way that does not hold, once with everything holding and once with one barrier failed. It rests on no flow: against a
// closed outlet there is none, which is the worst case.
//
// Water presses more below than above: see heights.

// pressures is the highest pressure everywhere.
type pressures struct {
	g        *pressureGraph
	heights  [2]*heights // while everything holds and with one failure
	sources  []pressureSource
	machines []machine
	// fields holds, while everything holds and with one failure, the low and the high end of what is known: first what stands by
	// itself, then what machines make. Those are the same that do not differ.
	fields [2][2][2]*field
	relief *reliefs // nil for the pressures that would be without relief valves

	// limits are, while everything holds and with one failure, for both ends, what passages let through and what is lost on the way
	// between water and gas; oneWay are the ways of both ends closed against going back through machines.
	limits  [2][2]*flowpath.Limits
	oneWay  [2]*flowpath.Ways
	spans   [2][]span              // of each node, once spread is done; nil where few are asked for
	spare   []*field               // memory of fields that nobody asks any more
	scratch *flowpath.LevelScratch // of the sweeps of one spread
}

// span is a range of pressures, Pa gauge.
type span struct{ low, high float64 }

// field is how one set of sources spreads: main over open ways, through behind restrictions.
type field struct {
	main, through flowpath.Levels
	of            []int32 // source number of each source of main; machines count on from the sources
	seeds         []throughSeed
}

// throughSeed is pressure that passes a restriction.
type throughSeed struct {
	arc      int32
	failures int // with which it arrives before the restriction
}

// The ends of what is known.
const (
	lowEnd  = 0
	highEnd = 1
)

// pressures computes the highest pressures once.
func (w *World) pressures() *pressures { return w.ratings.highest.get(w.findPressures) }

func (w *World) findPressures() *pressures {
	bare := w.barePressures()
	x := *bare
	if r := w.reliefs(); len(r.list) > 0 {
		x = pressures{g: bare.g, heights: bare.heights, sources: bare.sources, machines: slices.Clone(bare.machines), relief: r, limits: bare.limits, oneWay: bare.oneWay}
		x.spread(w, spreadMode{})
	}
	w.pause()
	x.readSpans()
	return &x
}

// barePressures are the highest pressures without relief valves.
func (w *World) barePressures() *pressures {
	return w.ratings.bare.get(func() *pressures {
		g := w.pressureGraph()
		x := &pressures{g: g, sources: w.pressureSources(g), machines: w.machines(g)}
		starts, held := x.starts(w)
		for failures := range 2 {
			w.pause()
			x.heights[failures] = g.findHeights(w, starts, held, failures == 1)
		}
		x.limit(spreadMode{})
		x.oneWay = [2]*flowpath.Ways{lowEnd: g.oneWay(g.hoped, x.machines), highEnd: g.oneWay(g.sure, x.machines)}
		x.spread(w, spreadMode{})
		return x
	})
}

// failingRegulators are the highest pressures with one regulator failed open and every barrier holding.
func (w *World) failingRegulators() *pressures {
	return w.ratings.failing.get(func() *pressures {
		bare := w.barePressures()
		x := &pressures{g: bare.g, heights: [2]*heights{bare.heights[0], bare.heights[0]}, sources: bare.sources, machines: slices.Clone(bare.machines), relief: w.reliefs(), oneWay: bare.oneWay}
		x.limit(spreadMode{regulatorsFail: true})
		x.spread(w, spreadMode{regulatorsFail: true})
		w.pause()
		x.readSpans()
		return x
	})
}

// spreadMode says what is taken as failed: a barrier or, instead, a regulator.
type spreadMode struct{ regulatorsFail bool }

// spread fills the fields.
func (x *pressures) spread(w *World, mode spreadMode) {
	x.scratch = &flowpath.LevelScratch{}
	defer func() { x.scratch = nil }()
	x.fill(w, 0, func(failures, end int) *field { return x.spreadSources(failures, end, mode, false) })
	if len(x.machines) == 0 {
		return
	}
	s := w.ratings.series.get(func() *series { return x.g.seriesOf(x.machines) })
	// A machine that runs lets nothing back through itself, so it adds to what comes to its inlet another way.
	running := &pressures{g: x.g, heights: x.heights, sources: x.sources, relief: x.relief, limits: x.limits, oneWay: x.oneWay, scratch: x.scratch}
	back, err := flowpath.SetOf(x.g.graph.NumArcs(), x.g.backThrough(x.machines)...)
	must(err)
	running.fill(w, 0, func(failures, end int) *field {
		if f := x.fields[failures][end][0]; !f.uses(back) {
			return f
		}
		return running.spreadSources(failures, end, mode, true)
	})
	s.makes(x.machines, func(node int32, failures int) Number { return running.at(w, node, failures) })
	x.spare = slices.DeleteFunc(running.distinct(0), func(f *field) bool { return slices.Contains(x.distinct(0), f) })
	x.fill(w, 1, func(failures, end int) *field { return x.spreadMachines(failures, end, mode) })
	x.spare = nil
}

// fill makes the fields of one kind: 0 for what stands by itself, 1 for what machines make.
func (x *pressures) fill(w *World, kind int, make func(failures, end int) *field) {
	for failures := range 2 {
		w.pause()
		if failures == 1 && x.level() {
			for end := range 2 {
				x.fields[1][end][kind] = x.fields[0][end][kind]
			}
			return
		}
		x.fields[failures][highEnd][kind] = make(failures, highEnd)
		if x.exact(failures, kind) {
			x.fields[failures][lowEnd][kind] = x.fields[failures][highEnd][kind]
		} else {
			w.pause()
			x.fields[failures][lowEnd][kind] = make(failures, lowEnd)
		}
	}
}

// level tells whether heights make no difference between what holds and what has failed.
func (x *pressures) level() bool { return x.heights[0] == x.heights[1] || x.heights[0].up == nil }

// exact tells whether nothing that a field spreads by is doubtful.
func (x *pressures) exact(failures, kind int) bool {
	if kind == 1 {
		for i := range x.machines {
			if m := &x.machines[i]; !m.makes[0].Known() || !m.makes[1].Known() {
				return false
			}
		}
	}
	if x.heights[failures].doubtful || x.g.hoped != x.g.sure || x.g.vents.hoped != x.g.vents.sure || x.relief != nil && x.relief.doubtful {
		return false
	}
	for i := range x.sources {
		if !x.sources[i].value.Known() {
			return false
		}
	}
	for _, l := range x.g.limits {
		if !l.highest.Known() {
			return false
		}
	}
	return true
}

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
			for arc, l := range x.g.limitsInOrder() {
				dropsBefore(arc)
				limit := flowpath.LevelLimit{Value: h.head(x.g.graph.To(arc), endOf(l.highest, end), end), MayFail: l.regulator && mode.regulatorsFail}
				if len(drops) > 0 && drops[0].arc == arc {
					limit.Drop, drops = drops[0].drop, drops[1:]
				}
				list.add(arc, limit)
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

// readSpans reads the range of the highest pressure at every node.
func (x *pressures) readSpans() {
	for failures := range 2 {
		spans := make([]span, x.g.graph.NumNodes())
		for node := range spans {
			spans[node].low, spans[node].high = x.ends(int32(node), failures)
		}
		x.spans[failures] = spans
	}
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
	for arc := range x.g.limits {
		held = append(held, x.g.graph.To(arc))
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
func (f *field) uses(arcs *flowpath.Set) bool { return f.main.Uses(arcs) || f.through.Uses(arcs) }

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

// value gives the highest pressure of the field at a node, read at one end, and whether it came through a restriction.
func (f *field) value(h *heights, node int32, failures, end int) (v float64, through, ok bool) {
	if f == nil {
		return math.Inf(-1), false, false
	}
	if v, ok = f.main.Value(node, failures); ok {
		v = h.pressure(node, v, end)
	}
	if len(f.seeds) > 0 {
		if t, has := f.through.Value(node, failures); has {
			if t = h.pressure(node, t, end); !ok || t > v {
				return t, true, true
			}
		}
	}
	return v, false, ok
}

// best gives the field with the highest value at a node.
func (x *pressures) best(node int32, failures, end int) (f *field, v float64, through, ok bool) {
	v = math.Inf(-1)
	for _, g := range x.fields[failures][end] {
		if u, t, has := g.value(x.heights[failures], node, failures, end); has && (!ok || u > v) {
			f, v, through, ok = g, u, t, true
		}
	}
	return f, v, through, ok
}

// ends gives the range of the highest pressure at a node. Where nothing brings pressure it is that of the atmosphere.
func (x *pressures) ends(node int32, failures int) (low, high float64) {
	if spans := x.spans[failures]; spans != nil {
		return spans[node].low, spans[node].high
	}
	if _, high, _, ok := x.best(node, failures, highEnd); ok {
		if _, low, _, ok = x.best(node, failures, lowEnd); !ok {
			low = 0
		}
		return min(low, high), high
	}
	return 0, 0
}

// at gives the highest pressure at a node with the data that would make it known.
func (x *pressures) at(w *World, node int32, failures int) Number {
	low, high := x.ends(node, failures)
	n := Between(low, high)
	if low == high && !w.Plant.HasAssumptions() {
		return n
	}
	for end := range 2 {
		f, _, through, ok := x.best(node, failures, end)
		if !ok || end == lowEnd && f == x.fields[failures][highEnd][0] {
			continue
		}
		source, arcs := f.trace(x, node, failures, through)
		value := x.sourceValue(source, failures)
		n.Assumed = joinRefs(n.Assumed, value.Assumed)
		if low == high {
			continue
		}
		if end == highEnd {
			n.Missing = joinRefs(n.Missing, value.Missing)
			n.Missing = joinRefs(n.Missing, x.heights[failures].refs(w, node, x.sourceNode(source)))
			n.Missing = joinRefs(n.Missing, x.doubts(w, arcs))
			if through {
				n.Missing = joinRefs(n.Missing, x.g.vents.doubt(w, x.g.portOf(node)))
			}
		}
	}
	if low < high {
		n.Missing = joinRefs(n.Missing, x.reliefDoubts(node, failures))
	}
	return n
}

// sourceValue is what a source brings.
func (x *pressures) sourceValue(source int32, failures int) Number {
	if int(source) < len(x.sources) {
		return x.sources[source].value
	}
	return x.machines[int(source)-len(x.sources)].makes[failures]
}

// sourceComponent is the component that a source is.
func (x *pressures) sourceComponent(source int32) int32 {
	if int(source) < len(x.sources) {
		return x.sources[source].component
	}
	return x.machines[int(source)-len(x.sources)].component
}

// isGas tells whether a source brings gas.
func (x *pressures) isGas(source int32) bool {
	if int(source) < len(x.sources) {
		return x.sources[source].gas
	}
	return x.machines[int(source)-len(x.sources)].gas
}

// sourceNode is where a source enters.
func (x *pressures) sourceNode(source int32) int32 {
	if int(source) < len(x.sources) {
		return x.sources[source].node
	}
	return x.machines[int(source)-len(x.sources)].outlet
}

// trace follows a value back: from which source and by which arcs it came.
func (f *field) trace(x *pressures, node int32, failures int, through bool) (source int32, arcs []int32) {
	if !through {
		arcs, _ = f.main.Path(node, failures)
		return f.of[f.main.Source(node, failures)], arcs
	}
	tail, _ := f.through.Path(node, failures)
	seed := f.seeds[f.through.Source(node, failures)]
	from := x.g.graph.From(seed.arc)
	arcs, _ = f.main.Path(from, seed.failures)
	arcs = append(append(arcs, seed.arc), tail...)
	return f.of[f.main.Source(from, seed.failures)], arcs
}

// doubts names the data that would tell whether the passages on a path hold, and how much.
func (x *pressures) doubts(w *World, arcs []int32) []Ref {
	var refs []Ref
	for _, arc := range arcs {
		if l, ok := x.g.limits[arc]; ok && !l.highest.Known() {
			refs = joinRefs(refs, l.highest.Missing)
		}
		way := x.g.arcWay(arc)
		if way < 0 {
			if x.g.hoped != x.g.sure && x.g.hoped.Cost(arc) != x.g.sure.Cost(arc) {
				refs = joinRefs(refs, []Ref{{Kind: RefElement, Index: ^x.g.of[arc/2]}})
			}
			continue
		}
		if x.g.hopedThrough.Cost(arc) != x.g.sureThrough.Cost(arc) {
			_, _, missing := w.waterHolding(way, arc%2 == 0)
			refs = joinRefs(refs, missing)
			if c := w.Plant.Ways[way].Component; c >= 0 && w.Plant.Components[c].Kind == plant.KindHandValve {
				refs = joinRefs(refs, w.handValveDoubts(c))
			}
		}
	}
	return refs
}

// failedArc gives the arc whose failure lets the pressure come to a node; flowpath.None where nothing fails.
func (x *pressures) failedArc(node int32, end int) int32 {
	f, _, through, ok := x.best(node, 1, end)
	if !ok {
		return flowpath.None
	}
	if !through {
		return f.main.Failed(node)
	}
	if arc := f.through.Failed(node); arc != flowpath.None {
		return arc
	}
	seed := f.seeds[f.through.Source(node, 1)]
	if seed.failures == 1 {
		return f.main.Failed(x.g.graph.From(seed.arc))
	}
	if x.g.sureThrough.Cost(seed.arc) == flowpath.Barrier {
		return seed.arc
	}
	return flowpath.None
}

// path shows how the highest pressure comes to a node.
func (x *pressures) path(w *World, node int32, failures int) Path {
	f, _, through, ok := x.best(node, failures, highEnd)
	if !ok {
		return nil
	}
	source, arcs := f.trace(x, node, failures, through)
	ways := make([]int32, 0, len(arcs))
	notes := map[int32]string{}
	failed := flowpath.None
	if failures > 0 {
		failed = x.failedArc(node, highEnd)
	}
	for _, arc := range arcs {
		way := x.g.arcWay(arc)
		if way < 0 {
			continue
		}
		ways = append(ways, 2*way+arc%2)
		if _, limited := x.g.limits[arc]; limited && arc == failed {
			notes[way] = "taken as failed open"
		} else if x.g.sureThrough.Cost(arc) == flowpath.Barrier {
			notes[way] = "taken as failed"
		}
	}
	return w.wayPath(x.g.portOf(x.sourceNode(source)), ways, func(way int32, _ bool) (skidrulev1.StepRole, string) {
		if note := notes[way]; note != "" {
			return skidrulev1.StepRole_STEP_ROLE_NOT_COUNTED, note
		}
		return skidrulev1.StepRole_STEP_ROLE_PASSES, ""
	})
}

// highestPressure is the highest gauge pressure that can come to a port in any case, in Pa, with so many barriers failed (0
// or 1). It names the data that would make it known.
func (w *World) highestPressure(port int32, failures int) Number {
	x := w.pressures()
	liquid := x.at(w, port, failures)
	if gas := x.g.gas[port]; gas != port {
		return liquid.Max(x.at(w, gas, failures))
	}
	return liquid
}

// highestPressurePath shows how the highest pressure comes to a port.
func (w *World) highestPressurePath(port int32, failures int) Path {
	x := w.pressures()
	node := port
	if gas := x.g.gas[port]; gas != port {
		_, l := x.ends(port, failures)
		if _, g := x.ends(gas, failures); g > l {
			node = gas
		}
	}
	return x.path(w, node, failures)
}
