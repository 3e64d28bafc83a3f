package engine

import (
	"os"
	"runtime/debug"
)

// How far the heap may grow before it is collected: to five times what lives, and softly to what a check of 100,000 components takes
// at most, see README.md.
const (
	heapGrowth = 400 // percent
	heapBound  = 1 << 30
)

// CollectSeldom is for programs that check designs. A check makes much that dies with it, beside a design that lives: the collector
// would look through all of that design two or three times to find out. What the environment says of the collector, by GOGC or
// GOMEMLIMIT, goes before. It returns what sets all back.
func CollectSeldom() (back func()) {
	for _, name := range [...]string{"GOGC", "GOMEMLIMIT"} {
		if _, set := os.LookupEnv(name); set {
			return func() {}
		}
	}
	growth, bound := debug.SetGCPercent(heapGrowth), debug.SetMemoryLimit(heapBound)
	return func() {
		debug.SetGCPercent(growth)
		debug.SetMemoryLimit(bound)
	}
}
