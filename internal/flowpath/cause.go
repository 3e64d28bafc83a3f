package flowpath

import (
	"cmp"
	"slices"
)

// CauseGroups finds, for each subject, the cause groups that alone stand before
// it: there is a path from a source that meets barriers of that group and no
// other barrier. Whoever trusts two barriers of one group trusts one.
type CauseGroups struct {
	// Limit is the highest number of node visits that all groups together may
	// take beyond what the sources reach without any barrier; a Sweep that
	// needs more fails with a *LimitError. 0 means no limit.
	Limit int64

	weakest *Weakest
	groups  *Groups

	subjects []int32
	subject  []int32 // of each node, its first place in subjects, or None
	marked   Set     // the nodes that are subjects

	stamp    []uint32 // of each node, the epoch of its last visit
	arcStamp []uint32 // of each arc, the epoch of the last group it was in
	epoch    uint32
	queue    []int32

	hits   []hit
	start  []int32
	answer []int32

	local localPaths
}

type hit struct{ subject, group int32 }

// behindNothing marks the nodes that the sources reach without any barrier: it
// is above every epoch, so that one comparison tells visited from not visited.
const behindNothing = ^uint32(0)

// Sweep answers for all groups and all subjects (nodes; they may repeat). It
// builds on the answer of a Weakest sweep and searches the same way in the same
// direction from the same sources; that answer must stay as it is for as long
// as this one is read.
//
// A barrier arc counts as inside group g if any of its groups is g. Groups of
// arcs that are not barriers have no effect.
//
// O(n + pairs of arc and group + for each group what it opens beyond the reach
// without barriers).
func (c *CauseGroups) Sweep(weakest *Weakest, groups *Groups, subjects []int32) error {
	c.weakest, c.subjects, c.start, c.answer = nil, nil, c.start[:0], c.answer[:0]
	if weakest == nil || weakest.ways == nil || groups == nil || groups.g != weakest.ways.g {
		return ErrNoWays
	}
	g := groups.g
	if err := g.checkNodes("subject", subjects); err != nil {
		return err
	}
	c.begin(weakest, groups, subjects)
	work := int64(0)
	for k := range int32(groups.Count()) {
		work += c.explore(k)
		if c.Limit > 0 && work > c.Limit {
			c.weakest, c.subjects, c.start = nil, nil, c.start[:0]
			return &LimitError{"search of cause groups", c.Limit}
		}
	}
	c.collect()
	return nil
}

func (c *CauseGroups) begin(weakest *Weakest, groups *Groups, subjects []int32) {
	n, m := int(groups.g.nodes), len(groups.g.from)
	c.weakest, c.groups = weakest, groups
	c.local.group = None
	c.subjects = append(c.subjects[:0], subjects...)
	c.subject = lent(groups.g, c.subject, n)
	c.marked.resize(n)
	for i, v := range slices.Backward(subjects) {
		c.subject[v] = int32(i)
		c.marked.Add(v)
	}
	c.stamp = lent(groups.g, c.stamp, n)
	for v := range c.stamp {
		c.stamp[v] = 0
		if weakest.steps[v].key < oneBarrier {
			c.stamp[v] = behindNothing
		}
	}
	c.arcStamp = lent(groups.g, c.arcStamp, m)
	clear(c.arcStamp)
	c.epoch = 0
	c.hits = c.hits[:0]
	if cap(c.queue) == 0 {
		c.queue = make([]int32, 0, min(n, smallQueue/16))
	}
}

// explore visits what group k opens and returns the number of nodes visited.
// A path that leaves the reach without barriers and comes back gains nothing,
// so the search starts at the group's arcs that lead out of it and never
// enters it again.
func (c *CauseGroups) explore(k int32) int64 {
	ways, dir := c.weakest.ways, c.weakest.dir
	tail, head := ways.g.tail(dir), ways.g.head(dir)
	arcs, stamp, cost := c.groups.Arcs(k), c.stamp, ways.cost
	c.epoch++
	epoch, queue := c.epoch, c.queue[:0]
	for _, a := range arcs {
		v := head[a]
		if cost[a] == Barrier && stamp[v] < epoch && stamp[tail[a]] == behindNothing {
			stamp[v] = epoch
			queue = append(queue, v)
		}
	}
	if len(queue) == 0 {
		return 0
	}
	for _, a := range arcs {
		c.arcStamp[a] = epoch
	}
	row := ways.g.rows(dir)
	for q := 0; q < len(queue); q++ {
		u := queue[q]
		if c.marked.words[u>>6]>>(uint(u)&63)&1 != 0 {
			c.hits = append(c.hits, hit{c.subject[u], k})
		}
		for _, h := range row.half[row.start[u]:row.start[u+1]] {
			if stamp[h.node] >= epoch {
				continue
			}
			if x := cost[h.arc]; x != Open && (x != Barrier || c.arcStamp[h.arc] != epoch) {
				continue
			}
			stamp[h.node] = epoch
			queue = append(queue, h.node)
		}
	}
	c.queue = queue
	return int64(len(queue))
}

// collect sorts the hits by subject; they come in ascending order of group.
func (c *CauseGroups) collect() {
	c.start = sized(c.start, len(c.subjects)+2)
	clear(c.start)
	for _, h := range c.hits {
		c.start[h.subject+2]++
	}
	startsAhead(c.start)
	c.answer = sized(c.answer, len(c.hits))
	for _, h := range c.hits {
		c.answer[c.start[h.subject+1]] = h.group
		c.start[h.subject+1]++
	}
	c.start = c.start[:len(c.subjects)+1]
}

// Unguarded tells whether a path without any barrier leads to subject i (its
// place in the list of subjects).
func (c *CauseGroups) Unguarded(i int) bool {
	return uint(i) < uint(len(c.subjects)) && c.weakest.steps[c.subjects[i]].key < oneBarrier
}

// Groups returns, in ascending order, the groups that alone stand before
// subject i. It is empty for an unguarded subject, before which nothing stands,
// and for one that no single group opens.
func (c *CauseGroups) Groups(i int) []int32 {
	if uint(i) >= uint(len(c.subjects)) {
		return nil
	}
	k := c.subject[c.subjects[i]]
	return c.answer[c.start[k]:c.start[k+1]]
}

// Path returns the arcs of a path to subject i that meets no barrier outside
// the group, in the order in which they are walked, and whether there is one.
// It is the path with the fewest barriers, then the fewest arcs, then the
// lowest arcs, as Weakest would find it if all other barriers were blocked. For
// an unguarded subject it is a path without any barrier, whatever the group.
//
// Reading several paths of one group in a row costs one search of what the
// group opens.
func (c *CauseGroups) Path(i int, group int32) ([]int32, bool) {
	if uint(i) >= uint(len(c.subjects)) || group < 0 || int(group) >= c.groups.Count() {
		return nil, false
	}
	if c.Unguarded(i) {
		return c.weakest.Path(c.subjects[i])
	}
	if _, found := slices.BinarySearch(c.Groups(i), group); !found {
		return nil, false
	}
	if c.local.group != group {
		c.local.search(c.weakest, c.groups, group)
	}
	return c.local.path(c.weakest, c.subjects[i]), true
}

// localPaths holds the paths that one group opens, beyond the reach without
// barriers.
type localPaths struct {
	group   int32
	key     []uint64
	arc     []int32
	touched []int32
	inside  Set
	queue   []int32
	seeds   []weakestSeed
}

// search is the search of Weakest, confined to what the group opens and started
// from the group's arcs that lead out of the reach without barriers, each with
// the length of the path that leads to it.
func (l *localPaths) search(w *Weakest, groups *Groups, group int32) {
	g, cost, steps := w.ways.g, w.ways.cost, w.steps
	tail, head, row := g.tail(w.dir), g.head(w.dir), g.rows(w.dir)
	if len(l.key) != int(g.nodes) {
		l.key = make([]uint64, g.nodes)
		l.arc = make([]int32, g.nodes)
		l.touched = l.touched[:0]
		for v := range l.key {
			l.key[v] = unreached
		}
	}
	for _, v := range l.touched {
		l.key[v] = unreached
	}
	l.touched, l.queue, l.seeds, l.group = l.touched[:0], l.queue[:0], l.seeds[:0], group
	l.inside.resize(len(g.from))
	for _, a := range groups.Arcs(group) {
		l.inside.Add(a)
	}
	for _, a := range groups.Arcs(group) {
		if k := steps[tail[a]].key; cost[a] == Barrier && k < oneBarrier && steps[head[a]].key >= oneBarrier {
			if l.improve(head[a], a, k+1+oneBarrier) {
				l.seeds = append(l.seeds, weakestSeed{k + 1 + oneBarrier, head[a]})
			}
		}
	}
	slices.SortFunc(l.seeds, func(x, y weakestSeed) int {
		return cmp.Or(cmp.Compare(x.key, y.key), cmp.Compare(x.node, y.node))
	})
	for q, b := 0, 0; q < len(l.queue) || b < len(l.seeds); {
		var u int32
		if b < len(l.seeds) && (q == len(l.queue) || l.seeds[b].key < l.key[l.queue[q]]) {
			seed := l.seeds[b]
			b++
			if l.key[seed.node] < seed.key {
				continue
			}
			u = seed.node
		} else {
			u = l.queue[q]
			q++
		}
		for _, h := range row.half[row.start[u]:row.start[u+1]] {
			x := cost[h.arc]
			if steps[h.node].key < oneBarrier || x == Blocked || x == Barrier && !l.inside.Has(h.arc) {
				continue
			}
			k := l.key[u] + 1 + uint64(x)<<32
			if !l.improve(h.node, h.arc, k) {
				continue
			}
			if x == Open {
				l.queue = append(l.queue, h.node)
			} else {
				l.seeds = append(l.seeds, weakestSeed{k, h.node})
			}
		}
	}
}

// improve notes that an arc arrives at a node with a key, and tells whether
// that is better than before; an equally good arc of lower id is noted, but is
// no reason to visit the node again.
func (l *localPaths) improve(node, arc int32, key uint64) bool {
	switch old := l.key[node]; {
	case key > old:
		return false
	case key == old:
		l.arc[node] = min(l.arc[node], arc)
		return false
	case old == unreached:
		l.touched = append(l.touched, node)
	}
	l.key[node], l.arc[node] = key, arc
	return true
}

func (l *localPaths) path(w *Weakest, node int32) []int32 {
	tail := w.ways.g.tail(w.dir)
	var own []int32
	for w.steps[node].key >= oneBarrier {
		own = append(own, l.arc[node])
		node = tail[l.arc[node]]
	}
	if w.dir == Backward {
		return w.appendPath(own, node)
	}
	slices.Reverse(own)
	return append(w.appendPath(nil, node), own...)
}
