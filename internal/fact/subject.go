package fact

import (
	"github.com/skidrule/skidrule/internal/plant"
)

// OfKind lists the components of a kind, ascending.
func (w *World) OfKind(k plant.Kind) []int32 { return w.byKind.get(w.sortByKind).list[k] }

// Indexes lists the numbers below n in order; n is at most the number of components, lines, ports or joints. The list is shared: it
// must not be changed.
func (w *World) Indexes(n int) []int32 { return w.byKind.get(w.sortByKind).all[:n:n] }

// numKinds is above the number of any kind.
const numKinds = 1 << 8

// kindIndex lists components by kind, and the first numbers.
type kindIndex struct {
	list [][]int32 // by kind
	all  []int32
}

func (w *World) sortByKind() *kindIndex {
	p := w.Plant
	x := &kindIndex{list: make([][]int32, numKinds), all: make([]int32, max(1, len(p.Components), len(p.Lines), len(p.Ports), 2*len(p.Ways)))}
	for i := range x.all {
		x.all[i] = int32(i)
	}
	var many [numKinds]int
	for i := range p.Components {
		many[p.Components[i].Kind]++
	}
	room := make([]int32, len(p.Components))
	for k, n := range many {
		x.list[k], room = room[:0:n], room[n:]
	}
	for i := range p.Components {
		k := p.Components[i].Kind
		x.list[k] = append(x.list[k], int32(i))
	}
	return x
}

// Joint is where an end of a line meets a port.
type Joint struct {
	Line int32
	Way  int32 // the pipe whose end it is
	Port int32
}

// jointIndex lists the joints in order of pipes, each pipe's upstream end first.
type jointIndex struct{ list []Joint }

// NumJoints counts the joints of the plant.
func (w *World) NumJoints() int { return len(w.joints.get(w.listJoints).list) }

// Joint gives one joint by its index.
func (w *World) Joint(i int32) Joint { return w.joints.get(w.listJoints).list[i] }

// JointInWhole is the index in the whole plant of a joint of a lot: each pipe has two.
func (w *World) JointInWhole(i int32, lot *plant.Lot) int32 {
	return 2*lot.WholePipe(w.Joint(i).Way) + i%2
}

func (w *World) listJoints() *jointIndex {
	x := &jointIndex{}
	for i := range w.Plant.Ways {
		if q := &w.Plant.Ways[i]; q.IsPipe() {
			x.list = append(x.list, Joint{q.Line, int32(i), q.From}, Joint{q.Line, int32(i), q.To})
		}
	}
	return x
}
