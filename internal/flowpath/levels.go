package flowpath

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// LevelSource is a value that enters at a node.
type LevelSource struct {
	Node  int32
	Value float64 // may be infinite, but not NaN
	// Failures is the number of barriers that count as failed already: 0 or 1.
	Failures uint8
}

// LevelInput is what [Levels.Sweep] is asked.
type LevelInput struct {
	Ways    *Ways
	Sources []LevelSource
	// ArcLimits limit what single arcs pass; nil for none.
	ArcLimits *Limits
	// NodeLimits hold the value at a node down; nil for none, else one for each
	// node, +Inf where there is none.
	NodeLimits []float64
	// Avoid are nodes that are never entered; nil for none.
	Avoid *Set
	// Hold takes barriers as holding: only limits that may fail can fail.
	Hold bool
	// Groups are barriers that fail together: the failure of one of a group is
	// the failure of all. Nil for none.
	Groups *Groups
	// Scratch is memory that sweeps, one after the other, share; nil for none.
	Scratch *LevelScratch
}

// LevelScratch is memory that [Levels.Sweep] needs while it runs and not for its
// answers.
type LevelScratch struct {
	heap   []levelSeed
	pushed int32 // how many seeds have been pushed so far
	queue  [2][]int32
	// Cells grow here; when a sweep ends they are copied to memory of their size.
	growing        []levelCell
	growingFailing []failingCell
}

// Levels spreads values, such as pressures, like [Highest], where arcs and
// nodes may limit what gets through: for every node the highest value that
// reaches it while everything holds, and while at most one barrier, or one
// group of barriers that fail together, is taken as failed.
type Levels struct {
	in LevelInput
	// cells are what arrives without failure, failing what arrives with one, in
	// the order in which it does: most nodes are reached by little of what is
	// asked. at and failingAt tell of each node the place of its cell, plus 1; 0
	// where nothing arrives. Nothing is failing where nothing can fail.
	cells         []levelCell
	failing       []failingCell
	at, failingAt []int32

	*LevelScratch // only while it sweeps

	groupCells []groupCell
	groupBest  []int32 // of each node, its place in groupCells, or None
	stamp      []int32 // of each node, its place in groupCells in the present group
}

// levelCell is what arrives at a node; the zero value is where nothing does.
type levelCell struct {
	value float64
	arc   int32 // by which it arrives, plus 1; 0 at the source
	from  int32 // its source, plus 1; 0 where nothing arrives
}

func cellOf(s *levelSeed) levelCell { return levelCell{s.value, s.arc + 1, s.source + 1} }

// below tells whether a value is more than what is there.
func (c *levelCell) below(value float64) bool { return c.from == 0 || c.value < value }

// failingCell is what arrives at a node with a failure, that of an arc.
type failingCell struct {
	levelCell
	failed int32
}

type groupCell struct {
	levelCell
	node   int32
	prev   int32 // place of the cell that it comes from, or None where that holds without failure
	failed int32
}

type levelSeed struct {
	value    float64
	order    int32
	node     int32
	arc      int32
	source   int32
	failed   int32
	prev     int32
	failures uint8
}

// Sweep answers for all nodes. Among equal values the source first in the list
// and the path with the fewest arcs from where the value was last limited are
// taken.
//
// O(n + m + (sources + crossed limits) log of them), each node visited at most
// twice, and for each group what it opens beyond what is reached without
// failure.
func (l *Levels) Sweep(in LevelInput) error {
	if err := l.begin(in); err != nil {
		return err
	}
	for i, s := range in.Sources {
		l.push(levelSeed{value: s.Value, node: s.Node, arc: None, source: int32(i), failed: None, failures: s.Failures, prev: None})
	}
	for len(l.heap) > 0 {
		l.spread(l.pop())
	}
	if in.Groups != nil {
		for k := range int32(in.Groups.Count()) {
			l.spreadGroup(in.Groups.Arcs(k))
		}
	}
	l.keep()
	return nil
}

// keep takes the cells out of memory that the next sweep will use.
func (l *Levels) keep() {
	if l.in.Scratch != nil {
		l.growing, l.growingFailing = l.cells, l.failing
		l.cells, l.failing = slices.Clone(l.cells), slices.Clone(l.failing)
	}
	l.LevelScratch, l.in.Scratch = nil, nil
}

func (l *Levels) begin(in LevelInput) error {
	l.in, l.at, l.failingAt = LevelInput{}, l.at[:0], l.failingAt[:0]
	if l.LevelScratch = in.Scratch; in.Scratch == nil {
		l.LevelScratch = &LevelScratch{}
	}
	l.heap, l.pushed = l.heap[:0], 0
	l.cells, l.failing = l.growing[:0], l.growingFailing[:0]
	if in.Ways == nil {
		return ErrNoWays
	}
	n := int(in.Ways.g.nodes)
	fails := !in.Hold || in.ArcLimits != nil && in.ArcLimits.fails
	for i, s := range in.Sources {
		switch {
		case uint32(s.Node) >= uint32(n):
			return fmt.Errorf("flowpath: source %d is node %d, outside 0..%d", i, s.Node, n-1)
		case math.IsNaN(s.Value):
			return fmt.Errorf("flowpath: source %d at node %d has no number as its value", i, s.Node)
		case s.Failures > 1:
			return fmt.Errorf("flowpath: source %d starts with %d failures; it is 0 or 1", i, s.Failures)
		}
		fails = fails || s.Failures == 1
	}
	if in.NodeLimits != nil && len(in.NodeLimits) != n {
		return fmt.Errorf("flowpath: %d limits for %d nodes; give one for each node", len(in.NodeLimits), n)
	}
	if in.Groups != nil && in.Groups.g != in.Ways.g {
		return ErrNoWays
	}
	if err := (Avoid{Nodes: in.Avoid}).check(in.Ways.g); err != nil {
		return err
	}
	if err := in.ArcLimits.check(in.Ways); err != nil {
		return err
	}
	l.in = in
	if g := in.Ways.g; cap(l.cells) == 0 {
		// Room for half the nodes is enough for nearly all sweeps that share it; one alone may stay in a corner.
		room := n / 2
		if in.Scratch == nil && g.shelf == nil {
			room = min(room, 32)
		}
		l.cells, l.queue[0] = lent(g, l.cells, room)[:0], lent(g, l.queue[0], room)[:0]
	}
	l.at = lent(in.Ways.g, l.at, n)
	clear(l.at)
	if fails {
		l.failingAt = lent(in.Ways.g, l.failingAt, n)
		clear(l.failingAt)
	}
	l.groupCells, l.groupBest, l.stamp = l.groupCells[:0], l.groupBest[:0], l.stamp[:0]
	return nil
}

// before tells which of two seeds comes first: the higher value, then fewer
// failures, then the earlier one.
func (s *levelSeed) before(t *levelSeed) bool {
	if s.value != t.value {
		return s.value > t.value
	}
	return cmp.Or(cmp.Compare(s.failures, t.failures), cmp.Compare(s.source, t.source), cmp.Compare(s.order, t.order)) < 0
}

func (l *Levels) push(s levelSeed) {
	if s.value == math.Inf(-1) || l.in.Avoid != nil && l.in.Avoid.Has(s.node) {
		return
	}
	s.order = l.pushed
	l.pushed++
	l.heap = append(l.heap, s)
	for i := len(l.heap) - 1; i > 0; {
		up := (i - 1) / 2
		if !l.heap[i].before(&l.heap[up]) {
			break
		}
		l.heap[i], l.heap[up] = l.heap[up], l.heap[i]
		i = up
	}
}

func (l *Levels) pop() levelSeed {
	h := l.heap
	top, last := h[0], len(h)-1
	h[0] = h[last]
	h = h[:last]
	for i := 0; ; {
		down := 2*i + 1
		if down >= len(h) {
			break
		}
		if down+1 < len(h) && h[down+1].before(&h[down]) {
			down++
		}
		if !h[down].before(&h[i]) {
			break
		}
		h[i], h[down] = h[down], h[i]
		i = down
	}
	l.heap = h
	return top
}

// gains tells whether a node has no value yet at no more failures. Values arrive
// in descending order, so one that a node has is never improved.
func (l *Levels) gains(node int32, failures uint8) bool {
	return l.at[node] == 0 && (failures == 0 || l.failingAt[node] == 0)
}

// held gives what arrives at a node without failure.
func (l *Levels) held(node int32) levelCell {
	if k := l.at[node]; k != 0 {
		return l.cells[k-1]
	}
	return levelCell{}
}

// spread walks from a seed over arcs that pass its whole value; lower values
// become seeds.
func (l *Levels) spread(s levelSeed) {
	l.queue[0], l.queue[1] = l.queue[0][:0], l.queue[1][:0]
	l.arrive(s)
	row, cost := l.in.Ways.g.rows(Forward), l.in.Ways.cost
	for q := [2]int{}; q[0] < len(l.queue[0]) || q[1] < len(l.queue[1]); {
		f := uint8(0)
		if q[0] == len(l.queue[0]) {
			f = 1
		}
		u := l.queue[f][q[f]]
		q[f]++
		failed := None
		if f == 1 {
			failed = l.failing[l.failingAt[u]-1].failed
		}
		for _, h := range row.half[row.start[u]:row.start[u+1]] {
			c := cost[h.arc]
			if c == Blocked || c == Barrier && (f == 1 || l.in.Hold) || !l.gains(h.node, f+c) {
				continue
			}
			next := levelSeed{value: s.value, node: h.node, arc: h.arc, source: s.source, failures: f + c, failed: failed, prev: None}
			if c == Barrier {
				next.failed = h.arc
			}
			if limit := l.in.ArcLimits.of(h.arc); limit != nil {
				if limit.MayFail && next.failures == 0 {
					free := next
					free.failures, free.failed = 1, h.arc
					if free.value -= limit.Drop; limit.Drop == 0 {
						l.arrive(free)
					} else if l.gains(free.node, 1) {
						l.push(free)
					}
				}
				next.value = min(next.value-limit.Drop, limit.Value)
			}
			if next.value < s.value {
				l.push(next)
				continue
			}
			l.arrive(next)
		}
	}
}

// arrive takes a value at a node, held down by the node's limit.
func (l *Levels) arrive(s levelSeed) {
	if !l.gains(s.node, s.failures) || l.in.Avoid != nil && l.in.Avoid.Has(s.node) {
		return
	}
	if l.in.NodeLimits != nil && l.in.NodeLimits[s.node] < s.value {
		s.value = l.in.NodeLimits[s.node]
		l.push(s)
		return
	}
	if s.failures == 0 {
		l.cells = append(l.cells, cellOf(&s))
		l.at[s.node] = int32(len(l.cells))
	} else {
		l.failing = append(l.failing, failingCell{cellOf(&s), s.failed})
		l.failingAt[s.node] = int32(len(l.failing))
	}
	l.queue[s.failures] = append(l.queue[s.failures], s.node)
}

// spreadGroup finds what opens when all barriers of a group fail together. It
// visits only nodes that gain by it over what they have without failure.
func (l *Levels) spreadGroup(arcs []int32) {
	g, cost := l.in.Ways.g, l.in.Ways.cost
	inside := map[int32]bool{}
	for _, a := range arcs {
		if cost[a] != Barrier {
			continue
		}
		inside[a] = true
		if from := l.held(g.from[a]); from.from != 0 {
			l.pushGroup(levelSeed{value: from.value, node: g.to[a], arc: a, source: from.from - 1, failed: a, prev: None})
		}
	}
	if len(l.heap) == 0 {
		return
	}
	if len(l.stamp) == 0 {
		l.stamp = lent(g, l.stamp, int(g.nodes))
		l.groupBest = lent(g, l.groupBest, int(g.nodes))
		fill(l.stamp, None)
		fill(l.groupBest, None)
	}
	first, row := int32(len(l.groupCells)), g.rows(Forward)
	for len(l.heap) > 0 {
		s := l.pop()
		if l.stamp[s.node] >= first {
			continue
		}
		place := int32(len(l.groupCells))
		l.stamp[s.node] = place
		l.groupCells = append(l.groupCells, groupCell{cellOf(&s), s.node, s.prev, s.failed})
		if best := l.groupBest[s.node]; best == None || l.groupCells[best].value < s.value {
			l.groupBest[s.node] = place
		}
		for _, h := range row.half[row.start[s.node]:row.start[s.node+1]] {
			if cost[h.arc] == Open || inside[h.arc] {
				l.pushGroup(levelSeed{value: s.value, node: h.node, arc: h.arc, source: s.source, failed: s.failed, prev: place})
			}
		}
	}
}

// pushGroup adds a seed of a group where its node gains by it.
func (l *Levels) pushGroup(s levelSeed) {
	if limit := l.in.ArcLimits.of(s.arc); limit != nil {
		s.value = min(s.value-limit.Drop, limit.Value)
	}
	if l.in.NodeLimits != nil {
		s.value = min(s.value, l.in.NodeLimits[s.node])
	}
	if c := l.held(s.node); c.below(s.value) {
		l.push(s)
	}
}

// cell gives the best arrival with at most the given number of failures, and
// its place in groupCells if it is one of a group.
func (l *Levels) cell(node int32, failures int) (c levelCell, failing bool, place int32) {
	if uint64(node) >= uint64(len(l.at)) || failures < 0 {
		return levelCell{}, false, None
	}
	c = l.held(node)
	if failures == 0 || len(l.failingAt) == 0 {
		return c, false, None
	}
	if k := l.failingAt[node]; k != 0 && c.below(l.failing[k-1].value) {
		c, failing = l.failing[k-1].levelCell, true
	}
	if len(l.groupBest) > 0 {
		if k := l.groupBest[node]; k != None && c.below(l.groupCells[k].value) {
			return l.groupCells[k].levelCell, true, k
		}
	}
	return c, failing, None
}

// Fails tells whether anything could fail: where nothing can, what arrives with
// a failure is what arrives without.
func (l *Levels) Fails() bool { return len(l.failingAt) > 0 }

// Value returns the highest value that reaches the node with at most the given
// number of failures (0, or 1 and more for one), and whether any does; -Inf
// where none does.
func (l *Levels) Value(node int32, failures int) (float64, bool) {
	if uint64(node) >= uint64(len(l.at)) || failures < 0 {
		return math.Inf(-1), false
	}
	if failures == 0 || len(l.failingAt) == 0 || l.failingAt[node] == 0 && len(l.groupBest) == 0 {
		// What arrives without failure is all there is, as at most nodes.
		if k := l.at[node]; k != 0 {
			return l.cells[k-1].value, true
		}
		return math.Inf(-1), false
	}
	c, _, _ := l.cell(node, failures)
	if c.from == 0 {
		return math.Inf(-1), false
	}
	return c.value, true
}

// Uses tells whether any value, with at most the given number of failures (0, or
// 1 and more for one), arrives by one of the arcs. Where none does, all would be
// the same without them. O(nodes reached).
func (l *Levels) Uses(arcs *Set, failures int) bool {
	by := func(c *levelCell) bool { return arcs.Has(c.arc - 1) }
	for i := range l.cells {
		if by(&l.cells[i]) {
			return true
		}
	}
	if failures == 0 {
		return false
	}
	for i := range l.failing {
		if by(&l.failing[i].levelCell) {
			return true
		}
	}
	for i := range l.groupCells {
		if by(&l.groupCells[i].levelCell) {
			return true
		}
	}
	return false
}

// Source returns the place, in the list of sources, of the source whose value
// arrives, or None.
func (l *Levels) Source(node int32, failures int) int32 {
	c, _, _ := l.cell(node, failures)
	return c.from - 1
}

// Failed returns the arc whose failure lets the value arrive, the first of its
// path where a group fails together; None where nothing needs to fail or the
// source came with the failure.
func (l *Levels) Failed(node int32) int32 {
	_, failing, place := l.cell(node, 1)
	switch {
	case place != None:
		return l.groupCells[place].failed
	case failing:
		return l.failing[l.failingAt[node]-1].failed
	}
	return None
}

// Path returns the arcs by which the value arrives, in the order in which they
// are walked, and whether any does. The slice is the caller's. O(length).
func (l *Levels) Path(node int32, failures int) ([]int32, bool) {
	c, failing, place := l.cell(node, failures)
	if c.from == 0 {
		return nil, false
	}
	g, cost := l.in.Ways.g, l.in.Ways.cost
	path := []int32{}
	for place != None {
		k := &l.groupCells[place]
		path = append(path, k.arc-1)
		node, place = g.from[k.arc-1], k.prev
		failing = false
	}
	if len(path) > 0 {
		c = l.held(node)
	}
	for c.arc != 0 {
		arc := c.arc - 1
		path = append(path, arc)
		node = g.from[arc]
		failing = failing && cost[arc] != Barrier && !l.freed(arc)
		if failing {
			c = l.failing[l.failingAt[node]-1].levelCell
		} else {
			c = l.held(node)
		}
	}
	slices.Reverse(path)
	return path, true
}

// freed tells whether an arc with a limit that may fail is the failure by which
// the value behind it arrives.
func (l *Levels) freed(arc int32) bool {
	limit := l.in.ArcLimits.of(arc)
	if limit == nil || !limit.MayFail {
		return false
	}
	k := l.failingAt[l.in.Ways.g.to[arc]]
	return k != 0 && l.failing[k-1].failed == arc
}
