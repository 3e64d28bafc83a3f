package fact

import (
	"errors"
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
)

// findGeneratorFlow computes what a generator gets.
func (w *World) findGeneratorFlow(g, at int32, c *gasCase) *generatorFlow {
	x := w.gasNet()
	gas := x.of.of(g)
	f := &generatorFlow{cellLow: Number{Low: math.Inf(1), High: math.Inf(1)}}
	group := x.group.of(g)
	need, drawn := Exactly(0), Exactly(0)
	for _, h := range group {
		need = need.Add(x.of.of(h).design)
	}
	injectors := x.groupInjectors(group)
	for _, j := range injectors {
		drawn = drawn.Add(c.injector.of(j).drawn)
	}
	for _, j := range gas.injectors {
		f.cellLow = f.cellLow.Min(w.pulledCell(g, j, c.injector.of(j).deepest))
	}
	share := Exactly(1)
	if len(injectors) > 0 {
		share = share.Min(drawn.Div(need).Max(Exactly(0)))
	}
	for _, s := range gas.sources {
		share = share.Min(w.capacity(s).Div(w.load(s)).Max(Exactly(0)))
	}
	f.low = gas.design.Mul(share)
	if w.flowIsSet(g) {
		f.high = gas.design
	} else {
		f.high = gas.design.Mul(w.freeFlow(group, at))
	}
	return f
}

// pulledCell is the gauge pressure of a cell while an injector pulls to a suction pressure: what the way between loses at its
// least comes on top.
func (w *World) pulledCell(g, j int32, suction Number) Number {
	air := w.media().atmosphere
	way := w.gasNet().of.of(g).wayTo(j)
	steps, known := way.steps, way.known
	missing := JoinRefs(known.Missing, lacking(suction, air), w.ambientOpen())
	if len(missing) > 0 {
		n := Number{Low: math.Inf(-1), High: math.Inf(1), Missing: missing, Assumed: known.Assumed}
		return n
	}
	kind := w.gasStream(false)
	before := func(s, atmosphere float64) float64 {
		// The drop depends little on the pressure, so a few rounds settle it.
		p := s + atmosphere
		for range 20 {
			out := march(p, steps, &kind, 1, atmosphere)
			if out <= 0 {
				p *= 2
				continue
			}
			next := p + (s + atmosphere - out)
			if next == p {
				break // all rounds from here on find the same
			}
			p = next
		}
		return p - atmosphere
	}
	return Number{Low: before(suction.Low, air.Low), High: before(suction.High, air.High), Assumed: JoinRefs(known.Assumed, suction.Assumed, air.Assumed)}
}

// heldFromSuction tells whether something between a cell and each of its injectors takes up what the injector pulls too much: a
// back-pressure valve set within the cell's window, or a throttled valve.
func (w *World) heldFromSuction(g int32) Truth {
	gas := w.gasNet().of.of(g)
	if gas == nil || len(gas.injectors) == 0 {
		return Truth{}
	}
	all := Truth{Value: True}
	spec := w.data(g).GetOzoneGenerator()
	for k := range gas.injectors {
		held := Truth{}
		for _, arc := range gas.toward[k] {
			q := &w.Plant.Ways[arc/2]
			if q.IsPipe() || !w.throttles(q.Component) {
				continue
			}
			if v := w.data(q.Component).GetBackPressureValve(); v != nil {
				set := w.number(v.SetPressurePaGauge, specRef(q.Component, "set_pressure"))
				held = held.Or(set.AtLeast(w.number(spec.MinCellPressurePaGauge, specRef(g, "min_cell_pressure"))))
			} else {
				held = Truth{Value: True}
			}
		}
		all = all.And(held)
	}
	return all
}

// flowIsSet tells whether the gas flow of a generator is set on site: a throttled valve, or a source of fixed flow, lies in its
// gas.
func (w *World) flowIsSet(g int32) bool {
	gas := w.gasNet().of.of(g)
	for _, paths := range [2][][]int32{gas.from, gas.toward} {
		for _, arcs := range paths {
			for _, arc := range arcs {
				if q := &w.Plant.Ways[arc/2]; !q.IsPipe() && w.throttles(q.Component) && w.Plant.Components[q.Component].Kind == plant.KindHandValve {
					return true
				}
			}
		}
	}
	for _, s := range gas.sources {
		b := w.data(s).GetBoundary()
		if b == nil || b.GasFlowMolPerS == nil {
			return false
		}
	}
	return len(gas.sources) > 0
}

// freeFlow is the gas flow over the design flow that comes where nothing throttles it: what the injectors at their strong end
// draw while the feed pushes with all it has.
func (w *World) freeFlow(group []int32, at int32) Number {
	x := w.gasNet()
	injectors := x.groupInjectors(group)
	if len(injectors) == 0 {
		return Exactly(1)
	}
	air := w.media().atmosphere
	missing := JoinRefs(lacking(air), w.ambientOpen())
	ways := map[[2]int32][]gasStep{}
	for _, g := range group {
		gas := x.of.of(g)
		missing = JoinRefs(missing, lacking(gas.design))
		for k, j := range gas.injectors {
			ways[[2]int32{g, j}] = gas.towardWays[k].steps
			missing = JoinRefs(missing, gas.towardWays[k].known.Missing)
		}
		feed := w.feedPressure(g)
		missing = JoinRefs(missing, lacking(feed))
	}
	for _, j := range injectors {
		_, lacks := w.injectorTable(j)
		missing = JoinRefs(missing, lacks)
		if s := w.operatingAt(j, at); !s.known() {
			missing = JoinRefs(missing, s.inlet.Missing)
		}
	}
	if len(missing) > 0 {
		return Number{Low: 0, High: math.Inf(1), Missing: missing}
	}
	need := 0.0
	for _, g := range group {
		need += x.of.of(g).design.Low
	}
	var above []Ref
	kind := w.gasStream(false)
	surplus := func(factor float64) (float64, error) {
		sum := 0.0
		for _, j := range injectors {
			suction := 0.0
			for _, g := range x.injectors.of(j) {
				feed := w.feedAt(g, factor, air.Low)
				suction = max(suction, march(feed, ways[[2]int32{g, j}], &kind, factor, air.Low))
			}
			table, _ := w.injectorTable(j)
			p := w.operatingAt(j, at).strong
			low, high := table.read.SuctionSpan()
			s := suction - air.Low + tableAtmosphere
			if s > high {
				above = []Ref{specRef(j, "suction_curve")}
			}
			if suction <= 0 || s < low {
				continue
			}
			d, err := table.read.Draw(p.inlet+tableAtmosphere, p.outlet+tableAtmosphere, hold(s, low, high), w.serviceGas(false))
			if err != nil {
				return 0, err
			}
			sum += d.Flow.High
		}
		return sum - factor*need, nil
	}
	low, high := 0.0, 50.0
	for range 50 {
		mid := low + (high-low)/2
		above = nil
		f, err := surplus(mid)
		if err != nil {
			var outside *unitop.InjectorRangeError
			if errors.As(err, &outside) {
				return Number{Low: 0, High: math.Inf(1), Missing: []Ref{specRef(injectors[0], "performance")}}
			}
			return Number{Low: 0, High: math.Inf(1), Missing: []Ref{elementRef(injectors[0])}}
		}
		if f > 0 {
			low = mid
		} else {
			high = mid
		}
	}
	if len(above) > 0 {
		// The feed pushes the suction above the table: more comes than it says.
		return Number{Low: low, High: math.Inf(1), Missing: above}
	}
	return Exactly(low)
}

// feedAt is the absolute pressure at a generator's outlet while a multiple of the design flow comes, at the kind end.
func (w *World) feedAt(g int32, factor, air float64) float64 {
	kind := w.gasStream(false)
	gas := w.gasNet().of.of(g)
	most := 0.0
	for k, s := range gas.sources {
		p := w.sourcePressure(s, w.load(s).Scale(factor))
		if math.IsInf(p.High, 0) {
			p = w.sourcePressure(s, w.load(s))
		}
		most = max(most, march(air+p.High, gas.fromWays[k].steps, &kind, factor, air))
	}
	return most
}

// groupGas sums the gas side of the injectors on which a generator draws together with others.
type groupGas struct {
	need, best, drawn Number
	weakest           int32 // injector with the least drawn over its need; -1 where there is none
	top, left         Number
}

// groupGas gives the sums of a generator's group in a case; of one out of use those of no injector.
func (w *World) groupGas(g, at int32) groupGas {
	if group := w.gasCase(at).group.of(g); group != nil {
		return *group
	}
	return groupGas{weakest: -1}
}

// findGroupGas sums the gas side of a group of generators.
func (x *gasNet) findGroupGas(group []int32, c *gasCase) groupGas {
	out := groupGas{weakest: -1}
	for _, h := range group {
		out.need = out.need.Add(x.of.of(h).design)
	}
	least := math.Inf(1)
	for _, j := range x.groupInjectors(group) {
		s := c.injector.of(j)
		out.best, out.drawn = out.best.Add(s.best), out.drawn.Add(s.drawn)
		if share := s.drawn.Low / s.need.High; out.weakest < 0 || share < least {
			least, out.weakest = share, j
			out.top, out.left = s.top, s.left
		}
	}
	return out
}

// hasInjector tells whether gas of a generator comes to an injector.
func (w *World) hasInjector(g int32) bool {
	gas := w.gasNet().of.of(g)
	return gas != nil && len(gas.injectors) > 0
}

// gasPathOf is the way of the gas from a generator to the injector of its group that lacks the most, or to its first.
func (w *World) gasPathOf(g, at int32) Path {
	gas := w.gasNet().of.of(g)
	if gas == nil || len(gas.injectors) == 0 {
		return nil
	}
	k := max(0, slices.Index(gas.injectors, w.groupGas(g, at).weakest))
	return w.wayPath(w.Plant.PortByTrait(g, 1), gas.toward[k], nil)
}

// cellNeeded is the gauge pressure that the feed has to bring behind the cells: what the back-pressure valve holds, else the
// least that the cell bears.
func (w *World) cellNeeded(g int32) Number {
	if held, ok := w.highestHeld(g); ok {
		return held
	}
	return w.number(w.data(g).GetOzoneGenerator().MinCellPressurePaGauge, specRef(g, "min_cell_pressure"))
}

// highestHeld is the highest gauge pressure that a valve holds in a cell; false where none does.
func (w *World) highestHeld(g int32) (Number, bool) {
	gas := w.gasNet().of.of(g)
	if gas == nil {
		return Number{}, false
	}
	n, found := Number{Low: math.Inf(-1), High: math.Inf(-1)}, false
	for _, j := range gas.injectors {
		if set, ok := w.heldPressure(g, j); ok {
			n, found = n.Max(set), true
		}
	}
	return n, found
}
