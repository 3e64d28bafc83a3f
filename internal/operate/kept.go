package operate

import "sync"

// Kept keeps solved cases from one solver to the next, which solves again only what rests on changed data: of a plant that falls apart,
// the islands that have changed. It is safe for concurrent use.
type Kept struct {
	mu          sync.Mutex
	now, before map[caseKey]*State
}

// Turn begins a new round: what was neither kept nor taken in the one before is forgotten.
func (k *Kept) Turn() {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.before, k.now = k.now, map[caseKey]*State{}
}

// take gives a state that was kept, as one of the given case; nil where there is none.
func (k *Kept) take(key caseKey, c *Case) *State {
	k.mu.Lock()
	defer k.mu.Unlock()
	st := k.now[key]
	if st == nil {
		st = k.before[key]
	}
	if st == nil {
		return nil
	}
	k.now[key] = st
	own := *st
	own.Case = c
	return &own
}

// keep keeps a state.
func (k *Kept) keep(key caseKey, st *State) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.now[key] = st
}
