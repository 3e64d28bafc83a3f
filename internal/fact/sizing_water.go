package fact

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
)

// waterCase is the water side of a case: the state of every injector, and the water that passes components on the way.
type waterCase struct {
	walks     table[*waterWalk]
	state     table[*operatingState]
	flow      table[Number]  // through flow meters and pumps
	into      table[[]int32] // injectors by every vessel that their water passes
	contactOf table[[]int32] // injectors by the vessel in which their gas dissolves
	drive     table[[]int32] // injectors by the pumps before them
}

func (w *World) waterCase(at int32) *waterCase {
	at = w.stateCase(at)
	return w.caseMemo().water[at].get(func() *waterCase { return w.findWaterCase(at) })
}

func (w *World) findWaterCase(at int32) *waterCase {
	x := &waterWalker{w: w, at: at, arcs: w.flowArcs(at), consumers: map[int32]branch{}, suppliers: map[int32]branch{}, forward: map[int32]branch{}, backward: map[int32]branch{}, seen: make([]int32, len(w.Plant.Ports))}
	if len(w.Cases[at].Design.GetStates()) > 0 {
		x.state = &w.Cases[at]
	}
	injectors := w.OfKind(plant.KindVenturiInjector)
	n := len(injectors)
	c := &waterCase{walks: newTable[*waterWalk](w, n), state: newTable[*operatingState](w, n), flow: newTable[Number](w, n), into: newTable[[]int32](w, n), contactOf: newTable[[]int32](w, n), drive: newTable[[]int32](w, n)}
	for _, i := range injectors {
		w.pause()
		*c.walks.at(i) = x.walk(i)
	}
	var packed key
	for _, i := range injectors {
		w.pause()
		if !c.state.has(i) {
			packed = w.solveWater(c, i, at, packed[:0])
		}
	}
	for _, i := range injectors {
		walk := c.walks.of(i)
		w.sumFlows(c, walk)
		if v := c.state.of(i).contact; v >= 0 {
			note(&c.contactOf, v, i)
		}
		for _, v := range [3]int32{walk.reaction, walk.vessel, walk.tank} {
			if v >= 0 {
				note(&c.into, v, i)
			}
		}
		for _, pump := range walk.pumps {
			note(&c.drive, pump.component, i)
		}
	}
	return c
}

// sumFlows tells what passes the meters and pumps on the way of an injector.
func (w *World) sumFlows(c *waterCase, walk *waterWalk) {
	gather := func(arcs []int32, with [][]int32) {
		for k, arc := range arcs {
			q := &w.Plant.Ways[arc/2]
			if q.IsPipe() {
				continue
			}
			switch w.Plant.Components[q.Component].Kind {
			case plant.KindFlowMeter, plant.KindPump, plant.KindFlowSwitch:
				total := Exactly(0)
				for _, j := range with[k] {
					total = total.Add(c.state.of(j).motive)
				}
				*c.flow.at(q.Component) = total
			}
		}
	}
	gather(walk.up, walk.upWith)
	gather(walk.down, walk.downWith)
}

// coupled gathers the injectors whose streams run together with that of one of them.
func (c *waterCase) coupled(first int32) []int32 {
	group := []int32{first}
	for k := 0; k < len(group) && len(group) <= maxCoupled; k++ {
		walk := c.walks.of(group[k])
		for _, with := range [2][][]int32{walk.upWith, walk.downWith} {
			for i, list := range with {
				if i > 0 && sameList(list, with[i-1]) {
					continue // most stretches carry what the one before carries
				}
				for _, j := range list {
					if !slices.Contains(group, j) {
						group = append(group, j)
					}
				}
			}
		}
	}
	return group
}

// sameList tells whether two lists are one in memory.
func sameList(a, b []int32) bool { return len(a) == len(b) && len(a) > 0 && &a[0] == &b[0] }

// The four ways in which open data can lie: source and sink at their low or high ends, each with the losses that go with it.
var waterEnds = [4]struct{ sourceHigh, sinkHigh bool }{{false, true}, {true, false}, {false, false}, {true, true}}

// solveWater finds the flows and pressures of all injectors that share a stream, at every combination of open ends. packed is room for
// a key, which it hands back.
func (w *World) solveWater(c *waterCase, first, at int32, packed key) key {
	group := c.coupled(first)
	var known Number
	tables, ids := make([]*unitop.Injector, len(group)), make([]int64, len(group))
	for k, i := range group {
		walk := c.walks.of(i)
		known.Missing, known.Assumed = joinRefs(known.Missing, walk.known.Missing), joinRefs(known.Assumed, walk.known.Assumed)
		if refs := w.vesselOpen(walk); len(refs) > 0 {
			known.Missing = joinRefs(known.Missing, refs)
		}
		table, lacks := w.injectorTable(i)
		if table == nil || !table.motive {
			known.Missing = joinRefs(known.Missing, lacks)
			if table != nil {
				known.Missing = joinRefs(known.Missing, []Ref{specRef(i, "performance")})
			}
			continue
		}
		tables[k], ids[k] = table.read, table.id
	}
	if len(group) > maxCoupled {
		known.Missing = joinRefs(known.Missing, []Ref{elementRef(first)})
	}
	if len(known.Missing) > 0 {
		for _, i := range group {
			*c.state.at(i) = unknownState(known, w.contactVessel(c.walks.of(i)))
		}
		return packed
	}
	x := &waterSolver{w: w, case_: at, group: group, tables: tables, ids: ids, walks: make([]*waterWalk, len(group))}
	for k, i := range group {
		x.walks[k] = c.walks.of(i)
	}
	packed = x.key(packed)
	solved := packedAnswer(&w.sizing.solved, packed, x.solveEnds)
	if solved == nil {
		known.Missing = []Ref{elementRef(first)}
		for _, i := range group {
			*c.state.at(i) = unknownState(known, w.contactVessel(c.walks.of(i)))
		}
		return packed
	}
	for k, i := range group {
		walk := c.walks.of(i)
		s := &operatingState{contact: w.contactVessel(walk), points: make([]injectorPoint, 0, len(solved))}
		var beyond []Ref
		for n := range solved {
			r := &solved[n][k]
			point := func(x float64) Number { return Number{Low: x, High: x, Assumed: known.Assumed} }
			if n == 0 {
				s.inlet, s.outlet, s.motive, s.vessel = point(r.inlet), point(r.outlet), point(r.motive), point(r.vessel)
			}
			s.inlet, s.outlet = hull(s.inlet, r.inlet), hull(s.outlet, r.outlet)
			s.motive, s.vessel = hull(s.motive, r.motive), hull(s.vessel, r.vessel)
			s.points = append(s.points, r.injectorPoint)
			if r.beyond >= 0 {
				beyond = joinRefs(beyond, []Ref{specRef(walk.pumps[r.beyond].component, "curve")})
			}
		}
		s.weak, s.strong = solved[0][k].injectorPoint, solved[1][k].injectorPoint
		if len(beyond) > 0 {
			lost := unknownState(Number{Missing: beyond}, s.contact)
			lost.beyond = beyond
			s = lost
		}
		*c.state.at(i) = s
	}
	return packed
}

// hull widens a number by a value.
func hull(n Number, x float64) Number {
	n.Low, n.High = min(n.Low, x), max(n.High, x)
	return n
}

// contactVessel is the vessel in which gas dissolves that comes with an injector's water: a contact vessel, else a reaction vessel
// before a degassing vessel, else what there is; -1 where none is drawn.
func (w *World) contactVessel(walk *waterWalk) int32 {
	switch {
	case walk.vessel >= 0 && (walk.reaction < 0 || w.Plant.Components[walk.vessel].Kind == plant.KindContactVessel):
		return walk.vessel
	case walk.reaction >= 0:
		return walk.reaction
	}
	return walk.tank
}

// vesselOpen names what leaves the pressure of the vessel open: neither stated nor given by the way behind it.
func (w *World) vesselOpen(walk *waterWalk) []Ref {
	if walk.vessel < 0 || len(walk.behind.Missing) == 0 {
		return nil
	}
	if stated := w.statedVesselPressure(walk.vessel); !math.IsInf(stated.Low, 0) {
		return nil
	}
	return joinRefs(walk.behind.Missing, []Ref{specRef(walk.vessel, "operating_pressure")})
}

// waterSolver balances what pumps deliver, lines lose and injectors take.
type waterSolver struct {
	w      *World
	case_  int32
	group  []int32
	tables []*unitop.Injector
	ids    []int64
	walks  []*waterWalk
	ends   []walkEnds // at the ends that are being solved
}

// walkEnds is what of the pressures along a walk does not depend on the flow, at one end of what is open: Pa, gauge pressures.
type walkEnds struct {
	inlet  float64 // at the motive inlet, without pumps and losses
	sink   float64 // where the walk ends
	column float64 // that stands on the outlet, from the inlet of the vessel or from the end of the walk
	space  float64 // of the vessel's gas space, without the losses behind it
	depth  float64 // of the water over the vessel's inlet
	stated float64 // that the vessel states for its gas space; infinite where it states none
}

// place is that of an injector in the group, of which there are few.
func (x *waterSolver) place(injector int32) int { return slices.Index(x.group, injector) }

// solvedInjector is one injector at one combination of ends; pressures in Pa gauge.
type solvedInjector struct {
	injectorPoint
	vessel float64
	beyond int // place among its pumps of the one whose curve ends before the flow that the injector takes; -1 where none does
}

// maxRounds bounds the rounds over injectors that share a stream. Each round solves them one after another; the shares of the
// common losses are small against an injector's own, so that few are needed.
const maxRounds = 200

// solveEnds solves every combination of open ends; nil where one does not settle.
func (x *waterSolver) solveEnds() [][]solvedInjector {
	out := make([][]solvedInjector, len(waterEnds))
	for k, ends := range waterEnds {
		var ok bool
		if out[k], ok = x.solve(ends.sourceHigh, ends.sinkHigh); !ok {
			return nil
		}
	}
	return out
}

// key packs all numbers that the solution depends on, behind what k holds.
func (x *waterSolver) key(k key) key {
	up, down := x.w.waterStream(true), x.w.waterStream(false)
	k.floats(up.viscosity, down.viscosity)
	k.count(int(min(x.case_, 1)))
	losses := func(list []walkLoss) {
		k.count(len(list))
		for i := range list {
			l := &list[i]
			k.count(int(l.law))
			k.floats(l.x.low, l.x.high, l.y.low, l.y.high, l.k.low, l.k.high, l.r.low, l.r.high)
			k.count(len(l.with))
			for _, j := range l.with {
				k.count(x.place(j))
			}
		}
	}
	for i, j := range x.group {
		walk := x.walks[i]
		k.count(int(x.ids[i]))
		p := x.w.Plant
		k.numbers(walk.source.pressure, walk.source.height, walk.sink.pressure, walk.sink.height,
			x.w.portHeight(p.PortByTrait(j, 0)), x.w.portHeight(p.PortByTrait(j, 2)))
		losses(walk.upLoss)
		losses(walk.downLoss)
		k.count(len(walk.pumps))
		for _, pump := range walk.pumps {
			k.count(len(pump.curve.flow))
			k.floats(pump.curve.flow...)
			k.floats(pump.curve.head...)
			for _, j := range walk.upWith[pump.at] {
				k.count(x.place(j))
			}
		}
		if walk.vessel < 0 {
			k.count(0)
			continue
		}
		k.count(1 + min(len(walk.behind.Missing), 1))
		losses(walk.behindLoss)
		k.numbers(x.w.waterLevel(walk.vessel), x.w.portHeight(walk.vesselPort), x.w.statedVesselPressure(walk.vessel))
	}
	return k
}

func (x *waterSolver) solve(sourceHigh, sinkHigh bool) ([]solvedInjector, bool) {
	flows := make([]float64, len(x.group))
	out := make([]solvedInjector, len(x.group))
	up, down := x.w.waterStream(!sourceHigh), x.w.waterStream(sinkHigh)
	if sinkHigh {
		down.twoPhase = twoPhaseSpread
	}
	x.ends = x.ends[:0]
	for _, walk := range x.walks {
		x.ends = append(x.ends, x.endsOf(walk, sourceHigh, sinkHigh))
	}
	for range maxRounds {
		change := 0.0
		for k := range x.group {
			before := flows[k]
			out[k] = x.balance(k, flows, &up, &down, sinkHigh)
			flows[k] = out[k].motive
			change = max(change, math.Abs(flows[k]-before)-1e-10*flows[k])
		}
		if change <= 1e-12 {
			return out, true
		}
		if len(x.group) == 1 {
			return out, true
		}
	}
	return nil, false
}

// twoPhaseSpread is the factor by which gas that runs along raises the friction behind an injector at most, over that of the
// water alone, in the homogeneous model: common practice, no source.
const twoPhaseSpread = 1.7

// balance finds the motive flow of one injector while the others keep theirs: what its table takes at the pressures that the
// flow leaves. The table takes less the more flows, since the inlet falls and the outlet rises, so there is one balance.
func (x *waterSolver) balance(k int, flows []float64, up, down *stream, sinkHigh bool) solvedInjector {
	walk := x.walks[k]
	low, high, limiting := 0.0, math.Inf(1), -1
	for i := range walk.pumps {
		pump := &walk.pumps[i]
		first, last := pump.curve.span()
		others := x.share(walk.upWith[pump.at], flows, k, 0)
		low = max(low, first-others)
		if last-others < high {
			high, limiting = last-others, i
		}
	}
	at := func(q float64) solvedInjector {
		s := solvedInjector{beyond: -1}
		s.inlet = x.inlet(walk, flows, k, q, up)
		s.outlet, s.vessel = x.outlet(walk, flows, k, q, down, sinkHigh)
		s.motive = motiveHeld(x.tables[k], s.inlet, s.outlet)
		return s
	}
	if low > high {
		low = high
	}
	start := at(low)
	if start.motive <= low {
		start.motive = low
		return start
	}
	ceiling := min(high, start.motive)
	end := at(ceiling)
	if end.motive > ceiling && ceiling == high {
		end.beyond, end.motive = limiting, high
		return end
	}
	a, fa, b, fb, last := low, start.motive-low, ceiling, end.motive-ceiling, 0
	atB := end // what holds at b
	for range 100 {
		if fb == 0 || b-a <= 1e-12*b {
			break
		}
		q := a + (b-a)*fa/(fa-fb)
		if !(q > a && q < b) {
			q = a + (b-a)/2
		}
		s := at(q)
		f := s.motive - q
		switch {
		case f > 0:
			a, fa = q, f
			if last > 0 {
				fb /= 2
			}
			last = 1
		case f < 0:
			b, fb, atB = q, f, s
			if last < 0 {
				fa /= 2
			}
			last = -1
		default:
			s.motive = q
			return s
		}
	}
	atB.motive = b
	return atB
}

// share sums the flows of the injectors of a stretch, with q for the one at place k.
func (x *waterSolver) share(with []int32, flows []float64, k int, q float64) float64 {
	if len(with) == 1 && with[0] == x.group[k] {
		return q
	}
	sum := 0.0
	for _, j := range with {
		if place := x.place(j); place == k {
			sum += q
		} else {
			sum += flows[place]
		}
	}
	return sum
}

// pick takes one end of a number.
func pick(n *Number, high bool) float64 {
	if high {
		return n.High
	}
	return n.Low
}

const waterWeight = coldWaterDensity * unitop.StandardGravity // Pa for each metre

// gasShare is the highest share of gas by volume that runs behind an injector, for the weight of the column; common practice,
// no source: a gas-to-liquid ratio of a quarter.
const gasShare = 0.2

// endsOf works out the ends of a walk.
func (x *waterSolver) endsOf(walk *waterWalk, sourceHigh, sinkHigh bool) walkEnds {
	w := x.w
	rise := func(from, to Number, high bool) float64 {
		n := from.Sub(to)
		return pick(&n, high)
	}
	own := w.portHeight(w.Plant.PortByTrait(walk.injector, 2))
	column := func(from Number) float64 {
		h := rise(from, own, sinkHigh)
		if (h > 0) != sinkHigh {
			h *= 1 - gasShare
		}
		return waterWeight * h
	}
	e := walkEnds{inlet: pick(&walk.source.pressure, sourceHigh), sink: pick(&walk.sink.pressure, sinkHigh)}
	e.inlet += waterWeight * rise(walk.source.height, w.portHeight(w.Plant.PortByTrait(walk.injector, 0)), sourceHigh)
	if walk.vessel < 0 {
		e.column = column(walk.sink.height)
		return e
	}
	level, entry, stated := w.waterLevel(walk.vessel), w.portHeight(walk.vesselPort), w.statedVesselPressure(walk.vessel)
	e.column = column(entry)
	e.space = e.sink + waterWeight*rise(walk.sink.height, level, sinkHigh)
	e.depth = waterWeight * max(0, rise(level, entry, sinkHigh))
	e.stated = pick(&stated, sinkHigh)
	return e
}

// inlet is the gauge pressure at the motive inlet while q flows.
func (x *waterSolver) inlet(walk *waterWalk, flows []float64, k int, q float64, up *stream) float64 {
	p := x.ends[k].inlet
	for i := range walk.pumps {
		pump := &walk.pumps[i]
		first, last := pump.curve.span()
		flow := min(max(x.share(walk.upWith[pump.at], flows, k, q), first), last)
		p += pump.curve.at(flow, pump.curve.head)
	}
	return p - x.loss(walk.upLoss, flows, k, q, up)
}

// loss sums the pressure drops of a way.
func (x *waterSolver) loss(list []walkLoss, flows []float64, k int, q float64, f *stream) float64 {
	sum := 0.0
	for i := range list {
		sum += list[i].liquidDrop(x.share(list[i].with, flows, k, q), f)
	}
	return sum
}

// outlet is the gauge pressure at the injector's outlet while q flows, and that of the gas space of the vessel behind it.
func (x *waterSolver) outlet(walk *waterWalk, flows []float64, k int, q float64, down *stream, high bool) (outlet, vessel float64) {
	e := &x.ends[k]
	drop := x.loss(walk.downLoss, flows, k, q, down)
	if walk.vessel < 0 {
		return e.sink + e.column + drop, e.sink
	}
	vessel = math.NaN()
	if len(walk.behind.Missing) == 0 {
		behind := *down
		behind.twoPhase = 1
		vessel = e.space + x.loss(walk.behindLoss, flows, k, q, &behind)
	}
	// What is stated about the gas space holds in normal operation; elsewhere only where nothing else says it.
	if !math.IsInf(e.stated, 0) {
		switch {
		case math.IsNaN(vessel):
			vessel = e.stated
		case x.case_ == 0 && high:
			vessel = max(vessel, e.stated)
		case x.case_ == 0:
			vessel = min(vessel, e.stated)
		}
	}
	return vessel + e.depth + e.column + drop, vessel
}

// motiveHeld reads the motive flow with each pressure brought to the nearest one in the table, for the search alone: a state
// outside the table is told as such.
func motiveHeld(table *unitop.Injector, inlet, outlet float64) float64 {
	low, high := table.InletSpan()
	p := hold(inlet+tableAtmosphere, low, high)
	low, high, err := table.OutletSpan(p)
	must(err)
	q, err := table.Motive(p, hold(outlet+tableAtmosphere, low, high))
	must(err)
	return q
}

// hold brings a value between two ends; what is no number goes to the low one.
func hold(x, low, high float64) float64 {
	if !(x > low) {
		return low
	}
	return min(x, high)
}
