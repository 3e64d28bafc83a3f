package flowpath

import (
	"fmt"
	"math"
	"math/bits"
)

// LevelLimit is the most that an arc passes, and what is lost on it.
type LevelLimit struct {
	Value float64
	// Drop is taken off what passes, 0 or more, before the limit.
	Drop float64
	// MayFail lets the arc pass the whole value at the cost of a failure. Such an
	// arc is no barrier.
	MayFail bool
}

// Limits are what single arcs of a graph pass at most. They never change after
// they were built.
type Limits struct {
	g    *Graph
	arcs Set
	// rank is, for each word of the set, the place in list of its first arc.
	rank []int32
	list []LevelLimit
	// fails tells whether any of them may fail.
	fails bool
}

// NewLimits binds limits to arcs of the graph: limits[i] is that of arcs[i].
// Arcs are in ascending order. The list of limits is kept and must not change.
// O(m/64 + number of limits).
func NewLimits(g *Graph, arcs []int32, limits []LevelLimit) (*Limits, error) {
	if g == nil {
		return nil, ErrNoWays
	}
	if len(arcs) != len(limits) {
		return nil, fmt.Errorf("flowpath: %d arcs but %d limits; give one for each arc", len(arcs), len(limits))
	}
	m := len(g.from)
	l := &Limits{g: g, list: limits}
	l.arcs.resize(m)
	for i, a := range arcs {
		limit := &l.list[i]
		if uint32(a) >= uint32(m) || math.IsNaN(limit.Value) {
			return nil, fmt.Errorf("flowpath: limit %g of arc %d; arcs are 0..%d and limits are numbers", limit.Value, a, m-1)
		}
		if i > 0 && a <= arcs[i-1] {
			return nil, fmt.Errorf("flowpath: the limit of arc %d comes after that of arc %d; give them in ascending order, one for each arc", a, arcs[i-1])
		}
		if !(limit.Drop >= 0) || math.IsInf(limit.Drop, 1) {
			return nil, fmt.Errorf("flowpath: drop %g on arc %d; it is a number of 0 or more", limit.Drop, a)
		}
		l.fails = l.fails || limit.MayFail
		l.arcs.Add(a)
	}
	l.rank = make([]int32, len(l.arcs.words))
	before := 0
	for i, word := range l.arcs.words {
		l.rank[i] = int32(before)
		before += bits.OnesCount64(word)
	}
	return l, nil
}

// of returns the limit of an arc; nil where it has none.
func (l *Limits) of(arc int32) *LevelLimit {
	if l == nil {
		return nil
	}
	word, bit := l.arcs.words[arc>>6], uint64(1)<<(uint(arc)&63)
	if word&bit == 0 {
		return nil
	}
	return &l.list[int(l.rank[arc>>6])+bits.OnesCount64(word&(bit-1))]
}

// check tells what is wrong with asking them of ways.
func (l *Limits) check(ways *Ways) error {
	if l == nil {
		return nil
	}
	if l.g != ways.g {
		return ErrNoWays
	}
	if l.fails {
		for arc := range int32(len(ways.cost)) {
			if limit := l.of(arc); limit != nil && limit.MayFail && ways.cost[arc] == Barrier {
				return fmt.Errorf("flowpath: the limit of arc %d may fail, but the arc is a barrier; it can be one of both", arc)
			}
		}
	}
	return nil
}
