package flowpath

// Bypasses finds the barriers that something leads around: an open path from
// the tail of the barrier arc to its head.
type Bypasses struct {
	// Limit is the highest number of node visits that the searches for single
	// barriers may take together; a Sweep that needs more fails with a
	// *LimitError. 0 means no limit.
	Limit int64

	ways     *Ways
	loops    Loops
	zones    Zones
	bypassed Set
	list     []int32
	work     int64

	stamp []uint32
	epoch uint32
	queue [2][]int32
	reach Reach
}

// Sweep answers for every Barrier arc. The other direction of the same passage
// is no way around it.
//
// O(n+m) for all barriers whose ends lie on one loop of open arcs, whose twin
// is open (as in a valve that holds one way), whose ends nothing open joins, or
// whose head lies upstream of the tail, which are nearly all in a flow diagram.
// For each of the rest two searches walk from both ends in turn, between the
// two in the order of flow, until they meet or one has no more to walk.
func (b *Bypasses) Sweep(ways *Ways) error {
	b.ways, b.list, b.work = nil, b.list[:0], 0
	b.bypassed.resize(0)
	if ways == nil {
		return ErrNoWays
	}
	g := ways.g
	if err := b.loops.Sweep(ways, false); err != nil {
		return err
	}
	if err := b.zones.SweepOpen(ways); err != nil {
		return err
	}
	n := int(g.nodes)
	b.ways = ways
	b.bypassed.resize(len(g.from))
	b.stamp = sized(b.stamp, n)
	clear(b.stamp)
	b.epoch = 0
	for i, c := range ways.cost {
		if c != Barrier {
			continue
		}
		a := int32(i)
		u, v := g.from[a], g.to[a]
		if b.zones.zone[u] != b.zones.zone[v] {
			continue
		}
		around := b.loops.loop[u] == b.loops.loop[v]
		// With the twin open, a way around would close a loop with it.
		if t := g.twinOf(a); !around && (t == None || ways.cost[t] != Open) {
			around = b.joined(u, v)
		}
		if b.Limit > 0 && b.work > b.Limit {
			b.ways, b.list = nil, b.list[:0]
			b.bypassed.resize(0)
			return &LimitError{"search for ways around barriers", b.Limit}
		}
		if around {
			b.bypassed.Add(a)
			b.list = append(b.list, a)
		}
	}
	return nil
}

// joined tells whether an open path leads from u to v.
func (b *Bypasses) joined(u, v int32) bool {
	loop, finish := b.loops.loop, b.loops.finish
	lowest, highest := finish[loop[v]], finish[loop[u]]
	if highest < lowest {
		return false
	}
	if b.epoch > ^uint32(0)-4 {
		clear(b.stamp)
		b.epoch = 0
	}
	b.epoch += 2
	mark := [2]uint32{b.epoch - 1, b.epoch}
	b.stamp[u], b.stamp[v] = mark[0], mark[1]
	b.queue[0] = append(b.queue[0][:0], u)
	b.queue[1] = append(b.queue[1][:0], v)
	done := [2]int{}
	for done[0] < len(b.queue[0]) && done[1] < len(b.queue[1]) {
		for side := range 2 {
			if done[side] == len(b.queue[side]) {
				return false
			}
			row := b.ways.g.rows(Direction(side))
			at := b.queue[side][done[side]]
			done[side]++
			b.work++
			for _, h := range row.half[row.start[at]:row.start[at+1]] {
				s := b.stamp[h.node]
				if s == mark[side] || b.ways.cost[h.arc] != Open {
					continue
				}
				if s == mark[1-side] {
					return true
				}
				if f := finish[loop[h.node]]; f < lowest || f > highest {
					continue
				}
				b.stamp[h.node] = mark[side]
				b.queue[side] = append(b.queue[side], h.node)
			}
		}
	}
	return false
}

// Bypassed tells whether the arc is a barrier that something leads around.
func (b *Bypasses) Bypassed(arc int32) bool { return b.bypassed.Has(arc) }

// Arcs returns the barriers that something leads around, in ascending order.
func (b *Bypasses) Arcs() []int32 { return b.list }

// Path returns an open path with the fewest arcs around a barrier, in the order
// in which its arcs are walked, and whether there is one. The slice is the
// caller's. O(n/64 + open reach of the tail).
func (b *Bypasses) Path(arc int32) ([]int32, bool) {
	if !b.Bypassed(arc) {
		return nil, false
	}
	g := b.ways.g
	if err := b.reach.Sweep(b.ways, Forward, []int32{g.from[arc]}, Avoid{Barriers: true}); err != nil {
		return nil, false
	}
	return b.reach.Path(g.to[arc])
}
