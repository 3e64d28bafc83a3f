package flowpath

import "fmt"

// DeadEnds finds the nodes that lead nowhere else: what a passage leaves behind
// and only that passage can be left by. Directions play no part.
type DeadEnds struct {
	degree []int32
	ends   []int32
	dead   Set
}

// Sweep looks at the passages of which open marks at least one arc (one mark
// for each arc). Terminals, such as the boundaries of the diagram and closed
// vessels, are no dead ends and end none; nil means that there are none,
// otherwise the set's size is the number of nodes. Loops at one node do not
// count.
//
// O(n+m).
func (d *DeadEnds) Sweep(g *Graph, open []bool, terminals *Set) error {
	d.ends, d.degree = d.ends[:0], d.degree[:0]
	d.dead.resize(0)
	if g == nil {
		return ErrNoWays
	}
	if err := g.checkArcBools(open); err != nil {
		return err
	}
	if terminals != nil && terminals.size != int(g.nodes) {
		return fmt.Errorf("flowpath: set of terminals has size %d in a graph of %d nodes", terminals.size, g.nodes)
	}
	n := int(g.nodes)
	d.degree = sized(d.degree, n)
	clear(d.degree)
	d.dead.resize(n)
	for a := range g.from {
		if d.passage(g, open, int32(a)) {
			d.degree[g.from[a]]++
			d.degree[g.to[a]]++
		}
	}
	for v, k := range d.degree {
		if k <= 1 && !terminals.Has(int32(v)) {
			d.ends = append(d.ends, int32(v))
		}
	}
	for _, end := range d.ends {
		d.peel(g, open, end, terminals)
	}
	return nil
}

// passage tells whether the arc stands for an open passage: of twins only the
// lower one does.
func (d *DeadEnds) passage(g *Graph, open []bool, a int32) bool {
	t := g.twinOf(a)
	if g.from[a] == g.to[a] || t != None && t < a {
		return false
	}
	return open[a] || t != None && open[t]
}

// peel takes away a node with at most one passage left, then the node behind
// that passage if it has become such a node, and so on.
func (d *DeadEnds) peel(g *Graph, open []bool, v int32, terminals *Set) {
	for v != None && !d.dead.Has(v) && d.degree[v] <= 1 && !terminals.Has(v) {
		d.dead.Add(v)
		next := None
		for _, row := range [2]*rows{&g.out, g.inward()} {
			for _, h := range row.half[row.start[v]:row.start[v+1]] {
				if d.passage(g, open, h.arc) && !d.dead.Has(h.node) {
					d.degree[h.node]--
					next = h.node
				}
			}
		}
		v = next
	}
}

// Ends returns, in ascending order, the nodes with at most one passage that are
// no terminals.
func (d *DeadEnds) Ends() []int32 { return d.ends }

// Dead tells whether the node is in a dead leg: it is an end, or all that is
// behind it but for one passage are dead legs.
func (d *DeadEnds) Dead(node int32) bool { return d.dead.Has(node) }

// Nodes returns the nodes in dead legs. It is read only and stays valid until
// the next Sweep.
func (d *DeadEnds) Nodes() *Set { return &d.dead }
