package drawing

import "slices"

// search runs A* from the port that edge i leaves to the one that it enters, and sets the edge's path.
func (r *router) search(i int) (int32, bool) {
	e := &r.sh.Edges[i]
	start := r.sh.place(e.From)
	goal := r.sh.place(e.To)
	out, in := r.sh.sideOf(e, false), r.sh.sideOf(e, true).opposite()
	if start == goal {
		e.Path = []Point{start, goal}
		return 0, true
	}
	r.round++
	r.heap = r.heap[:0]
	goalCell := r.cell(goal)
	first := uint32(r.cell(start))*4 + uint32(out)
	r.seen[first], r.g[first], r.from[first] = r.round, 0, first
	seq := uint32(0)
	r.push(openCell{f: r.guess(start, goal, out, in), at: first})
	for len(r.heap) > 0 && r.budget > 0 {
		r.budget--
		top := r.pop()
		at := top.at
		c, d := int(at/4), Side(at&3)
		p := r.point(c)
		if top.f > r.g[at]+r.guess(p, goal, d, in) {
			continue // reached more cheaply since
		}
		if c == goalCell {
			e.Path = r.trace(at)
			return r.g[at], true
		}
		for turn := Side(0); turn < 4; turn++ {
			if turn == d.opposite() {
				continue
			}
			cost := int32(0)
			if turn != d {
				if at == first {
					continue // leave the port straight
				}
				cost = costBend
				if r.use[c] != 0 {
					if !r.desperate {
						continue // no bend on another line
					}
					cost += costShare
				}
			}
			s := turn.step()
			q := Point{p.X + s.X, p.Y + s.Y}
			if !r.inside(q) {
				continue
			}
			n := r.cell(q)
			if n == goalCell && turn != in {
				continue
			}
			step := r.enter(i, n, turn, n == goalCell)
			if step < 0 {
				continue
			}
			g := r.g[at] + cost + step
			state := uint32(n)*4 + uint32(turn)
			if r.seen[state] == r.round && r.g[state] <= g {
				continue
			}
			r.seen[state], r.g[state], r.from[state] = r.round, g, at
			seq++
			r.push(openCell{f: g + r.guess(q, goal, turn, in), seq: seq, at: state})
		}
	}
	return 0, false
}

// guess is a lower bound of the remaining cost: the distance, and the bends that no way can do without.
func (r *router) guess(p, goal Point, d, in Side) int32 {
	dx, dy := goal.X-p.X, goal.Y-p.Y
	return int32(costStep*(abs(dx)+abs(dy)) + costBend*leastBends(dx, dy, d, in))
}

// leastBends is the least number of bends from direction d to arriving in direction in at an offset.
func leastBends(dx, dy int, d, in Side) int {
	s := d.step()
	ahead := dx*s.X + dy*s.Y
	aside := dx*s.Y - dy*s.X
	switch {
	case d == in:
		switch {
		case aside == 0 && ahead >= 0:
			return 0
		case ahead >= 0:
			return 2
		}
		return 4
	case d == in.opposite():
		if aside != 0 {
			return 2
		}
		return 4
	}
	t := in.step()
	if along := dx*t.X + dy*t.Y; ahead >= 0 && along >= 0 {
		return 1
	}
	return 3
}

func (r *router) trace(at uint32) []Point {
	var back []Point
	prev := Side(9)
	for {
		d := Side(at & 3)
		p := r.point(int(at / 4))
		up := r.from[at]
		if up == at {
			back = append(back, p)
			break
		}
		if d != prev {
			back = append(back, p)
		}
		prev = d
		at = up
	}
	slices.Reverse(back)
	return back
}

func less(a, b openCell) bool {
	if a.f != b.f {
		return a.f < b.f
	}
	return a.seq > b.seq // the latest first, which goes straight for the goal
}

func (r *router) push(c openCell) {
	h := append(r.heap, c)
	i := len(h) - 1
	for i > 0 {
		up := (i - 1) / 2
		if !less(h[i], h[up]) {
			break
		}
		h[i], h[up] = h[up], h[i]
		i = up
	}
	r.heap = h
}

func (r *router) pop() openCell {
	h := r.heap
	top := h[0]
	last := len(h) - 1
	h[0] = h[last]
	h = h[:last]
	i := 0
	for {
		c := 2*i + 1
		if c >= last {
			break
		}
		if c+1 < last && less(h[c+1], h[c]) {
			c++
		}
		if !less(h[c], h[i]) {
			break
		}
		h[i], h[c] = h[c], h[i]
		i = c
	}
	r.heap = h
	return top
}
