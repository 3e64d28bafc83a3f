package fact

import (
	"cmp"
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// unstatedHeight is how far apart in m elevations that are not stated are taken to lie at most: a skid and the room that it stands
// in. Common practice, no source.
const unstatedHeight = 5

// heights is what the elevations of ports make of pressure: water that stands still presses more below than above, by
// [waterColumn]. Pressures spread as heads, that is as what they would be at elevation 0, and are read back at the elevation of
// each place. Gas weighs nothing here, some 12 Pa a metre at 1 bar: all of a gas space has the head of one level, that of the
// lowest place where it stands over water. Where pressure passes from water to gas above that level, or from gas to water below
// it, the column between is taken off. Condensate that only gas pushes counts as gas.
//
// An elevation that is not stated lies anywhere in the span of the stated ones, and within half of [unstatedHeight] above and below
// their middle. In a drawing that states none nothing is known of heights: pressures spread as in a level drawing, and each place
// that water presses on is read with the whole of [unstatedHeight] above and below.
type heights struct {
	// Of each port, the pressure in Pa of a column from elevation 0 to the highest and to the lowest place where it may be; nil in a
	// drawing that states no elevation.
	up, down []float64
	space    []int32       // of each dry node, the number of its gas space
	level    [2][]float64  // of each gas space, for both ends of what is known
	drops    [2][]arcDrop  // ascending by arc
	lifts    []int32       // arcs by which gas pushes water above the level of its space
	rises    []int32       // restrictions behind which the level is higher than before them
	wet      *flowpath.Set // nodes that water of a source may press on
	ports    int32
	doubtful bool    // something that pressure starts from or passes has no stated elevation
	surfaces []int32 // ports of unknown elevation at which gas stands over water
}

// arcDrop is what is lost on an arc, Pa.
type arcDrop struct {
	arc  int32
	drop float64
}

// findHeights reads the elevations; starts are the nodes from which pressure spreads, held those at which it is held. With fails one
// barrier that fails lets water through.
func (g *pressureGraph) findHeights(w *World, starts, held []int32, fails bool, s *heightScratch) *heights {
	h := &heights{ports: int32(len(w.Plant.Ports)), wet: g.pressedByWater(starts, fails, &s.reach)}
	columns := w.columns()
	if columns.up == nil {
		return h
	}
	h.up, h.down = columns.up, columns.down
	h.levelGas(w, g, s)
	for _, nodes := range [2][]int32{starts, held} {
		for _, node := range nodes {
			h.doubtful = h.doubtful || h.isWet(node) && h.up[node] > h.down[node]
		}
	}
	return h
}

// heightScratch is memory that heights are found in, one after the other.
type heightScratch struct {
	reach    flowpath.Reach
	meetings []meeting
}

// columns are the heights of ports as pressures; they are read once for all ways in which pressure spreads.
type columns struct{ up, down []float64 }

func (w *World) columns() *columns { return w.ratings.columns.get(w.findColumns) }

func (w *World) findColumns() *columns {
	p, stated := w.Plant, w.Whole().statedLevels()
	lowest, highest := stated.low, stated.high
	if lowest > highest {
		return &columns{}
	}
	up, down := make([]float64, len(p.Ports)), make([]float64, len(p.Ports))
	w.eachLevel(func(port int32, low, high float64) { down[port], up[port] = low, high })
	middle := (lowest + highest) / 2
	lowest, highest = min(lowest, middle-unstatedHeight/2.0), max(highest, middle+unstatedHeight/2.0)
	for i := range up {
		low, high := down[i], up[i]
		if math.IsInf(low, 0) {
			low, high = lowest, highest
		}
		down[i], up[i] = low*waterColumn, high*waterColumn
	}
	return &columns{up, down}
}

// statedLevels is the span in m of the elevations that the drawing states of its water ports; its low end lies above the high one
// where it states none.
func (w *World) statedLevels() span { return *w.ratings.levels.get(w.findStatedLevels) }

func (w *World) findStatedLevels() *span {
	s := &span{math.Inf(1), math.Inf(-1)}
	w.eachLevel(func(port int32, low, high float64) {
		if w.Plant.Ports[port].Phase != skidrulev1.Phase_PHASE_GAS && !math.IsInf(low, 0) {
			s.low, s.high = min(s.low, low), max(s.high, high)
		}
	})
	return s
}

// eachLevel visits the ports of all components with the elevations in m between which they lie, as portLevel has them.
func (w *World) eachLevel(visit func(port int32, low, high float64)) {
	for i := range w.Plant.Components {
		c := &w.Plant.Components[i]
		own := c.Data.ElevationM // read once for all its ports
		for port := c.FirstPort; port < c.FirstPort+c.NumPorts; port++ {
			stated := w.Plant.Ports[port].Stated
			switch {
			case stated != nil && stated.ElevationM != nil:
				visit(port, *stated.ElevationM, *stated.ElevationM)
			case own != nil && liesAbove(c.Kind):
				visit(port, *own, *own+unstatedHeight)
			case own != nil:
				visit(port, *own, *own)
			case w.Plant.HasAssumptions():
				z := w.portLevel(port)
				visit(port, z.Low, z.High)
			default:
				visit(port, math.Inf(-1), math.Inf(1))
			}
		}
	}
}

// isWet tells the nodes that water presses on from those of gas.
func (h *heights) isWet(node int32) bool { return node < h.ports && h.wet.Has(node) }

// isSure tells whether a head at a node reads alike at both ends of what is known.
func (h *heights) isSure(node int32) bool {
	if h.up == nil {
		return !h.wet.Has(node)
	}
	return h.end(node, lowEnd) == h.end(node, highEnd)
}

// portLevel is the elevation of a port: its own, else that of its component. A port of a vessel, pot or tank that states none lies
// somewhere above the bottom.
func (w *World) portLevel(port int32) Number {
	q := &w.Plant.Ports[port]
	z := w.portHeight(port)
	if q.Stated != nil && q.Stated.ElevationM != nil {
		return z
	}
	if liesAbove(w.Plant.Components[q.Component].Kind) {
		z.High += unstatedHeight
		z.Missing = joinRefs(z.Missing, []Ref{portRef(port, "elevation")})
	}
	return z
}

// liesAbove tells kinds whose ports lie somewhere above their bottom.
func liesAbove(k plant.Kind) bool {
	switch k {
	case plant.KindContactVessel, plant.KindDegassingVessel, plant.KindReactionVessel, plant.KindOpenTank, plant.KindKnockOutPot:
		return true
	}
	return false
}

// meeting is an arc by which pressure can pass from water to gas or the other way, with the nodes of both.
type meeting struct {
	arc, gas, liquid int32
	toGas            bool
}

// meet lists the places where water and gas meet, in ascending order of arcs, and numbers the spaces of dry nodes that no restriction
// parts: it gives that of each node and how many there are. The list uses the memory of an earlier one.
func (h *heights) meet(g *pressureGraph, list []meeting) (meetings []meeting, space []int32, count int32) {
	meetings = list[:0]
	sets := flowpath.NewSets(g.graph.NumNodes())
	for pair := range g.of {
		there := int32(2 * pair)
		back := there + 1
		from, to := g.graph.From(there), g.graph.To(there)
		switch wet, wetTo := h.isWet(from), h.isWet(to); {
		case wet && wetTo:
		case !wet && !wetTo:
			if g.sure.Cost(there) != flowpath.Blocked || g.sure.Cost(back) != flowpath.Blocked {
				sets.Join(from, to)
			}
		default:
			gas, liquid := from, to
			if wet {
				gas, liquid = to, from
			}
			if g.sureThrough.Cost(there) != flowpath.Blocked {
				meetings = append(meetings, meeting{there, gas, liquid, wet})
			}
			if g.sureThrough.Cost(back) != flowpath.Blocked {
				meetings = append(meetings, meeting{back, gas, liquid, wetTo})
			}
		}
	}
	// An entry is never above its own index, so what it points to has its number already.
	for i, first := range sets {
		switch {
		case h.isWet(int32(i)):
			sets[i] = 0
		case int(first) == i:
			sets[i] = count
			count++
		default:
			sets[i] = sets[first]
		}
	}
	return meetings, sets, count
}

// pressedByWater marks the nodes that water of a source may press on.
func (g *pressureGraph) pressedByWater(starts []int32, fails bool, r *flowpath.Reach) *flowpath.Set {
	var water []int32
	for _, node := range starts {
		if int(node) < len(g.gas) {
			water = append(water, node)
		}
	}
	must(r.Sweep(g.sureThrough, flowpath.Forward, water, flowpath.Avoid{Barriers: !fails}))
	return r.Set().Clone()
}

// unknownLevel stands for the level of a gas space of which none is known yet.
var unknownLevel = math.NaN()

// levelGas finds the level of each gas space and what is lost where pressure passes between it and water.
func (h *heights) levelGas(w *World, g *pressureGraph, s *heightScratch) {
	meetings, space, count := h.meet(g, s.meetings)
	s.meetings, h.space = meetings, space
	top := h.tops(w, meetings)
	for end := range 2 {
		surface, other := h.down, h.up
		if end == lowEnd {
			surface, other = h.up, h.down
		}
		level := make([]float64, count)
		for i := range level {
			level[i] = unknownLevel
		}
		for i, m := range meetings {
			if s := space[m.gas]; m.toGas {
				if z := surface[top[i]]; math.IsNaN(level[s]) || z < level[s] {
					level[s] = z
				}
			}
		}
		h.levelRest(g, space, level, meetings)
		for i := range level {
			if math.IsNaN(level[i]) {
				level[i] = 0
			}
		}
		h.level[end] = level
		h.drops[end] = make([]arcDrop, 0, len(meetings))
		for i, m := range meetings {
			drop := level[space[m.gas]] - other[m.liquid]
			if m.toGas {
				drop = surface[top[i]] - level[space[m.gas]]
			}
			switch {
			case drop > 0:
				h.drops[end] = append(h.drops[end], arcDrop{m.arc, drop})
			case end == highEnd && drop < 0:
				h.lifts = append(h.lifts, m.arc)
			}
			if h.up[top[i]] > h.down[top[i]] {
				h.doubtful = true
				if m.toGas && end == highEnd {
					h.surfaces = append(h.surfaces, top[i])
				}
			}
		}
		ofMeetings := len(h.drops[end])
		for _, arc := range g.restrictions {
			from, to := g.graph.From(arc), g.graph.To(arc)
			if h.isWet(from) || h.isWet(to) {
				continue
			}
			if drop := level[space[from]] - level[space[to]]; drop > 0 {
				h.drops[end] = append(h.drops[end], arcDrop{arc, drop})
			} else if end == highEnd && drop < 0 {
				h.rises = append(h.rises, arc)
			}
		}
		if len(h.drops[end]) == ofMeetings {
			continue // they are in order
		}
		slices.SortFunc(h.drops[end], func(a, b arcDrop) int { return cmp.Compare(a.arc, b.arc) })
	}
}

// tops gives for each meeting the place that counts as the water's surface: the port itself, but for one that no line meets the
// highest of its component that a line meets.
func (h *heights) tops(w *World, meetings []meeting) []int32 {
	ports := w.Plant.Ports
	top := make([]int32, len(meetings))
	standing := flowpath.NewSet(len(ports)) // ports over which gas stands and that no line meets
	any := false
	for i, m := range meetings {
		top[i] = m.liquid
		if m.toGas && ports[m.liquid].Joints == 0 {
			standing.Add(m.liquid)
			any = true
		}
	}
	if !any {
		return top
	}
	highest := make([]int32, len(w.Plant.Components)) // the highest port of each that a line meets, plus 1; 0 for none
	for _, m := range meetings {
		if !m.toGas || ports[m.liquid].Joints == 0 {
			continue
		}
		if best := &highest[ports[m.liquid].Component]; *best == 0 || h.down[m.liquid] > h.down[*best-1] {
			*best = m.liquid + 1
		}
	}
	for i, m := range meetings {
		if best := highest[ports[m.liquid].Component]; best != 0 && standing.Has(m.liquid) {
			top[i] = best - 1
		}
	}
	return top
}

// levelRest gives gas spaces that stand over no water the level of the highest place to which they bring gas, or of a space that
// they are joined with by a restriction.
func (h *heights) levelRest(g *pressureGraph, space []int32, level []float64, meetings []meeting) {
	known := flowpath.NewSet(len(level))
	for s := range level {
		if !math.IsNaN(level[s]) {
			known.Add(int32(s))
		}
	}
	for _, m := range meetings {
		s := space[m.gas]
		if z := h.up[m.liquid]; !m.toGas && !known.Has(s) && (math.IsNaN(level[s]) || z > level[s]) {
			level[s] = z
		}
	}
	for range 2 {
		for _, arc := range g.restrictions {
			from, to := g.graph.From(arc), g.graph.To(arc)
			if h.isWet(from) || h.isWet(to) {
				continue
			}
			a, b := space[from], space[to]
			switch unknownA, unknownB := math.IsNaN(level[a]), math.IsNaN(level[b]); {
			case !unknownA && unknownB:
				level[b] = level[a]
			case unknownA && !unknownB:
				level[a] = level[b]
			}
		}
	}
}

// column gives the column of a node at one end of what is known: in gas that of its space at that end, in water that of the
// highest or lowest place where it may be.
func (h *heights) column(node int32, end int, highest bool) float64 {
	switch {
	case h.up == nil:
		return 0
	case !h.isWet(node):
		return h.level[end][h.space[node]]
	case highest:
		return h.up[node]
	}
	return h.down[node]
}

// start gives the column of a node from which pressure spreads, at one end of what is known.
func (h *heights) start(node int32, end int) float64 { return h.column(node, end, end == highEnd) }

// end gives the column of a node at which pressure is read.
func (h *heights) end(node int32, end int) float64 { return h.column(node, end, end != highEnd) }

// head gives what a pressure at a node spreads as, at one end of what is known.
func (h *heights) head(node int32, pressure float64, end int) float64 {
	return pressure + h.start(node, end)
}

// pressure reads a head at a node, at one end of what is known. A place high above its water stands at the atmosphere.
func (h *heights) pressure(node int32, head float64, end int) float64 {
	if math.IsInf(head, 0) {
		return head
	}
	p := head - h.end(node, end)
	if h.up == nil && h.wet.Has(node) {
		p += math.Copysign(unstatedHeight*waterColumn, float64(2*end-1))
	}
	return max(p, min(0, head))
}

// passes gives the head behind an arc of what stands before it: gas keeps its pressure, water its head.
func (h *heights) passes(from, to int32, head float64, end int) float64 {
	if h.isWet(from) && h.isWet(to) || math.IsInf(head, 0) {
		return head
	}
	return head - h.end(from, end) + h.start(to, end)
}

// refs names the elevations that are not stated of places of water; where those are known, of the places in the island of a
// port where gas stands over water.
func (h *heights) refs(w *World, port int32, nodes ...int32) []Ref {
	var out []Ref
	for _, node := range nodes {
		if h.isWet(node) {
			if z := w.portLevel(node); !z.Known() {
				out = joinRefs(out, joinRefs(z.Missing, z.Assumed))
			}
		}
	}
	if len(out) == 0 {
		for _, surface := range h.surfaces {
			if w.islandOfPort(surface) == w.islandOfPort(port) {
				out = joinRefs(out, w.portLevel(surface).Missing)
			}
		}
	}
	return out
}
