package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
)

// meterIndex tells of which generators flow meters show the gas: own where a meter serves one alone, shared where several.
type meterIndex struct{ own, shared *flowpath.Set }

func (w *World) meters() *meterIndex { return w.feed.meters.get(w.indexMeters) }

func (w *World) indexMeters() *meterIndex {
	p := w.Plant
	x := &meterIndex{own: flowpath.NewSet(len(p.Components)), shared: flowpath.NewSet(len(p.Components))}
	generators := w.OfKind(plant.KindOzoneGenerator)
	var meters, cells, gas []int32
	for _, m := range w.OfKind(plant.KindFlowMeter) {
		meters = append(meters, p.PortByTrait(m, 0))
	}
	for _, g := range generators {
		cells, gas = append(cells, p.PortByTrait(g, 0)), append(gas, p.PortByTrait(g, 1))
	}
	var many flowpath.ReachMany
	served := make([]int, len(p.Ports)) // by port of a meter, how many generators it serves
	count := func(from []int32, d flowpath.Direction) {
		many.Limit = tripWorkFloor + tripWorkPerPort*int64(len(p.Ports))
		if many.Sweep(w.feedWays(), d, from, meters, flowpath.Avoid{}) != nil {
			return
		}
		clear(served)
		for i := range from {
			for _, meter := range many.Subjects(i) {
				served[meter]++
			}
		}
		for i, g := range generators {
			for _, meter := range many.Subjects(i) {
				if served[meter] == 1 {
					x.own.Add(g)
				} else {
					x.shared.Add(g)
				}
			}
		}
	}
	count(cells, flowpath.Backward)
	count(gas, flowpath.Forward)
	return x
}
