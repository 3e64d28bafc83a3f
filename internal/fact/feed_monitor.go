package fact

import (
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
)

// moistureFacts are about monitors of the feed's dew point.
var moistureFacts = []Definition{
	quantityFact("cell_dew_point_limit", quantity.Temperature, "Lowest of the highest dew points that the generators of the drawing bear in their feed.",
		func(w *World, _ At) Number { return w.strictestDewPoint() }, plant.KindMoistureMonitor),
}

// strictestDewPoint is the lowest feed dew point limit of all generators in use.
func (w *World) strictestDewPoint() Number {
	return *w.feed.strictest.get(func() *Number {
		n, found := Number{}, false
		for _, g := range w.OfKind(plant.KindOzoneGenerator) {
			if w.data(g).GetOutOfUse() {
				continue
			}
			limit := w.number(w.data(g).GetOzoneGenerator().MaxFeedDewPointK, specRef(g, "max_feed_dew_point"))
			if !found {
				n, found = limit, true
				continue
			}
			n = n.Min(limit)
		}
		return &n
	})
}
