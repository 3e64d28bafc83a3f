package flowpath

import "slices"

// Openings finds the smallest sets of barriers whose failing opens a way to one
// node: all single barriers, and all pairs of which neither opens it alone.
type Openings struct {
	// Limit is the highest number of pairs, and the highest number of node
	// visits, that a Sweep may take; one that needs more fails with a
	// *LimitError. 0 means no limit.
	Limit int64

	open    bool
	singles []int32
	pairs   [][2]int32
	behind  Reach
	stamp   []uint32
	epoch   uint32
	queue   []int32
	first   []int32
	ends    []int32
	work    int64
}

// Sweep answers for one target. It builds on the answer of a Weakest sweep and
// asks about the same sources. That sweep must have gone Forward.
//
// O(n + m) plus, for each node behind a barrier that the sources reach without
// any other, what it reaches without barriers, plus the number of pairs.
func (o *Openings) Sweep(weakest *Weakest, target int32) error {
	o.open, o.singles, o.pairs, o.work = false, o.singles[:0], o.pairs[:0], 0
	if weakest == nil || weakest.ways == nil || weakest.dir != Forward {
		return ErrNoWays
	}
	g, cost, steps := weakest.ways.g, weakest.ways.cost, weakest.steps
	if err := g.checkNodes("target", []int32{target}); err != nil {
		return err
	}
	if steps[target].key < oneBarrier {
		o.open = true
		return nil
	}
	if err := o.behind.Sweep(weakest.ways, Backward, []int32{target}, Avoid{Barriers: true}); err != nil {
		return err
	}
	// Sorting the first barriers by the node behind them explores each such
	// node once.
	o.first = o.first[:0]
	for a, c := range cost {
		if c != Barrier || steps[g.from[a]].key >= oneBarrier || steps[g.to[a]].key < oneBarrier {
			continue
		}
		if o.behind.Reached(g.to[a]) {
			o.singles = append(o.singles, int32(a))
		} else {
			o.first = append(o.first, int32(a))
		}
	}
	slices.SortFunc(o.first, func(x, y int32) int {
		if g.to[x] != g.to[y] {
			return int(g.to[x]) - int(g.to[y])
		}
		return int(x) - int(y)
	})
	o.stamp = sized(o.stamp, int(g.nodes))
	clear(o.stamp)
	o.epoch = 0
	for i := 0; i < len(o.first); {
		node := g.to[o.first[i]]
		o.explore(weakest, node)
		for ; i < len(o.first) && g.to[o.first[i]] == node; i++ {
			for _, second := range o.ends {
				o.pairs = append(o.pairs, [2]int32{o.first[i], second})
			}
			if o.Limit > 0 && (o.work > o.Limit || int64(len(o.pairs)) > o.Limit) {
				o.singles, o.pairs = o.singles[:0], o.pairs[:0]
				return &LimitError{"search for pairs of barriers", o.Limit}
			}
		}
	}
	slices.SortFunc(o.pairs, func(x, y [2]int32) int {
		if x[0] != y[0] {
			return int(x[0]) - int(y[0])
		}
		return int(x[1]) - int(y[1])
	})
	return nil
}

// explore lists the barriers that lead from the open reach of a node into the
// open way to the target. Entering the open reach of the sources gains nothing:
// a barrier from there opens the target alone.
func (o *Openings) explore(weakest *Weakest, node int32) {
	g, cost, steps := weakest.ways.g, weakest.ways.cost, weakest.steps
	o.epoch++
	o.ends = o.ends[:0]
	o.stamp[node] = o.epoch
	queue := append(o.queue[:0], node)
	for q := 0; q < len(queue); q++ {
		u := queue[q]
		for _, h := range g.out.half[g.out.start[u]:g.out.start[u+1]] {
			switch c := cost[h.arc]; {
			case c == Barrier && o.behind.Reached(h.node):
				o.ends = append(o.ends, h.arc)
			case c == Open && o.stamp[h.node] != o.epoch && steps[h.node].key >= oneBarrier:
				o.stamp[h.node] = o.epoch
				queue = append(queue, h.node)
			}
		}
	}
	o.work += int64(len(queue))
	o.queue = queue
}

// Unguarded tells whether the target is open already; nothing needs to fail.
func (o *Openings) Unguarded() bool { return o.open }

// Singles returns, in ascending order, the barrier arcs each of which alone
// opens a way.
func (o *Openings) Singles() []int32 { return o.singles }

// Pairs returns, in ascending order, the pairs of barrier arcs that open a way
// together and not alone: first the one that the way meets first. Two arcs in
// the order in which they are met are one pair; where a way exists in either
// order, both are listed.
func (o *Openings) Pairs() [][2]int32 { return o.pairs }
