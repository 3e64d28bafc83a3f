package drawing

import (
	"context"
	"slices"
	"sort"
)

// Costs of a way on the grid, per module, per bend and so on. A bend is worth a detour of some modules, a crossing a longer one.
const (
	costStep  = 2
	costBend  = 16
	costCross = 26
	costNear  = 2  // beside another line
	costText  = 6  // over the place of a label
	costShare = 90 // along another line, only where there is no other way
	costBody  = 400
)

// router finds right-angled ways on the grid by A* search over cells and directions.
type router struct {
	sh          *Sheet
	left, top   int
	w, h        int
	body        []bool  // cell belongs to a symbol
	text        []bool  // cell is wanted by a label
	use         []uint8 // directions in which lines pass the cell, one bit for each side they touch
	count       []uint8 // lines in the cell
	g           []int32
	seen        []uint32
	from        []uint32
	round       uint32
	heap        []openCell
	desperate   bool
	budget      int     // cells that may still be looked at; a crowded sheet ends with plain elbows
	portReserve []int32 // edge whose port faces the cell, -1 for none
}

type openCell struct {
	f   int32
	seq uint32
	at  uint32
}

const (
	routeMargin  = 8
	searchBudget = 3_000_000
)

func newRouter(sh *Sheet) (*router, error) {
	r := &router{sh: sh, budget: searchBudget}
	right, bottom := -1<<30, -1<<30
	r.left, r.top = 1<<30, 1<<30
	for i := range sh.Items {
		it := &sh.Items[i]
		r.left, right = min(r.left, it.At.X-it.Extent.Left), max(right, it.At.X+it.Extent.Right)
		r.top, bottom = min(r.top, it.At.Y-it.Extent.Up), max(bottom, it.At.Y+it.Extent.Down)
	}
	// Many lines at one symbol have ports beyond what it takes up itself.
	for i := range sh.Edges {
		for _, end := range [2]End{sh.Edges[i].From, sh.Edges[i].To} {
			p := sh.place(end)
			r.left, right, r.top, bottom = min(r.left, p.X), max(right, p.X), min(r.top, p.Y), max(bottom, p.Y)
		}
	}
	r.left -= routeMargin
	r.top -= routeMargin
	r.w, r.h = right-r.left+routeMargin+1, bottom-r.top+routeMargin+1
	n := r.w * r.h
	if n > maxCells {
		return nil, wrong("sheet %d spreads over %d by %d modules, which is more than can be routed", sh.Number, r.w, r.h)
	}
	r.body, r.text, r.use, r.count = make([]bool, n), make([]bool, n), make([]uint8, n), make([]uint8, n)
	r.g, r.seen, r.from = make([]int32, 4*n), make([]uint32, 4*n), make([]uint32, 4*n)
	r.portReserve = make([]int32, n)
	for i := range r.portReserve {
		r.portReserve[i] = -1
	}
	for i := range sh.Items {
		it := &sh.Items[i]
		for y := it.At.Y - it.Extent.Up; y <= it.At.Y+it.Extent.Down; y++ {
			for x := it.At.X - it.Extent.Left; x <= it.At.X+it.Extent.Right; x++ {
				r.body[r.cell(Point{x, y})] = true
			}
		}
		r.reserveText(it)
	}
	for i := range sh.Edges {
		e := &sh.Edges[i]
		for _, to := range []bool{false, true} {
			if c, ok := r.facing(e, to); ok {
				r.portReserve[c] = int32(i)
			}
		}
	}
	return r, nil
}

func (r *router) reserveText(it *Item) {
	rows := labelRows(it)
	if len(rows) == 0 {
		return
	}
	w, h := labelSize(rows)
	b := itemCandidates(it, w, h)[0].box
	for y := int(b.t/module + 0.3); float64(y)*module < b.b; y++ {
		for x := int(b.l/module + 0.3); float64(x)*module < b.r; x++ {
			if p := (Point{x, y}); r.inside(p) {
				r.text[r.cell(p)] = true
			}
		}
	}
}

func (r *router) inside(p Point) bool {
	return p.X >= r.left && p.Y >= r.top && p.X < r.left+r.w && p.Y < r.top+r.h
}

func (r *router) cell(p Point) int { return (p.Y-r.top)*r.w + p.X - r.left }

func (r *router) point(c int) Point { return Point{c%r.w + r.left, c/r.w + r.top} }

// facing is the cell before a port.
func (r *router) facing(e *Edge, to bool) (int, bool) {
	end := e.From
	if to {
		end = e.To
	}
	p, s := r.sh.place(end), r.sh.sideOf(e, to).step()
	q := Point{p.X + s.X, p.Y + s.Y}
	if !r.inside(q) {
		return 0, false
	}
	return r.cell(q), true
}

// route finds ways for all edges, then takes each that is worse than need be up again and looks for a better one.
func (r *router) route(ctx context.Context) error {
	edges := r.sh.Edges
	order := make([]int, len(edges))
	dist := make([]int, len(edges))
	for i := range edges {
		order[i] = i
		a, b := r.sh.place(edges[i].From), r.sh.place(edges[i].To)
		dist[i] = distance(a, b)
		if a.X != b.X && a.Y != b.Y {
			dist[i] += 1000
		}
	}
	sort.SliceStable(order, func(a, b int) bool { return dist[order[a]] < dist[order[b]] })
	cost := make([]int32, len(edges))
	for _, i := range order {
		if err := ctx.Err(); err != nil {
			return err
		}
		cost[i] = r.lay(i)
	}
	// Each further round must pay; a crowded sheet gets fewer of them.
	rounds := 3
	if len(edges) > 120 {
		rounds = 1
	}
	for range rounds {
		if r.budget <= 0 {
			return nil
		}
		changed := false
		for _, i := range order {
			if !r.improvable(i) {
				continue
			}
			if err := ctx.Err(); err != nil {
				return err
			}
			old := slices.Clone(edges[i].Path)
			r.mark(i, -1)
			before := r.price(i, old)
			now := r.lay(i)
			if now < before {
				changed = true
			} else if !slices.Equal(old, edges[i].Path) {
				r.mark(i, -1)
				edges[i].Path = old
				r.mark(i, 1)
			}
		}
		if !changed {
			return nil
		}
	}
	return nil
}

// improvable says whether another try could find a better way: the line bends or crosses something.
func (r *router) improvable(i int) bool {
	p := r.sh.Edges[i].Path
	if len(p) > 3 {
		return true
	}
	crossed := false
	walk(p, func(at Point, _ Side, inner bool) {
		if inner && r.count[r.cell(at)] > 1 {
			crossed = true
		}
	})
	return crossed
}

// walk visits all cells of a path with the direction of travel into them; inner cells are not its ends.
func walk(path []Point, visit func(at Point, dir Side, inner bool)) {
	for i := 0; i+1 < len(path); i++ {
		a, b := path[i], path[i+1]
		d := direction(a, b)
		s := d.step()
		if i == 0 {
			visit(a, d, false)
		}
		for a != b {
			a = Point{a.X + s.X, a.Y + s.Y}
			visit(a, d, !(a == b && i+2 == len(path)))
		}
	}
}

func direction(a, b Point) Side {
	switch {
	case b.X > a.X:
		return East
	case b.X < a.X:
		return West
	case b.Y > a.Y:
		return South
	}
	return North
}

// mark adds the path of edge i to the grid, or takes it away.
func (r *router) mark(i, by int) {
	path := r.sh.Edges[i].Path
	var cells []int
	walk(path, func(at Point, dir Side, inner bool) {
		if inner && r.inside(at) {
			cells = append(cells, r.cell(at))
		}
	})
	for _, c := range cells {
		r.count[c] = uint8(int(r.count[c]) + by)
	}
	if by > 0 {
		r.touch(path)
		return
	}
	for _, c := range cells {
		r.use[c] = 0
	}
	// What other lines have there stays.
	if !slices.ContainsFunc(cells, func(c int) bool { return r.count[c] > 0 }) {
		return
	}
	for j := range r.sh.Edges {
		if j != i {
			r.touch(r.sh.Edges[j].Path)
		}
	}
}

func (r *router) touch(path []Point) {
	for i := 0; i+1 < len(path); i++ {
		a, b := path[i], path[i+1]
		d := direction(a, b)
		s := d.step()
		for a != b {
			if r.inside(a) {
				r.use[r.cell(a)] |= 1 << d
			}
			a = Point{a.X + s.X, a.Y + s.Y}
			if r.inside(a) {
				r.use[r.cell(a)] |= 1 << d.opposite()
			}
		}
	}
}

// distance is the length of a right-angled way between two points.
func distance(a, b Point) int { return abs(a.X-b.X) + abs(a.Y-b.Y) }

func abs(a int) int {
	if a < 0 {
		return -a
	}
	return a
}

// price is what a given path of edge i would cost now.
func (r *router) price(i int, path []Point) int32 {
	cost := int32(0)
	e := &r.sh.Edges[i]
	goal := r.sh.place(e.To)
	for k := 0; k+1 < len(path); k++ {
		a, b := path[k], path[k+1]
		d := direction(a, b)
		s := d.step()
		if k > 0 {
			cost += costBend + r.bendCost(r.cell(a))
		}
		for a != b {
			a = Point{a.X + s.X, a.Y + s.Y}
			cost += r.enter(i, r.cell(a), d, a == goal)
		}
	}
	return cost
}

func (r *router) bendCost(c int) int32 {
	if r.use[c] != 0 {
		return costShare
	}
	return 0
}

// enter is the cost of a step into a cell, or -1 where it is not allowed.
func (r *router) enter(i, c int, d Side, goal bool) int32 {
	if goal {
		return costStep
	}
	cost := int32(costStep)
	if r.body[c] {
		if !r.desperate {
			return -1
		}
		cost += costBody
	}
	if p := r.portReserve[c]; p >= 0 && p != int32(i) && !r.sameEnd(int(p), i) && !r.desperate {
		// Nothing may run before another line's port unless that line comes in straight and is crossed.
		cost += costCross
	}
	along := uint8(1<<d | 1<<d.opposite())
	if u := r.use[c]; u&along != 0 {
		if !r.desperate {
			return -1
		}
		cost += costShare
	} else if u != 0 {
		cost += costCross
	}
	if r.text[c] {
		cost += costText
	}
	// Lines and symbols right beside the way.
	side := r.w
	if d.vertical() {
		side = 1
	}
	for _, n := range [2]int{c - side, c + side} {
		if n >= 0 && n < len(r.use) && (r.body[n] || r.use[n]&along != 0) {
			cost += costNear
		}
	}
	return cost
}

func (r *router) sameEnd(a, b int) bool {
	x, y := &r.sh.Edges[a], &r.sh.Edges[b]
	return x.From == y.From || x.To == y.To || x.From == y.To || x.To == y.From
}

// lay finds the cheapest way of edge i and marks it.
func (r *router) lay(i int) int32 {
	r.desperate = false
	cost, ok := r.search(i)
	if !ok && r.budget > 0 {
		r.desperate = true
		cost, ok = r.search(i)
		r.desperate = false
	}
	if !ok {
		e := &r.sh.Edges[i]
		a, b := r.sh.place(e.From), r.sh.place(e.To)
		e.Path = []Point{a, {b.X, a.Y}, b}
		cost = 1 << 20
	}
	r.mark(i, 1)
	return cost
}
