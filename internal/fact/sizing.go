package fact

import (
	"sync"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// sizingMemo is what the sizing facts compute once.
type sizingMemo struct {
	arcs     lazy[flowArcs]
	gas      lazy[gasNet]
	perCase  lazy[caseMemo]
	taps     lazy[taps]
	users    lazy[map[int32][]int32]
	feeds    lazy[map[int32]Number]
	ventsOn  lazy[map[int32][]int32]
	airUsers lazy[map[int32][]int32]

	tables  sync.Mutex
	tableOf map[*skidrulev1.VenturiInjector]*injectorTable
}
