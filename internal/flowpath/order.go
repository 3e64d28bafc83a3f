package flowpath

// States of the machine that Before builds.
const (
	// BeforeNeither: nothing of either label was met.
	BeforeNeither = 0
	// BeforeHolds: first was met, and then not before it.
	BeforeHolds = 1
	// BeforeBroken: then was met and first not before it.
	BeforeBroken = 2
)

// Before returns a machine that tells whether a place with a bit of first is
// met before any place with a bit of then. A place with both is no place before
// itself: it breaks the order.
func Before(first, then uint8) *Automaton {
	return build(3, func(state int, label uint8) int {
		switch {
		case state != BeforeNeither:
			return state
		case label&then != 0:
			return BeforeBroken
		case label&first != 0:
			return BeforeHolds
		}
		return state
	})
}

// Misordered returns the machine of Before that does not follow a path further
// once the order holds: enough to find where it is broken, and much quicker in
// a diagram in which it holds nearly everywhere.
func Misordered(first, then uint8) *Automaton {
	a := Before(first, then)
	for s := range a.states {
		for label, after := range a.next[s] {
			if after == BeforeHolds {
				a.next[s][label] = dead
			}
		}
	}
	return a
}

// States of the machine that Since builds.
const (
	// SinceNever: mark was not met.
	SinceNever = 0
	// SinceMissing: wanted was not met since mark was met last.
	SinceMissing = 1
	// SinceHolds: wanted was met since mark was met last.
	SinceHolds = 2
)

// Since returns a machine that tells whether a place with a bit of wanted lies
// between the last place with a bit of mark and the end of the path. A place
// with both counts as mark alone.
func Since(mark, wanted uint8) *Automaton {
	return build(3, func(state int, label uint8) int {
		switch {
		case label&mark != 0:
			return SinceMissing
		case label&wanted != 0 && state == SinceMissing:
			return SinceHolds
		}
		return state
	})
}

// build is for the machines of this file, whose states are in range.
func build(states int, step func(state int, label uint8) int) *Automaton {
	a := &Automaton{states: states}
	for s := range states {
		for label := range 256 {
			a.next[s][label] = uint8(step(s, uint8(label)))
		}
	}
	return a
}
