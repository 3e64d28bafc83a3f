package flowpath

import (
	"fmt"
	"slices"
)

// MaxStates is the highest number of states of an Automaton.
const MaxStates = 8

// dead is the state from which a path is not followed further.
const dead = uint8(255)

// Automaton is a small state machine that reads the labels that a path meets
// and remembers what the question needs to know. It never changes after it was
// built.
type Automaton struct {
	next   [MaxStates][256]uint8
	states int
	start  uint8
}

// NewAutomaton builds a machine with states 0..states-1 (1..MaxStates). step is
// called once for each state and label and returns the state after meeting the
// label, or a negative number if such a path is not to be followed. A label of
// 0 says that there is nothing to meet; most machines leave the state as it is.
func NewAutomaton(states, start int, step func(state int, label uint8) int) (*Automaton, error) {
	if states < 1 || states > MaxStates {
		return nil, fmt.Errorf("flowpath: automaton of %d states; the number of states is 1..%d", states, MaxStates)
	}
	if start < 0 || start >= states {
		return nil, fmt.Errorf("flowpath: automaton starts in state %d of states 0..%d", start, states-1)
	}
	a := &Automaton{states: states, start: uint8(start)}
	for s := range states {
		for label := range 256 {
			after := step(s, uint8(label))
			if after >= states {
				return nil, fmt.Errorf("flowpath: automaton goes from state %d at label %#02x to state %d of states 0..%d", s, label, after, states-1)
			}
			if after < 0 {
				a.next[s][label] = dead
			} else {
				a.next[s][label] = uint8(after)
			}
		}
	}
	return a, nil
}

// Labels are what a path meets: one label for each node and each arc, read in
// the order in which the path goes through them, the label of its first node
// included. Nil stands for labels of 0 throughout.
type Labels struct {
	Nodes, Arcs []uint8
}

// Turning says whether a path may leave a node over the twin of the arc by
// which it came.
type Turning uint8

const (
	// NoTurnBack leaves out paths that walk a passage and come straight back.
	// What hangs on a dead end is then met only by paths that end there.
	NoTurnBack Turning = iota
	// MayTurnBack lets paths turn anywhere. It is a little cheaper, and no
	// different where the machine does not care what lies on a dead end.
	MayTurnBack
)

// Runs finds, for every node, the states in which an Automaton can arrive there
// when it starts at any of several sources and reads what a path meets. Paths
// may visit a node again, by way of a loop; a state that only such a path
// arrives in is reported too, so the answer errs on the side of more states.
type Runs struct {
	g      *Graph
	states int
	turn   Turning

	marks    []runMark
	arrivals []arrivals // of each node and state
	queue    []runEntry
	noLabels []uint8
}

// runMark keeps together what is asked at every arrival at a node.
type runMark struct {
	label   uint8
	reached uint8 // one bit for each state arrived in
	settled uint8 // the states that need no second arrival
}

// runEntry is an arrival that the search has yet to go on from: the node, the
// mark second and the state, and the twin of the arc that it came by, or None.
type runEntry struct {
	place uint32
	back  int32
}

// arrivals are how a node was come to in a state: the arc and, in the lowest
// three bits, the state before it. From the first arrival the search goes on
// over all arcs but the twin of the one it came by, and from the second, which
// came by another arc, over that twin alone. A third has nothing to add.
type arrivals struct{ first, second uint32 }

// origin stands for an arrival at a source.
const origin = ^uint32(0)

// second marks an entry of the queue as a second arrival; its back is then the
// only arc to go on over.
const second = 8

// Sweep runs the automaton from all sources at once, without what avoid names.
//
// O(n + states (n+m)).
func (r *Runs) Sweep(ways *Ways, a *Automaton, labels Labels, sources []int32, turn Turning, avoid Avoid) error {
	r.g, r.marks = nil, r.marks[:0]
	if ways == nil || a == nil {
		return ErrNoWays
	}
	g := ways.g
	n, m := int(g.nodes), len(g.from)
	if labels.Nodes != nil && len(labels.Nodes) != n {
		return fmt.Errorf("flowpath: %d node labels for %d nodes; give one for each node, or nil", len(labels.Nodes), n)
	}
	if labels.Arcs != nil && len(labels.Arcs) != m {
		return fmt.Errorf("flowpath: %d arc labels for %d arcs; give one for each arc, or nil", len(labels.Arcs), m)
	}
	if turn > MayTurnBack {
		return fmt.Errorf("flowpath: turning %d; it is NoTurnBack or MayTurnBack", turn)
	}
	if err := g.checkNodes("source", sources); err != nil {
		return err
	}
	if err := avoid.check(g); err != nil {
		return err
	}
	if len(r.noLabels) < max(n, m) {
		r.noLabels = make([]uint8, max(n, m))
	}
	if labels.Nodes == nil {
		labels.Nodes = r.noLabels[:n]
	}
	if labels.Arcs == nil {
		labels.Arcs = r.noLabels[:m]
	}
	r.g, r.states, r.turn = g, a.states, turn
	r.marks = sized(r.marks, n)
	for v, label := range labels.Nodes {
		r.marks[v] = runMark{label: label}
	}
	r.arrivals = sized(r.arrivals, n*a.states)
	r.search(ways, a, labels.Arcs, sources, avoid)
	return nil
}

func (r *Runs) search(ways *Ways, a *Automaton, arcLabels []uint8, sources []int32, avoid Avoid) {
	row, cost, states := &r.g.out, ways.cost, a.states
	marks, come, queue := r.marks, r.arrivals, r.queue[:0]
	highest, closed, mayTurn := avoid.highest(), avoid.arcWords(), r.turn == MayTurnBack
	for _, v := range sources {
		s := a.next[a.start][marks[v].label]
		if s != dead && marks[v].reached>>s&1 == 0 && !avoid.Nodes.Has(v) {
			marks[v].reached |= 1 << s
			marks[v].settled |= 1 << s
			come[int(v)*states+int(s)].first = origin
			queue = append(queue, runEntry{uint32(v)<<4 | uint32(s), None})
		}
	}
	var turned [1]half
	for q := 0; q < len(queue); q++ {
		u, before, back := queue[q].place>>4, queue[q].place&7, queue[q].back
		ahead := row.half[row.start[u]:row.start[u+1]]
		if queue[q].place&second != 0 {
			turned[0] = half{r.g.to[back], back}
			back, ahead = None, turned[:]
		}
		for _, h := range ahead {
			if h.arc == back || cost[h.arc] > highest || closed != nil && closed[h.arc>>6]>>(uint(h.arc)&63)&1 != 0 {
				continue
			}
			s := a.next[before][arcLabels[h.arc]]
			if s == dead {
				continue
			}
			mark := &marks[h.node]
			s = a.next[s&7][mark.label]
			if s == dead || mark.settled>>s&1 != 0 || avoid.Nodes.Has(h.node) {
				continue
			}
			c, place := &come[int(h.node)*states+int(s)], uint32(h.node)<<4|uint32(s)
			if mark.reached>>s&1 == 0 {
				mark.reached |= 1 << s
				c.first = uint32(h.arc)<<3 | before
				t := r.g.twinOf(h.arc)
				if mayTurn || t == None {
					mark.settled |= 1 << s
					t = None
				}
				queue = append(queue, runEntry{place, t})
			} else if c.first>>3 != uint32(h.arc) {
				mark.settled |= 1 << s
				c.second = uint32(h.arc)<<3 | before
				queue = append(queue, runEntry{place | second, r.g.twinOf(int32(c.first >> 3))})
			}
		}
	}
	r.queue = queue
}

// States returns the states in which a path can arrive at the node, bit s for
// state s; 0 for a node that no path leads to.
func (r *Runs) States(node int32) uint8 {
	if uint32(node) >= uint32(len(r.marks)) {
		return 0
	}
	return r.marks[node].reached
}

// Wrong returns the lowest state outside good (bit s for state s) in which a
// path arrives at the node, and whether there is one. If there is none, every
// path to the node, if any leads there, arrives in a good state.
func (r *Runs) Wrong(node int32, good uint8) (state int, found bool) {
	bad := r.States(node) &^ good
	for s := range MaxStates {
		if bad>>s&1 != 0 {
			return s, true
		}
	}
	return 0, false
}

// Path returns the arcs of a path with the fewest arcs that arrives at the node
// in the given state, in the order in which they are walked, and whether there
// is one. The slice is the caller's. O(length).
func (r *Runs) Path(node int32, state int) ([]int32, bool) {
	if state < 0 || state >= r.states || r.States(node)>>state&1 == 0 {
		return nil, false
	}
	path := []int32{}
	for item := r.arrivals[int(node)*r.states+state].first; item != origin; {
		arc := int32(item >> 3)
		path = append(path, arc)
		before := r.arrivals[int(r.g.from[arc])*r.states+int(item&7)]
		item = before.first
		if r.turn == NoTurnBack && item != origin && r.g.twinOf(int32(item>>3)) == arc {
			item = before.second // only a second arrival goes on over this arc
		}
	}
	slices.Reverse(path)
	return path, true
}
