package fact

import (
	"encoding/binary"
	"math"
	"sync"
)

// answers keeps what was computed of each distinct set of values, for plants in which many trains are alike. It is safe for
// concurrent use.
type answers[K comparable, V any] struct {
	mu   sync.Mutex
	few  []answer[K, V] // the first ones: most plants have no more, and need no map
	kept map[K]V
}

type answer[K comparable, V any] struct {
	key   K
	value V
}

// mostFew is how many answers are looked through one by one.
const mostFew = 6

// of gives the answer to a key, computed the first time.
func (a *answers[K, V]) of(key K, compute func() V) V {
	a.mu.Lock()
	v, ok := a.find(key)
	a.mu.Unlock()
	if ok {
		return v
	}
	v = compute()
	a.mu.Lock()
	a.keep(key, v)
	a.mu.Unlock()
	return v
}

func (a *answers[K, V]) find(key K) (v V, ok bool) {
	for i := range a.few {
		if f := &a.few[i]; f.key == key {
			return f.value, true
		}
	}
	if a.kept == nil {
		return v, false
	}
	v, ok = a.kept[key]
	return v, ok
}

func (a *answers[K, V]) keep(key K, v V) {
	if len(a.few) < mostFew {
		a.few = append(a.few, answer[K, V]{key, v})
		return
	}
	if a.kept == nil {
		a.kept = map[K]V{}
	}
	a.kept[key] = v
}

// packedAnswer is answers.of for a key of bytes, which becomes a string only where its answer is new.
func packedAnswer[V any](a *answers[string, V], packed key, compute func() V) V {
	a.mu.Lock()
	v, ok := a.kept[string(packed)]
	for i := range a.few {
		if f := &a.few[i]; f.key == string(packed) {
			v, ok = f.value, true
			break
		}
	}
	a.mu.Unlock()
	if ok {
		return v
	}
	return a.of(string(packed), compute)
}

// key packs numbers into a map key, bit by bit.
type key []byte

func (k *key) floats(xs ...float64) {
	for _, x := range xs {
		*k = binary.LittleEndian.AppendUint64(*k, math.Float64bits(x))
	}
}

func (k *key) numbers(ns ...Number) {
	for _, n := range ns {
		k.floats(n.Low, n.High)
	}
}

func (k *key) count(n int) { *k = binary.AppendVarint(*k, int64(n)) }

// optional packs a number that may not be stated.
func (k *key) optional(x *float64) {
	if x == nil {
		*k = append(*k, 0)
		return
	}
	*k = append(*k, 1)
	k.floats(*x)
}
