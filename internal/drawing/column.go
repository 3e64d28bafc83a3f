package drawing

import "sort"

// riser is the vertical part of a strand between two layers.
type riser struct {
	strand     int
	layer      int // of the left knot
	top, down  int
	fromY, toY int
	node       int // in the simplex, -1 where the place is that of a port
	base       int // knot and offset of a place given by a port
	off        int
}

// setX sets the knots side by side as closely as their rows allow: what overlaps in height keeps its order from left to right,
// and so do the upright runs between the layers.
func (g *layers) setX(gap int) {
	ns := &simplex{n: len(g.knots)}
	n := len(g.rows)
	ups := g.risers(ns)
	// The width of the whole weighs more than the length of single lines.
	const widthWeight = 12
	first, last := ns.node(), ns.node()
	ns.arc(first, last, 0, widthWeight)
	for v := range g.knots {
		ns.arc(first, v, g.knots[v].room.Left, 0)
		ns.arc(v, last, g.knots[v].room.Right, 0)
	}
	for layer := range n {
		for _, u := range g.rows[layer] {
			for later := layer + 1; later < n; later++ {
				for _, v := range g.rows[later] {
					a, b := &g.knots[u], &g.knots[v]
					if a.y-a.room.Up < b.y+b.room.Down+2 && b.y-b.room.Up < a.y+a.room.Down+2 {
						ns.arc(u, v, a.room.Right+b.room.Left+min(gap, 2), 0)
					}
				}
			}
		}
	}
	for i := range g.strands {
		s := &g.strands[i]
		a, b := &g.knots[s.left], &g.knots[s.right]
		w := 1 - boolInt(s.back)
		if a.item < 0 || b.item < 0 {
			ns.arc(s.left, s.right, a.room.Right+b.room.Left+1, w)
			continue
		}
		ns.arc(s.left, s.right, a.room.Right+b.room.Left+gap, w)
	}
	for i := range ups {
		g.keepClear(ns, &ups[i])
		for j := range ups[:i] {
			g.keepApart(ns, &ups[j], &ups[i])
		}
	}
	x := ns.solve()
	for v := range g.knots {
		if it := g.knots[v].item; it >= 0 {
			g.l.sh.Items[it].At.X = x[v]
		}
	}
}

// risers lists the vertical parts of all strands.
func (g *layers) risers(ns *simplex) []riser {
	var ups []riser
	for i := range g.strands {
		s := &g.strands[i]
		ly, lLevel, _ := g.reach(s.left, s.leftAt, s.leftSide, East)
		ry, rLevel, _ := g.reach(s.right, s.rightAt, s.rightSide, West)
		a, b := g.knots[s.left].y+ly, g.knots[s.right].y+ry
		if a == b {
			continue
		}
		u := riser{strand: i, layer: g.knots[s.left].layer, top: min(a, b), down: max(a, b), fromY: a, toY: b, node: -1, base: -1}
		switch {
		case lLevel && rLevel:
			u.node = ns.node()
		case lLevel && s.rightSide.vertical():
			u.base, u.off = s.right, s.rightAt.X
		case rLevel && s.leftSide.vertical():
			u.base, u.off = s.left, s.leftAt.X
		default:
			u.node = ns.node()
		}
		ups = append(ups, u)
	}
	sort.SliceStable(ups, func(a, b int) bool { return ups[a].layer < ups[b].layer })
	return ups
}

// keepClear keeps an upright run to the right of what stands in the layers before it, and to the left of what stands after it.
func (g *layers) keepClear(ns *simplex, u *riser) {
	s := &g.strands[u.strand]
	for v := range g.knots {
		k := &g.knots[v]
		if v == u.base || k.y-k.room.Up > u.down || k.y+k.room.Down < u.top {
			continue
		}
		margin := 1
		if k.item < 0 {
			margin = 0
		}
		before := k.layer <= u.layer
		switch {
		case u.node >= 0 && before:
			ns.arc(v, u.node, k.room.Right+margin, boolInt(v == s.left))
		case u.node >= 0:
			ns.arc(u.node, v, k.room.Left+margin, boolInt(v == s.right))
		case before && k.layer < g.knots[u.base].layer:
			ns.arc(v, u.base, k.room.Right+margin-u.off, 0)
		case !before && k.layer > g.knots[u.base].layer:
			ns.arc(u.base, v, k.room.Left+margin+u.off, 0)
		}
	}
}

// keepApart sets two upright runs of the same gap side by side, in the order in which they do not cross.
func (g *layers) keepApart(ns *simplex, a, b *riser) {
	if a.layer != b.layer || a.node < 0 || b.node < 0 || a.top > b.down || b.top > a.down {
		return
	}
	left, right := a, b
	if b.fromY < a.fromY || b.fromY == a.fromY && b.toY < a.toY {
		left, right = b, a
	}
	if left.toY > left.fromY {
		// Downwards the upper run turns later.
		left, right = right, left
	}
	ns.arc(left.node, right.node, 2, 0)
}

// stretchHeaders moves the ports of headers to the height of what they are joined to.
func (g *layers) stretchHeaders() bool {
	l := g.l
	changed := false
	for v := range g.knots {
		k := &g.knots[v]
		if k.item < 0 {
			continue
		}
		it := &l.sh.Items[k.item]
		if it.Kind != "header" || len(l.hangs[k.item]) > 0 {
			continue
		}
		want := make([][]portWish, 4)
		for _, si := range k.segs {
			s := &g.strands[si]
			e := &l.sh.Edges[s.edge]
			end := e.From
			if end.Item != k.item {
				end = e.To
			}
			y := 0
			if s.left == v {
				ry, _, _ := g.reach(s.right, s.rightAt, s.rightSide, West)
				y = g.knots[s.right].y + ry
			} else {
				ly, _, _ := g.reach(s.left, s.leftAt, s.leftSide, East)
				y = g.knots[s.left].y + ly
			}
			side := it.Ports[end.Port].Side
			want[side] = append(want[side], portWish{end.Port, y - k.y})
		}
		changed = l.spreadPorts(it, want) || changed
		k.room = labelled(it)
		l.room[k.item] = k.room
	}
	if changed {
		for i := range g.strands {
			s := &g.strands[i]
			e := &l.sh.Edges[s.edge]
			for _, end := range []End{e.From, e.To} {
				it := &l.sh.Items[end.Item]
				if it.Kind != "header" {
					continue
				}
				if g.knots[s.left].item == end.Item {
					s.leftAt = it.Ports[end.Port].Offset
				} else if g.knots[s.right].item == end.Item {
					s.rightAt = it.Ports[end.Port].Offset
				}
			}
		}
	}
	return changed
}

type portWish struct{ port, y int }

// spreadPorts gives the ports of each side of a header the heights that they wish for, some way apart.
func (l *layout) spreadPorts(it *Item, want [][]portWish) bool {
	changed := false
	ext := Extent{Up: 2, Down: 2}
	for _, side := range []Side{West, East} {
		list := want[side]
		sort.SliceStable(list, func(a, b int) bool { return list[a].y < list[b].y })
		for i := range list {
			if i > 0 && list[i].y < list[i-1].y+sideStep {
				list[i].y = list[i-1].y + sideStep
			}
			p := &it.Ports[list[i].port]
			changed = changed || p.Offset.Y != list[i].y
			p.Offset.Y = list[i].y
			ext.Up, ext.Down = max(ext.Up, 1-p.Offset.Y), max(ext.Down, p.Offset.Y+1)
		}
	}
	it.Extent.Up, it.Extent.Down = ext.Up, ext.Down
	return changed
}
