package fact

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
)

// The four corners, with and without a failure at both ends of what is known, mostly differ in places to which no pressure comes or
// that bring less than comes to them anyway. Then what was spread for one corner is what would spread for another.

// serves tells whether a field is what would spread for another corner from the entries there. It looks only at what is read there:
// where heights differ, what comes without failure is all that counts while everything holds.
func (x *pressures) serves(f *field, c corner, e entries) bool {
	failures := c.failures
	if x.level() {
		failures = 1
	}
	switch {
	case f.lifted || f.corner.end != c.end && (x.g.hoped != x.g.sure || x.g.vents.hoped != x.g.vents.sure):
		return false
	case !f.entries.serve(e, failures) || x.relief != nil && !slices.Equal(x.nodeLimits(f.corner), x.nodeLimits(c)):
		return false
	}
	return x.passesAlike(f, c, failures) && x.limitsServe(f, c, failures) && !x.lifts(f, c, failures)
}

// serve tells whether the entries with at most so many failures are those of another corner.
func (e *entries) serve(other entries, failures int) bool {
	k := 0
	for i, s := range e.sources {
		if int(s.Failures) > failures {
			continue
		}
		if k == len(other.sources) || s != other.sources[k] || e.of[i] != other.of[k] {
			return false
		}
		k++
	}
	return k == len(other.sources)
}

// passesAlike tells whether what passes restrictions is the same in another corner.
func (x *pressures) passesAlike(f *field, c corner, failures int) bool {
	ways, _ := x.g.throughAt(c.end)
	for _, s := range f.seeds {
		if s.failures+int(ways.Cost(s.arc)) > failures {
			continue
		}
		from, to := x.g.graph.From(s.arc), x.g.graph.To(s.arc)
		v, _ := f.main.Value(from, s.failures)
		if x.heights[f.corner.failures].passes(from, to, v, f.corner.end) != x.heights[c.failures].passes(from, to, v, c.end) {
			return false
		}
	}
	return true
}

// limitsServe tells whether the arcs whose limits are others in another corner play no part there: nothing comes to them, or they pass
// no more there, and nothing came by them although they passed more.
func (x *pressures) limitsServe(f *field, c corner, failures int) bool {
	var unused *flowpath.Set
	own, others := x.limits[f.corner.failures][f.corner.end].arcLimits, x.limits[c.failures][c.end].arcLimits
	for len(own.arcs) > 0 || len(others.arcs) > 0 {
		arc := min(own.next(), others.next())
		limit, other := own.take(arc), others.take(arc)
		if limit == other || !f.reaches(x.g.graph.From(arc), failures) {
			continue
		}
		if other.Drop < limit.Drop || other.Value > limit.Value {
			return false
		}
		if unused == nil {
			unused = flowpath.NewSet(x.g.graph.NumArcs())
		}
		unused.Add(arc)
	}
	return unused == nil || !f.uses(unused, failures)
}

// next is the first arc that is left; above every arc where none is.
func (l *arcLimits) next() int32 {
	if len(l.arcs) == 0 {
		return math.MaxInt32
	}
	return l.arcs[0]
}

// take gives the limit of an arc that no arc left is below, and goes on behind it.
func (l *arcLimits) take(arc int32) flowpath.LevelLimit {
	if l.next() != arc {
		return flowpath.LevelLimit{Value: math.Inf(1)}
	}
	limit := l.limits[0]
	l.arcs, l.limits = l.arcs[1:], l.limits[1:]
	return limit
}

// reaches tells whether anything comes to a node with at most so many failures.
func (f *field) reaches(node int32, failures int) bool {
	if _, ok := f.main.Value(node, failures); ok {
		return true
	}
	if len(f.seeds) == 0 {
		return false
	}
	_, ok := f.through.Value(node, failures)
	return ok
}

// lifts tells whether gas would lift water in another corner at the high end. With the same heights it would have done so in the first.
func (x *pressures) lifts(f *field, c corner, failures int) bool {
	h := x.heights[c.failures]
	if c.end == lowEnd || h == x.heights[f.corner.failures] {
		return false
	}
	if len(h.lift(&f.main, f.ways, nil, failures, h.lifts, f.mainOfGas(x))) > 0 {
		return true
	}
	if len(f.seeds) == 0 {
		return false
	}
	ways, vented := x.g.throughAt(c.end)
	return len(h.lift(&f.through, ways, vented, failures, h.liftsThrough(), f.throughOfGas(x))) > 0
}
