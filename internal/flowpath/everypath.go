package flowpath

// EveryPath finds the arcs and nodes that lie on every path from the sources to
// one target: the places where one barrier protects against all, and one
// blockage cuts off.
type EveryPath struct {
	reach   Reach
	path    []int32
	place   []int32 // of each node, its place on the path, or None
	visited Set
	queue   []int32
	arcs    []int32
	nodes   []int32
	found   bool
}

// Sweep answers for one target, without what avoid names. O(n+m): it follows
// one path and looks how far along it everything else leads.
func (e *EveryPath) Sweep(ways *Ways, sources []int32, target int32, avoid Avoid) error {
	e.found, e.arcs, e.nodes = false, e.arcs[:0], e.nodes[:0]
	if ways == nil {
		return ErrNoWays
	}
	g := ways.g
	if err := g.checkNodes("target", []int32{target}); err != nil {
		return err
	}
	if err := e.reach.Sweep(ways, Forward, sources, avoid); err != nil {
		return err
	}
	if !e.reach.Reached(target) {
		return nil
	}
	e.found = true
	e.path = e.reach.AppendPath(e.path[:0], target)
	n := int(g.nodes)
	e.place = sized(e.place, n)
	for i := range e.place {
		e.place[i] = None
	}
	e.place[target] = int32(len(e.path))
	for i, a := range e.path {
		e.place[g.from[a]] = int32(i)
	}
	e.visited.resize(n)
	if avoid.Nodes != nil {
		copy(e.visited.words, avoid.Nodes.words)
	}
	far := int32(0)
	for _, s := range sources {
		if e.place[s] == None && !e.visited.Has(s) {
			e.visited.Add(s)
			far = max(far, e.walk(ways, s, None, avoid))
		}
	}
	// Far is the furthest place that was come to without passing the place
	// before it. Where it has not got beyond place i, all paths pass i.
	for i := int32(0); ; i++ {
		node := target
		if int(i) < len(e.path) {
			node = g.from[e.path[i]]
		}
		if far <= i {
			e.nodes = append(e.nodes, node)
		}
		if int(i) == len(e.path) {
			return nil
		}
		far = max(far, e.walk(ways, node, e.path[i], avoid))
		if far <= i {
			e.arcs = append(e.arcs, e.path[i])
		}
		far = max(far, i+1)
	}
}

// walk goes from a node, over any arc but one, to all nodes off the path that
// were not visited yet, and returns the furthest place on the path that it
// touched, or None.
func (e *EveryPath) walk(ways *Ways, from, but int32, avoid Avoid) int32 {
	row, far := &ways.g.out, None
	highest, closed := avoid.highest(), avoid.Arcs
	queue := append(e.queue[:0], from)
	for q := 0; q < len(queue); q++ {
		u := queue[q]
		for _, h := range row.half[row.start[u]:row.start[u+1]] {
			if ways.cost[h.arc] > highest || h.arc == but || closed.Has(h.arc) {
				continue
			}
			if p := e.place[h.node]; p != None {
				far = max(far, p)
			} else if !e.visited.Has(h.node) {
				e.visited.Add(h.node)
				queue = append(queue, h.node)
			}
		}
	}
	e.queue = queue
	return far
}

// Found tells whether any path leads to the target.
func (e *EveryPath) Found() bool { return e.found }

// Arcs returns the arcs that lie on every path, in the order in which every
// path meets them.
func (e *EveryPath) Arcs() []int32 { return e.arcs }

// Nodes returns the nodes that lie on every path, in the order in which every
// path meets them; the target is the last.
func (e *EveryPath) Nodes() []int32 { return e.nodes }
