package flowpath

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// MaxFailures is the highest number of barriers that Highest takes as failed
// along one path.
const MaxFailures = 7

// arrival is how the highest value arrives at a node.
type arrival struct{ arc, source int32 }

// Highest spreads values, such as pressures, from source nodes along the arcs
// that transmit: for every node, the highest value that reaches it, from where,
// and by which path; and the same with up to k barriers along the path taken as
// failed.
//
// Open arcs transmit, Barrier arcs hold unless taken as failed, Blocked arcs
// hold in any case. For the lowest value that reaches a node, negate values.
type Highest struct {
	ways   *Ways
	layers int32
	// arrivals holds, node by node, one entry for each number of failures.
	arrivals []arrival
	best     []uint8 // of each node, the fewest failures it was visited with
	order    []int32 // places of the sources in descending order of value
	nodes    []int32
	values   []float64
	queue    []uint64
	seeds    []highestSeed
}

// highestSeed waits until the search has got to its number of failures. The
// entry is the failures (3 bits), the arcs (29 bits) and the node (32 bits), so
// that its upper half orders by failures, then arcs.
type highestSeed struct {
	entry uint64
	from  arrival
}

// Sweep spreads values[i] from node sources[i] (equal lengths). A node may be a
// source several times. Values may be infinite, but not NaN. failures is
// 0..MaxFailures.
//
// Among sources of equal value a node takes the path with the fewest barriers,
// then the fewest arcs; what remains equal is settled in the same way for the
// same graph and the same set of sources, whatever their order.
//
// O(sources log sources + (failures+1) (n+m)), each node visited at most once
// for each number of failures.
func (h *Highest) Sweep(ways *Ways, sources []int32, values []float64, failures int) error {
	h.ways, h.arrivals, h.nodes, h.values = nil, h.arrivals[:0], h.nodes[:0], h.values[:0]
	if ways == nil {
		return ErrNoWays
	}
	if len(sources) != len(values) {
		return fmt.Errorf("flowpath: %d sources but %d values; each source needs one", len(sources), len(values))
	}
	if failures < 0 || failures > MaxFailures {
		return fmt.Errorf("flowpath: %d failures; the number of failures is 0..%d", failures, MaxFailures)
	}
	if err := ways.g.checkNodes("source", sources); err != nil {
		return err
	}
	for i, x := range values {
		if math.IsNaN(x) {
			return fmt.Errorf("flowpath: source %d at node %d has no number as its value", i, sources[i])
		}
	}
	n := int(ways.g.nodes)
	h.ways, h.layers = ways, int32(failures)+1
	h.nodes = append(h.nodes, sources...)
	h.values = append(h.values, values...)
	h.arrivals = lent(ways.g, h.arrivals, n*int(h.layers))
	for i := range h.arrivals {
		h.arrivals[i] = arrival{None, None}
	}
	h.best = lent(ways.g, h.best, n)
	for i := range h.best {
		h.best[i] = uint8(h.layers)
	}
	if cap(h.queue) == 0 {
		h.queue = make([]uint64, 0, min(n, smallQueue/16))
	}
	h.order = sized(h.order, len(sources))
	for i := range h.order {
		h.order[i] = int32(i)
	}
	slices.SortFunc(h.order, func(x, y int32) int {
		return cmp.Or(cmp.Compare(values[y], values[x]), cmp.Compare(sources[x], sources[y]), cmp.Compare(x, y))
	})
	for first := 0; first < len(h.order); {
		last := first + 1
		for last < len(h.order) && values[h.order[last]] == values[h.order[first]] {
			last++
		}
		h.spread(h.order[first:last])
		first = last
	}
	return nil
}

// spread walks from sources of equal value. Higher values have been spread
// before, so a node that was visited with no more failures has nothing to gain,
// and neither has anything that it leads to. The queue holds visited nodes;
// seeds hold nodes behind a barrier, to be visited when their number of
// failures and arcs has come. Both fill in ascending order. On a tie all seeds
// are visited before anything is walked on from, so that a node met over an
// open arc can be taken as visited at once.
func (h *Highest) spread(sources []int32) {
	row, cost := h.ways.g.rows(Forward), h.ways.cost
	layers, queue, seeds := uint64(h.layers), h.queue[:0], h.seeds[:0]
	for _, s := range sources {
		if v := h.nodes[s]; h.best[v] > 0 {
			h.visit(v, 0, arrival{None, s})
			queue = append(queue, uint64(v))
		}
	}
	for q, b, visited := 0, 0, 0; q < len(queue) || b < len(seeds); {
		var entry uint64
		if b < len(seeds) && (q == len(queue) || seeds[b].entry>>32 <= queue[q]>>32) {
			entry = seeds[b].entry
			for ; visited < len(seeds) && seeds[visited].entry>>32 == entry>>32; visited++ {
				h.visitSeed(&seeds[visited])
			}
			late := seeds[b].from.source == None
			b++
			if late {
				continue
			}
		} else {
			entry = queue[q]
			q++
		}
		u, failed := int32(uint32(entry)), entry>>61
		source := h.arrivals[int(u)*int(layers)+int(failed)].source
		next := (entry>>32 + 1) << 32
		for _, e := range row.half[row.start[u]:row.start[u+1]] {
			c := cost[e.arc]
			if c == Blocked {
				continue
			}
			after := failed + uint64(c)
			if uint64(h.best[e.node]) <= after {
				continue
			}
			if c == Open {
				h.visit(e.node, uint8(after), arrival{e.arc, source})
				queue = append(queue, next|uint64(uint32(e.node)))
			} else {
				seeds = append(seeds, highestSeed{next + 1<<61 | uint64(uint32(e.node)), arrival{e.arc, source}})
			}
		}
	}
	h.queue, h.seeds = queue, seeds
}

// visitSeed visits the node of a seed, or takes the seed's source away if the
// node has been visited with no more failures.
func (h *Highest) visitSeed(seed *highestSeed) {
	v, failed := int32(uint32(seed.entry)), uint8(seed.entry>>61)
	if h.best[v] <= failed {
		seed.from.source = None
		return
	}
	h.visit(v, failed, seed.from)
}

// visit notes an arrival for every number of failures that nothing better has
// arrived for.
func (h *Highest) visit(v int32, failed uint8, a arrival) {
	first := int(v) * int(h.layers)
	for j := failed; j < h.best[v]; j++ {
		h.arrivals[first+int(j)] = a
	}
	h.best[v] = failed
}

func (h *Highest) arrival(node int32, failures int) arrival {
	if h.ways == nil || uint32(node) >= uint32(h.ways.g.nodes) || failures < 0 || failures >= int(h.layers) {
		return arrival{None, None}
	}
	return h.arrivals[int(node)*int(h.layers)+failures]
}

// Value returns the highest value that reaches the node by a path with at most
// the given number of barriers taken as failed, and whether any does. failures
// is at most that of the Sweep.
func (h *Highest) Value(node int32, failures int) (float64, bool) {
	s := h.arrival(node, failures).source
	if s == None {
		return 0, false
	}
	return h.values[s], true
}

// Source returns the place, in the list of sources, of the source whose value
// Value returns, or None.
func (h *Highest) Source(node int32, failures int) int32 {
	return h.arrival(node, failures).source
}

// Path returns the arcs by which the value of Value arrives, in the order in
// which they are walked, and whether any does. The slice is the caller's.
// O(length).
func (h *Highest) Path(node int32, failures int) ([]int32, bool) {
	a := h.arrival(node, failures)
	if a.source == None {
		return nil, false
	}
	// Within one value fewer failures come first, so the same source in a lower
	// layer is the same visit, and the lowest such layer is its own.
	for failures > 0 && h.arrival(node, failures-1).source == a.source {
		failures--
	}
	path := []int32{}
	for a.arc != None {
		path = append(path, a.arc)
		failures -= int(h.ways.cost[a.arc])
		node = h.ways.g.from[a.arc]
		a = h.arrival(node, failures)
	}
	slices.Reverse(path)
	return path, true
}
