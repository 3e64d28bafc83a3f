package drawing

import "slices"

const rowGap = 2 // least free modules between blocks of a layer

// fold says how a layout is made narrower: how far lines that enter from above may lead back, and the gap in a row.
type fold struct{ back, gap int }

// place lays out a sheet without stated positions: blocks in layers, then what has no lines below them. A layout that is too wide
// for the room, in modules, is folded: lines that enter something from above, as the gas does an injector, may lead back to it,
// so that one train stands over the other.
func (l *layout) place(wide, high int) {
	l.measure()
	plain := make([]Item, len(l.sh.Items))
	for i, it := range l.sh.Items {
		plain[i] = it
		plain[i].Ports = slices.Clone(it.Ports)
	}
	run := func(f fold) (scale float64, depth int, ok bool) {
		for i := range plain {
			l.sh.Items[i].Extent = plain[i].Extent
			copy(l.sh.Items[i].Ports, plain[i].Ports)
		}
		l.measure()
		depth, ok = l.placeLayers(f)
		b := l.bounds()
		return min(1, float64(wide)/float64(max(1, b.Right-b.Left)), float64(high)/float64(max(1, b.Down-b.Up))), depth, ok
	}
	best, last := fold{gap: wideGap}, fold{gap: wideGap}
	scale, depth, _ := run(best)
	unfolded := scale
	const good = 0.97
	crowded := len(l.sh.Edges) > 150
	for back := 3; back < depth && scale < good && !crowded; back += 2 {
		last = fold{back, wideGap}
		// A fold must earn its bends.
		if s, _, ok := run(last); ok && s > scale && s > unfolded*1.08 {
			best, scale = last, s
		}
	}
	if scale < good && !crowded {
		last = fold{best.back, closeGap}
		if s, _, ok := run(last); ok && s > scale {
			best = last
		}
	}
	if last != best {
		run(best)
	}
	b := l.bounds()
	l.placeLoose(b.Left, b.Down+3)
}

const (
	wideGap  = 4 // free modules between neighbours in a row
	closeGap = 3
)

// placeLayers makes one layout and returns how many layers it has; not ok means that the fold cannot be had.
func (l *layout) placeLayers(f fold) (depth int, ok bool) {
	g, ok := l.layered(f.back)
	if g == nil {
		return 0, ok
	}
	g.arrange()
	g.pointSides()
	g.keys()
	g.setY(false)
	if g.stretchHeaders() {
		g.keys()
	}
	g.setY(true)
	g.setX(f.gap)
	l.settleHanging()
	return len(g.rows), true
}

// settleHanging moves what hangs on a block to its place.
func (l *layout) settleHanging() {
	for i, o := range l.owner {
		if o >= 0 {
			at := l.sh.Items[o].At
			l.sh.Items[i].At = Point{at.X + l.rel[i].X, at.Y + l.rel[i].Y}
		}
	}
}

// bounds are the outermost modules of what is placed.
func (l *layout) bounds() Extent {
	b := Extent{Up: 1 << 30, Left: 1 << 30, Right: -1 << 30, Down: -1 << 30}
	for i := range l.sh.Items {
		it := &l.sh.Items[i]
		if l.owner[i] < 0 && len(l.ends[i]) > 0 {
			r := l.room[i]
			b.Up, b.Down = min(b.Up, it.At.Y-r.Up), max(b.Down, it.At.Y+r.Down)
			b.Left, b.Right = min(b.Left, it.At.X-r.Left), max(b.Right, it.At.X+r.Right)
		}
	}
	if b.Right < b.Left {
		return Extent{}
	}
	return b
}

// placeLoose sets what has no lines in rows below the diagram.
func (l *layout) placeLoose(left, top int) {
	x, y, high := left, top, 0
	for i := range l.sh.Items {
		if l.owner[i] >= 0 || len(l.ends[i]) > 0 {
			continue
		}
		r := l.room[i]
		if x > left && x+r.Left+r.Right > left+120 {
			x, y, high = left, y+high+rowGap, 0
		}
		l.sh.Items[i].At = Point{x + r.Left, y + r.Up}
		x += r.Left + r.Right + 3
		high = max(high, r.Up+r.Down)
	}
}

// pointSides chooses for every tee and junction at which side each line meets it: the straightest pair runs through, the others
// leave upwards or downwards.
func (g *layers) pointSides() {
	for v := range g.knots {
		k := &g.knots[v]
		if k.item < 0 {
			continue
		}
		free := false
		for _, si := range k.segs {
			s := &g.strands[si]
			free = free || s.left == v && s.leftFree || s.right == v && s.rightFree
		}
		if free {
			g.sidesAt(v)
		}
	}
}

func (g *layers) sidesAt(v int) {
	k := &g.knots[v]
	l := g.l
	var in, out []int
	for _, si := range k.segs {
		if s := &g.strands[si]; s.right == v {
			in = append(in, si)
		} else {
			out = append(out, si)
		}
	}
	bestIn, bestOut, best := -1, -1, -1
	rate := func(a, b int) int {
		w := 0
		for _, si := range [2]int{a, b} {
			if si >= 0 {
				w += 4*g.strands[si].weight - boolInt(g.strands[si].back)*3 + 4*boolInt(g.runsThrough(si, v))
			}
		}
		if a >= 0 && b >= 0 && l.sh.Edges[g.strands[a].edge].Line == l.sh.Edges[g.strands[b].edge].Line {
			w += 6
		}
		return w
	}
	for _, a := range orNone(in) {
		for _, b := range orNone(out) {
			if r := rate(a, b); r > best {
				bestIn, bestOut, best = a, b, r
			}
		}
	}
	taken := l.slots[k.item]
	set := func(si int, side Side) {
		s := &g.strands[si]
		taken |= 1 << side
		l.setFreeSide(s.edge, k.item, side)
		if s.left == v {
			s.leftSide = side
		} else {
			s.rightSide = side
		}
	}
	if bestIn >= 0 {
		set(bestIn, West)
	}
	if bestOut >= 0 {
		set(bestOut, East)
	}
	rest := func(list []int, main int, straight Side) {
		for _, si := range list {
			if si == main {
				continue
			}
			up := g.above(si, main, v)
			try := []Side{South, North, straight, straight.opposite()}
			if up {
				try = []Side{North, South, straight, straight.opposite()}
			}
			side := try[0]
			for _, t := range try {
				if taken&(1<<t) == 0 {
					side = t
					break
				}
			}
			set(si, side)
		}
	}
	rest(in, bestIn, West)
	rest(out, bestOut, East)
}

func orNone(s []int) []int {
	if len(s) == 0 {
		return []int{-1}
	}
	return s
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}

// runsThrough says whether the strand meets the knot at its inlet or outlet.
func (g *layers) runsThrough(si, v int) bool {
	e := &g.l.sh.Edges[g.strands[si].edge]
	end := e.From
	if e.To.Item == g.knots[v].item {
		end = e.To
	}
	if end.Item != g.knots[v].item {
		return false
	}
	name := g.l.sh.Items[end.Item].Ports[end.Port].Name
	return name == "inlet" || name == "outlet"
}

// above says whether strand si leads higher than the one that runs through.
func (g *layers) above(si, main, v int) bool {
	far := func(i int) (int, float64) {
		s := &g.strands[i]
		if s.left == v {
			return s.right, s.rightKey
		}
		return s.left, s.leftKey
	}
	a, ak := far(si)
	if main < 0 {
		return g.knots[a].pos < g.knots[v].pos
	}
	b, bk := far(main)
	return g.less(a, ak, b, bk)
}

// setY finds the heights of all knots by network simplex: straight main runs weigh most.
// Lines at headers pull only once the headers are stretched.
func (g *layers) setY(headers bool) {
	ns := &simplex{n: len(g.knots)}
	for _, row := range g.rows {
		for p := 0; p+1 < len(row); p++ {
			a, b := &g.knots[row[p]], &g.knots[row[p+1]]
			ns.arc(row[p], row[p+1], a.room.Down+b.room.Up+rowGap, 0)
		}
	}
	for i := range g.strands {
		g.pull(ns, &g.strands[i], headers)
	}
	y := ns.solve()
	for v := range g.knots {
		g.knots[v].y = y[v]
		if it := g.knots[v].item; it >= 0 {
			g.l.sh.Items[it].At.Y = y[v]
		}
	}
}

// pull adds the cost of one strand to the heights: a level strand where both ends look at each other, and otherwise one whose far
// end lies beyond the side at which it leaves.
func (g *layers) pull(ns *simplex, s *strand, headers bool) {
	ly, lLevel, lUp := g.reach(s.left, s.leftAt, s.leftSide, East)
	ry, rLevel, rUp := g.reach(s.right, s.rightAt, s.rightSide, West)
	bends := boolInt(g.knots[s.left].item < 0) + boolInt(g.knots[s.right].item < 0)
	w := s.weight * []int{2, 3, 8}[bends]
	if !headers && (g.atHeader(s.left) || g.atHeader(s.right)) {
		w = 1
	}
	level := func(w int) {
		a := ns.node()
		// |(yl + ly) - (yr + ry)|
		base := min(ly, ry)
		ns.arc(s.left, a, ly-base, w)
		ns.arc(s.right, a, ry-base, w)
	}
	// beyond charges knot b for lying on the wrong side of a: it should be at least d below.
	beyond := func(a, b, d, w int) {
		t := ns.node()
		// t >= yb and t >= ya + d, cost w × (t - yb) and a little for the distance.
		if d >= 0 {
			ns.arc(b, t, 0, w)
			ns.arc(a, t, d, 1)
		} else {
			ns.arc(b, t, -d, w)
			ns.arc(a, t, 0, 1)
		}
	}
	switch {
	case lLevel && rLevel:
		level(w)
	case lLevel != rLevel:
		// A line that leads back runs between the block and its neighbour in the layer.
		block, run, y, up := s.left, s.right, ry, lUp
		if lLevel {
			block, run, y, up = s.right, s.left, ly, rUp
		}
		row := g.rows[g.knots[block].layer]
		if p := g.knots[block].pos; s.back && up && p > 0 {
			beyond(row[p-1], run, g.knots[row[p-1]].room.Down+1-y, w)
		} else if s.back && !up && p+1 < len(row) {
			beyond(run, row[p+1], g.knots[row[p+1]].room.Up+1+y, w)
		}
		// One end looks up or down: the level end should lie beyond it.
		if lLevel {
			if rUp {
				beyond(s.left, s.right, ly-ry+1, w)
			} else {
				beyond(s.right, s.left, ry-ly+1, w)
			}
		} else if lUp {
			beyond(s.right, s.left, ry-ly+1, w)
		} else {
			beyond(s.left, s.right, ly-ry+1, w)
		}
	case lUp && !rUp:
		beyond(s.right, s.left, ry-ly+2, w)
	case !lUp && rUp:
		beyond(s.left, s.right, ly-ry+2, w)
	default:
		level(1)
	}
}

// reach is the height of a strand's end below the centre of its knot, whether it leaves level, and if not, whether upwards.
func (g *layers) reach(v int, at Point, side, outward Side) (y int, level, up bool) {
	k := &g.knots[v]
	if k.item < 0 {
		return 0, true, false
	}
	switch side {
	case outward:
		return at.Y, true, false
	case North:
		return min(at.Y, 0) - boolInt(at.Y > 0), false, true
	case South:
		return at.Y, false, false
	}
	// The line leaves against the reading direction and turns back below the block.
	return k.room.Down + 1, false, false
}

func (g *layers) atHeader(v int) bool {
	i := g.knots[v].item
	return i >= 0 && g.l.sh.Items[i].Kind == "header"
}
