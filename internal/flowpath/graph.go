package flowpath

import (
	"errors"
	"fmt"
	"slices"
	"sync"
)

// MaxSize is the highest number of nodes, and of arcs, that a Graph takes. Two
// or three bits of an int32 stay free for the state that some searches carry.
const MaxSize = 1 << 28

// None stands where there is no node, no arc or no source.
const None int32 = -1

// ErrSize says that a graph or a list is larger than the package can number.
var ErrSize = errors.New("flowpath: too large")

// Direction says along which end of the arcs a search walks.
type Direction uint8

const (
	// Forward walks from the given nodes along the arcs: what they lead to.
	Forward Direction = iota
	// Backward walks from the given nodes against the arcs: what leads to
	// them. Paths are read out in the direction of the arcs all the same, from
	// the node asked about to the given node.
	Backward
)

// half is one entry of a row: the node at the far end of an arc, and the arc.
type half struct{ node, arc int32 }

// rows is a compressed sparse row table of half arcs, each row in ascending
// order of arc.
type rows struct {
	start []int32
	half  []half
}

// Graph is a directed multigraph in compressed sparse rows. Loops and parallel
// arcs are allowed. It never changes after it was built.
type Graph struct {
	from, to []int32
	twin     []int32 // nil where arcs 2p and 2p+1 are twins
	out      rows
	nodes    int32
	// in is built when a search first walks backwards: many graphs never see one.
	inOnce sync.Once
	in     rows
	// paired is true when every arc has a twin, so that the outgoing row of a
	// node alone lists all that touches it.
	paired bool
	shelf  *Shelf // of which searches borrow; nil where they make their own arrays
}

// NewGraph builds a graph of numNodes nodes (0 to MaxSize) and one arc for each
// entry of from and to (equal lengths, each id in 0..numNodes-1). The id of an
// arc is its place in the input.
//
// A physical passage that can be walked both ways is two arcs. twin names for
// each arc the arc of the same passage in the other direction, or None; nil
// means that no arc has one. Twins name each other and have opposite ends;
// questions that see passages (zones, bridges, turning back) need them.
//
// The arrays are copied. Time and memory O(n+m).
func NewGraph(numNodes int, from, to, twin []int32) (*Graph, error) {
	if len(from) != len(to) {
		return nil, fmt.Errorf("flowpath: %d arc tails but %d arc heads; each arc needs one of both", len(from), len(to))
	}
	if twin != nil && len(twin) != len(from) {
		return nil, fmt.Errorf("flowpath: %d twins for %d arcs; give one for each arc, or nil", len(twin), len(from))
	}
	if err := checkSize(numNodes, len(from)); err != nil {
		return nil, err
	}
	g := &Graph{nodes: int32(numNodes), from: slices.Clone(from), to: slices.Clone(to)}
	if twin == nil {
		g.twin = make([]int32, len(from))
		for a := range g.twin {
			g.twin[a] = None
		}
	} else {
		g.twin = slices.Clone(twin)
	}
	for a := range g.from {
		if uint32(g.from[a]) >= uint32(numNodes) || uint32(g.to[a]) >= uint32(numNodes) {
			return nil, fmt.Errorf("flowpath: arc %d goes from node %d to node %d, outside 0..%d", a, g.from[a], g.to[a], numNodes-1)
		}
	}
	g.paired = true
	for a, t := range g.twin {
		if t == None {
			g.paired = false
			continue
		}
		if uint32(t) >= uint32(len(g.twin)) || int(t) == a {
			return nil, fmt.Errorf("flowpath: arc %d names twin %d, which is not another arc of 0..%d", a, t, len(from)-1)
		}
		if int(g.twin[t]) != a || g.from[t] != g.to[a] || g.to[t] != g.from[a] {
			return nil, fmt.Errorf("flowpath: arcs %d and %d are no twins; twins name each other and have opposite ends", a, t)
		}
	}
	g.out = makeRows(numNodes, g.from, g.to)
	return g, nil
}

// FromPassages builds a graph in which every passage can be walked both ways:
// passage p between nodes a[p] and b[p] becomes arc 2p from a[p] to b[p] and
// its twin, arc 2p+1, from b[p] to a[p]. Ranges, errors and cost are those of
// NewGraph.
func FromPassages(numNodes int, a, b []int32) (*Graph, error) {
	if len(a) != len(b) {
		return nil, fmt.Errorf("flowpath: %d first ends but %d second ends; each passage needs one of both", len(a), len(b))
	}
	if err := checkSize(numNodes, len(a)); err != nil {
		return nil, err
	}
	if err := checkSize(numNodes, 2*len(a)); err != nil {
		return nil, err
	}
	m := 2 * len(a)
	arcs := make([]int32, 2*m)
	g := &Graph{nodes: int32(numNodes), from: arcs[:m:m], to: arcs[m:], paired: true}
	for p := range a {
		u, v := a[p], b[p]
		if uint32(u) >= uint32(numNodes) || uint32(v) >= uint32(numNodes) {
			return nil, fmt.Errorf("flowpath: passage %d joins node %d to node %d, outside 0..%d", p, u, v, numNodes-1)
		}
		i := 2 * p
		g.from[i], g.to[i] = u, v
		g.from[i+1], g.to[i+1] = v, u
	}
	g.out = makeRows(numNodes, g.from, g.to)
	return g, nil
}

func checkSize(nodes, arcs int) error {
	if nodes < 0 {
		return fmt.Errorf("flowpath: %d nodes; the number of nodes is zero or more", nodes)
	}
	if nodes > MaxSize || arcs > MaxSize {
		return fmt.Errorf("%w: %d nodes and %d arcs, at most %d of each", ErrSize, nodes, arcs, MaxSize)
	}
	return nil
}

// inward returns the rows of the arcs that come to each node.
func (g *Graph) inward() *rows {
	g.inOnce.Do(func() { g.in = makeRows(int(g.nodes), g.to, g.from) })
	return &g.in
}

// startsAhead turns the numbers of entries of rows, kept two places ahead, into
// the places where the rows start, one ahead: a pass that fills row k counts
// start[k+1] up, and so leaves every start where it belongs.
func startsAhead(start []int32) {
	for i := 2; i < len(start); i++ {
		start[i] += start[i-1]
	}
}

// makeRows sorts the arcs by their key end.
func makeRows(n int, key, other []int32) rows {
	start := make([]int32, n+2)
	for _, u := range key {
		start[u+2]++
	}
	startsAhead(start)
	h := make([]half, len(key))
	for a, u := range key {
		h[start[u+1]] = half{other[a], int32(a)}
		start[u+1]++
	}
	return rows{start[:n+1], h}
}

// NumNodes returns the number of nodes.
func (g *Graph) NumNodes() int { return int(g.nodes) }

// NumArcs returns the number of arcs.
func (g *Graph) NumArcs() int { return len(g.from) }

// From returns the tail of an arc, or None for an arc outside the graph.
func (g *Graph) From(arc int32) int32 { return at(g.from, arc) }

// To returns the head of an arc, or None for an arc outside the graph.
func (g *Graph) To(arc int32) int32 { return at(g.to, arc) }

// Twin returns the arc of the same passage in the other direction, or None.
func (g *Graph) Twin(arc int32) int32 {
	if uint32(arc) >= uint32(len(g.from)) {
		return None
	}
	return g.twinOf(arc)
}

// twinOf is Twin of an arc that is in the graph.
func (g *Graph) twinOf(arc int32) int32 {
	if g.twin == nil {
		return arc ^ 1
	}
	return g.twin[arc]
}

// AppendNodes appends to dst the nodes that a path of arcs visits, its first
// node included, and returns dst. An empty path visits no node that it knows.
// O(length of the path).
func (g *Graph) AppendNodes(dst, path []int32) []int32 {
	if len(path) > 0 {
		dst = append(dst, g.From(path[0]))
	}
	for _, a := range path {
		dst = append(dst, g.To(a))
	}
	return dst
}

func (g *Graph) rows(dir Direction) *rows {
	if dir == Backward {
		return g.inward()
	}
	return &g.out
}

// tail returns the ends that a search in direction dir comes from.
func (g *Graph) tail(dir Direction) []int32 {
	if dir == Backward {
		return g.to
	}
	return g.from
}

// head returns the ends that a search in direction dir goes to.
func (g *Graph) head(dir Direction) []int32 {
	if dir == Backward {
		return g.from
	}
	return g.to
}

// checkNodes returns an error that names the first node outside the graph.
func (g *Graph) checkNodes(what string, nodes []int32) error {
	for i, v := range nodes {
		if uint32(v) >= uint32(g.nodes) {
			return fmt.Errorf("flowpath: %s %d is node %d, outside 0..%d", what, i, v, g.nodes-1)
		}
	}
	return nil
}

func (g *Graph) checkArcBools(open []bool) error {
	if len(open) != len(g.from) {
		return fmt.Errorf("flowpath: %d open marks for %d arcs; give one for each arc", len(open), len(g.from))
	}
	return nil
}

func checkDirection(dir Direction) error {
	if dir > Backward {
		return fmt.Errorf("flowpath: direction %d; it is Forward or Backward", dir)
	}
	return nil
}

func at(list []int32, i int32) int32 {
	if uint32(i) >= uint32(len(list)) {
		return None
	}
	return list[i]
}

// sized returns a slice of n elements that reuses the memory of s where it
// can. Its content is not defined.
func sized[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}

// fill sets every element to x.
func fill[T any](s []T, x T) {
	for i := range min(len(s), 64) {
		s[i] = x
	}
	// What is filled is copied behind itself, which moves whole lines of memory.
	for n := 64; n < len(s); n *= 2 {
		copy(s[n:], s[:n])
	}
}
