package fact

import (
	"math"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/plant"
)

// dewTrace tells for every port which of the dryers, concentrators and supplies that lead there gives the dampest gas.
type dewTrace struct {
	dampest flowpath.Highest
	sources []drySource
	boosted *flowpath.Reach // behind machines that raise the pressure of dried gas
}

// drySource is where gas of a stated dew point comes from.
type drySource struct {
	component int32
	dew       Number // K, at pressure
	pressure  Number // Pa gauge
}

func (w *World) dewTrace() *dewTrace { return w.feed.dew.get(w.traceDew) }

func (w *World) traceDew() *dewTrace {
	p := w.Plant
	x := &dewTrace{}
	var ports []int32
	var values []float64
	add := func(component, port int32, dew, pressure Number) {
		x.sources = append(x.sources, drySource{component, dew, pressure})
		ports, values = append(ports, port), append(values, dew.High)
	}
	for _, c := range w.OfKind(plant.KindGasDryer) {
		data := w.data(c)
		// A dryer stands under a pressure that its rating bounds from above.
		pressure := Number{Low: math.Inf(-1), High: math.Inf(1), Missing: []Ref{componentRef(c, "max_pressure")}}
		if data.MaxPressurePaGauge != nil {
			pressure.High = *data.MaxPressurePaGauge
		}
		add(c, p.PortByTrait(c, 1), w.number(data.GetGasDryer().OutletDewPointK, specRef(c, "outlet_dew_point")), pressure)
	}
	for _, c := range w.OfKind(plant.KindOxygenConcentrator) {
		add(c, p.PortByTrait(c, 1), w.number(w.data(c).GetOxygenConcentrator().ProductDewPointK, specRef(c, "product_dew_point")), w.deliveryPressure(c))
	}
	for _, c := range w.OfKind(plant.KindGasSupply) {
		s := w.data(c).GetGasSupply()
		low := w.number(s.MinPressurePaGauge, specRef(c, "min_pressure"))
		high := w.number(s.PressurePaGauge, specRef(c, "pressure"))
		add(c, p.Components[c].FirstPort, w.number(s.DewPointK, specRef(c, "dew_point")), low.with(high, low.Low, high.High))
	}
	must(x.dampest.Sweep(w.openWays(w.undriedPasses), ports, values, 0))
	var boosters []int32
	for _, k := range airMachines {
		for _, c := range w.OfKind(k) {
			if p.Ports[p.PortByTrait(c, 0)].Joints > 0 {
				boosters = append(boosters, p.PortByTrait(c, 1))
			}
		}
	}
	x.boosted = w.spread(flowpath.Forward, boosters, w.undriedPasses)
	return x
}

// deliveryPressure is the range of a concentrator's product pressure.
func (w *World) deliveryPressure(concentrator int32) Number {
	spec := w.data(concentrator).GetOxygenConcentrator()
	pressure := w.number(spec.DeliveryPressurePaGauge, specRef(concentrator, "delivery_pressure"))
	for _, point := range spec.GetProduct() {
		if point.DeliveryPressurePaGauge == nil {
			continue
		}
		if pressure.Unknown() {
			pressure = Exactly(*point.DeliveryPressurePaGauge)
		}
		pressure.Low = min(pressure.Low, *point.DeliveryPressurePaGauge)
		pressure.High = max(pressure.High, *point.DeliveryPressurePaGauge)
	}
	return pressure
}

// feedDewPoint is the dew point of the feed at the pressure of the cell. Along the feed the pressure only falls, and the dew
// point with it, unless a machine raises it; so the dew point where the gas was dried is never exceeded, and where both
// pressures are known it is carried over to that of the cell.
func (w *World) feedDewPoint(generator int32) Number {
	x, port := w.dewTrace(), w.Plant.PortByTrait(generator, 0)
	i := x.dampest.Source(port, 0)
	if i == flowpath.None {
		return Missing(elementRef(generator))
	}
	s := &x.sources[i]
	spec := w.data(generator).GetOzoneGenerator()
	air := w.atmosphere()
	before := s.pressure.Add(air)
	least := w.number(spec.MinCellPressurePaGauge, specRef(generator, "min_cell_pressure")).Add(air)
	most := w.number(spec.MaxCellPressurePaGauge, specRef(generator, "max_cell_pressure")).Add(air)
	n := s.dew
	n.Low, n.High = math.Inf(-1), math.Inf(1)
	if !x.boosted.Reached(port) {
		n.High = s.dew.High
	}
	if dew, ok := w.dewAt(s.dew.High, before.Low, most.High); ok {
		n.High = min(n.High, max(dew, fluid.DewPointLow))
	}
	if dew, ok := w.dewAt(s.dew.Low, before.High, least.Low); ok {
		n.Low = min(n.High, dew)
	}
	n.Missing = JoinRefs(s.dew.Missing, before.Missing, least.Missing, most.Missing)
	n.Assumed = JoinRefs(s.dew.Assumed, before.Assumed, least.Assumed, most.Assumed)
	return n
}

// dewInput is a dew point in K with the pressures in Pa abs from and to which it is carried.
type dewInput struct{ dew, from, to float64 }

// dewAnswer is the dew point in K there; ok is false where it is not known.
type dewAnswer struct {
	dew float64
	ok  bool
}

// dewAt carries a dew point over once for each set of values: the root search costs far more than everything around it.
func (w *World) dewAt(dew, from, to float64) (float64, bool) {
	a := w.feed.carried.of(dewInput{dew, from, to}, func() dewAnswer {
		t, ok := dewAt(dew, from, to)
		return dewAnswer{t, ok}
	})
	return a.dew, a.ok
}

// dewAt carries a dew point from one pressure (Pa abs) to another; ok is false where either is not known or out of range. Gas
// drier than the driest dew point of the water tables has none: minus infinity stands for it.
func dewAt(dew, from, to float64) (float64, bool) {
	pw, err := fluid.SaturationPressure(dew)
	if err != nil || !(from > 0) || !(to > 0) || math.IsInf(from, 1) || math.IsInf(to, 1) {
		return 0, false
	}
	driest, err := fluid.IceSaturationPressure(fluid.DewPointLow)
	if err != nil {
		return 0, false
	}
	pw *= to / from
	if pw < driest {
		return math.Inf(-1), true
	}
	t, _, err := fluid.DewPoint(pw)
	return t, err == nil
}

func (w *World) dampestPath(generator int32) Path {
	x, port := w.dewTrace(), w.Plant.PortByTrait(generator, 0)
	arcs, _ := x.dampest.Path(port, 0)
	return w.arcsPath(arcs, nil)
}
