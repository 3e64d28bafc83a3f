package flowpath

import (
	"fmt"
	"math/bits"
	"slices"
)

// Set is a set of ids 0..size-1, one bit each.
type Set struct {
	words []uint64
	size  int
}

// NewSet returns an empty set for ids 0..size-1; a negative size counts as 0.
func NewSet(size int) *Set {
	size = max(size, 0)
	return &Set{words: make([]uint64, (size+63)/64), size: size}
}

// SetOf returns a set for ids 0..size-1 that holds the given ids. An id outside
// is an error. O(size/64 + number of ids).
func SetOf(size int, ids ...int32) (*Set, error) {
	s := NewSet(size)
	for _, id := range ids {
		if !s.Add(id) {
			return nil, fmt.Errorf("flowpath: id %d in a set of ids 0..%d", id, s.size-1)
		}
	}
	return s, nil
}

// Add puts an id into the set and tells whether the set has room for it.
func (s *Set) Add(id int32) bool {
	if uint(id) >= uint(s.size) {
		return false
	}
	s.words[id>>6] |= 1 << (uint(id) & 63)
	return true
}

// Remove takes an id out of the set; an id outside is not in it anyway.
func (s *Set) Remove(id int32) {
	if uint(id) < uint(s.size) {
		s.words[id>>6] &^= 1 << (uint(id) & 63)
	}
}

// Has tells whether the id is in the set. A nil set holds nothing.
func (s *Set) Has(id int32) bool {
	return s != nil && uint(id) < uint(s.size) && s.words[id>>6]>>(uint(id)&63)&1 != 0
}

// Size returns the number of ids that the set has room for.
func (s *Set) Size() int { return s.size }

// Len returns the number of ids in the set. O(size/64).
func (s *Set) Len() int {
	n := 0
	for _, w := range s.words {
		n += bits.OnesCount64(w)
	}
	return n
}

// Append appends the ids of the set to dst in ascending order and returns it.
// O(size/64 + number of ids).
func (s *Set) Append(dst []int32) []int32 {
	for i, w := range s.words {
		for w != 0 {
			dst = append(dst, int32(i*64+bits.TrailingZeros64(w)))
			w &= w - 1
		}
	}
	return dst
}

// Clone returns a copy of the set.
func (s *Set) Clone() *Set { return &Set{words: slices.Clone(s.words), size: s.size} }

// Clear empties the set.
func (s *Set) Clear() { clear(s.words) }

// resize makes the set an empty one for ids 0..size-1, reusing memory.
func (s *Set) resize(size int) {
	s.size = size
	s.words = sized(s.words, (size+63)/64)
	clear(s.words)
}
