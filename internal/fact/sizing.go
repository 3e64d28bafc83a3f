package fact

import (
	"sync"
	"sync/atomic"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/unitop"
)

// sizingMemo is what the sizing facts compute once.
type sizingMemo struct {
	arcs     lazy[flowArcs]
	gas      lazy[gasNet]
	perCase  lazy[caseMemo]
	running  lazy[[]bool]
	terms    []caseTerms // taken from lots; nil where none were
	tableOf  lazy[table[readTable]]
	taps     lazy[taps]
	users    lazy[map[int32][]int32]
	feeds    lazy[table[Number]]
	paths    sync.Pool // of *pathRoom
	normal   lazy[normalRuns]
	ventsOn  lazy[map[int32][]int32]
	airUsers lazy[map[int32][]int32]

	coolingAstray lazy[flowpath.Reach]
	gassy         lazy[flowpath.Reach]

	tableCount atomic.Int64
	tables     answers[string, *injectorTable]
	rows       answers[string, *unitop.OutputRows]
	cells      lazy[table[*cellState]]
	coolantOf  answers[int32, coolant]
	solved     answers[string, [][]solvedInjector]
	logs       answers[ctPoint, ctLog]
	contact    answers[contactPoint, contactAnswer]
	media      lazy[media]

	contactWater answers[float64, *unitop.ContactWater] // by temperature

	drawn   answers[drawKey, drawAnswer]
	deepest answers[drawKey, drawAnswer]
	inlets  answers[drawKey, float64]

	keepOpen bool // see World.KeepOpen
}
