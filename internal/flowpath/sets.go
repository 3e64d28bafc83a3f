package flowpath

// Sets are disjoint sets of the numbers from 0: what belongs together when
// joints are told in any order. The root of a set is its least member.
type Sets []int32

// NewSets gives n sets of one number each.
func NewSets(n int) Sets {
	s := make(Sets, n)
	s.Part()
	return s
}

// Part makes each number a set of its own again.
func (s Sets) Part() {
	for i := range s {
		s[i] = int32(i)
	}
}

// Root is the least member of the set that i belongs to; i lies below len(s).
// Close to O(1).
func (s Sets) Root(i int32) int32 {
	for s[i] != i {
		s[i] = s[s[i]]
		i = s[i]
	}
	return i
}

// Join makes one set of those of i and j. No entry is ever above its index.
func (s Sets) Join(i, j int32) {
	i, j = s.Root(i), s.Root(j)
	if i < j {
		s[j] = i
	} else {
		s[i] = j
	}
}
