package flowpath

import "slices"

// Reach finds every node that can be reached from any of several sources, by a
// path with the fewest arcs. For the same graph and the same list of sources
// the paths are always the same; which nodes are reached does not depend on any
// order.
type Reach struct {
	g       *Graph
	dir     Direction
	visited Set
	prev    []int32
	queue   []int32
	count   int
}

// Sweep searches from all sources at once, without what avoid names. With
// Backward the given nodes are targets.
//
// O(n/64 + nodes and arcs in reach), no allocation after the first sweep over
// a graph of that size.
func (r *Reach) Sweep(ways *Ways, dir Direction, sources []int32, avoid Avoid) error {
	r.forget()
	if ways == nil {
		return ErrNoWays
	}
	if err := avoid.check(ways.g); err != nil {
		return err
	}
	if err := r.begin(ways.g, dir, sources); err != nil {
		return err
	}
	// Avoided nodes count as visited during the search: one test for both.
	if avoid.Nodes != nil {
		copy(r.visited.words, avoid.Nodes.words)
	}
	r.search(ways, sources, avoid)
	if avoid.Nodes != nil {
		for i, w := range avoid.Nodes.words {
			r.visited.words[i] &^= w
		}
	}
	return nil
}

// Follow searches as Sweep does over the arcs that open lets pass, and finds
// what Sweep would find over ways that are Open there and Blocked elsewhere. It
// asks only of arcs that lead from a node in reach to one that is not yet, so
// that a search that stays in one corner of the graph looks at that corner
// alone. open must give the same answer for an arc each time.
//
// O(n/64 + nodes and arcs in reach), no allocation after the first search over
// a graph of that size.
func (r *Reach) Follow(g *Graph, dir Direction, sources []int32, open func(arc int32) bool) error {
	r.forget()
	if g == nil || open == nil {
		return ErrNoWays
	}
	if err := r.begin(g, dir, sources); err != nil {
		return err
	}
	queue := r.enter(sources)
	visited, prev, row := r.visited.words, r.prev, g.rows(dir)
	for q := 0; q < len(queue); q++ {
		u := queue[q]
		for _, h := range row.half[row.start[u]:row.start[u+1]] {
			v := h.node
			if visited[v>>6]>>(uint(v)&63)&1 != 0 || !open(h.arc) {
				continue
			}
			visited[v>>6] |= 1 << (uint(v) & 63)
			prev[v] = h.arc
			queue = r.push(queue, v)
		}
	}
	r.queue, r.count = queue, len(queue)
	return nil
}

// forget leaves nothing of an earlier answer.
func (r *Reach) forget() {
	r.g, r.count = nil, 0
	r.visited.resize(0)
}

func (r *Reach) begin(g *Graph, dir Direction, sources []int32) error {
	if err := checkDirection(dir); err != nil {
		return err
	}
	if err := g.checkNodes("source", sources); err != nil {
		return err
	}
	r.g, r.dir = g, dir
	r.visited.resize(int(g.nodes))
	n := int(g.nodes)
	switch {
	case g.shelf != nil:
		r.prev, r.queue = lent(g, r.prev, n), lent(g, r.queue, n)[:0]
	case cap(r.prev) < n && cap(r.queue) == 0 && n <= smallQueue:
		room := make([]int32, 2*n)
		r.prev, r.queue = room[:n:n], room[n:n]
	default:
		r.prev = sized(r.prev, n)
	}
	return nil
}

// smallQueue is how many nodes a queue has room for at first: most searches stay in one corner of a large graph.
const smallQueue = 1024

// enter visits the sources and gives the queue that holds them.
func (r *Reach) enter(sources []int32) []int32 {
	if cap(r.queue) == 0 {
		r.queue = make([]int32, 0, min(int(r.g.nodes), max(4*len(sources), smallQueue)))
	}
	visited, queue := r.visited.words, r.queue[:0]
	for _, s := range sources {
		if visited[s>>6]>>(uint(s)&63)&1 == 0 {
			visited[s>>6] |= 1 << (uint(s) & 63)
			r.prev[s] = None
			queue = append(queue, s)
		}
	}
	return queue
}

// push appends a node to the queue. What reaches far reaches most of the graph;
// what does not needs little.
func (r *Reach) push(queue []int32, v int32) []int32 {
	if len(queue) == cap(queue) {
		queue = append(make([]int32, 0, int(r.g.nodes)), queue...)
	}
	return append(queue, v)
}

func (r *Reach) search(ways *Ways, sources []int32, avoid Avoid) {
	queue := r.enter(sources)
	visited, prev := r.visited.words, r.prev
	row := r.g.rows(r.dir)
	start, halves, cost := row.start, row.half, ways.cost
	highest, closed := avoid.highest(), avoid.arcWords()
	for q := 0; q < len(queue); q++ {
		u := queue[q]
		for _, h := range halves[start[u]:start[u+1]] {
			v := h.node
			if visited[v>>6]>>(uint(v)&63)&1 != 0 || cost[h.arc] > highest {
				continue
			}
			if closed != nil && closed[h.arc>>6]>>(uint(h.arc)&63)&1 != 0 {
				continue
			}
			visited[v>>6] |= 1 << (uint(v) & 63)
			prev[v] = h.arc
			queue = r.push(queue, v)
		}
	}
	r.queue, r.count = queue, len(queue)
}

// Reached tells whether the node is in reach; a source that is not avoided is.
func (r *Reach) Reached(node int32) bool { return r.visited.Has(node) }

// Set returns the nodes in reach. It is read only and stays valid until the
// next Sweep.
func (r *Reach) Set() *Set { return &r.visited }

// Count returns the number of nodes in reach.
func (r *Reach) Count() int { return r.count }

// Nodes returns the nodes in reach, nearest first.
func (r *Reach) Nodes() []int32 { return r.queue[:r.count] }

// Path returns the arcs of a path with the fewest arcs in the order in which
// they are walked, and whether there is one. The slice is the caller's.
// O(length).
func (r *Reach) Path(node int32) ([]int32, bool) {
	if !r.Reached(node) {
		return nil, false
	}
	return r.appendPath([]int32{}, node), true
}

// appendPath appends the arcs of Path to dst and returns it; nothing is
// appended for a node out of reach. O(length).
func (r *Reach) appendPath(dst []int32, node int32) []int32 {
	if !r.Reached(node) {
		return dst
	}
	first := len(dst)
	tail := r.g.tail(r.dir)
	for a := r.prev[node]; a != None; a = r.prev[tail[a]] {
		dst = append(dst, a)
	}
	if r.dir == Forward {
		slices.Reverse(dst[first:])
	}
	return dst
}
