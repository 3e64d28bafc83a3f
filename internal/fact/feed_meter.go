package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
)

// meterIndex tells of which generators flow meters show the gas: own where a meter serves one alone, shared where several.
type meterIndex struct{ own, shared map[int32]bool }

func (w *World) meters() *meterIndex { return w.feed.meters.get(w.indexMeters) }

func (w *World) indexMeters() *meterIndex {
	p := w.Plant
	x := &meterIndex{own: map[int32]bool{}, shared: map[int32]bool{}}
	generators := w.OfKind(plant.KindOzoneGenerator)
	var meters, cells, gas []int32
	for _, m := range w.OfKind(plant.KindFlowMeter) {
		meters = append(meters, p.PortByTrait(m, 0))
	}
	for _, g := range generators {
		cells, gas = append(cells, p.PortByTrait(g, 0)), append(gas, p.PortByTrait(g, 1))
	}
	count := func(from []int32, d flowpath.Direction) {
		var many flowpath.ReachMany
		many.Limit = tripWorkFloor + tripWorkPerPort*int64(len(p.Ports))
		if many.Sweep(w.feedWays(), d, from, meters, flowpath.Avoid{}) != nil {
			return
		}
		serves := map[int32]int{}
		for i := range from {
			for _, meter := range many.Subjects(i) {
				serves[meter]++
			}
		}
		for i, g := range generators {
			for _, meter := range many.Subjects(i) {
				if serves[meter] == 1 {
					x.own[g] = true
				} else {
					x.shared[g] = true
				}
			}
		}
	}
	count(cells, flowpath.Backward)
	count(gas, flowpath.Forward)
	return x
}
