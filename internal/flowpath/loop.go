package flowpath

// Loops finds the nodes that lead to each other over open arcs: each such group
// is a strongly connected component, and any of its nodes can be walked in a
// loop through any other.
type Loops struct {
	g      *Graph
	frames []loopFrame
	stack  []int32
	group  []int32
	loop   []int32
	// finish is, for each loop, its place in the order in which the walk
	// completed them: what a loop leads to is completed before it.
	finish []int32
	count  int
}

// loopFrame is what the depth-first walk knows of a node. Low is above every
// clock once the node's loop is complete, so that a finished node never lowers
// another.
type loopFrame struct{ found, low, cursor int32 }

const complete = int32(1<<31 - 1)

// Sweep walks the Open arcs, and those that hold a Barrier too if barriers is
// set.
//
// O(n+m), without recursion.
func (l *Loops) Sweep(ways *Ways, barriers bool) error {
	l.g, l.count, l.loop = nil, 0, l.loop[:0]
	if ways == nil {
		return ErrNoWays
	}
	g := ways.g
	n := int(g.nodes)
	l.g = g
	l.frames = sized(l.frames, n)
	clear(l.frames)
	l.loop = sized(l.loop, n)
	highest := Avoid{Barriers: !barriers}.highest()
	clock, done := int32(0), int32(0)
	for root := range g.nodes {
		if l.frames[root].found == 0 {
			clock, done = l.walk(root, clock, done, ways.cost, highest)
		}
	}
	l.number()
	return nil
}

func (l *Loops) walk(root, clock, done int32, cost []uint8, highest uint8) (int32, int32) {
	row, frames := &l.g.out, l.frames
	stack, group := append(l.stack[:0], root), append(l.group[:0], root)
	clock++
	frames[root] = loopFrame{clock, clock, row.start[root]}
walk:
	for len(stack) > 0 {
		u := stack[len(stack)-1]
		f := &frames[u]
		for i, end := f.cursor, row.start[u+1]; i < end; i++ {
			h := row.half[i]
			if cost[h.arc] > highest {
				continue
			}
			v := &frames[h.node]
			if v.found == 0 {
				f.cursor = i + 1
				clock++
				*v = loopFrame{clock, clock, row.start[h.node]}
				stack = append(stack, h.node)
				group = append(group, h.node)
				continue walk
			}
			f.low = min(f.low, v.low)
		}
		stack = stack[:len(stack)-1]
		low := f.low
		if low == f.found {
			for last := None; last != u; {
				last = group[len(group)-1]
				group = group[:len(group)-1]
				l.loop[last] = u
				frames[last].low = complete
			}
			f.cursor = done
			done++
		}
		if len(stack) > 0 && low < f.found {
			p := &frames[stack[len(stack)-1]]
			p.low = min(p.low, low)
		}
	}
	l.stack, l.group = stack, group
	return clock, done
}

// number replaces the first found node of each loop by a number in ascending
// order of the lowest node.
func (l *Loops) number() {
	l.finish = l.finish[:0]
	for i := range l.frames {
		l.frames[i].found = None
	}
	for v, first := range l.loop {
		f := &l.frames[first]
		if f.found == None {
			f.found = int32(l.count)
			l.finish = append(l.finish, f.cursor)
			l.count++
		}
		l.loop[v] = f.found
	}
}

// Loop returns the number of the node's group, or None for a node outside the
// graph. A node that no loop passes is a group of its own. Groups are numbered
// from 0 in ascending order of their lowest node.
func (l *Loops) Loop(node int32) int32 { return at(l.loop, node) }

// Count returns the number of groups.
func (l *Loops) Count() int { return l.count }
