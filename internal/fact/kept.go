package fact

import (
	"sync"

	"github.com/skidrule/skidrule/internal/operate"
)

// Kept keeps solved cases from one check of a design to the next, which solves again only the cases whose data has changed. What the
// last check did not ask for is forgotten. It is safe for concurrent use.
type Kept struct {
	mu          sync.Mutex
	now, before map[operate.Key]*operate.State
}

// Keep lets a world take solved cases from kept ones, and adds its own. It comes before the first question.
func (w *World) Keep(k *Kept) {
	if w.Unsolved() != "" {
		return
	}
	keys, err := operate.Keys(w.Plant, w.Cases)
	if err != nil {
		// A message that cannot be written has no key; its cases are solved.
		return
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	k.before, k.now = k.now, map[operate.Key]*operate.State{}
	w.solved.kept, w.solved.keys = k, keys
}

// take gives the state of a case that was solved before; nil where none was.
func (m *solvedMemo) take(at int32, c *operate.Case) *operate.State {
	if m.kept == nil {
		return nil
	}
	m.kept.mu.Lock()
	defer m.kept.mu.Unlock()
	key := m.keys[at]
	st := m.kept.now[key]
	if st == nil {
		st = m.kept.before[key]
	}
	if st == nil {
		return nil
	}
	m.kept.now[key] = st
	own := *st
	own.Case = c
	return &own
}

// keep keeps the state of a case.
func (m *solvedMemo) keep(at int32, st *operate.State) {
	if m.kept == nil || st == nil {
		return
	}
	m.kept.mu.Lock()
	defer m.kept.mu.Unlock()
	m.kept.now[m.keys[at]] = st
}
