package flowpath

import "slices"

// ReachMany finds, for each of several separate sources, which subjects it
// reaches.
type ReachMany struct {
	// Limit is the highest number of node visits that all sources together may
	// take; a Sweep that needs more fails with a *LimitError. 0 means no limit.
	Limit int64

	g       *Graph
	cost    []uint8
	open    func(arc int32) bool // in place of cost; nil with cost
	dir     Direction
	avoid   Avoid
	sources []int32

	marked  Set // the nodes that are subjects
	pending Set // sources without an answer
	of      []int32
	stamp   []uint32
	epoch   uint32
	queue   []int32
	work    int64

	start  []int32
	answer []int32
}

// Sweep answers for every source (nodes; they may repeat). A source that is a
// subject reaches itself unless it is avoided. With Backward the given nodes
// are targets, and the answer is which subjects lead to them.
//
// Sources that reach each other have one answer and are searched once, so the
// cost is O(n/64 + for each set of such sources what they reach), and the
// memory is that of the distinct answers.
func (r *ReachMany) Sweep(ways *Ways, dir Direction, sources, subjects []int32, avoid Avoid) error {
	r.forget()
	if ways == nil {
		return ErrNoWays
	}
	r.cost, r.open = ways.cost, nil
	return r.sweep(ways.g, dir, sources, subjects, avoid)
}

// Follow answers as Sweep does over the arcs that open lets pass, and asks only
// of arcs that it comes to: of some again for each source that comes there.
// open must give the same answer for an arc each time.
func (r *ReachMany) Follow(g *Graph, dir Direction, sources, subjects []int32, open func(arc int32) bool) error {
	r.forget()
	if g == nil || open == nil {
		return ErrNoWays
	}
	r.cost, r.open = nil, open
	return r.sweep(g, dir, sources, subjects, Avoid{})
}

// forget leaves nothing of an earlier answer.
func (r *ReachMany) forget() {
	r.sources, r.start, r.answer = nil, append(r.start[:0], 0), r.answer[:0]
}

func (r *ReachMany) sweep(g *Graph, dir Direction, sources, subjects []int32, avoid Avoid) error {
	if err := checkDirection(dir); err != nil {
		return err
	}
	if err := g.checkNodes("source", sources); err != nil {
		return err
	}
	if err := g.checkNodes("subject", subjects); err != nil {
		return err
	}
	if err := avoid.check(g); err != nil {
		return err
	}
	r.begin(g, dir, sources, subjects, avoid)
	for _, s := range r.sources {
		if !r.pending.Has(s) {
			continue
		}
		r.explore(s)
		if r.Limit > 0 && r.work > r.Limit {
			r.sources, r.start, r.answer = nil, r.start[:1], r.answer[:0]
			return &LimitError{"reach of separate sources", r.Limit}
		}
	}
	return nil
}

func (r *ReachMany) begin(g *Graph, dir Direction, sources, subjects []int32, avoid Avoid) {
	n := int(g.nodes)
	r.g, r.dir, r.avoid, r.work = g, dir, avoid, 0
	r.sources = append(r.sources[:0], sources...)
	r.marked.resize(n)
	for _, v := range subjects {
		r.marked.Add(v)
	}
	r.pending.resize(n)
	for _, s := range sources {
		r.pending.Add(s)
	}
	r.of = lent(g, r.of, n)
	r.queue = lent(g, r.queue, n)
	// Two epochs are spent on each source; start afresh before they run out.
	if len(r.stamp) != n || r.epoch > ^uint32(0)-2*uint32(len(sources))-2 {
		r.stamp = lent(g, r.stamp, n)
		clear(r.stamp)
		r.epoch = 0
	}
}

// explore answers for one source, and for every other source that it reaches
// and that reaches it.
func (r *ReachMany) explore(s int32) {
	r.epoch += 2
	ahead, both := r.epoch-1, r.epoch
	id := int32(len(r.start) - 1)
	r.of[s] = id
	r.pending.Remove(s)
	others := 0
	if !r.avoid.Nodes.Has(s) {
		first := len(r.answer)
		r.stamp[s] = ahead
		count := r.walk(s, r.dir, ahead, ahead)
		for _, v := range r.queue[:count] {
			if r.marked.Has(v) {
				r.answer = append(r.answer, v)
			}
			if r.pending.Has(v) {
				others++
			}
		}
		slices.Sort(r.answer[first:])
	}
	r.start = append(r.start, int32(len(r.answer)))
	if others == 0 {
		return
	}
	r.stamp[s] = both
	count := r.walk(s, r.dir^1, ahead, both)
	for _, v := range r.queue[:count] {
		if r.pending.Has(v) {
			r.of[v] = id
			r.pending.Remove(v)
		}
	}
}

// walk visits nodes from s, stamps them with mark, leaves them in the queue and
// returns their number. The walk ahead visits every node that it comes to and
// may enter; the walk back only nodes that the walk ahead has visited.
func (r *ReachMany) walk(s int32, dir Direction, ahead, mark uint32) int {
	row, cost, queue := r.g.rows(dir), r.cost, r.queue
	highest, closed := r.avoid.highest(), r.avoid.arcWords()
	back := mark != ahead
	queue[0] = s
	tail := 1
	for q := 0; q < tail; q++ {
		u := queue[q]
		for _, h := range row.half[row.start[u]:row.start[u+1]] {
			v := h.node
			if (r.stamp[v] == ahead) != back || !back && r.avoid.Nodes.Has(v) {
				continue
			}
			if r.open != nil {
				if !r.open(h.arc) {
					continue
				}
			} else if cost[h.arc] > highest {
				continue
			}
			if closed != nil && closed[h.arc>>6]>>(uint(h.arc)&63)&1 != 0 {
				continue
			}
			r.stamp[v] = mark
			queue[tail] = v
			tail++
		}
	}
	r.work += int64(tail)
	return tail
}

// Subjects returns the subjects that source i (its place in the list of
// sources) reaches, each once, in ascending order.
func (r *ReachMany) Subjects(i int) []int32 {
	if uint(i) >= uint(len(r.sources)) {
		return nil
	}
	id := r.of[r.sources[i]]
	return r.answer[r.start[id]:r.start[id+1]]
}

// Same returns a number that two sources share exactly when they were answered
// together because they reach each other, or None for a source that does not
// exist.
func (r *ReachMany) Same(i int) int32 {
	if uint(i) >= uint(len(r.sources)) {
		return None
	}
	return r.of[r.sources[i]]
}
