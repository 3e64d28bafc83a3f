package flowpath

// Bridges finds the passages that have no way around them: without a bridge its
// two ends are no longer joined. Directions play no part.
type Bridges struct {
	g      *Graph
	frames []bridgeFrame
	stack  []int32
	group  []int32
	bridge Set
	block  []int32
	count  int
}

// bridgeFrame is what the depth-first walk knows of a node.
type bridgeFrame struct {
	found  int32 // when the node was found, from 1; 0 for not yet
	low    int32 // the earliest node that its subtree touches another way
	cursor int32 // the next place in its row
	via    int32 // the lower arc of the passage by which it was found
}

// Sweep looks at the passages of which open marks at least one arc (one mark
// for each arc). Two parallel passages are a way around each other; the two
// arcs of one passage are not.
//
// O(n+m), without recursion.
func (b *Bridges) Sweep(g *Graph, open []bool) error {
	b.g, b.count, b.block = nil, 0, b.block[:0]
	b.bridge.resize(0)
	if g == nil {
		return ErrNoWays
	}
	if err := g.checkArcBools(open); err != nil {
		return err
	}
	n := int(g.nodes)
	b.g = g
	b.frames = sized(b.frames, n)
	clear(b.frames)
	b.bridge.resize(len(g.from))
	b.block = sized(b.block, n)
	clock := int32(0)
	for root := range g.nodes {
		if b.frames[root].found == 0 {
			clock = b.walk(root, clock, open)
		}
	}
	b.number()
	return nil
}

func (b *Bridges) walk(root, clock int32, open []bool) int32 {
	g, frames := b.g, b.frames
	stack, group := append(b.stack[:0], root), append(b.group[:0], root)
	clock++
	frames[root] = bridgeFrame{clock, clock, 0, None}
	for len(stack) > 0 {
		u := stack[len(stack)-1]
		f := &frames[u]
		if h, ok := b.touching(u, f.cursor); ok {
			f.cursor++
			twin := g.twin[h.arc]
			if !open[h.arc] && (twin == None || !open[twin]) {
				continue
			}
			passage := h.arc
			if twin != None {
				passage = min(passage, twin)
			}
			if passage == f.via {
				continue
			}
			if v := &frames[h.node]; v.found == 0 {
				clock++
				*v = bridgeFrame{clock, clock, 0, passage}
				stack = append(stack, h.node)
				group = append(group, h.node)
			} else {
				f.low = min(f.low, v.found)
			}
			continue
		}
		stack = stack[:len(stack)-1]
		if f.low == f.found {
			// Nothing below touches anything above but by the passage to u.
			for last := None; last != u; {
				last = group[len(group)-1]
				group = group[:len(group)-1]
				b.block[last] = u
			}
			if f.via != None {
				b.bridge.Add(f.via)
				if t := g.twin[f.via]; t != None {
					b.bridge.Add(t)
				}
			}
		}
		if len(stack) > 0 {
			p := &frames[stack[len(stack)-1]]
			p.low = min(p.low, f.low)
		}
	}
	b.stack, b.group = stack, group
	return clock
}

// touching returns entry i of the arcs that touch u: the outgoing ones, and
// then, where arcs without a twin exist, the incoming ones.
func (b *Bridges) touching(u, i int32) (half, bool) {
	out := &b.g.out
	i += out.start[u]
	if i < out.start[u+1] {
		return out.half[i], true
	}
	if b.g.paired {
		return half{}, false
	}
	in := &b.g.in
	i += in.start[u] - out.start[u+1]
	if i < in.start[u+1] {
		return in.half[i], true
	}
	return half{}, false
}

// number replaces the block's first found node by a number in ascending order
// of the lowest node.
func (b *Bridges) number() {
	for i := range b.frames {
		b.frames[i].found = None
	}
	for v, first := range b.block {
		f := &b.frames[first]
		if f.found == None {
			f.found = int32(b.count)
			b.count++
		}
		b.block[v] = f.found
	}
}

// Bridge tells whether the passage of the arc is open and has no way around it.
// Both arcs of a passage answer alike; a passage that was not marked open is no
// bridge.
func (b *Bridges) Bridge(arc int32) bool { return b.bridge.Has(arc) }

// Arcs returns the arcs whose passage is a bridge. It is read only and stays
// valid until the next Sweep.
func (b *Bridges) Arcs() *Set { return &b.bridge }

// Block returns the number of the node's block, or None for a node outside the
// graph. Nodes are in one block when two ways without a common passage join
// them; blocks are numbered from 0 in ascending order of their lowest node.
func (b *Bridges) Block(node int32) int32 { return at(b.block, node) }

// Blocks returns the number of blocks.
func (b *Bridges) Blocks() int { return b.count }
