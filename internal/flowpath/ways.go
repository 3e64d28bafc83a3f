package flowpath

import (
	"errors"
	"fmt"
	"slices"
)

// What an arc is to a search.
const (
	// Open is a way that nothing holds.
	Open uint8 = 0
	// Barrier is a way only through one barrier.
	Barrier uint8 = 1
	// Blocked is no way.
	Blocked uint8 = 255
)

// ErrNoWays says that a question was put without a graph, a Ways or an earlier
// answer that it builds on.
var ErrNoWays = errors.New("flowpath: nothing to search; give a graph and its ways built by their constructors")

// Ways is a graph together with what each arc is: Open, Barrier or Blocked.
// It never changes after it was built.
type Ways struct {
	g    *Graph
	cost []uint8
}

// NewWays binds costs, one for each arc of g and each of them Open, Barrier or
// Blocked, to the graph. Costs are copied. O(m).
func NewWays(g *Graph, costs []uint8) (*Ways, error) {
	if g == nil {
		return nil, ErrNoWays
	}
	if len(costs) != len(g.from) {
		return nil, fmt.Errorf("flowpath: %d costs for %d arcs; give one for each arc", len(costs), len(g.from))
	}
	for a, c := range costs {
		if c > Barrier && c != Blocked {
			return nil, costError(a, c)
		}
	}
	return &Ways{g: g, cost: slices.Clone(costs)}, nil
}

// JudgeWays builds ways from a choice of Open, Barrier or Blocked for each arc,
// asked once in order of arcs. O(m).
func JudgeWays(g *Graph, judge func(arc int32) uint8) (*Ways, error) {
	if g == nil || judge == nil {
		return nil, ErrNoWays
	}
	cost := make([]uint8, len(g.from))
	for a := range cost {
		c := judge(int32(a))
		if c > Barrier && c != Blocked {
			return nil, costError(a, c)
		}
		cost[a] = c
	}
	return &Ways{g: g, cost: cost}, nil
}

func costError(arc int, cost uint8) error {
	return fmt.Errorf("flowpath: arc %d has cost %d; a cost is Open (%d), Barrier (%d) or Blocked (%d)", arc, cost, Open, Barrier, Blocked)
}

// Without returns ways on which the given arcs are blocked too. An arc outside
// the graph is blocked anyway. O(m).
func (w *Ways) Without(arcs ...int32) *Ways {
	cost := slices.Clone(w.cost)
	for _, a := range arcs {
		if uint32(a) < uint32(len(cost)) {
			cost[a] = Blocked
		}
	}
	return &Ways{g: w.g, cost: cost}
}

// Graph returns the graph that the costs belong to.
func (w *Ways) Graph() *Graph { return w.g }

// Cost returns what an arc is; an arc outside the graph is Blocked.
func (w *Ways) Cost(arc int32) uint8 {
	if uint32(arc) >= uint32(len(w.cost)) {
		return Blocked
	}
	return w.cost[arc]
}

// Avoid says what a search must not touch. The zero value avoids nothing but
// blocked arcs.
type Avoid struct {
	// Nodes are never entered; a source among them reaches nothing. Nil means
	// none, otherwise its size is the number of nodes.
	Nodes *Set
	// Arcs are never walked. Nil means none, otherwise its size is the number
	// of arcs.
	Arcs *Set
	// Barriers keeps the search on open arcs alone.
	Barriers bool
}

func (a Avoid) check(g *Graph) error {
	if a.Nodes != nil && a.Nodes.size != int(g.nodes) {
		return fmt.Errorf("flowpath: set of avoided nodes has size %d in a graph of %d nodes", a.Nodes.size, g.nodes)
	}
	if a.Arcs != nil && a.Arcs.size != len(g.from) {
		return fmt.Errorf("flowpath: set of avoided arcs has size %d in a graph of %d arcs", a.Arcs.size, len(g.from))
	}
	return nil
}

// highest returns the highest cost that may still be walked.
func (a Avoid) highest() uint8 {
	if a.Barriers {
		return Open
	}
	return Barrier
}

// arcWords returns the words of the avoided arcs, nil when there are none.
func (a Avoid) arcWords() []uint64 {
	if a.Arcs == nil {
		return nil
	}
	return a.Arcs.words
}

// LimitError says that an answer would have taken more work than was allowed.
type LimitError struct {
	// Question is what was asked.
	Question string
	// Allowed is the limit that was set, in units that the question states.
	Allowed int64
}

// Error implements error.
func (e *LimitError) Error() string {
	return fmt.Sprintf("flowpath: %s needs more than the allowed work of %d; raise the limit or ask for less", e.Question, e.Allowed)
}
