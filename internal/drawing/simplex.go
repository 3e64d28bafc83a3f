package drawing

// simplex finds whole ranks of nodes that keep every arc at least min long at the least sum of weight × length. It is the
// network simplex method on the dual flow problem. Source of the method: Gansner, Koutsofios, North and Vo, "A Technique for
// Drawing Directed Graphs", IEEE Transactions on Software Engineering 19 (3), 1993, section 2.
type simplex struct {
	n    int
	arcs []arc1
	rank []int

	adj             [][]int32 // arcs at a node
	inTree          []bool
	parent          []int32 // arc towards the root, -1 at the root
	order           []int32 // nodes, parents before children
	low, lim        []int32
	imbalance, cuts []int
}

type arc1 struct{ tail, head, min, weight int }

func (g *simplex) arc(tail, head, min, weight int) {
	g.arcs = append(g.arcs, arc1{tail, head, min, weight})
}

func (g *simplex) node() int {
	g.n++
	return g.n - 1
}

func (g *simplex) slack(a int32) int {
	e := &g.arcs[a]
	return g.rank[e.head] - g.rank[e.tail] - e.min
}

// solve returns the ranks, each weakly joined part beginning at 0. The arcs must not form a cycle; an arc that closes one is
// left out of account.
func (g *simplex) solve() []int {
	g.rank = make([]int, g.n)
	g.adj = make([][]int32, g.n)
	deg := make([]int, g.n)
	for i, a := range g.arcs {
		g.adj[a.tail] = append(g.adj[a.tail], int32(i))
		g.adj[a.head] = append(g.adj[a.head], int32(i))
		deg[a.head]++
	}
	queue := make([]int, 0, g.n)
	for v := range g.n {
		if deg[v] == 0 {
			queue = append(queue, v)
		}
	}
	for i := 0; i < len(queue); i++ {
		v := queue[i]
		for _, a := range g.adj[v] {
			e := &g.arcs[a]
			if e.tail != v {
				continue
			}
			g.rank[e.head] = max(g.rank[e.head], g.rank[v]+e.min)
			if deg[e.head]--; deg[e.head] == 0 {
				queue = append(queue, e.head)
			}
		}
	}
	if len(queue) < g.n {
		return g.rank
	}
	seen := make([]bool, g.n)
	g.inTree = make([]bool, len(g.arcs))
	g.parent = make([]int32, g.n)
	g.low, g.lim = make([]int32, g.n), make([]int32, g.n)
	g.cuts, g.imbalance = make([]int, g.n), make([]int, g.n)
	for _, a := range g.arcs {
		g.imbalance[a.tail] += a.weight
		g.imbalance[a.head] -= a.weight
	}
	for v := range g.n {
		if seen[v] {
			continue
		}
		nodes := g.reach(v, seen)
		g.improve(nodes)
		lowest := g.rank[nodes[0]]
		for _, u := range nodes {
			lowest = min(lowest, g.rank[u])
		}
		for _, u := range nodes {
			g.rank[u] -= lowest
		}
	}
	return g.rank
}

func (g *simplex) other(a int32, v int) int {
	if e := &g.arcs[a]; e.tail == v {
		return e.head
	} else {
		return e.tail
	}
}

// reach gives the nodes of the joined part of a node, and notes them as seen.
func (g *simplex) reach(v int, seen []bool) []int {
	nodes := []int{v}
	seen[v] = true
	for i := 0; i < len(nodes); i++ {
		for _, a := range g.adj[nodes[i]] {
			if u := g.other(a, nodes[i]); !seen[u] {
				seen[u] = true
				nodes = append(nodes, u)
			}
		}
	}
	return nodes
}

// improve grows a tight spanning tree over the nodes and pivots until no cut is negative.
func (g *simplex) improve(nodes []int) {
	if len(nodes) < 2 {
		return
	}
	arcs := make([]int32, 0, len(nodes)*2)
	for _, v := range nodes {
		for _, a := range g.adj[v] {
			if g.arcs[a].tail == v {
				arcs = append(arcs, a)
			}
		}
	}
	in := make([]bool, g.n)
	tree := []int{nodes[0]}
	in[nodes[0]] = true
	for scan := 0; len(tree) < len(nodes); {
		for ; scan < len(tree); scan++ {
			v := tree[scan]
			for _, a := range g.adj[v] {
				if u := g.other(a, v); !in[u] && g.slack(a) == 0 {
					in[u] = true
					g.inTree[a] = true
					tree = append(tree, u)
				}
			}
		}
		if len(tree) == len(nodes) {
			break
		}
		best, slack := int32(-1), 0
		for _, a := range arcs {
			if e := &g.arcs[a]; in[e.tail] != in[e.head] {
				if s := g.slack(a); best < 0 || s < slack {
					best, slack = a, s
				}
			}
		}
		if in[g.arcs[best].head] {
			slack = -slack
		}
		for _, v := range tree {
			g.rank[v] += slack
		}
		scan = 0
	}
	g.root(nodes[0])
	next := 0
	for range 20*len(nodes) + 200 {
		leave := int32(-1)
		worst := 0
		// Look at a few candidates from where the last search ended.
		for seen, tried := 0, 0; tried < len(arcs); tried++ {
			a := arcs[next]
			next = (next + 1) % len(arcs)
			if !g.inTree[a] {
				continue
			}
			if c := g.cut(a); c < worst {
				leave, worst = a, c
				if seen++; seen > 8 {
					break
				}
			}
		}
		if leave < 0 {
			return
		}
		g.pivot(leave, arcs, nodes[0])
	}
}

// root orders the tree from its root and reckons the cut of every tree arc as the imbalance of the subtree below it.
func (g *simplex) root(r int) {
	g.order = g.order[:0]
	g.parent[r] = -1
	type frame struct {
		v int
		i int
	}
	stack := []frame{{r, 0}}
	g.low[r] = 1
	lim := int32(1)
	g.order = append(g.order, int32(r))
	g.cuts[r] = g.imbalance[r]
	for len(stack) > 0 {
		f := &stack[len(stack)-1]
		if f.i < len(g.adj[f.v]) {
			a := g.adj[f.v][f.i]
			f.i++
			if !g.inTree[a] || a == g.parent[f.v] {
				continue
			}
			u := g.other(a, f.v)
			g.parent[u] = a
			g.low[u] = lim
			g.cuts[u] = g.imbalance[u]
			g.order = append(g.order, int32(u))
			stack = append(stack, frame{u, 0})
			continue
		}
		g.lim[f.v] = lim
		lim++
		if a := g.parent[f.v]; a >= 0 {
			g.cuts[g.other(a, f.v)] += g.cuts[f.v]
		}
		stack = stack[:len(stack)-1]
	}
}

func (g *simplex) child(a int32) int {
	if e := &g.arcs[a]; g.parent[e.tail] == a {
		return e.tail
	} else {
		return e.head
	}
}

func (g *simplex) cut(a int32) int {
	c := g.child(a)
	if g.arcs[a].tail == c {
		return g.cuts[c]
	}
	return -g.cuts[c]
}

func (g *simplex) pivot(leave int32, arcs []int32, r int) {
	c := g.child(leave)
	below := func(v int) bool { return g.low[c] <= g.lim[v] && g.lim[v] <= g.lim[c] }
	childIsTail := g.arcs[leave].tail == c
	enter, slack := int32(-1), 0
	for _, a := range arcs {
		if g.inTree[a] {
			continue
		}
		e := &g.arcs[a]
		// The entering arc runs from the head's part to the tail's part.
		tailBelow, headBelow := below(e.tail), below(e.head)
		if tailBelow == headBelow || headBelow != childIsTail {
			continue
		}
		if s := g.slack(a); enter < 0 || s < slack {
			enter, slack = a, s
		}
	}
	if enter < 0 {
		// A weight without a bound cannot occur with weights that are not negative; leave the tree as it is.
		return
	}
	if slack > 0 {
		shift := slack
		if childIsTail {
			shift = -slack
		}
		for _, v := range g.order {
			if below(int(v)) {
				g.rank[v] += shift
			}
		}
	}
	g.inTree[leave], g.inTree[enter] = false, true
	g.root(r)
}
