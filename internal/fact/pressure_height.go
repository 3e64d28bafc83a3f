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
	space    []int32         // of each dry node, the number of its gas space
	level    [2][]float64    // of each gas space, for both ends of what is known
	drops    [2][]arcDrop    // ascending by arc
	lifts    []int32         // arcs by which gas pushes water above the level of its space
	rises    []int32         // restrictions behind which the level is higher than before them
	wet      *flowpath.Reach // nodes that water of a source may press on
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
func (g *pressureGraph) findHeights(w *World, starts, held []int32, fails bool) *heights {
	h := &heights{ports: int32(len(w.Plant.Ports)), wet: g.pressedByWater(starts, fails)}
	columns := w.columns()
	if columns.up == nil {
		return h
	}
	h.up, h.down = columns.up, columns.down
	h.levelGas(w, g)
	for _, node := range append(starts, held...) {
		h.doubtful = h.doubtful || h.isWet(node) && h.up[node] > h.down[node]
	}
	return h
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
	for i := range p.Ports {
		z := w.portLevel(int32(i))
		down[i], up[i] = z.Low, z.High
	}
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
	for i := range w.Plant.Ports {
		if w.Plant.Ports[i].Phase == skidrulev1.Phase_PHASE_GAS {
			continue
		}
		if z := w.portLevel(int32(i)); !math.IsInf(z.Low, 0) {
			s.low, s.high = min(s.low, z.Low), max(s.high, z.High)
		}
	}
	return s
}

// isWet tells the nodes that water presses on from those of gas.
func (h *heights) isWet(node int32) bool { return node < h.ports && h.wet.Reached(node) }

// portLevel is the elevation of a port: its own, else that of its component. A port of a vessel, pot or tank that states none lies
// somewhere above the bottom.
func (w *World) portLevel(port int32) Number {
	q := &w.Plant.Ports[port]
	z := w.portHeight(port)
	if q.Stated != nil && q.Stated.ElevationM != nil {
		return z
	}
	switch w.Plant.Components[q.Component].Kind {
	case plant.KindContactVessel, plant.KindDegassingVessel, plant.KindReactionVessel, plant.KindOpenTank, plant.KindKnockOutPot:
		z.High += unstatedHeight
		z.Missing = joinRefs(z.Missing, []Ref{portRef(port, "elevation")})
	}
	return z
}

// meeting is an arc by which pressure can pass from water to gas or the other way, with the nodes of both.
type meeting struct {
	arc, gas, liquid int32
	toGas            bool
}

// meetings lists the places where water and gas meet, in ascending order of arcs.
func (h *heights) meetings(g *pressureGraph) []meeting {
	var out []meeting
	for arc := range int32(g.graph.NumArcs()) {
		from, to := g.graph.From(arc), g.graph.To(arc)
		switch wet := h.isWet(from); {
		case wet == h.isWet(to) || g.sureThrough.Cost(arc) == flowpath.Blocked:
		case wet:
			out = append(out, meeting{arc, to, from, true})
		default:
			out = append(out, meeting{arc, from, to, false})
		}
	}
	return out
}

// pressedByWater marks the nodes that water of a source may press on.
func (g *pressureGraph) pressedByWater(starts []int32, fails bool) *flowpath.Reach {
	var water []int32
	for _, node := range starts {
		if int(node) < len(g.gas) {
			water = append(water, node)
		}
	}
	var avoid flowpath.Avoid
	if !fails {
		holding := flowpath.NewSet(g.graph.NumArcs())
		for arc := range int32(g.graph.NumArcs()) {
			if g.sureThrough.Cost(arc) == flowpath.Barrier {
				holding.Add(arc)
			}
		}
		avoid.Arcs = holding
	}
	r := &flowpath.Reach{}
	must(r.Sweep(g.sureThrough, flowpath.Forward, water, avoid))
	return r
}

// gasSpaces numbers the spaces of dry nodes that no restriction parts, and gives that of each node and how many there are.
func (h *heights) gasSpaces(g *pressureGraph) (space []int32, count int32) {
	sets := flowpath.NewSets(g.graph.NumNodes())
	for arc := range int32(g.graph.NumArcs()) {
		from, to := g.graph.From(arc), g.graph.To(arc)
		if h.isWet(from) || h.isWet(to) || g.sure.Cost(arc) == flowpath.Blocked {
			continue
		}
		sets.Join(from, to)
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
	return sets, count
}

// unknownLevel stands for the level of a gas space of which none is known yet.
var unknownLevel = math.NaN()

// levelGas finds the level of each gas space and what is lost where pressure passes between it and water.
func (h *heights) levelGas(w *World, g *pressureGraph) {
	meetings := h.meetings(g)
	space, count := h.gasSpaces(g)
	h.space = space
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
		slices.SortFunc(h.drops[end], func(a, b arcDrop) int { return cmp.Compare(a.arc, b.arc) })
	}
}

// tops gives for each meeting the place that counts as the water's surface: the port itself, but for one that no line meets the
// highest of its component that a line meets.
func (h *heights) tops(w *World, meetings []meeting) []int32 {
	ports := w.Plant.Ports
	highest := map[int32]int32{} // by component
	for _, m := range meetings {
		if !m.toGas || ports[m.liquid].Joints == 0 {
			continue
		}
		c := ports[m.liquid].Component
		if best, ok := highest[c]; !ok || h.down[m.liquid] > h.down[best] {
			highest[c] = m.liquid
		}
	}
	byPort := map[int32]int32{}
	for _, m := range meetings {
		if !m.toGas || ports[m.liquid].Joints > 0 {
			continue
		}
		if best, ok := highest[ports[m.liquid].Component]; ok {
			byPort[m.liquid] = best
		}
	}
	top := make([]int32, len(meetings))
	for i, m := range meetings {
		top[i] = m.liquid
		if best, ok := byPort[m.liquid]; ok {
			top[i] = best
		}
	}
	return top
}

// levelRest gives gas spaces that stand over no water the level of the highest place to which they bring gas, or of a space that
// they are joined with by a restriction.
func (h *heights) levelRest(g *pressureGraph, space []int32, level []float64, meetings []meeting) {
	pushed := map[int32]float64{}
	for _, m := range meetings {
		if s := space[m.gas]; !m.toGas && math.IsNaN(level[s]) {
			if z, ok := pushed[s]; !ok || h.up[m.liquid] > z {
				pushed[s] = h.up[m.liquid]
			}
		}
	}
	for s, z := range pushed {
		level[s] = z
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
	if h.up == nil && h.wet.Reached(node) {
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
