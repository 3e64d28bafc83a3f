package fact

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
)

// pumpCurve is a pump's stated curve at its speed in a case, by rising flow: m3/s, Pa of water, and m of suction head where it
// is stated.
type pumpCurve struct {
	flow, head, npsh []float64
}

// pumpCurve reads the curve of a pump; false where it states fewer than two points, or two at one flow.
func (w *World) pumpCurve(component, at int32) (pumpCurve, bool) {
	spec := w.data(component).GetPump()
	type point struct{ flow, head, npsh float64 }
	points := make([]point, 0, len(spec.GetCurve()))
	npsh := true
	for _, q := range spec.GetCurve() {
		if q.FlowM3PerS == nil || q.HeadPa == nil {
			return pumpCurve{}, false
		}
		pt := point{flow: *q.FlowM3PerS, head: *q.HeadPa}
		if q.NpshRequiredM != nil {
			pt.npsh = *q.NpshRequiredM
		} else {
			npsh = false
		}
		points = append(points, pt)
	}
	slices.SortStableFunc(points, func(a, b point) int { return cmp.Compare(a.flow, b.flow) })
	n := len(points)
	if n < 2 {
		return pumpCurve{}, false
	}
	columns := make([]float64, 3*n)
	c := pumpCurve{flow: columns[:0:n], head: columns[n : n : 2*n]}
	if npsh {
		c.npsh = columns[2*n : 2*n]
	}
	speed := w.speed(component, at)
	for i, pt := range points {
		if i > 0 && pt.flow == points[i-1].flow {
			return pumpCurve{}, false
		}
		flow, head := pt.flow, pt.head
		if speed != 1 {
			// Head of water in metres, since the affinity laws are stated in it.
			const perMetre = coldWaterDensity * unitop.StandardGravity
			moved, err := unitop.PumpPoint{Flow: flow, Head: head / perMetre}.AtSpeed(speed)
			if err != nil {
				return pumpCurve{}, false
			}
			flow, head = moved.Flow, moved.Head*perMetre
		}
		c.flow, c.head = append(c.flow, flow), append(c.head, head)
		if npsh {
			c.npsh = append(c.npsh, pt.npsh)
		}
	}
	return c, true
}

// span is the flows between which the curve is stated.
func (c *pumpCurve) span() (low, high float64) { return c.flow[0], c.flow[len(c.flow)-1] }

// at reads a column of the curve at a flow inside its span, by straight lines.
func (c *pumpCurve) at(flow float64, column []float64) float64 {
	i := sort.SearchFloat64s(c.flow, flow)
	i = min(max(i, 1), len(c.flow)-1)
	share := (flow - c.flow[i-1]) / (c.flow[i] - c.flow[i-1])
	return column[i-1] + share*(column[i]-column[i-1])
}

// pumpDuty is what a pump does for the injectors that it drives in a case.
type pumpDuty struct {
	drives    bool
	flow      Number
	beyond    Truth  // the injectors take more than its curve holds
	delivered Number // gauge pressure at the motive inlet of the injector with the least margin, at its weak end
	needed    Number // gauge pressure that this injector needs to draw its design gas flow
	injector  int32
	npsh      Number // m of suction head that is left
	required  Number // m of suction head that the pump asks for
}

func (w *World) pumpDuty(pump, at int32) *pumpDuty {
	at = w.stateCase(at)
	return w.caseMemo().pumps[at].get(func() *table[*pumpDuty] {
		pumps := w.OfKind(plant.KindPump)
		all := newTable[*pumpDuty](w, len(pumps))
		for _, p := range pumps {
			*all.at(p) = w.findPumpDuty(p, at)
		}
		return &all
	}).of(pump)
}

func (w *World) findPumpDuty(pump, at int32) *pumpDuty {
	c := w.waterCase(at)
	d := &pumpDuty{injector: -1}
	worst := math.Inf(1)
	for _, j := range c.drive.of(pump) {
		walk := c.walks.of(j)
		i := slices.IndexFunc(walk.pumps, func(p walkPump) bool { return p.component == pump })
		state := c.state.of(j)
		if !d.drives {
			d.drives, d.flow = true, c.flow.of(pump)
			d.npsh, d.required = w.suctionHead(walk, i, d.flow)
		}
		d.beyond = d.beyond.Or(Is(slices.Contains(state.beyond, specRef(pump, "curve"))))
		delivered, needed := Missing(state.inlet.Missing...), w.neededInlet(j, at)
		if state.known() {
			delivered = settle(state.weak.inlet, state.inlet.High, state.inlet.Assumed)
		}
		if margin := delivered.Low - needed.High; d.injector < 0 || margin < worst {
			worst, d.injector, d.delivered, d.needed = margin, j, delivered, needed
		}
	}
	return d
}

// neededInlet is the lowest gauge pressure at the motive inlet at which an injector draws its design gas flow in a case; where
// no pressure of its table is enough, or no gas comes, the lowest of the table, for then the pump is not to blame.
func (w *World) neededInlet(j, at int32) Number {
	table, lacks := w.injectorTable(j)
	if table == nil {
		return Missing(lacks...)
	}
	low, _ := table.read.InletSpan()
	lowest := Exactly(low - tableAtmosphere)
	gas := w.gasCase(at).injector.of(j)
	state := w.operatingAt(j, at)
	if gas == nil {
		return lowest
	}
	if refs := JoinRefs(lacking(gas.need, gas.left), w.ambientOpen()); len(refs) > 0 || !state.known() {
		return Missing(JoinRefs(refs, state.inlet.Missing)...)
	}
	suctionLow, suctionHigh := table.read.SuctionSpan()
	s := gas.left.Low + tableAtmosphere
	if suctionLow == suctionHigh && s != suctionLow {
		// Measured at one suction pressure only: nobody knows what it draws at another.
		return Missing(specRef(j, "suction_curve"))
	}
	if s < suctionLow {
		return lowest
	}
	s = hold(s, suctionLow, suctionHigh)
	found := w.sizing.inlets.of(w.drawKey(table.read, injectorPoint{outlet: state.weak.outlet}, s, gas.need.High, true), func() float64 {
		return inletFor(table.read, state.weak.outlet+tableAtmosphere, s, gas.need.High, w.serviceGas(true))
	})
	if math.IsInf(found, 1) {
		return lowest
	}
	return settle(found-tableAtmosphere, found-tableAtmosphere, JoinRefs(gas.need.Assumed, gas.left.Assumed, state.inlet.Assumed))
}

// inletFor is the lowest inlet pressure in Pa absolute of a table at which an injector surely draws a flow; infinite where none
// is enough.
func inletFor(table *unitop.Injector, outlet, suction, need float64, gas unitop.SuctionGas) float64 {
	enough := func(inlet float64) bool {
		d, err := table.Draw(inlet, outlet, suction, gas)
		return err == nil && d.Flow.Low >= need
	}
	low, high := table.InletSpan()
	if !enough(high) {
		return math.Inf(1)
	}
	if enough(low) {
		return low
	}
	for high-low > 0.1 {
		mid := low + (high-low)/2
		if enough(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}

// suctionHead is the suction head that is left before a pump and the one it asks for, at the most that flows.
func (w *World) suctionHead(walk *waterWalk, i int, flow Number) (available, required Number) {
	pump := walk.pumps[i]
	switch {
	case math.IsInf(flow.High, 0) || math.IsInf(flow.Low, 0):
		required = Missing(flow.Missing...)
	case len(pump.curve.npsh) == 0:
		required = Missing(specRef(pump.component, "curve"))
	default:
		low, high := pump.curve.span()
		n := pump.curve.at(hold(flow.High, low, high), pump.curve.npsh)
		required = settle(n, n, flow.Assumed)
	}
	air := w.media().atmosphere
	warm := w.number(w.Plant.Basis.MaxWaterTemperatureK, basisRef("max_water_temperature"))
	inlet := w.portHeight(w.Plant.PortByTrait(pump.component, 0))
	before := walk.up[:pump.at]
	list, known := w.resistances(before, false)
	refs := JoinRefs(walk.known.Missing, known.Missing, lacking(air, warm, inlet, flow, walk.source.pressure, walk.source.height))
	if len(refs) > 0 {
		return Missing(refs...), required
	}
	adverse := w.waterStream(true)
	drop := 0.0
	for k := range list {
		drop += list[k].liquidDrop(flow.High, &adverse)
	}
	surface := walk.source.pressure.Low + air.Low
	for _, p := range walk.pumps[:i] {
		low, high := p.curve.span()
		surface += p.curve.at(hold(flow.High, low, high), p.curve.head)
	}
	vapour, err := fluid.WaterSaturationPressure(warm.High)
	if err != nil {
		return Missing(basisRef("max_water_temperature")), required
	}
	head, err := unitop.Suction{
		SurfacePressure: max(0, surface), VapourPressure: vapour, Density: coldWaterDensity,
		StaticHead: walk.source.height.Sub(inlet).Low, FrictionHead: drop / waterWeight,
	}.NPSHAvailable()
	if err != nil {
		return Missing(elementRef(pump.component)), required
	}
	return settle(head, math.Inf(1), JoinRefs(known.Assumed, air.Assumed, warm.Assumed, inlet.Assumed, walk.source.pressure.Assumed, walk.source.height.Assumed)), required
}
