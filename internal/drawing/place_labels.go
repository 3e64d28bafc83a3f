package drawing

import (
	"math"
	"slices"
	"sort"
	"strconv"
)

// labeller finds free places for text.
type labeller struct {
	sh     *Sheet
	bodies []rect
	lines  []rect
	placed []label
}

const (
	overBody  = 1000
	overLabel = 1000
	overLine  = 300
)

func newLabeller(sh *Sheet) *labeller {
	lb := &labeller{sh: sh}
	for i := range sh.Items {
		lb.bodies = append(lb.bodies, bodyOf(&sh.Items[i]).grown(0.2))
	}
	for i := range sh.Edges {
		p := sh.Edges[i].Path
		for k := 0; k+1 < len(p); k++ {
			lb.lines = append(lb.lines, segRect(p[k], p[k+1]).grown(0.45))
		}
		if a := arrow(sh, &sh.Edges[i]); a != nil {
			b := rect{a[0].x, a[0].y, a[0].x, a[0].y}
			for _, v := range a {
				b = rect{math.Min(b.l, v.x), math.Min(b.t, v.y), math.Max(b.r, v.x), math.Max(b.b, v.y)}
			}
			lb.lines = append(lb.lines, b.grown(0.1))
		}
	}
	return lb
}

func segRect(a, b Point) rect {
	return rect{float64(min(a.X, b.X)) * module, float64(min(a.Y, b.Y)) * module,
		float64(max(a.X, b.X)) * module, float64(max(a.Y, b.Y)) * module}
}

// cost of text in a box: what it would lie over.
func (lb *labeller) cost(b rect) int {
	c := 0
	for i := range lb.bodies {
		if b.overlaps(lb.bodies[i]) {
			c += overBody
		}
	}
	for i := range lb.placed {
		if b.overlaps(lb.placed[i].box) {
			c += overLabel
		}
	}
	for i := range lb.lines {
		if b.overlaps(lb.lines[i]) {
			c += overLine
		}
	}
	return c
}

// choose takes the cheapest candidate; earlier ones win ties.
func (lb *labeller) choose(candidates []label) (label, int) {
	best, cost := label{}, math.MaxInt
	for i, c := range candidates {
		k := lb.cost(c.box) + i + lb.leaderCost(c.leader)
		if k < cost {
			best, cost = c, k
		}
		if k < overLine {
			break
		}
	}
	return best, cost
}

// leaderCost of a leader is what it would run over, but for the thing that it starts from.
func (lb *labeller) leaderCost(leader []vec) int {
	if len(leader) < 2 {
		return 0
	}
	c := 0
	const steps = 8
	for s := 1; s < steps; s++ {
		t := float64(s) / steps
		x, y := leader[0].x+(leader[1].x-leader[0].x)*t, leader[0].y+(leader[1].y-leader[0].y)*t
		dot := rect{x - 0.2, y - 0.2, x + 0.2, y + 0.2}
		for i := range lb.placed {
			c += boolInt(dot.overlaps(lb.placed[i].box)) * overLine / 2
		}
		if s > 2 {
			for i := range lb.bodies {
				c += boolInt(dot.overlaps(lb.bodies[i])) * overLine / 2
			}
		}
	}
	return c
}

// itemCandidates are places for a text of a size at an item, the best first.
func itemCandidates(it *Item, w, h float64) []label {
	const gap = 0.8
	b := bodyOf(it)
	cx, cy := (b.l+b.r)/2, (b.t+b.b)/2
	put := func(l, t float64, a anchor) label {
		return label{box: rect{l, t, l + w, t + h}, anchor: a, item: -1, edge: -1}
	}
	below := put(cx-w/2, b.b+gap, middle)
	above := put(cx-w/2, b.t-gap-h, middle)
	right := put(b.r+gap, cy-h/2, start)
	left := put(b.l-gap-w, cy-h/2, end)
	belowRight := put(cx+gap+0.2, b.b+gap, start)
	belowLeft := put(cx-gap-0.2-w, b.b+gap, end)
	aboveRight := put(cx+gap+0.2, b.t-gap-h, start)
	aboveLeft := put(cx-gap-0.2-w, b.t-gap-h, end)
	rightDown := put(b.r+gap, cy+gap, start)
	rightUp := put(b.r+gap, cy-gap-h, start)
	leftDown := put(b.l-gap-w, cy+gap, end)
	leftUp := put(b.l-gap-w, cy-gap-h, end)
	if beside(it) {
		return []label{right, left, rightDown, rightUp, leftDown, leftUp, below, above, belowRight, belowLeft, aboveRight, aboveLeft}
	}
	for _, p := range it.Ports {
		if p.Side == South && !p.Free && it.form.grows {
			return []label{belowRight, belowLeft, below, above, aboveRight, aboveLeft, rightDown, leftDown, rightUp, leftUp, right, left}
		}
	}
	return []label{below, above, belowRight, belowLeft, aboveRight, aboveLeft, rightDown, leftDown, rightUp, leftUp, right, left}
}

// far are places further away, in rings, for text that finds no place beside its thing.
func far(b rect, w, h float64) []label {
	var out []label
	cx, cy := (b.l+b.r)/2, (b.t+b.b)/2
	for ring := 1; ring <= 9; ring++ {
		d := float64(ring) * 2.5
		for k := range 16 {
			a := float64(k) * math.Pi / 8
			x := cx + math.Cos(a)*((b.r-b.l)/2+w/2+d)
			y := cy + math.Sin(a)*((b.b-b.t)/2+h/2+d)
			box := rect{x - w/2, y - h/2, x + w/2, y + h/2}
			l := label{box: box, anchor: middle, item: -1, edge: -1}
			l.leader = []vec{{cx + math.Cos(a)*(b.r-b.l)/2, cy + math.Sin(a)*(b.b-b.t)/2}, {clampTo(cx, box.l, box.r), clampTo(cy, box.t, box.b)}}
			out = append(out, l)
		}
	}
	return out
}

func clampTo(v, lo, hi float64) float64 { return math.Min(math.Max(v, lo), hi) }

func (lb *labeller) settle(c label, rows []row) {
	c.rows = rows
	lb.placed = append(lb.placed, c)
}

// tags places the tags of all items, those with least choice first.
func (lb *labeller) tags() {
	order := make([]int, len(lb.sh.Items))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool {
		x, y := &lb.sh.Items[order[a]], &lb.sh.Items[order[b]]
		return x.form.class != equipment && y.form.class == equipment
	})
	for _, i := range order {
		it := &lb.sh.Items[i]
		rows := labelRows(it)
		if len(rows) == 0 {
			continue
		}
		lb.atItem(i, rows, itemCandidates, false)
	}
}

func (lb *labeller) atItem(i int, rows []row, places func(*Item, float64, float64) []label, plate bool) {
	w, h := labelSize(rows)
	it := &lb.sh.Items[i]
	c, cost := lb.choose(places(it, w, h))
	if cost >= overLine {
		if f, k := lb.choose(far(bodyOf(it), w, h)); k+200 < cost {
			c = f
		}
	}
	c.item, c.edge, c.plate = i, -1, plate
	lb.settle(c, rows)
}

// lineTags places the tag and size of each line once, on its best stretch.
func (lb *labeller) lineTags() {
	byLine := map[string][]int{}
	var names []string
	for i := range lb.sh.Edges {
		e := &lb.sh.Edges[i]
		if e.Line == "" {
			continue
		}
		if byLine[e.Line] == nil {
			names = append(names, e.Line)
		}
		byLine[e.Line] = append(byLine[e.Line], i)
	}
	for _, n := range names {
		e := &lb.sh.Edges[byLine[n][0]]
		one := []row{{clip(n, 24), lineSize, "line-tag"}}
		forms := [][]row{one}
		if e.Size != "" && !e.tap {
			size := clip(e.Size, 16)
			forms = [][]row{{{clip(n, 24) + "  " + size, lineSize, "line-tag"}}, {one[0], {size, lineSize, "line-tag"}}}
		}
		lb.onLine(byLine[n], forms, false)
	}
}

// onLine places text along one of some edges; the first form that finds a free place is taken.
func (lb *labeller) onLine(edges []int, forms [][]row, plate bool) {
	type stretch struct {
		edge int
		a, b Point
		n    int
	}
	var list []stretch
	for _, i := range edges {
		p := lb.sh.Edges[i].Path
		for k := 0; k+1 < len(p); k++ {
			n := distance(p[k], p[k+1])
			if n > 0 {
				list = append(list, stretch{i, p[k], p[k+1], n})
			}
		}
	}
	if len(list) == 0 {
		return
	}
	sort.SliceStable(list, func(a, b int) bool {
		x, y := list[a], list[b]
		if hx, hy := x.a.Y == x.b.Y, y.a.Y == y.b.Y; hx != hy && max(x.n, y.n) < 24 {
			return hx
		}
		return x.n > y.n
	})
	if len(list) > 12 {
		list = list[:12]
	}
	best, bestCost := label{}, math.MaxInt
	var bestRows []row
	for f, rows := range forms {
		w, h := labelSize(rows)
		for s, st := range list {
			for _, c := range alongStretch(st.a, st.b, w, h) {
				c.edge = st.edge
				k := lb.cost(c.box) + s + 4*f
				if over := w - float64(st.n)*module; over > 0 {
					k += int(over * 3)
				}
				if k < bestCost {
					best, bestCost, bestRows = c, k, rows
				}
			}
		}
	}
	if bestCost >= overLine {
		rows := forms[len(forms)-1]
		w, h := labelSize(rows)
		st := list[0]
		if c, k := lb.choose(far(middleOf(st.a, st.b), w, h)); k < bestCost {
			c.edge = st.edge
			best, bestRows = c, rows
		}
	}
	best.item, best.plate = -1, plate
	lb.settle(best, bestRows)
}

// alongStretch are places beside a straight run.
func alongStretch(a, b Point, w, h float64) []label {
	const gap = 0.95
	var out []label
	if a.Y == b.Y {
		y := float64(a.Y) * module
		l, r := float64(min(a.X, b.X))*module, float64(max(a.X, b.X))*module
		for _, t := range []float64{0.5, 0.3, 0.7, 0.15, 0.85} {
			x := l + (r-l)*t
			if r-l > w {
				x = clampTo(x, l+w/2, r-w/2)
			}
			out = append(out, label{box: rect{x - w/2, y - gap - h, x + w/2, y - gap}, anchor: middle},
				label{box: rect{x - w/2, y + gap, x + w/2, y + gap + h}, anchor: middle})
		}
		return out
	}
	x := float64(a.X) * module
	t, m := float64(min(a.Y, b.Y))*module, float64(max(a.Y, b.Y))*module
	for _, f := range []float64{0.5, 0.3, 0.7, 0.15, 0.85} {
		y := t + (m-t)*f
		if m-t > w {
			y := clampTo(y, t+w/2, m-w/2)
			out = append(out, label{box: rect{x - gap - h, y - w/2, x - gap, y + w/2}, anchor: middle, upward: true},
				label{box: rect{x + gap, y - w/2, x + gap + h, y + w/2}, anchor: middle, upward: true})
			continue
		}
		out = append(out, label{box: rect{x + gap, y - h/2, x + gap + w, y + h/2}, anchor: start},
			label{box: rect{x - gap - w, y - h/2, x - gap, y + h/2}, anchor: end})
	}
	return out
}

// valuePlaces prefers the sides of an item, where its tag is not.
func valuePlaces(it *Item, w, h float64) []label {
	c := itemCandidates(it, w, h)
	return slices.Concat(c[len(c)/2:], c[:len(c)/2])
}

const markerRadius = 2.4 // mm

// markers puts numbers in circles on things.
func (lb *labeller) markers(o *Overlay) {
	d := 2 * markerRadius
	for i := range o.Markers {
		m := &o.Markers[i]
		rows := []row{{strconv.Itoa(m.Number), tagSize, "marker"}}
		if it := lb.find(m.Tag); it >= 0 {
			b := bodyOf(&lb.sh.Items[it])
			var c []label
			for _, p := range []vec{{b.r, b.t}, {b.l, b.t}, {b.r, b.b}, {b.l, b.b}} {
				for _, out := range []float64{0.75, 1.2} {
					x, y := p.x+math.Copysign(markerRadius*out, p.x-(b.l+b.r)/2), p.y+math.Copysign(markerRadius*out, p.y-(b.t+b.b)/2)
					c = append(c, label{box: rect{x - markerRadius, y - markerRadius, x + markerRadius, y + markerRadius}, anchor: middle})
				}
			}
			c = append(c, far(b, d, d)...)
			best, _ := lb.choose(c)
			best.item, best.edge, best.marker = it, -1, m.Number
			lb.settle(best, rows)
			continue
		}
		edges := lb.edgesOf(m.Tag)
		if len(edges) == 0 {
			continue
		}
		e := edges[len(edges)/2]
		p := lb.sh.Edges[e].Path
		k := 0
		for s := range len(p) - 1 {
			if distance(p[s], p[s+1]) > distance(p[k], p[k+1]) {
				k = s
			}
		}
		best, _ := lb.choose(far(middleOf(p[k], p[k+1]), d, d))
		best.item, best.edge, best.marker = -1, e, m.Number
		lb.settle(best, rows)
	}
}

func (lb *labeller) find(tag string) int {
	for i := range lb.sh.Items {
		if lb.sh.Items[i].Tag == tag && lb.sh.Items[i].Kind != "off_sheet" {
			return i
		}
	}
	return -1
}

// edgesOf are the edges of a line.
func (lb *labeller) edgesOf(line string) []int {
	var edges []int
	for i := range lb.sh.Edges {
		if e := &lb.sh.Edges[i]; e.Line != "" && e.Line == line {
			edges = append(edges, i)
		}
	}
	return edges
}

// middleOf is the place half-way between two points.
func middleOf(a, b Point) rect {
	x, y := float64(a.X+b.X)/2*module, float64(a.Y+b.Y)/2*module
	return rect{x, y, x, y}
}

// values puts the overlay's texts beside things.
func (lb *labeller) values(o *Overlay) {
	for i := range o.Values {
		v := &o.Values[i]
		var rows []row
		for _, t := range v.Rows {
			if len(rows) < 6 && t != "" {
				rows = append(rows, row{clip(t, 32), valueSize, "value"})
			}
		}
		if len(rows) == 0 {
			continue
		}
		if it := lb.find(v.Tag); it >= 0 {
			lb.atItem(it, rows, valuePlaces, true)
			continue
		}
		lb.onLine(lb.edgesOf(v.Tag), [][]row{rows}, true)
	}
}
