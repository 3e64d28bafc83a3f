package fact

import (
	"context"
	"sync"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
)

// World holds a plant with everything that is computed of it, each sweep once and only when a fact asks for it. It is safe
// for concurrent use.
type World struct {
	Plant *plant.Plant
	Cases []operate.Case
	// StatedOnly lets facts rest on what the drawing states alone: no case is solved.
	StatedOnly bool
	until      context.Context
	shelf      *flowpath.Shelf
	whole      *World // of the plant of which this one's is a lot; nil where it is whole itself

	graphOnce sync.Once
	graph     *flowpath.Graph
	graphErr  error

	byKind    lazy[kindIndex]
	islands   lazy[islandIndex]
	sizes     answers[sizeSpelling, readSize] // of nominalSize
	lineSizes lazy[[]lineSize]
	joints    lazy[[]Joint]
	wayKinds  lazy[[]plant.Kind]
	signal    lazy[signalIndex]

	// What each topic computes once stands in a struct of its own beside its facts.
	backflow backflowMemo
	offGas   offGasMemo
	ratings  ratingsMemo
	sizing   sizingMemo
	feed     feedMemo
	trips    tripsMemo
	service  serviceMemo
	drawing  drawingMemo
	solved   solvedMemo

	solvedAll lazy[solvedExtremes]
}

// lazy computes a value once.
type lazy[T any] struct {
	once  sync.Once
	value *T
}

func (l *lazy[T]) get(compute func() *T) *T {
	l.once.Do(func() { l.value = compute() })
	return l.value
}

// NewWorld prepares a plant for facts.
func NewWorld(p *plant.Plant, cases []operate.Case) *World {
	return &World{Plant: p, Cases: cases, until: context.Background()}
}

// In gives the world of a lot of a plant no state of which is solved. What can only be told of the design as a whole is asked of w.
// Searches borrow of the shelf, which may be nil; with one the world is not safe for concurrent use.
func (w *World) In(lot *plant.Lot, shelf *flowpath.Shelf) *World {
	return &World{Plant: lot.Plant, Cases: operate.In(lot, w.Cases), StatedOnly: true, until: w.until, whole: w, shelf: shelf}
}

// Whole is the world of the whole plant: for most it is the world itself.
func (w *World) Whole() *World {
	if w.whole != nil {
		return w.whole
	}
	return w
}

// Until lets solving end with a context. Facts that rest on a case that was not solved for that reason are not known; whoever
// asked must look at the context before using the answers.
func (w *World) Until(ctx context.Context) { w.until = ctx }

// endedError is what pause panics with.
type endedError struct{ error }

// Contain turns the panic by which facts end with their context into the context's error. Who asks facts outside of rules defers it.
func Contain(err *error) {
	if r := recover(); r != nil {
		ended, ok := r.(endedError)
		if !ok {
			panic(r)
		}
		*err = ended.error
	}
}

// pause ends a long piece of work when the context has ended. It panics: what is half computed must not be kept as if it were
// whole, and whoever asks a rule contains panics of facts and looks at the context.
func (w *World) pause() {
	if err := w.until.Err(); err != nil {
		panic(endedError{err})
	}
}

// Graph is the plant as a graph: a node for each port, and for each way the arcs 2·way (in normal flow) and 2·way+1.
func (w *World) Graph() *flowpath.Graph {
	w.graphOnce.Do(func() {
		ways := w.Plant.Ways
		a, b := make([]int32, len(ways)), make([]int32, len(ways))
		for i := range ways {
			a[i], b[i] = ways[i].From, ways[i].To
		}
		if w.graph, w.graphErr = flowpath.FromPassages(len(w.Plant.Ports), a, b); w.graphErr == nil {
			w.graph.Borrow(w.shelf)
		}
	})
	if w.graphErr != nil {
		// Ids come from the resolver, which hands out only valid ones; size limits are checked before.
		panic(w.graphErr)
	}
	return w.graph
}

// At is the thing that a fact is asked about.
type At struct {
	Index int32 // component, line, joint or port; 0 for the design
	Case  int32 // index into World.Cases; -1 where the rule does not depend on cases
}
