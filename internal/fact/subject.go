package fact

import (
	"slices"

	"github.com/skidrule/skidrule/internal/plant"
)

// OfKind lists the components of a kind, ascending.
func (w *World) OfKind(k plant.Kind) []int32 {
	x := w.byKind.get(w.sortByKind)
	return x.list[x.start[k]:x.start[k+1]:x.start[k+1]]
}

// Indexes lists the numbers below n in order; n is at most the number of components, lines, ports or joints. The list is shared: it
// must not be changed.
func (w *World) Indexes(n int) []int32 { return w.byKind.get(w.sortByKind).all[:n:n] }

// numKinds is above the number of any kind.
var numKinds = int(slices.Max(plant.Kinds())) + 1

// kindIndex lists components by kind, and the first numbers.
type kindIndex struct {
	start []int32 // of each kind, the place in list of its first component; one more at the end
	list  []int32
	all   []int32
}

func (w *World) sortByKind() *kindIndex {
	p := w.Plant
	n := len(p.Components)
	numbers := max(1, n, len(p.Lines), len(p.Ports), 2*len(p.Ways))
	room := make([]int32, numKinds+2+n+numbers)
	x := &kindIndex{start: room[:numKinds+2], list: room[numKinds+2:][:n], all: room[numKinds+2+n:]}
	for i := range x.all {
		x.all[i] = int32(i)
	}
	for i := range p.Components {
		x.start[p.Components[i].Kind+2]++
	}
	for k := 2; k < len(x.start); k++ {
		x.start[k] += x.start[k-1]
	}
	// While it is filled, the entry behind a kind's own is where its next component goes.
	for i := range p.Components {
		at := &x.start[p.Components[i].Kind+1]
		x.list[*at] = int32(i)
		*at++
	}
	return x
}

// Joint is where an end of a line meets a port.
type Joint struct {
	Line int32
	Way  int32 // the pipe whose end it is
	Port int32
}

// NumJoints counts the joints of the plant.
func (w *World) NumJoints() int { return len(*w.joints.get(w.listJoints)) }

// Joint gives one joint by its index.
func (w *World) Joint(i int32) Joint { return (*w.joints.get(w.listJoints))[i] }

// JointInWhole is the index in the whole plant of a joint of a lot: each pipe has two.
func (w *World) JointInWhole(i int32, lot *plant.Lot) int32 {
	return 2*lot.WholePipe(w.Joint(i).Way) + i%2
}

// listJoints lists the joints in order of pipes, each pipe's upstream end first.
func (w *World) listJoints() *[]Joint {
	pipes := int32(0)
	for i := range w.Plant.Lines {
		pipes += w.Plant.Lines[i].NumWays
	}
	joints := make([]Joint, 0, 2*pipes)
	for i := range w.Plant.Ways {
		if q := &w.Plant.Ways[i]; q.IsPipe() {
			joints = append(joints, Joint{q.Line, int32(i), q.From}, Joint{q.Line, int32(i), q.To})
		}
	}
	return &joints
}
