package drawing

// honours says whether the design places anything on the sheet.
func (sh *Sheet) honours() bool {
	for i := range sh.Items {
		if sh.Items[i].fixed {
			return true
		}
	}
	return false
}

// placeFixed keeps the stated positions. Everything else stands to its neighbours as the automatic layout has it, or where the
// nearest room is.
func (l *layout) placeFixed(wide, high int) {
	stated := make([]Point, len(l.sh.Items))
	done := make([]bool, len(l.sh.Items))
	for i := range l.sh.Items {
		stated[i], done[i] = l.sh.Items[i].At, l.sh.Items[i].fixed
	}
	l.place(wide, high)
	auto := make([]Point, len(l.sh.Items))
	for i := range l.sh.Items {
		auto[i] = l.sh.Items[i].At
		if done[i] {
			l.sh.Items[i].At = stated[i]
		}
	}
	for range l.sh.Items {
		best, links := -1, -1
		for i := range l.sh.Items {
			if done[i] {
				continue
			}
			n := 0
			for _, e := range l.ends[i] {
				far, _ := l.across(e, i)
				n += 2 * boolInt(done[far.Item])
			}
			if o := l.owner[i]; o >= 0 && done[o] {
				n = 1 << 20
			}
			if n > links {
				best, links = i, n
			}
		}
		if best < 0 {
			break
		}
		l.likeAuto(best, auto, done)
		done[best] = true
	}
	for i := range l.sh.Items {
		if l.sh.Items[i].fixed {
			l.faceNeighbours(i)
		}
	}
	for i := range l.sh.Items {
		if l.sh.Items[i].form.class == point {
			l.freeSides(i)
		}
	}
}

// likeAuto places an item as it stands to a placed neighbour in the automatic layout, or near there.
func (l *layout) likeAuto(i int, auto []Point, done []bool) {
	it := &l.sh.Items[i]
	ref := -1
	if o := l.owner[i]; o >= 0 && done[o] {
		ref = o
	}
	for _, e := range l.ends[i] {
		if far, _ := l.across(e, i); ref < 0 && done[far.Item] {
			ref = far.Item
		}
	}
	if ref < 0 {
		bottom, left := 0, 0
		for j := range l.sh.Items {
			if o := &l.sh.Items[j]; done[j] {
				bottom, left = max(bottom, o.At.Y+o.Extent.Down), min(left, o.At.X)
			}
		}
		it.At = Point{left + it.Extent.Left + 10, bottom + it.Extent.Up + 6}
	} else {
		at := l.sh.Items[ref].At
		it.At = Point{at.X + auto[i].X - auto[ref].X, at.Y + auto[i].Y - auto[ref].Y}
	}
	if l.owner[i] >= 0 && l.owner[i] == ref && l.free(i, done, 0) {
		return
	}
	l.nearest(i, done)
}

// free says whether item i has its place to itself, with a margin.
func (l *layout) free(i int, done []bool, margin int) bool {
	a := &l.sh.Items[i]
	for j := range l.sh.Items {
		if b := &l.sh.Items[j]; j != i && done[j] && near(a, b, margin) {
			return false
		}
	}
	return true
}

func near(a, b *Item, margin int) bool {
	return a.At.X-a.Extent.Left-margin < b.At.X+b.Extent.Right && b.At.X-b.Extent.Left-margin < a.At.X+a.Extent.Right &&
		a.At.Y-a.Extent.Up-margin < b.At.Y+b.Extent.Down && b.At.Y-b.Extent.Up-margin < a.At.Y+a.Extent.Down
}

// nearest moves an item to the nearest free room, rather along its row than out of it.
func (l *layout) nearest(i int, done []bool) {
	it := &l.sh.Items[i]
	c := it.At
	for r := range 200 {
		for dy := 0; dy <= r; dy++ {
			dx := (r - dy) * 2
			for _, d := range [4]Point{{dx, dy}, {-dx, dy}, {dx, -dy}, {-dx, -dy}} {
				it.At = Point{c.X + d.X, c.Y + d.Y}
				if l.free(i, done, 2) {
					return
				}
			}
		}
	}
}

// faceNeighbours turns what may be turned so that its ports look at what they are joined to.
func (l *layout) faceNeighbours(i int) {
	it := &l.sh.Items[i]
	switch {
	case it.form.class == inline, it.form.class == bubble, it.form.class == flag, it.Kind == "cap":
	default:
		return
	}
	best, bends := it.Turn, 1<<30
	for _, t := range []Turn{TurnEast, TurnSouth, TurnNorth, TurnWest} {
		it.turn(t)
		n := 0
		for _, e := range l.ends[i] {
			far, near := l.across(e, i)
			other := &l.sh.Items[far.Item]
			q := other.Ports[far.Port]
			n += l.apart(it, near.Port, other, far.Port, it.Ports[near.Port].Side, q.Side, q.Free)
		}
		if n < bends {
			best, bends = t, n
		}
	}
	it.turn(best)
}

// apart rates how badly two ports look at each other: bends, then distance.
func (l *layout) apart(a *Item, ap int, b *Item, bp int, as, bs Side, free bool) int {
	p, q := a.PortAt(ap), b.PortAt(bp)
	dx, dy := q.X-p.X, q.Y-p.Y
	rate := func(s Side) int { return 1000*leastBends(dx, dy, as, s.opposite()) + abs(dx) + abs(dy) }
	if !free {
		return rate(bs)
	}
	best := rate(North)
	for _, s := range []Side{East, South, West} {
		best = min(best, rate(s))
	}
	return best
}

// freeSides gives each line at a tee or junction a side of its own, those with the fewest bends in sum.
func (l *layout) freeSides(i int) {
	ends := l.ends[i]
	if len(ends) > 4 {
		ends = ends[:4]
	}
	it := &l.sh.Items[i]
	cost := make([][4]int, len(ends))
	for k, e := range ends {
		far, near := l.across(e, i)
		other := &l.sh.Items[far.Item]
		q := other.Ports[far.Port]
		for s := Side(0); s < 4; s++ {
			cost[k][s] = l.apart(it, near.Port, other, far.Port, s, q.Side, q.Free)
		}
	}
	best := 1 << 30
	var pick, cur [4]Side
	var try func(k int, taken uint8, sum int)
	try = func(k int, taken uint8, sum int) {
		if sum >= best {
			return
		}
		if k == len(ends) {
			best, pick = sum, cur
			return
		}
		for s := Side(0); s < 4; s++ {
			if taken&(1<<s) == 0 {
				cur[k] = s
				try(k+1, taken|1<<s, sum+cost[k][s])
			}
		}
	}
	try(0, 0, 0)
	for k, e := range ends {
		l.setFreeSide(e, i, pick[k])
	}
}
