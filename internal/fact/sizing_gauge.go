package fact

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// taps tells which instruments show the pressure at the ports of injectors.
type taps struct {
	at    table[[]tap]   // by instrument
	count table[[3]int]  // pressure gauges at the three ports of an injector
	vacua table[[]int32] // gauges and switches at the suction of an injector
}

// tap is one port of an injector whose pressure an instrument shows.
type tap struct {
	injector int32
	port     int // 0 motive inlet, 1 suction, 2 outlet
}

func (w *World) taps() *taps { return w.sizing.taps.get(w.findTaps) }

// maxTapPorts bounds the search around a port for instruments: a manifold of many injectors is one place for all of them.
const maxTapPorts = 512

func (w *World) findTaps() *taps {
	p := w.Plant
	injectors := w.OfKind(plant.KindVenturiInjector)
	x := &taps{at: newTable[[]tap](w, 0), count: newTable[[3]int](w, len(injectors)), vacua: newTable[[]int32](w, len(injectors))}
	var room placeRoom
	for _, j := range injectors {
		var n [3]int
		for port := range 3 {
			for _, c := range w.samePlace(&room, p.PortByTrait(j, port), port < 2) {
				kind := p.Components[c].Kind
				if kind == plant.KindPressureGauge {
					n[port]++
					note(&x.at, c, tap{j, port})
				}
				if port == 1 && (kind == plant.KindPressureGauge || kind == plant.KindPressureSwitch) {
					note(&x.vacua, j, c)
				}
			}
		}
		*x.count.at(j) = n
	}
	return x
}

// placeRoom is what one search for a place after another uses.
type placeRoom struct {
	seen       *flowpath.Set // of ports; empty between searches
	queue, out []int32
}

// passesPressure tells what keeps the pressure of a line within the reading of a gauge.
func (w *World) passesPressure(component int32) bool {
	c := &w.Plant.Components[component]
	switch c.Kind {
	case plant.KindTee, plant.KindHeader, plant.KindJunction, plant.KindUnion, plant.KindAdapter, plant.KindFlowMeter, plant.KindFlowSwitch, plant.KindThreeWayValve:
		return true
	case plant.KindHandValve:
		return c.Data.GetNormalPosition() == skidrulev1.ValvePosition_VALVE_POSITION_OPEN
	}
	return false
}

// samePlace lists the components that see the pressure of a port: joined by lines and by fittings that lose next to nothing. It
// goes against the stream from an inlet and with it from an outlet, so that the branch of another injector does not count, and
// into legs in which nothing runs.
//
// The list holds until the next one is asked for with the same room.
func (w *World) samePlace(room *placeRoom, start int32, against bool) []int32 {
	p, runs := w.Plant, w.flowArcs(-1).runs
	if room.seen == nil {
		room.seen = flowpath.NewSet(len(p.Ports))
	}
	queue, seen, out := append(room.queue[:0], start), room.seen, room.out[:0]
	seen.Add(start)
	for k := 0; k < len(queue) && k < maxTapPorts; k++ {
		port := queue[k]
		component := p.Ports[port].Component
		if port != start && !slices.Contains(out, component) {
			out = append(out, component)
		}
		for _, way := range p.WaysAt(port) {
			q := &p.Ways[way]
			if !q.IsPipe() && !w.passesPressure(q.Component) {
				continue
			}
			next, arc := q.To, 2*way
			if next == port {
				next, arc = q.From, 2*way+1
			}
			if q.IsPipe() && (against && runs[arc] || !against && runs[arc^1]) {
				continue
			}
			if !seen.Has(next) {
				seen.Add(next)
				queue = append(queue, next)
			}
		}
	}
	for _, port := range queue {
		seen.Remove(port)
	}
	room.queue, room.out = queue, out
	slices.Sort(out)
	return out
}

// gaugeReading is the gauge pressure that a gauge at an injector's water ports shows in a case.
func (w *World) gaugeReading(gauge, at int32) Number {
	for _, t := range w.taps().at.of(gauge) {
		s := w.readingState(t.injector, at)
		switch t.port {
		case 0:
			return s.inlet
		case 2:
			return s.outlet
		}
	}
	return Missing(elementRef(gauge))
}

// readingState is the state of an injector as its gauges show it: where cases are solved the solved one, or a question when that one
// is not known, for what the drawing states along the way may read kinder than what comes about. Where the solved one lies outside a
// table or a curve the truth is somewhere between the two.
func (w *World) readingState(injector, at int32) *operatingState {
	stated := w.waterCase(at).state.of(injector)
	if !w.solves() || w.solvedOperating(injector, at, stated) != nil {
		return w.operatingAt(injector, at)
	}
	if stated == nil || !w.solvedBeyond(injector, at) {
		return w.openState(injector, at, stated)
	}
	s := *stated
	first := w.Plant.Components[injector].FirstPort
	s.inlet, s.outlet = w.betweenBoth(first, max(at, 0), s.inlet), w.betweenBoth(first+2, max(at, 0), s.outlet)
	return &s
}

// betweenBoth widens a stated gauge pressure to that of a solved state which lies outside a table or a curve, and names the part or the
// data that would end the doubt.
func (w *World) betweenBoth(port, at int32, n Number) Number {
	st := w.solvedCase(at)
	q := &st.Ports[port]
	low, high := q.Pressure.Low-st.Atmosphere, q.Pressure.High-st.Atmosphere
	if low >= n.Low && high <= n.High {
		return n
	}
	n.Low, n.High = min(n.Low, low), max(n.High, high)
	if n.Missing = joinRefs(n.Missing, datumRefs(q.Beyond)); len(n.Missing) == 0 {
		n.Missing = []Ref{elementRef(w.Plant.Ports[port].Component)}
	}
	return n
}

// showsInjector tells whether a gauge shows the pressure of an injector's water.
func (w *World) showsInjector(gauge int32) bool {
	return slices.ContainsFunc(w.taps().at.of(gauge), func(t tap) bool { return t.port != 1 })
}

// gaugeSide names what a gauge shows: the inlet or outlet of which injector; empty where it is no gauge of an injector's water.
func (w *World) gaugeSide(gauge int32) string {
	for _, t := range w.taps().at.of(gauge) {
		switch t.port {
		case 0:
			return "inlet of " + w.Plant.Components[t.injector].Tag
		case 2:
			return "outlet of " + w.Plant.Components[t.injector].Tag
		}
	}
	return ""
}

// gaugeShare is where in its span a gauge reads: 0 at its low end, 1 at its high end.
func (w *World) gaugeShare(gauge, at int32) (low, high Number) {
	spec := w.data(gauge).GetPressureGauge()
	from := w.number(spec.RangeLowPaGauge, specRef(gauge, "range_low"))
	to := w.number(spec.RangeHighPaGauge, specRef(gauge, "range_high"))
	reading := w.gaugeReading(gauge, at)
	share := reading.Sub(from).Div(to.Sub(from))
	if len(share.Missing) > 0 || len(share.Assumed) > 0 {
		return share, share
	}
	return Exactly(share.Low), Exactly(share.High)
}

// meterFlow tells what passes a flow meter: gas at the design flow, or water in a case. ok is false where it is on neither way.
func (w *World) meterFlow(meter, at int32) (flow Number, gas, ok bool) {
	if n, found := w.gasThrough(meter); found {
		return n, true, true
	}
	if c := w.waterCase(at); c.flow.has(meter) {
		return c.flow.of(meter), false, true
	}
	return Number{}, false, false
}

// meterShare is the flow through a meter over the high end of its range.
func (w *World) meterShare(meter, at int32) (low, high Number) {
	flow, gas, ok := w.meterFlow(meter, at)
	if !ok {
		n := Missing(elementRef(meter))
		return n, n
	}
	spec := w.data(meter).GetFlowMeter()
	end := w.number(spec.LiquidRangeHighM3PerS, specRef(meter, "liquid_range_high"))
	if gas {
		end = w.number(spec.GasRangeHighMolPerS, specRef(meter, "gas_range_high"))
	}
	share := flow.Div(end)
	if math.IsInf(share.Low, 0) || math.IsInf(share.High, 0) || len(share.Assumed) > 0 {
		return share, share
	}
	return Exactly(share.Low), Exactly(share.High)
}
