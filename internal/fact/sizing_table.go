package fact

// table keeps something of some components, found by their index.
type table[T any] struct {
	place []int32 // of each component, one more than its place in list; 0 where there is nothing of it
	list  []T
}

// newTable makes room for all components of the plant, and for what is kept of many of them.
func newTable[T any](w *World, many int) table[T] {
	return table[T]{make([]int32, len(w.Plant.Components)), make([]T, 0, many)}
}

// of gives what is kept of a component, else the zero value.
func (t *table[T]) of(component int32) T {
	if i := t.place[component]; i > 0 {
		return t.list[i-1]
	}
	var none T
	return none
}

// find gives what is kept of a component, and whether anything is.
func (t *table[T]) find(component int32) (T, bool) { return t.of(component), t.has(component) }

// has tells whether anything is kept of a component.
func (t *table[T]) has(component int32) bool { return t.place[component] > 0 }

// at gives the place to write to. It holds until the next component is added.
func (t *table[T]) at(component int32) *T {
	if t.place[component] == 0 {
		var none T
		t.list = append(t.list, none)
		t.place[component] = int32(len(t.list))
	}
	return &t.list[t.place[component]-1]
}
