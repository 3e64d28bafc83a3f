package flowpath

import (
	"fmt"
	"slices"
)

// Groups says which barriers share a cause. An arc may belong to any number of
// groups. It never changes after it was built.
type Groups struct {
	g     *Graph
	start []int32
	arcs  []int32
}

// NewGroups builds groups 0..numGroups-1 (numGroups up to MaxSize) from pairs:
// arcs[i] belongs to groups[i]. Equal lengths, up to MaxSize; pairs may come in
// any order and may repeat. An arc without a group shares its cause with
// nothing, itself included: give a barrier a group of its own if its failing
// alone is to be asked about.
//
// O(numGroups + pairs), and O(pairs log pairs) within a group whose arcs come
// out of order.
func NewGroups(g *Graph, numGroups int, arcs, groups []int32) (*Groups, error) {
	if g == nil {
		return nil, ErrNoWays
	}
	if len(arcs) != len(groups) {
		return nil, fmt.Errorf("flowpath: %d arcs but %d groups; each pair needs one of both", len(arcs), len(groups))
	}
	if numGroups < 0 {
		return nil, fmt.Errorf("flowpath: %d groups; the number of groups is zero or more", numGroups)
	}
	if numGroups > MaxSize || len(arcs) > MaxSize {
		return nil, fmt.Errorf("%w: %d groups and %d pairs, at most %d of each", ErrSize, numGroups, len(arcs), MaxSize)
	}
	gr := &Groups{g: g, start: make([]int32, numGroups+2), arcs: make([]int32, len(arcs))}
	for i, a := range arcs {
		if uint32(a) >= uint32(len(g.from)) {
			return nil, fmt.Errorf("flowpath: pair %d names arc %d, outside 0..%d", i, a, len(g.from)-1)
		}
		if uint32(groups[i]) >= uint32(numGroups) {
			return nil, fmt.Errorf("flowpath: pair %d names group %d, outside 0..%d", i, groups[i], numGroups-1)
		}
		gr.start[groups[i]+2]++
	}
	startsAhead(gr.start)
	for i, a := range arcs {
		k := groups[i] + 1
		gr.arcs[gr.start[k]] = a
		gr.start[k]++
	}
	gr.start = gr.start[:numGroups+1]
	for k := range int32(numGroups) {
		if list := gr.Arcs(k); !slices.IsSorted(list) {
			slices.Sort(list)
		}
	}
	return gr, nil
}

// Count returns the number of groups.
func (gr *Groups) Count() int { return len(gr.start) - 1 }

// Arcs returns the arcs of a group in ascending order, read only; nil for a
// group that does not exist.
func (gr *Groups) Arcs(group int32) []int32 {
	if group < 0 || int(group) >= gr.Count() {
		return nil
	}
	return gr.arcs[gr.start[group]:gr.start[group+1]]
}
