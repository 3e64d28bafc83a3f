package fact

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// gasCase is what each injector draws and each group of generators gets in a case.
type gasCase struct {
	injector  table[*injectorGas]
	generator table[*generatorFlow]
	group     table[*groupGas] // by generator, one for all of a group
}

// injectorGas is the gas side of an injector in a case.
type injectorGas struct {
	need    Number // design gas flow that it has to draw
	top     Number // gauge suction pressure if nothing were lost between cell and injector
	left    Number // gauge suction pressure that check valves and lines leave
	best    Number // flow that it draws at top
	drawn   Number // flow that it draws at left
	deepest Number // lowest gauge suction pressure at which it still draws no more than it has to
	beyond  bool   // the suction pressure lies below the suction curve
}

// generatorFlow is what a generator gets in a case.
type generatorFlow struct {
	low, high Number // gas flow
	cellLow   Number // lowest gauge pressure to which the injectors can pull the cell
}

func (w *World) gasCase(at int32) *gasCase {
	at = w.stateCase(at)
	return w.caseMemo().gas[at].get(func() *gasCase { return w.findGasCase(at) })
}

func (w *World) findGasCase(at int32) *gasCase {
	x := w.gasNet()
	n := len(x.generators)
	c := &gasCase{injector: newTable[*injectorGas](w, len(x.injectors.list)), generator: newTable[*generatorFlow](w, n), group: newTable[*groupGas](w, n)}
	for _, j := range w.OfKind(plant.KindVenturiInjector) {
		w.pause()
		if len(x.injectors.of(j)) > 0 {
			*c.injector.at(j) = w.findInjectorGas(j, at)
		}
	}
	for _, g := range x.generators {
		*c.generator.at(g) = w.findGeneratorFlow(g, at, c)
		if group := x.group.of(g); !c.group.has(g) {
			sum := x.findGroupGas(group, c)
			for _, h := range group {
				*c.group.at(h) = &sum
			}
		}
	}
	return c
}

// settle gives a computed number: the adverse end where everything is known, both ends where assumed data stand behind it.
func settle(adverse, kind float64, assumed []Ref) Number {
	if len(assumed) == 0 {
		return Exactly(adverse)
	}
	return Number{Low: min(adverse, kind), High: max(adverse, kind), Assumed: assumed}
}

// cellTop is the highest gauge pressure of a cell in operation by its mode: below atmosphere where the injector draws, what the
// back-pressure valve holds where the feed pushes.
func (w *World) cellTop(generator, injector int32) Number {
	spec := w.data(generator).GetOzoneGenerator()
	highest := w.number(spec.MaxCellPressurePaGauge, specRef(generator, "max_cell_pressure"))
	switch spec.GetMode() {
	case skidrulev1.FeedMode_FEED_MODE_VACUUM_DRAWN:
		return highest.Min(Exactly(0))
	case skidrulev1.FeedMode_FEED_MODE_PRESSURE_FED:
		if set, ok := w.heldPressure(generator, injector); ok {
			return set
		}
		return highest.Min(w.feedPressure(generator).Sub(w.media().atmosphere))
	}
	return Missing(specRef(generator, "mode"))
}

// heldPressure is the set pressure of the back-pressure valve between a cell and an injector; false where there is none.
func (w *World) heldPressure(generator, injector int32) (Number, bool) {
	gas := w.gasNet().of.of(generator)
	for k, j := range gas.injectors {
		if j != injector {
			continue
		}
		for _, arc := range gas.toward[k] {
			if q := &w.Plant.Ways[arc/2]; !q.IsPipe() && w.Plant.Components[q.Component].Kind == plant.KindBackPressureValve {
				return w.number(w.data(q.Component).GetBackPressureValve().SetPressurePaGauge, specRef(q.Component, "set_pressure")), true
			}
		}
	}
	return Number{}, false
}

// wayTo gives the way from a generator to an injector that it reaches.
func (gas *generatorGas) wayTo(injector int32) *gasWay {
	return &gas.towardWays[slices.Index(gas.injectors, injector)]
}

// findInjectorGas computes what an injector draws in a case at its weak end, with and without the losses before it.
func (w *World) findInjectorGas(j, at int32) *injectorGas {
	x := w.gasNet()
	s := &injectorGas{need: Exactly(0)}
	s.top, s.left = Number{Low: math.Inf(1), High: math.Inf(1)}, Number{Low: math.Inf(1), High: math.Inf(1)}
	for _, g := range x.injectors.of(j) {
		gas := x.of.of(g)
		s.need = s.need.Add(gas.design.Scale(1 / float64(len(gas.injectors))))
		top := w.cellTop(g, j)
		s.top = s.top.Min(top)
		s.left = s.left.Min(w.suctionLeft(g, j, top))
	}
	state := w.operatingAt(j, at)
	s.best = w.drawnAt(j, state, s.top, nil)
	s.drawn = w.drawnAt(j, state, s.left, &s.beyond)
	if math.IsInf(s.drawn.High, 1) {
		// However much is lost, no more is drawn than with nothing lost.
		s.drawn.High = s.best.High
	}
	s.deepest = w.deepestSuction(j, state, s.need)
	return s
}

// suctionLeft is the gauge pressure that lines, valves and opening pressures leave at an injector while the design flow comes
// from a cell at its top pressure.
func (w *World) suctionLeft(generator, injector int32, top Number) Number {
	air := w.media().atmosphere
	gas := w.gasNet().of.of(generator)
	way := gas.wayTo(injector)
	steps, known := way.steps, way.known
	start := top
	if w.data(generator).GetOzoneGenerator().GetMode() == skidrulev1.FeedMode_FEED_MODE_VACUUM_DRAWN {
		start = top.Min(w.feedPressure(generator).Sub(air))
	}
	known.Missing = JoinRefs(known.Missing, lacking(start, air), w.ambientOpen())
	if len(known.Missing) > 0 {
		return Number{Low: math.Inf(-1), High: math.Inf(1), Missing: known.Missing, Assumed: known.Assumed}
	}
	adverse, kind := w.gasStream(true), w.gasStream(false)
	n := Number{
		Low:  march(air.Low+start.Low, steps, &adverse, 1, air.Low) - air.Low,
		High: march(air.High+start.High, steps, &kind, 1, air.High) - air.High,
	}
	n.Assumed = JoinRefs(known.Assumed, start.Assumed, air.Assumed)
	return n
}

// drawKey is all that a reading of an injector depends on; pressures of the point are gauge, suction is that of the table.
type drawKey struct {
	table     *unitop.Injector
	point     injectorPoint
	suction   float64
	need      float64
	molarMass float64
	heat      float64
}

// drawAnswer is a reading with its ends.
type drawAnswer struct {
	low, high float64
	err       error
}

func (w *World) drawKey(table *unitop.Injector, p injectorPoint, suction, need float64, adverse bool) drawKey {
	f := w.gasStream(adverse)
	return drawKey{table, injectorPoint{inlet: p.inlet, outlet: p.outlet}, suction, need, f.molarMass, f.heat}
}

// draw reads the flow that an injector draws at a point and a suction pressure of its table.
func (w *World) draw(table *unitop.Injector, p injectorPoint, suction float64, adverse bool) (low, high float64, err error) {
	a := w.sizing.drawn.of(w.drawKey(table, p, suction, 0, adverse), func() drawAnswer {
		d, err := table.Draw(p.inlet+tableAtmosphere, p.outlet+tableAtmosphere, suction, w.serviceGas(adverse))
		return drawAnswer{d.Flow.Low, d.Flow.High, err}
	})
	return a.low, a.high, a.err
}

// drawnAt is the flow that an injector draws at its weak end at a gauge suction pressure. Above the suction pressures of the
// table it draws at least what it draws at the highest of them; below them nothing is known but that it is no more than at the
// lowest, and beyond says so.
func (w *World) drawnAt(j int32, state *operatingState, suction Number, beyond *bool) Number {
	open := func(high float64, refs ...Ref) Number { return Number{Low: 0, High: high, Missing: refs} }
	if !state.known() {
		return open(math.Inf(1), state.inlet.Missing...)
	}
	table, lacks := w.injectorTable(j)
	if lacks = JoinRefs(lacks, w.ambientOpen()); len(lacks) > 0 {
		return open(math.Inf(1), lacks...)
	}
	at := func(p injectorPoint, s float64, adverse bool) (float64, bool, error) {
		low, high := table.read.SuctionSpan()
		s += tableAtmosphere
		under := s < low
		low, high, err := w.draw(table.read, p, hold(s, low, high), adverse)
		if adverse {
			return low, under, err
		}
		return high, under, err
	}
	assumed := JoinRefs(state.inlet.Assumed, suction.Assumed)
	if math.IsInf(suction.Low, 0) {
		high := math.Inf(1)
		if s := suction.High; !math.IsInf(s, 0) {
			if x, _, err := at(state.strong, s, false); err == nil {
				high = x
			}
		}
		return open(high, lacking(suction)...)
	}
	worst, under, err := at(state.weak, suction.Low, true)
	if err != nil {
		return open(math.Inf(1), specRef(j, "performance"))
	}
	if under {
		if beyond != nil && len(w.data(j).GetVenturiInjector().GetSuctionCurve()) > 0 {
			*beyond = true
		}
		high, _, err := at(state.strong, suction.High, false)
		if err != nil {
			high = math.Inf(1)
		}
		return open(high, specRef(j, "suction_curve"))
	}
	kindest, _, err := at(state.strong, suction.High, false)
	if err != nil {
		return open(math.Inf(1), specRef(j, "performance"))
	}
	return settle(worst, kindest, assumed)
}

// deepestSuction is the lowest gauge suction pressure to which an injector at its strong end pulls while no more than the design
// flow comes.
func (w *World) deepestSuction(j int32, state *operatingState, need Number) Number {
	table, lacks := w.injectorTable(j)
	missing := JoinRefs(lacks, lacking(need), w.ambientOpen())
	if !state.known() {
		missing = joinRefs(missing, state.inlet.Missing)
	}
	if len(missing) > 0 {
		return Missing(missing...)
	}
	a := w.sizing.deepest.of(w.drawKey(table.read, state.strong, 0, need.Low, false), func() drawAnswer {
		return suctionFor(table.read, state.strong, need.Low, w.serviceGas(false))
	})
	assumed := JoinRefs(state.inlet.Assumed, need.Assumed)
	switch {
	case a.err != nil:
		return Missing(specRef(j, "performance"))
	case a.low < a.high:
		return Number{Low: math.Inf(-1), High: a.high, Missing: []Ref{specRef(j, "suction_curve")}, Assumed: assumed}
	}
	return settle(a.low, a.low, assumed)
}

// suctionFor is the gauge suction pressure at which an injector draws a flow, or the highest of its table where it draws no more
// there. Where it draws more even at the lowest, low stays open.
func suctionFor(table *unitop.Injector, p injectorPoint, need float64, gas unitop.SuctionGas) drawAnswer {
	draws := func(s float64) (float64, error) {
		d, err := table.Draw(p.inlet+tableAtmosphere, p.outlet+tableAtmosphere, s, gas)
		return d.Flow.High, err
	}
	low, high := table.SuctionSpan()
	most, err := draws(high)
	if err != nil || most <= need {
		return drawAnswer{high - tableAtmosphere, high - tableAtmosphere, err}
	}
	least, err := draws(low)
	if err != nil || least > need {
		return drawAnswer{math.Inf(-1), low - tableAtmosphere, err}
	}
	for high-low > 0.1 {
		mid := low + (high-low)/2
		flow, err := draws(mid)
		if err != nil {
			return drawAnswer{err: err}
		}
		if flow > need {
			high = mid
		} else {
			low = mid
		}
	}
	return drawAnswer{low: low - tableAtmosphere, high: low - tableAtmosphere}
}
