package fact

import (
	"math"

	"github.com/skidrule/skidrule/internal/flowpath"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Pressure in the whole drawing, over all cases, from what the drawing states: what each source brings spreads along
// every way that does not hold, once with everything holding and once with one barrier failed. It rests on no flow: against a
// closed outlet there is none, which is the worst case.
//
// Height differences inside the drawing are not counted; a metre of water is a tenth of a bar.

// pressures is the highest pressure everywhere.
type pressures struct {
	g        *pressureGraph
	sources  []pressureSource
	machines []machine
	// fields holds the low and the high end of what is known: first what stands by itself, then what machines make. Both
	// ends are the same where nothing is doubtful.
	fields [2][2]*field
	relief *reliefs // nil for the pressures that would be without relief valves
}

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
	r := w.reliefs()
	if len(r.list) == 0 {
		return bare
	}
	x := &pressures{g: bare.g, sources: bare.sources, machines: append([]machine(nil), bare.machines...), relief: r}
	x.spread(w, spreadMode{})
	return x
}

// barePressures are the highest pressures without relief valves.
func (w *World) barePressures() *pressures {
	return w.ratings.bare.get(func() *pressures {
		g := w.pressureGraph()
		x := &pressures{g: g, sources: w.pressureSources(g), machines: w.machines(g)}
		x.spread(w, spreadMode{})
		return x
	})
}

// failingRegulators are the highest pressures with one regulator failed open and every barrier holding.
func (w *World) failingRegulators() *pressures {
	return w.ratings.failing.get(func() *pressures {
		bare := w.barePressures()
		x := &pressures{g: bare.g, sources: bare.sources, machines: append([]machine(nil), bare.machines...), relief: w.reliefs()}
		x.spread(w, spreadMode{regulatorsFail: true})
		return x
	})
}

// spreadMode says what is taken as failed: a barrier or, instead, a regulator.
type spreadMode struct{ regulatorsFail bool }

// spread fills the fields.
func (x *pressures) spread(w *World, mode spreadMode) {
	exact := x.exact()
	for end := highEnd; end >= lowEnd; end-- {
		if end == lowEnd && exact {
			x.fields[lowEnd][0] = x.fields[highEnd][0]
			continue
		}
		x.fields[end][0] = x.spreadSources(end, mode, nil)
	}
	if len(x.machines) == 0 {
		x.fields[lowEnd][1], x.fields[highEnd][1] = nil, nil
		return
	}
	s := w.ratings.series.get(func() *series { return x.g.seriesOf(x.machines) })
	// A machine that runs lets nothing back through itself, so it adds to what comes to its inlet another way.
	running := &pressures{g: x.g, sources: x.sources, relief: x.relief}
	running.fields[highEnd][0] = x.spreadSources(highEnd, mode, x.machines)
	running.fields[lowEnd][0] = running.fields[highEnd][0]
	if !exact {
		running.fields[lowEnd][0] = x.spreadSources(lowEnd, mode, x.machines)
	}
	s.makes(x.machines, func(node int32, failures int) Number { return running.at(w, node, failures) })
	for _, m := range x.machines {
		exact = exact && m.makes[0].Known() && m.makes[1].Known()
	}
	for end := highEnd; end >= lowEnd; end-- {
		if end == lowEnd && exact {
			x.fields[lowEnd][1] = x.fields[highEnd][1]
			continue
		}
		x.fields[end][1] = x.spreadMachines(end, mode)
	}
}

// exact tells whether nothing that the sources spread by is doubtful.
func (x *pressures) exact() bool {
	if x.g.hoped != x.g.sure || x.g.vents.hoped != x.g.vents.sure || x.relief != nil && x.relief.doubtful {
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

// input is what a sweep of one end is asked, without its sources.
func (x *pressures) input(end int, mode spreadMode) flowpath.LevelInput {
	in := flowpath.LevelInput{Ways: x.g.sure, Groups: x.g.groups, Hold: mode.regulatorsFail}
	if end == lowEnd {
		in.Ways = x.g.hoped
	}
	if mode.regulatorsFail {
		in.Groups = nil
	}
	if len(x.g.limits) > 0 {
		in.ArcLimits = make(map[int32]flowpath.LevelLimit, len(x.g.limits))
		for arc, l := range x.g.limits {
			in.ArcLimits[arc] = flowpath.LevelLimit{Value: endOf(l.highest, end), MayFail: l.regulator && mode.regulatorsFail}
		}
	}
	if x.relief != nil {
		in.NodeLimits = x.relief.limits[end]
	}
	return in
}

// endOf gives one end of a number.
func endOf(n Number, end int) float64 {
	if end == lowEnd {
		return n.Low
	}
	return n.High
}

// spreadSources spreads what stands by itself; it does not go back through running machines.
func (x *pressures) spreadSources(end int, mode spreadMode, running []machine) *field {
	f := &field{}
	in := x.input(end, mode)
	if len(running) > 0 {
		in.Ways = x.g.oneWay(in.Ways, running)
	}
	for i := range x.sources {
		if v := endOf(x.sources[i].value, end); v > math.Inf(-1) {
			in.Sources = append(in.Sources, flowpath.LevelSource{Node: x.sources[i].node, Value: v})
			f.of = append(f.of, int32(i))
		}
	}
	must(f.main.Sweep(in))
	f.pass(x, in, end)
	return f
}

// spreadMachines spreads what machines make. It does not go back through a machine: what one makes stands at its own outlet.
func (x *pressures) spreadMachines(end int, mode spreadMode) *field {
	f := &field{}
	in := x.input(end, mode)
	in.Ways = x.g.oneWay(in.Ways, x.machines)
	for i := range x.machines {
		m := &x.machines[i]
		for failures := range 2 {
			v := endOf(m.makes[failures], end)
			if v == math.Inf(-1) || failures == 1 && v == endOf(m.makes[0], end) {
				continue
			}
			in.Sources = append(in.Sources, flowpath.LevelSource{Node: m.outlet, Value: v, Failures: uint8(failures)})
			f.of = append(f.of, int32(len(x.sources)+i))
		}
	}
	must(f.main.Sweep(in))
	f.pass(x, in, end)
	return f
}

// oneWay closes the way back through machines.
func (g *pressureGraph) oneWay(ways *flowpath.Ways, ms []machine) *flowpath.Ways {
	cost := make([]uint8, g.graph.NumArcs())
	for arc := range cost {
		cost[arc] = ways.Cost(int32(arc))
	}
	for i := range ms {
		// Both layers of the passage, if it has two.
		way := g.of[ms[i].passage/2]
		for arc := ms[i].passage; arc >= 0 && g.of[arc/2] == way; arc -= 2 {
			cost[arc+1] = flowpath.Blocked
		}
		for arc := ms[i].passage + 2; int(arc/2) < len(g.of) && g.of[arc/2] == way; arc += 2 {
			cost[arc+1] = flowpath.Blocked
		}
	}
	out, err := flowpath.NewWays(g.graph, cost)
	must(err)
	return out
}

// pass spreads what comes through restrictions, over places where it can build up.
func (f *field) pass(x *pressures, in flowpath.LevelInput, end int) {
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
			in.Sources = append(in.Sources, flowpath.LevelSource{Node: to, Value: v, Failures: uint8(failures) + cost})
			f.seeds = append(f.seeds, throughSeed{arc, failures})
		}
	}
	if len(in.Sources) == 0 {
		return
	}
	in.Ways, in.Avoid = ways, vented
	must(f.through.Sweep(in))
}

// value gives the highest value of the field at a node and whether it came through a restriction.
func (f *field) value(node int32, failures int) (v float64, through, ok bool) {
	if f == nil {
		return math.Inf(-1), false, false
	}
	v, ok = f.main.Value(node, failures)
	if len(f.seeds) > 0 {
		if t, has := f.through.Value(node, failures); has && (!ok || t > v) {
			return t, true, true
		}
	}
	return v, false, ok
}

// best gives the field with the highest value at a node.
func (x *pressures) best(node int32, failures, end int) (f *field, v float64, through, ok bool) {
	v = math.Inf(-1)
	for _, g := range x.fields[end] {
		if u, t, has := g.value(node, failures); has && (!ok || u > v) {
			f, v, through, ok = g, u, t, true
		}
	}
	return f, v, through, ok
}

// ends gives the range of the highest pressure at a node. Where nothing brings pressure it is that of the atmosphere.
func (x *pressures) ends(node int32, failures int) (low, high float64) {
	_, high, _, ok := x.best(node, failures, highEnd)
	if !ok {
		return 0, 0
	}
	_, low, _, _ = x.best(node, failures, lowEnd)
	return min(low, high), high
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
		if !ok || end == lowEnd && f == x.fields[highEnd][0] {
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
			n.Missing = joinRefs(n.Missing, x.doubts(w, arcs))
			if through {
				n.Missing = joinRefs(n.Missing, x.g.vents.doubt(w, x.portOf(node)))
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
	return w.wayPath(x.portOf(x.sourceNode(source)), ways, func(way int32, _ bool) (skidrulev1.StepRole, string) {
		if note := notes[way]; note != "" {
			return skidrulev1.StepRole_STEP_ROLE_NOT_COUNTED, note
		}
		return skidrulev1.StepRole_STEP_ROLE_PASSES, ""
	})
}

// portOf is the port of a node.
func (x *pressures) portOf(node int32) int32 {
	if n := int32(len(x.g.gas)); node >= n {
		return node - n
	}
	return node
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
