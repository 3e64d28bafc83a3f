package fact

import (
	"cmp"
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// gasNet is who feeds whom with gas: sources, generators and injectors, by normal flow, valves taken as open.
type gasNet struct {
	generators []int32 // in use, ascending
	of         table[*generatorGas]
	injectors  table[[]int32] // generators that each injector draws from
	group      table[[]int32] // for each generator the generators that share injectors with it, ascending
	feedOf     table[[]int32] // generators that each source feeds
	place      []int32        // of each way, one more than its place in flows; 0 where no gas passes it
	flows      []Number       // design gas flow of ways
}

// flow is the design gas flow of a way; false where none passes it.
func (x *gasNet) flow(way int32) (Number, bool) {
	if i := x.place[way]; i > 0 {
		return x.flows[i-1], true
	}
	return Number{}, false
}

// gasThrough is the design gas flow that passes a component; false where none does.
func (w *World) gasThrough(component int32) (Number, bool) {
	x, c := w.gasNet(), &w.Plant.Components[component]
	for port := c.FirstPort; port < c.FirstPort+c.NumPorts; port++ {
		for _, way := range w.Plant.WaysAt(port) {
			if q := &w.Plant.Ways[way]; q.Component == component && q.From == port && x.place[way] > 0 {
				return x.flow(way)
			}
		}
	}
	return Number{}, false
}

func (x *gasNet) addFlow(way int32, n Number) {
	if x.place[way] == 0 {
		x.flows = append(x.flows, Number{})
		x.place[way] = int32(len(x.flows))
	}
	sum := &x.flows[x.place[way]-1]
	*sum = sum.Add(n)
}

// note puts something on the list of a component.
func note[T any](t *table[[]T], of int32, x T) {
	list := t.at(of)
	*list = append(*list, x)
}

// generatorGas is the gas of one generator.
type generatorGas struct {
	injectors []int32
	toward    [][]int32 // arcs from its outlet to each injector
	sources   []int32
	from      [][]int32 // arcs from each source to its inlet
	design    Number    // rated flow

	towardWays, fromWays []gasWay // the same with what resists; those from sources go through the cells
}

func (w *World) gasNet() *gasNet { return w.sizing.gas.get(w.traceGas) }

// generatorsInUse counts them.
func (w *World) generatorsInUse() int {
	n := 0
	for _, g := range w.OfKind(plant.KindOzoneGenerator) {
		if !w.data(g).GetOutOfUse() {
			n++
		}
	}
	return n
}

func (w *World) traceGas() *gasNet {
	generators := w.OfKind(plant.KindOzoneGenerator)
	n := len(generators)
	x := &gasNet{of: newTable[*generatorGas](w, n), injectors: newTable[[]int32](w, n), group: newTable[[]int32](w, n), feedOf: newTable[[]int32](w, n), place: make([]int32, len(w.Plant.Ways))}
	for _, g := range generators {
		w.pause()
		if w.data(g).GetOutOfUse() {
			continue
		}
		x.generators = append(x.generators, g)
		gas := &generatorGas{design: w.number(w.data(g).GetOzoneGenerator().RatedFlowMolPerS, specRef(g, "rated_flow"))}
		gas.injectors, gas.toward = w.gasPaths(w.Plant.PortByTrait(g, 1), true)
		gas.sources, gas.from = w.gasPaths(w.Plant.PortByTrait(g, 0), false)
		*x.of.at(g) = gas
		for _, j := range gas.injectors {
			note(&x.injectors, j, g)
		}
		for _, s := range gas.sources {
			note(&x.feedOf, s, g)
		}
		arcs := 0
		for _, paths := range [2][][]int32{gas.toward, gas.from} {
			for _, path := range paths {
				arcs += len(path)
			}
		}
		x.flows = slices.Grow(x.flows, arcs)
		for _, paths := range [2][][]int32{gas.toward, gas.from} {
			part := gas.design.Scale(1 / float64(len(paths)))
			for _, arcs := range paths {
				for _, arc := range arcs {
					x.addFlow(arc/2, part)
				}
			}
		}
	}
	x.groupGenerators()
	var room []drop
	var losses []resistance
	for _, g := range x.generators {
		gas := x.of.of(g)
		gas.towardWays, gas.fromWays = make([]gasWay, len(gas.toward)), make([]gasWay, len(gas.from))
		for k, arcs := range gas.toward {
			gas.towardWays[k], room = w.gasWay(x, arcs, room)
		}
		for k, arcs := range gas.from {
			way := &gas.fromWays[k]
			*way, room = w.gasWay(x, arcs, room)
			losses = w.componentLosses(losses[:0], g, Exactly(0), true)
			for i := range losses {
				r := &losses[i]
				way.steps = append(way.steps, gasStep{drop: r.drop(), flow: gas.design.bounds()})
				n := r.refs()
				way.known.Missing = JoinRefs(way.known.Missing, n.Missing, lacking(gas.design))
				way.known.Assumed = joinRefs(way.known.Assumed, n.Assumed)
			}
		}
	}
	return x
}

// groupGenerators joins the generators that draw on common injectors.
func (x *gasNet) groupGenerators() {
	seen, seenInjector := flowpath.NewSet(len(x.of.place)), flowpath.NewSet(len(x.of.place))
	for _, g := range x.generators {
		if seen.Has(g) {
			continue
		}
		seen.Add(g)
		group := []int32{g}
		for k := 0; k < len(group); k++ {
			for _, j := range x.of.of(group[k]).injectors {
				if seenInjector.Has(j) {
					continue
				}
				seenInjector.Add(j)
				for _, h := range x.injectors.of(j) {
					if !seen.Has(h) {
						seen.Add(h)
						group = append(group, h)
					}
				}
			}
		}
		slices.Sort(group)
		for _, h := range group {
			*x.group.at(h) = group
		}
	}
}

// groupInjectors lists the injectors of a group of generators, ascending.
func (x *gasNet) groupInjectors(group []int32) []int32 {
	var out []int32
	for _, g := range group {
		out = append(out, x.of.of(g).injectors...)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// gasEnd tells the ports at which the search for gas ends: the suction of injectors, or where feed gas comes from.
func (w *World) gasEnd(port int32, forward bool) (found, stop bool) {
	component := w.Plant.Ports[port].Component
	c := &w.Plant.Components[component]
	switch c.Kind {
	case plant.KindVenturiInjector:
		return forward && w.Plant.Ports[port].Trait == 1, true
	case plant.KindOxygenConcentrator, plant.KindGasSupply, plant.KindCompressor, plant.KindBlower:
		return !forward, true
	case plant.KindBoundary:
		return !forward && c.Data.GetBoundary().GetRole() != skidrulev1.BoundaryRole_BOUNDARY_ROLE_SINK, true
	case plant.KindOzoneGenerator:
		return false, true
	}
	return false, isGasVessel(c.Kind)
}

// gasPaths finds, for each end of the gas from a port, the way with the fewest shut valves and then the fewest elements. Ends
// come in order of components; arcs run in the direction of flow.
func (w *World) gasPaths(start int32, forward bool) (ends []int32, paths [][]int32) {
	return w.pathsTo(start, forward, w.gasEnd)
}

// pathMark is how a search for paths came to a port.
type pathMark struct {
	search int32 // the search that came by last
	arc    int32 // by which it came; -1 at the start
	shut   int32 // shut valves before it
	done   bool
}

// pathRoom is what one search for paths after another uses.
type pathRoom struct {
	marks            []pathMark // by port
	search           int32
	now, next, found []int32
}

// pathsTo is the search behind it, with what ends it.
func (w *World) pathsTo(start int32, forward bool, end func(port int32, forward bool) (found, stop bool)) (ends []int32, paths [][]int32) {
	room, _ := w.sizing.paths.Get().(*pathRoom)
	if room == nil || room.search == math.MaxInt32 {
		room = &pathRoom{marks: make([]pathMark, len(w.Plant.Ports))}
	}
	defer w.sizing.paths.Put(room)
	room.search++
	g, p, runs, marks := w.Graph(), w.Plant, w.normalRuns(), room.marks
	marks[start] = pathMark{search: room.search, arc: -1}
	// Ports by the number of shut valves before them: two queues that take turns suffice for costs of zero and one.
	now, next, found := append(room.now[:0], start), room.next[:0], room.found[:0]
	for len(now) > 0 {
		for k := 0; k < len(now); k++ {
			port := now[k]
			if marks[port].done {
				continue
			}
			marks[port].done = true
			if port != start {
				isEnd, stop := end(port, forward)
				if isEnd {
					found = append(found, port)
				}
				if stop {
					continue
				}
			}
			before := marks[port].shut
			for _, way := range p.WaysAt(port) {
				if w.kindOfWay(way) == plant.KindOzoneGenerator {
					continue
				}
				for d := range int32(2) {
					arc := 2*way + d
					from, to := g.From(arc), g.To(arc)
					if !forward {
						from, to = to, from
					}
					mark := &marks[to]
					come := mark.search == room.search
					if from != port || come && mark.done || !runs.may[arc] {
						continue
					}
					shut := before
					if runs.shut[way] {
						shut++
					}
					if come && mark.shut <= shut {
						continue
					}
					*mark = pathMark{search: room.search, arc: arc, shut: shut}
					if shut > before {
						next = append(next, to)
					} else {
						now = append(now, to)
					}
				}
			}
		}
		now, next = next, now[:0]
	}
	room.now, room.next, room.found = now, next, found
	// Of a component the port counts that was come to first.
	slices.SortStableFunc(found, func(a, b int32) int { return cmp.Compare(p.Ports[a].Component, p.Ports[b].Component) })
	for _, port := range found {
		component := p.Ports[port].Component
		if n := len(ends); n > 0 && ends[n-1] == component {
			continue
		}
		ends = append(ends, component)
		length := 0
		for at := port; marks[at].arc >= 0; at = tailOf(g, marks[at].arc, forward) {
			length++
		}
		arcs := make([]int32, 0, length)
		for at := port; marks[at].arc >= 0; at = tailOf(g, marks[at].arc, forward) {
			arcs = append(arcs, marks[at].arc)
		}
		if forward {
			slices.Reverse(arcs)
		}
		paths = append(paths, arcs)
	}
	return ends, paths
}

// tailOf is the end of an arc that a search came from.
func tailOf(g *flowpath.Graph, arc int32, forward bool) int32 {
	if forward {
		return g.From(arc)
	}
	return g.To(arc)
}

// gasStep is one resistance of a gas way with the flow that passes it at the design flows.
type gasStep struct {
	drop
	flow bounds
	shut bool
}

// gasWay is what resists along a way that gas takes, and what of it is not stated.
type gasWay struct {
	steps []gasStep
	known Number
}

// gasWay gathers what resists along arcs. room is for a list, and is handed back.
func (w *World) gasWay(x *gasNet, arcs []int32, room []drop) (gasWay, []drop) {
	list, known := w.resistancesInto(room[:0], arcs, true)
	way := gasWay{known: known, steps: make([]gasStep, 0, len(list)+1)}
	for i := range list {
		flow, _ := x.flow(list[i].arc / 2)
		way.known.Missing = joinRefs(way.known.Missing, lacking(flow))
		way.steps = append(way.steps, gasStep{drop: list[i], flow: flow.bounds()})
	}
	shut := w.normalRuns().shut
	for _, arc := range arcs {
		if shut[arc/2] {
			way.steps = append(way.steps, gasStep{drop: drop{arc: arc}, shut: true})
		}
	}
	return way, list
}

// march carries an absolute pressure along a way, with the flows of the design times a factor; zero where the flow cannot pass.
func march(p float64, steps []gasStep, f *stream, factor, atmosphere float64) float64 {
	for i := range steps {
		if steps[i].shut {
			return 0
		}
		p = steps[i].gasOutlet(p, steps[i].flow.end(f.adverse)*factor, f, atmosphere)
		if p <= 0 {
			return 0
		}
	}
	return p
}

// Ends between which the molar mass in kg/mol of gas before an injector lies: dry air, and oxygen with 15 wt % of ozone, more
// than generators make.
const (
	lightGas = 28.9e-3
	heavyGas = 33.7e-3
)

// findAmbientOpen names the temperatures of the surroundings where the basis does not state them.
func (w *World) findAmbientOpen() []Ref {
	b := w.Plant.Basis
	return lacking(w.number(b.MinAmbientTemperatureK, basisRef("min_ambient_temperature")), w.number(b.MaxAmbientTemperatureK, basisRef("max_ambient_temperature")))
}

// findGasStream finds one end of the gas of the plant. Where the basis states no temperature of the surroundings nothing is computed
// with it; see ambientOpen.
func (w *World) findGasStream(adverse bool) stream {
	b := w.Plant.Basis
	low := w.number(b.MinAmbientTemperatureK, basisRef("min_ambient_temperature")).Low
	high := w.number(b.MaxAmbientTemperatureK, basisRef("max_ambient_temperature")).High
	f := stream{adverse: adverse, molarMass: lightGas, heat: fluid.GasConstant * low, viscosity: gasViscosity, twoPhase: 1}
	if adverse {
		f.molarMass, f.heat = heavyGas, fluid.GasConstant*high
	}
	return f
}

// gasViscosity is the viscosity in Pa s of oxygen at 20 degC, near which those of all feed gases lie.
var gasViscosity = func() float64 {
	oxygen := feedGases()[1]
	mu, err := oxygen.Viscosity(293.15)
	must(err)
	return mu.Best
}()

// sourcePressure is the gauge pressure at which a source delivers a gas flow in mol/s, at its low end.
func (w *World) sourcePressure(source int32, load Number) Number {
	data := w.data(source)
	first := func(low, other *float64, field string) Number {
		if low != nil {
			return Exactly(*low)
		}
		return w.number(other, specRef(source, field))
	}
	switch s := data.GetSpec().(type) {
	case *skidrulev1.Component_GasSupply:
		return w.number(s.GasSupply.MinPressurePaGauge, specRef(source, "min_pressure"))
	case *skidrulev1.Component_Boundary:
		return first(s.Boundary.MinPressurePaGauge, s.Boundary.PressurePaGauge, "pressure")
	case *skidrulev1.Component_OxygenConcentrator:
		var flow, pressure []float64
		for _, point := range s.OxygenConcentrator.GetProduct() {
			if point.ProductFlowMolPerS != nil && point.DeliveryPressurePaGauge != nil {
				flow, pressure = append(flow, *point.ProductFlowMolPerS), append(pressure, *point.DeliveryPressurePaGauge)
			}
		}
		if n, ok := readCurve(flow, pressure, load); ok {
			return n
		}
		return w.number(s.OxygenConcentrator.DeliveryPressurePaGauge, specRef(source, "delivery_pressure"))
	case *skidrulev1.Component_Compressor:
		var flow, pressure []float64
		for _, point := range s.Compressor.GetCurve() {
			if point.FlowMolPerS != nil && point.PressurePaGauge != nil {
				flow, pressure = append(flow, *point.FlowMolPerS), append(pressure, *point.PressurePaGauge)
			}
		}
		if n, ok := readCurve(flow, pressure, load); ok {
			return n
		}
		return Missing(specRef(source, "curve"))
	}
	return Missing(elementRef(source))
}

// readCurve reads a curve by straight lines at both ends of a number; false where it has fewer than two points, does not rise
// along x, or does not hold the number.
func readCurve(x, y []float64, at Number) (Number, bool) {
	if len(x) < 2 || math.IsInf(at.Low, 0) || math.IsInf(at.High, 0) || at.Low < x[0] || at.High > x[len(x)-1] {
		return Number{}, false
	}
	for i := 1; i < len(x); i++ {
		if !(x[i] > x[i-1]) {
			return Number{}, false
		}
	}
	c := pumpCurve{flow: x}
	a, b := c.at(at.Low, y), c.at(at.High, y)
	return Number{Low: min(a, b), High: max(a, b), Missing: at.Missing, Assumed: at.Assumed}, true
}

// load is the design gas flow that a source gives: that of the ways that leave it.
func (w *World) load(source int32) Number {
	x := w.gasNet()
	total := Exactly(0)
	for _, g := range x.feedOf.of(source) {
		total = total.Add(x.of.of(g).design.Scale(1 / float64(len(x.of.of(g).sources))))
	}
	return total
}

// feedPressure is the absolute pressure that is left behind a generator's cells at the design flows, valves that are set on site
// taken as wide open; of several sources that of the weakest.
func (w *World) feedPressure(generator int32) Number {
	all := w.sizing.feeds.get(func() *table[Number] {
		all := newTable[Number](w, len(w.gasNet().generators))
		for _, g := range w.gasNet().generators {
			*all.at(g) = w.findFeedPressure(g)
		}
		return &all
	})
	if n, ok := all.find(generator); ok {
		return n
	}
	return Missing(elementRef(generator))
}

func (w *World) findFeedPressure(generator int32) Number {
	air := w.media().atmosphere
	gas := w.gasNet().of.of(generator)
	if len(gas.sources) == 0 {
		return Missing(elementRef(generator))
	}
	out := Number{Low: math.Inf(1), High: math.Inf(1)}
	for k, s := range gas.sources {
		steps, known := gas.fromWays[k].steps, gas.fromWays[k].known
		p := w.sourcePressure(s, w.load(s))
		known.Missing = JoinRefs(known.Missing, lacking(p, air), w.ambientOpen())
		if len(known.Missing) > 0 {
			return Number{Low: math.Inf(-1), High: math.Inf(1), Missing: known.Missing, Assumed: known.Assumed}
		}
		adverse, kind := w.gasStream(true), w.gasStream(false)
		one := Number{Low: march(air.Low+p.Low, steps, &adverse, 1, air.Low), High: march(air.High+p.High, steps, &kind, 1, air.High)}
		one.Assumed = JoinRefs(known.Assumed, p.Assumed, air.Assumed)
		out = out.Min(one)
	}
	return out
}
