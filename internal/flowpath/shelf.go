package flowpath

import (
	"math/bits"
	"reflect"
)

// Shelf lends arrays to the searches over one graph after another, so that each need not make its own. It is not safe for concurrent
// use, and so neither are graphs that borrow of it.
type Shelf struct{ drawers map[reflect.Type]drawer }

// drawer holds arrays of one type.
type drawer interface{ takeBack() }

// TakeBack ends all loans: no graph that borrowed, and nothing that was found in it, may be used any more.
func (s *Shelf) TakeBack() {
	for _, d := range s.drawers {
		d.takeBack()
	}
}

// Borrow lets what searches the graph take its arrays of a shelf. It comes before the first search.
func (g *Graph) Borrow(s *Shelf) { g.shelf = s }

// arrays are those of one type by the powers of two that they have room for.
type arrays[T any] struct{ free, lent [bits.UintSize][][]T }

func (a *arrays[T]) takeBack() {
	for size, lent := range a.lent {
		a.free[size] = append(a.free[size], lent...)
		a.lent[size] = lent[:0]
	}
}

// lent is [sized] for what searches a graph: where s is too small, an array of the graph's shelf.
func lent[T any](g *Graph, s []T, n int) []T {
	if cap(s) >= n || g.shelf == nil {
		return sized(s, n)
	}
	if g.shelf.drawers == nil {
		g.shelf.drawers = map[reflect.Type]drawer{}
	}
	of := reflect.TypeFor[T]()
	a, _ := g.shelf.drawers[of].(*arrays[T])
	if a == nil {
		a = &arrays[T]{}
		g.shelf.drawers[of] = a
	}
	size := bits.Len(uint(n - 1))
	if k := len(a.free[size]) - 1; k >= 0 {
		s = a.free[size][k]
		a.free[size] = a.free[size][:k]
	} else {
		s = make([]T, 1<<size)
	}
	a.lent[size] = append(a.lent[size], s)
	return s[:n]
}
