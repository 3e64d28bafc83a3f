package fact

import (
	"math"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// How the spread pressures are read: as ranges, with the data that would settle them, and as the way by which they come.

// span is a range of pressures, Pa gauge.
type span struct{ low, high float64 }

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
	_, high, _, ok := x.best(node, failures, highEnd)
	switch {
	case !ok:
		return 0, 0
	case x.fields[failures][lowEnd] == x.fields[failures][highEnd] && x.heights[failures].isSure(node):
		return high, high
	}
	if _, low, _, ok = x.best(node, failures, lowEnd); !ok {
		low = 0
	}
	return min(low, high), high
}

// at gives the highest pressure at a node with the data that would make it known.
func (x *pressures) at(w *World, node int32, failures int) Number {
	low, high := x.ends(node, failures)
	n := between(low, high)
	if low == high && !w.Plant.HasAssumptions() {
		return n
	}
	for end := range 2 {
		f, _, through, ok := x.best(node, failures, end)
		if !ok || end == lowEnd && x.known[failures] && f == x.fields[failures][highEnd][0] {
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
			n.Missing = joinRefs(n.Missing, x.heights[failures].refs(w, x.g.portOf(node), node, x.sourceNode(source)))
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
		if l := x.g.limitOf(arc); l != nil && !l.highest.Known() {
			refs = joinRefs(refs, l.highest.Missing)
		}
		way := x.g.arcWay(arc)
		if way < 0 {
			if x.g.hoped != x.g.sure && x.g.hoped.Cost(arc) != x.g.sure.Cost(arc) {
				refs = joinRefs(refs, []Ref{elementRef(^x.g.of[arc/2])})
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
		if arc == failed && x.g.limitOf(arc) != nil {
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
