package flowpath

import "slices"

// unreached is the key of a node that no path leads to.
const unreached = ^uint64(0)

// oneBarrier is what a barrier adds to a key. A key holds the number of
// barriers in its upper half and the number of arcs in its lower half, so that
// one comparison orders by barriers first and by arcs second.
const oneBarrier = uint64(1) << 32

// weakestStep is how the best path arrives at a node; one cache line holds
// four of them.
type weakestStep struct {
	key    uint64
	arc    int32
	source int32
}

type weakestSeed struct {
	key  uint64
	node int32
}

// Weakest finds, for every node, the path from any of several sources that
// meets the least number of barriers.
//
// Among paths with equally few barriers it takes one with the fewest arcs, and
// where several arcs arrive equally well at a node, the one with the lowest id.
// So the answer does not depend on the order of the sources, and the numbers of
// barriers and arcs do not depend on the order of the arcs either.
type Weakest struct {
	ways  *Ways
	dir   Direction
	steps []weakestStep
	queue []int32
	seeds []weakestSeed
}

// Sweep searches from all sources at once over every arc that is not blocked.
// With Backward the given nodes are targets, and the path of a node leads from
// it to a target. Sources may repeat; none at all reach nothing.
//
// O(n+m), no allocation after the first sweep over a graph of that size.
func (w *Weakest) Sweep(ways *Ways, dir Direction, sources []int32) error {
	w.ways, w.steps = nil, w.steps[:0]
	if ways == nil {
		return ErrNoWays
	}
	if err := checkDirection(dir); err != nil {
		return err
	}
	if err := ways.g.checkNodes("source", sources); err != nil {
		return err
	}
	w.ways, w.dir = ways, dir
	n := int(ways.g.nodes)
	w.steps = lent(ways.g, w.steps, n)
	for i := range w.steps {
		w.steps[i] = weakestStep{unreached, None, None}
	}
	w.queue = lent(ways.g, w.queue, n)
	w.search(sources)
	return nil
}

// search runs two first-in first-out queues, one fed over open arcs and one
// over barriers. Keys leave in ascending order, so each queue is fed in
// ascending order and the lesser of the two heads is the next to settle. A node
// enters either queue at most once: whatever comes later in the same queue is
// no better.
func (w *Weakest) search(sources []int32) {
	steps, queue, seeds := w.steps, w.queue, w.seeds[:0]
	row := w.ways.g.rows(w.dir)
	start, halves, cost := row.start, row.half, w.ways.cost
	tail := 0
	for _, s := range sources {
		if steps[s].key != 0 {
			steps[s] = weakestStep{0, None, s}
			queue[tail] = s
			tail++
		}
	}
	for q, b := 0, 0; q < tail || b < len(seeds); {
		var u int32
		if b < len(seeds) && (q == tail || seeds[b].key < steps[queue[q]].key) {
			seed := seeds[b]
			b++
			if steps[seed.node].key < seed.key {
				continue // an open way came in between
			}
			u = seed.node
		} else {
			u = queue[q]
			q++
		}
		key, source := steps[u].key+1, steps[u].source
		for _, h := range halves[start[u]:start[u+1]] {
			c := cost[h.arc]
			if c == Blocked {
				continue
			}
			k := key + uint64(c)<<32
			t := &steps[h.node]
			if k > t.key {
				continue
			}
			if k == t.key {
				if h.arc < t.arc {
					t.arc, t.source = h.arc, source
				}
				continue
			}
			*t = weakestStep{k, h.arc, source}
			if c == Open {
				queue[tail] = h.node
				tail++
			} else {
				seeds = append(seeds, weakestSeed{k, h.node})
			}
		}
	}
	w.seeds = seeds
}

func (w *Weakest) step(node int32) weakestStep {
	if uint32(node) >= uint32(len(w.steps)) {
		return weakestStep{unreached, None, None}
	}
	return w.steps[node]
}

// Reached tells whether any path leads to the node.
func (w *Weakest) Reached(node int32) bool { return w.step(node).key != unreached }

// Barriers returns the least number of barriers on a path to the node, or -1
// when no path leads there.
func (w *Weakest) Barriers(node int32) int {
	k := w.step(node).key
	if k == unreached {
		return -1
	}
	return int(k >> 32)
}

// Arcs returns the number of arcs on the path that Path returns, or -1 when no
// path leads to the node.
func (w *Weakest) Arcs(node int32) int {
	k := w.step(node).key
	if k == unreached {
		return -1
	}
	return int(uint32(k))
}

// Source returns the source (with Backward: the target) of the node's path, or
// None.
func (w *Weakest) Source(node int32) int32 { return w.step(node).source }

// Path returns the arcs of the node's weakest path in the order in which they
// are walked, and whether there is one. A source has the empty path. The slice
// is the caller's. O(length).
func (w *Weakest) Path(node int32) ([]int32, bool) {
	if !w.Reached(node) {
		return nil, false
	}
	return w.appendPath(make([]int32, 0, w.Arcs(node)), node), true
}

// appendPath appends the arcs of Path to dst and returns it; nothing is
// appended for a node that was not reached. O(length).
func (w *Weakest) appendPath(dst []int32, node int32) []int32 {
	if !w.Reached(node) {
		return dst
	}
	first := len(dst)
	tail := w.ways.g.tail(w.dir)
	for a := w.steps[node].arc; a != None; a = w.steps[tail[a]].arc {
		dst = append(dst, a)
	}
	if w.dir == Forward {
		slices.Reverse(dst[first:])
	}
	return dst
}
