package drawing

import (
	"slices"
	"sort"
)

// knot is a block or a bend of a long edge in a layer.
type knot struct {
	item  int // the item of the block, -1 for a bend
	layer int
	pos   int
	room  Extent
	y     int
	segs  []int
}

// strand is the part of an edge between neighbouring layers, from left to right.
type strand struct {
	edge                int
	left, right         int // knots
	leftAt, rightAt     Point
	leftSide, rightSide Side
	leftFree, rightFree bool
	leftKey, rightKey   float64 // order along the knot from top to bottom
	weight              int
	back                bool // against the flow
}

// layers is a layered graph of blocks.
type layers struct {
	l       *layout
	knots   []knot
	strands []strand
	rows    [][]int // knots of each layer from top to bottom
}

// blockEnd is where an edge meets a block: the block's item, the place relative to it and the side.
func (l *layout) blockEnd(end End, side Side) (core int, off Point, s Side, free bool) {
	it := &l.sh.Items[end.Item]
	p := it.Ports[end.Port]
	s = p.Side
	if p.Free {
		s, free = side, true
	}
	if o := l.owner[end.Item]; o >= 0 {
		return o, Point{l.rel[end.Item].X + p.Offset.X, l.rel[end.Item].Y + p.Offset.Y}, s, free
	}
	return end.Item, p.Offset, s, free
}

// layered sorts the standing blocks with edges into layers. It returns nil where there are none. With a fold of some layers,
// lines from deep in the diagram that enter something from above or below lead back by that many; not ok means that one of them
// would then stay in its layer.
func (l *layout) layered(back int) (*layers, bool) {
	g := &layers{l: l}
	knotOf := make([]int, len(l.sh.Items))
	for i := range knotOf {
		knotOf[i] = -1
		if l.owner[i] < 0 && len(l.ends[i]) > 0 {
			knotOf[i] = len(g.knots)
			g.knots = append(g.knots, knot{item: i, room: l.room[i]})
		}
	}
	if len(g.knots) == 0 {
		return nil, true
	}
	var runs []arcRun
	for i := range l.sh.Edges {
		if l.upon[i] {
			continue
		}
		e := &l.sh.Edges[i]
		a, _, fs, ff := l.blockEnd(e.From, East)
		b, _, ts, tf := l.blockEnd(e.To, West)
		r := arcRun{edge: i, left: knotOf[a], right: knotOf[b]}
		if r.left == r.right {
			continue
		}
		if !ff && fs == West || !tf && ts == East {
			r.left, r.right, r.back = r.right, r.left, true
		}
		runs = append(runs, r)
	}
	place := flowOrder(len(g.knots), runs, g.backWeight)
	for i := range runs {
		if r := &runs[i]; place[r.left] > place[r.right] {
			r.left, r.right, r.back = r.right, r.left, !r.back
		}
	}
	ns := &simplex{n: len(g.knots)}
	for _, r := range runs {
		ns.arc(r.left, r.right, 1, l.sh.Edges[r.edge].weight)
	}
	rank := ns.solve()
	if back > 0 {
		folded := false
		for i, r := range runs {
			if !r.back && rank[r.left] >= back && l.entersUpright(r.edge) {
				ns.arcs[i].min = 1 - back
				folded = true
			}
		}
		if !folded {
			return g, false
		}
		rank = ns.solve()
	}
	for v := range g.knots {
		g.knots[v].layer = rank[v]
	}
	spans := make([]int, len(runs))
	for i, r := range runs {
		spans[i] = abs(rank[r.right] - rank[r.left])
	}
	longest := longestThreaded(spans)
	for i, r := range runs {
		switch d := rank[r.right] - rank[r.left]; {
		case d == 0:
			return g, false
		case spans[i] > longest:
			// The router alone leads it.
		case d < 0:
			g.thread(r.edge, r.right, r.left, !r.back)
		default:
			g.thread(r.edge, r.left, r.right, r.back)
		}
	}
	return g, true
}

// maxBends is how many bends of long edges take part in a layout. Diagrams of plants have some tens.
const maxBends = 300

// longestThreaded is the greatest span of edges that are led through the layers so that there are not too many bends.
func longestThreaded(spans []int) int {
	sorted := slices.Clone(spans)
	sort.Ints(sorted)
	sum, longest := 0, 1
	for _, s := range sorted {
		if sum += s - 1; sum > maxBends {
			// All edges of one span are treated alike.
			return max(1, min(longest, s-1))
		}
		longest = s
	}
	return longest
}

// entersUpright says whether an edge ends at the top or bottom of equipment that has another way in.
func (l *layout) entersUpright(e int) bool {
	core, _, side, free := l.blockEnd(l.sh.Edges[e].To, West)
	if free || !side.vertical() {
		return false
	}
	for _, o := range l.ends[core] {
		ed := &l.sh.Edges[o]
		if o != e && !l.upon[o] && ed.To.Item == core && l.sh.Items[core].Ports[ed.To.Port].Side == West {
			return true
		}
	}
	return false
}

// thread leads an edge through the layers between two knots.
func (g *layers) thread(edge, left, right int, back bool) {
	e := &g.l.sh.Edges[edge]
	_, fo, fs, ff := g.l.blockEnd(e.From, East)
	_, to, ts, tf := g.l.blockEnd(e.To, West)
	if back {
		fo, to, fs, ts, ff, tf = to, fo, ts, fs, tf, ff
	}
	prev := left
	for layer := g.knots[left].layer + 1; ; layer++ {
		last := layer >= g.knots[right].layer
		next := right
		if !last {
			next = len(g.knots)
			g.knots = append(g.knots, knot{item: -1, layer: layer})
		}
		s := strand{edge: edge, left: prev, right: next, weight: e.weight, back: back,
			leftSide: East, rightSide: West}
		if prev == left {
			s.leftAt, s.leftSide, s.leftFree = fo, fs, ff
		}
		if last {
			s.rightAt, s.rightSide, s.rightFree = to, ts, tf
		}
		g.knots[prev].segs = append(g.knots[prev].segs, len(g.strands))
		g.knots[next].segs = append(g.knots[next].segs, len(g.strands))
		g.strands = append(g.strands, s)
		if last {
			return
		}
		prev = next
	}
}

// keys set the order in which strands leave their knots, from top to bottom.
func (g *layers) keys() {
	key := func(at Point, side, outward Side, free bool) float64 {
		switch {
		case free:
			return 0
		case side == North:
			return -1000 + float64(at.X)*0.1*sign(outward)
		case side == South:
			return 1000 - float64(at.X)*0.1*sign(outward)
		case side != outward:
			return 900
		}
		return float64(at.Y)
	}
	for i := range g.strands {
		s := &g.strands[i]
		s.leftKey = key(s.leftAt, s.leftSide, East, s.leftFree)
		s.rightKey = key(s.rightAt, s.rightSide, West, s.rightFree)
	}
}

func sign(s Side) float64 {
	if s == East {
		return 1
	}
	return -1
}

// arrange orders the layers so that few strands cross.
func (g *layers) arrange() {
	g.keys()
	depth := 0
	for i := range g.knots {
		depth = max(depth, g.knots[i].layer+1)
	}
	var best [][]int
	bestCross := -1
	for try := range 6 {
		g.rows = g.firstOrder(depth, try)
		g.number()
		for sweep := range 14 {
			g.sweep(sweep%2 == 0)
			g.transpose()
			if c := g.crossings(); bestCross < 0 || c < bestCross {
				bestCross = c
				best = make([][]int, depth)
				for i := range g.rows {
					best[i] = slices.Clone(g.rows[i])
				}
			}
			if bestCross == 0 {
				break
			}
		}
		if bestCross == 0 {
			break
		}
	}
	g.rows = best
	g.number()
}

func (g *layers) number() {
	for _, row := range g.rows {
		for p, v := range row {
			g.knots[v].pos = p
		}
	}
}

// firstOrder walks the graph from one end or the other; later tries begin elsewhere.
func (g *layers) firstOrder(depth, try int) [][]int {
	rows := make([][]int, depth)
	seen := make([]bool, len(g.knots))
	order := make([]int, len(g.knots))
	for i := range order {
		order[i] = i
	}
	switch try {
	case 1:
		sort.SliceStable(order, func(a, b int) bool { return g.knots[order[a]].layer < g.knots[order[b]].layer })
	case 2:
		sort.SliceStable(order, func(a, b int) bool { return g.knots[order[a]].layer > g.knots[order[b]].layer })
	case 3, 4, 5:
		seed := uint32(try) * 2654435761
		for i := len(order) - 1; i > 0; i-- {
			seed = seed*1664525 + 1013904223
			j := int(seed>>8) % (i + 1)
			order[i], order[j] = order[j], order[i]
		}
	}
	for _, v := range order {
		stack := []int{v}
		for len(stack) > 0 {
			u := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			if seen[u] {
				continue
			}
			seen[u] = true
			rows[g.knots[u].layer] = append(rows[g.knots[u].layer], u)
			segs := g.knots[u].segs
			for i := len(segs) - 1; i >= 0; i-- {
				s := &g.strands[segs[i]]
				w := s.left
				if w == u {
					w = s.right
				}
				if !seen[w] {
					stack = append(stack, w)
				}
			}
		}
	}
	return rows
}

// squash brings a key into the room of one position.
func squash(k float64) float64 {
	switch {
	case k < -500:
		return -0.45
	case k > 500:
		return 0.45
	}
	return k / 40
}

// sweep orders each layer by the mean place of its neighbours in the layer before.
func (g *layers) sweep(rightwards bool) {
	mean := make([]float64, len(g.knots))
	n := len(g.rows)
	for step := 1; step < n; step++ {
		r := step
		if !rightwards {
			r = n - 1 - step
		}
		row := g.rows[r]
		for _, v := range row {
			sum, count := 0.0, 0.0
			for _, si := range g.knots[v].segs {
				s := &g.strands[si]
				if rightwards && s.right == v {
					sum += float64(g.knots[s.left].pos) + squash(s.leftKey) - squash(s.rightKey)*0.5
					count++
				} else if !rightwards && s.left == v {
					sum += float64(g.knots[s.right].pos) + squash(s.rightKey) - squash(s.leftKey)*0.5
					count++
				}
			}
			if count > 0 {
				mean[v] = sum / count
			} else {
				mean[v] = float64(g.knots[v].pos)
			}
		}
		sort.SliceStable(row, func(a, b int) bool { return mean[row[a]] < mean[row[b]] })
		for p, v := range row {
			g.knots[v].pos = p
		}
	}
}

// transpose swaps neighbours while that saves crossings.
func (g *layers) transpose() {
	for range 8 {
		better := false
		for _, row := range g.rows {
			for p := 0; p+1 < len(row); p++ {
				a, b := row[p], row[p+1]
				if g.between(b, a) < g.between(a, b) {
					row[p], row[p+1] = b, a
					g.knots[a].pos, g.knots[b].pos = p+1, p
					better = true
				}
			}
		}
		if !better {
			return
		}
	}
}

// between counts the crossings of the strands of two knots of a layer, a above b.
func (g *layers) between(a, b int) int {
	n := 0
	for _, i := range g.knots[a].segs {
		s := &g.strands[i]
		for _, j := range g.knots[b].segs {
			t := &g.strands[j]
			switch {
			case s.left == a && t.left == b:
				if g.less(t.right, t.rightKey, s.right, s.rightKey) {
					n++
				}
			case s.right == a && t.right == b:
				if g.less(t.left, t.leftKey, s.left, s.leftKey) {
					n++
				}
			}
		}
	}
	return n
}

func (g *layers) less(a int, ak float64, b int, bk float64) bool {
	if pa, pb := g.knots[a].pos, g.knots[b].pos; pa != pb {
		return pa < pb
	}
	return ak < bk
}

// crossings counts all crossings between neighbouring layers.
func (g *layers) crossings() int {
	n := 0
	byLayer := make([][]int, len(g.rows))
	for i := range g.strands {
		l := g.knots[g.strands[i].left].layer
		byLayer[l] = append(byLayer[l], i)
	}
	for _, list := range byLayer {
		for x, i := range list {
			s := &g.strands[i]
			for _, j := range list[x+1:] {
				t := &g.strands[j]
				if s.left == t.left && s.leftKey == t.leftKey || s.right == t.right && s.rightKey == t.rightKey {
					continue
				}
				if g.less(s.left, s.leftKey, t.left, t.leftKey) != g.less(s.right, s.rightKey, t.right, t.rightKey) {
					n++
				}
			}
		}
	}
	return n
}
