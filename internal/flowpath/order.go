package flowpath

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
	a := &Automaton{states: 3}
	for state := range uint8(3) {
		for label := range 256 {
			after := state
			switch {
			case uint8(label)&mark != 0:
				after = SinceMissing
			case uint8(label)&wanted != 0 && state == SinceMissing:
				after = SinceHolds
			}
			a.next[state][label] = after
		}
	}
	return a
}
