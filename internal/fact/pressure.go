package fact

import (
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
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
	known  [2]bool  // nothing is doubtful by which what stands by itself spreads
	relief *reliefs // nil for the pressures that would be without relief valves

	// limits are, while everything holds and with one failure, for both ends, what passages let through and what is lost on the way
	// between water and gas; oneWay are the ways of both ends closed against going back through machines.
	limits  [2][2]boundLimits
	oneWay  [2]*flowpath.Ways
	spans   [2][]span              // of each node, once spread is done; nil where few are asked for
	spare   []*field               // memory of fields that nobody asks any more
	scratch *flowpath.LevelScratch // of the sweeps of one spread
}

// field is how one set of sources spreads: main over open ways, through behind restrictions.
type field struct {
	main, through flowpath.Levels
	of            []int32 // source number of each source of main; machines count on from the sources
	seeds         []throughSeed

	corner  corner // for which it was spread
	entries entries
	ways    *flowpath.Ways // of main
	lifted  bool           // gas lifted water somewhere, so that main or through has sources beyond the entries
}

// corner is how a field is asked for: while everything holds or with one failure, and for which end of what is known.
type corner struct{ failures, end int }

// entries are where a field enters, with the number of the source of each.
type entries struct {
	sources []flowpath.LevelSource
	of      []int32
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
		var s heightScratch
		for failures := range 2 {
			w.pause()
			x.heights[failures] = g.findHeights(w, starts, held, failures == 1, &s)
		}
		x.limit(spreadMode{})
		sure := g.oneWay(g.sure, x.machines)
		x.oneWay = [2]*flowpath.Ways{lowEnd: sure, highEnd: sure}
		if g.hoped != g.sure {
			x.oneWay[lowEnd] = g.oneWay(g.hoped, x.machines)
		}
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
	x.fill(w, 0, x.enterSources, func(c corner, e entries) *field { return x.spreadFrom(c, e, mode, x.g.waysAt(c.end)) })
	if len(x.machines) == 0 {
		return
	}
	s := w.ratings.series.get(func() *series { return x.g.seriesOf(x.machines) })
	// A machine that runs lets nothing back through itself, so it adds to what comes to its inlet another way.
	running := &pressures{g: x.g, heights: x.heights, sources: x.sources, relief: x.relief, limits: x.limits, oneWay: x.oneWay, scratch: x.scratch}
	back, err := flowpath.SetOf(x.g.graph.NumArcs(), x.g.backThrough(x.machines)...)
	must(err)
	running.fill(w, 0, x.enterSources, func(c corner, e entries) *field {
		if f := x.fields[c.failures][c.end][0]; !f.uses(back, 1) {
			return f
		}
		return running.spreadFrom(c, e, mode, x.oneWay[c.end])
	})
	s.makes(x.machines, func(node int32, failures int) Number { return running.at(w, node, failures) })
	x.spare = slices.DeleteFunc(running.distinct(0), func(f *field) bool { return slices.Contains(x.distinct(0), f) })
	x.fill(w, 1, x.enterMachines, func(c corner, e entries) *field { return x.spreadFrom(c, e, mode, x.oneWay[c.end]) })
	x.spare = nil
}

// fill makes the fields of one kind: 0 for what stands by itself, 1 for what machines make. A field is not spread again for another
// corner where it serves as well. The one with a failure goes first: it holds what comes without failure besides.
func (x *pressures) fill(w *World, kind int, enter func(corner) entries, spread func(corner, entries) *field) {
	last := 1
	if x.level() {
		last = 0
	}
	var had *field
	for failures := last; failures >= 0; failures-- {
		of := &x.fields[failures]
		for _, end := range [2]int{highEnd, lowEnd} {
			c := corner{failures, end}
			if end == lowEnd && x.exact(failures, kind) {
				of[lowEnd][kind] = of[highEnd][kind]
				x.known[failures] = x.known[failures] || kind == 0
				continue
			}
			w.pause()
			e := enter(c)
			if had == nil || !x.serves(had, c, e) {
				of[end][kind] = spread(c, e)
			} else {
				of[end][kind] = had
			}
			had = of[highEnd][kind]
		}
	}
	if last == 0 {
		x.known[1] = x.known[0]
		for end := range 2 {
			x.fields[1][end][kind] = x.fields[0][end][kind]
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
