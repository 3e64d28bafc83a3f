package fact

import (
	"errors"
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// gasCase is what each injector draws and each group of generators gets in a case.
type gasCase struct {
	injector  map[int32]*injectorGas
	generator map[int32]*generatorFlow
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
	c := &gasCase{injector: map[int32]*injectorGas{}, generator: map[int32]*generatorFlow{}}
	x := w.gasNet()
	for _, j := range w.OfKind(plant.KindVenturiInjector) {
		if len(x.injectors[j]) > 0 {
			c.injector[j] = w.findInjectorGas(j, at)
		}
	}
	for _, g := range x.generators {
		c.generator[g] = w.findGeneratorFlow(g, at, c)
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
		return highest.Min(w.feedPressure(generator).Sub(w.atmosphere()))
	}
	return Missing(specRef(generator, "mode"))
}

// heldPressure is the set pressure of the back-pressure valve between a cell and an injector; false where there is none.
func (w *World) heldPressure(generator, injector int32) (Number, bool) {
	gas := w.gasNet().of[generator]
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
	for _, g := range x.injectors[j] {
		gas := x.of[g]
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
	air := w.atmosphere()
	gas := w.gasNet().of[generator]
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

// serviceGas gives the ends of the gas that an injector draws: adverse is hot and heavy, of which it draws the least.
func (w *World) serviceGas(adverse bool) unitop.SuctionGas {
	f := w.gasStream(adverse)
	return unitop.SuctionGas{MolarMass: f.molarMass, Temperature: f.heat / gasConstant}
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

// findGeneratorFlow computes what a generator gets.
func (w *World) findGeneratorFlow(g, at int32, c *gasCase) *generatorFlow {
	x := w.gasNet()
	gas := x.of[g]
	f := &generatorFlow{cellLow: Number{Low: math.Inf(1), High: math.Inf(1)}}
	group := x.group[g]
	need, drawn := Exactly(0), Exactly(0)
	for _, h := range group {
		need = need.Add(x.of[h].design)
	}
	injectors := x.groupInjectors(group)
	for _, j := range injectors {
		drawn = drawn.Add(c.injector[j].drawn)
	}
	for _, j := range gas.injectors {
		f.cellLow = f.cellLow.Min(w.pulledCell(g, j, c.injector[j].deepest))
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
	air := w.atmosphere()
	way := w.gasNet().of[g].wayTo(j)
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
			p += s + atmosphere - out
		}
		return p - atmosphere
	}
	return Number{Low: before(suction.Low, air.Low), High: before(suction.High, air.High), Assumed: JoinRefs(known.Assumed, suction.Assumed, air.Assumed)}
}

// heldFromSuction tells whether something between a cell and each of its injectors takes up what the injector pulls too much: a
// back-pressure valve set within the cell's window, or a throttled valve.
func (w *World) heldFromSuction(g int32) Truth {
	gas := w.gasNet().of[g]
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
	gas := w.gasNet().of[g]
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
	air := w.atmosphere()
	missing := JoinRefs(lacking(air), w.ambientOpen())
	ways := map[[2]int32][]gasStep{}
	for _, g := range group {
		gas := x.of[g]
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
		need += x.of[g].design.Low
	}
	var above []Ref
	kind := w.gasStream(false)
	surplus := func(factor float64) (float64, error) {
		sum := 0.0
		for _, j := range injectors {
			suction := 0.0
			for _, g := range x.injectors[j] {
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
			return Number{Low: 0, High: math.Inf(1), Missing: []Ref{{Kind: RefElement, Index: injectors[0]}}}
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
	gas := w.gasNet().of[g]
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

func (w *World) groupGas(g, at int32) groupGas {
	x, c := w.gasNet(), w.gasCase(at)
	out := groupGas{need: Exactly(0), best: Exactly(0), drawn: Exactly(0), weakest: -1}
	for _, h := range x.group[g] {
		out.need = out.need.Add(x.of[h].design)
	}
	least := math.Inf(1)
	for _, j := range x.groupInjectors(x.group[g]) {
		s := c.injector[j]
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
	gas := w.gasNet().of[g]
	return gas != nil && len(gas.injectors) > 0
}

// gasPathOf is the way of the gas from a generator to the injector of its group that lacks the most, or to its first.
func (w *World) gasPathOf(g, at int32) Path {
	gas := w.gasNet().of[g]
	if gas == nil || len(gas.injectors) == 0 {
		return nil
	}
	k := max(0, slices.Index(gas.injectors, w.groupGas(g, at).weakest))
	return w.wayPath(w.Plant.PortByTrait(g, 1), gas.toward[k], nil)
}

// cellNeeded is the gauge pressure that the feed has to bring behind the cells: what the back-pressure valve holds, else the
// least that the cell bears.
func (w *World) cellNeeded(g int32) Number {
	least := w.number(w.data(g).GetOzoneGenerator().MinCellPressurePaGauge, specRef(g, "min_cell_pressure"))
	gas := w.gasNet().of[g]
	if gas == nil {
		return least
	}
	held := Number{Low: math.Inf(-1), High: math.Inf(-1)}
	for _, j := range gas.injectors {
		if set, ok := w.heldPressure(g, j); ok {
			held = held.Max(set)
		}
	}
	if math.IsInf(held.High, -1) {
		return least
	}
	return held
}

// highestHeld is the highest gauge pressure that a valve holds in a cell; false where none does.
func (w *World) highestHeld(g int32) (Number, bool) {
	gas := w.gasNet().of[g]
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
