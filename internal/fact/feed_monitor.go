package fact

import (
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
)

// moistureFacts are about monitors of the feed's dew point.
var moistureFacts = []Definition{
	quantityFact("cell_dew_point_limit", quantity.Temperature, "Lowest of the highest dew points that the generators of its island, or where it has none of the drawing, bear in their feed.",
		func(w *World, at At) Number { return w.strictestDewPoint(at.Index) }, plant.KindMoistureMonitor),
}

// strictest holds the lowest feed dew point limit in K of all generators in use, of each island and of the drawing; nil where none is
// in use.
type strictest struct {
	islands []*Number
	drawing *Number
}

// strictestDewPoint is the lowest feed dew point limit of the generators that a monitor watches over.
func (w *World) strictestDewPoint(monitor int32) Number {
	if n := w.feed.strictest.get(w.findStrictest).islands[w.island(monitor)]; n != nil {
		return *n
	}
	whole := w.Whole()
	n := whole.feed.strictest.get(whole.findStrictest).drawing
	if n == nil {
		return Missing(elementRef(monitor))
	}
	limit := *n
	limit.Missing, limit.Assumed = w.fromWhole(limit.Missing), w.fromWhole(limit.Assumed)
	return limit
}

func (w *World) findStrictest() *strictest {
	x := &strictest{islands: byIsland[*Number](w, nil)}
	stricter := func(n *Number, limit Number) *Number {
		if n != nil {
			limit = n.Min(limit)
		}
		return &limit
	}
	for _, g := range w.OfKind(plant.KindOzoneGenerator) {
		if w.data(g).GetOutOfUse() {
			continue
		}
		limit := w.number(w.data(g).GetOzoneGenerator().MaxFeedDewPointK, specRef(g, "max_feed_dew_point"))
		at := w.island(g)
		x.islands[at], x.drawing = stricter(x.islands[at], limit), stricter(x.drawing, limit)
	}
	return x
}
