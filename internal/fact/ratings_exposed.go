package fact

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// part is a component or line as something that bears pressure.
type part struct {
	component int32 // -1 for a line
	line      int32 // -1 for a component
	nodes     []int32
	rating    Number
	pressure  Number // the highest while everything holds
}

// exposed is a part together with what it is exposed to.
type exposed struct {
	part     *part
	node     int32
	pressure Number
}

// exposure is all that one source, barrier or regulator exposes beyond its rating.
type exposure struct {
	sure, maybe []exposed
	missing     []Ref
	worst       int // of sure, the one that is exceeded the most
}

// loads compares every part with its rating, once with everything holding, once with each barrier failed, once with each
// regulator failed open, and says what is at fault.
type loads struct {
	components, lines []part // by index
	bySource          map[int32]*exposure
	byBarrier         map[int32]*exposure
	byWaterBarrier    map[int32]*exposure // water that comes up a line of gas
	byRegulator       map[int32]*exposure
	byRelief          map[int32]*exposure // less than what a relief device lets stand
}

func (w *World) loads() *loads { return w.ratings.loads.get(w.findLoads) }

func (w *World) findLoads() *loads {
	x := w.pressures()
	w.pause()
	l := &loads{bySource: map[int32]*exposure{}, byBarrier: map[int32]*exposure{}, byWaterBarrier: map[int32]*exposure{}, byRegulator: map[int32]*exposure{}, byRelief: map[int32]*exposure{}}
	w.listParts(l, x.g)
	regulators := false
	for i := range x.g.limits {
		regulators = regulators || x.g.limits[i].regulator
	}
	for _, list := range [2][]part{l.components, l.lines} {
		for i := range list {
			part := &list[i]
			w.loadPart(l, x, part)
			if regulators {
				w.loadByRegulator(l, part)
			}
		}
	}
	w.loadByReliefs(l)
	for _, m := range []map[int32]*exposure{l.bySource, l.byBarrier, l.byWaterBarrier, l.byRegulator, l.byRelief} {
		for _, e := range m {
			e.finish()
		}
	}
	return l
}

// listParts lists what bears pressure, with its rating.
func (w *World) listParts(l *loads, g *pressureGraph) {
	p := w.Plant
	l.components, l.lines = make([]part, len(p.Components)), make([]part, len(p.Lines))
	pipes := int32(0)
	for i := range p.Lines {
		pipes += p.Lines[i].NumWays
	}
	// A port has up to two nodes, a pipe two ports.
	ports, nodes := make([]int32, 0, 16), make([]int32, 0, 2*len(p.Ports)+4*int(pipes))
	for i := range p.Components {
		c, component := &p.Components[i], int32(i)
		x := &l.components[i]
		x.component, x.line = component, -1
		if !w.bearsPressure(component) {
			continue
		}
		ports = ports[:0]
		for k := range c.NumPorts {
			if port := c.FirstPort + k; p.Ports[port].Joints > 0 && !w.jacketPort(port) {
				ports = append(ports, port)
			}
		}
		x.nodes, nodes = g.nodesOf(ports, nodes)
		temperature := w.temperatures().dry(w.wet(component))
		if w.temperatures().warmed.Has(component) {
			temperature = w.highestTemperature(ports, w.wet(component))
		}
		x.rating = w.componentRating(component, temperature)
	}
	for i := range p.Lines {
		line := int32(i)
		x := &l.lines[i]
		x.component, x.line = -1, line
		ports = w.linePorts(ports[:0], line)
		x.nodes, nodes = g.nodesOf(ports, nodes)
		x.rating = w.lineRating(line, w.highestTemperature(ports, w.wetLine(line)))
	}
}

// linePorts appends the ports at which the pipes of a line end.
func (w *World) linePorts(ports []int32, line int32) []int32 {
	l := &w.Plant.Lines[line]
	for way := l.FirstWay; way < l.FirstWay+l.NumWays; way++ {
		ports = append(ports, w.Plant.Ways[way].From, w.Plant.Ways[way].To)
	}
	return ports
}

// partOfGas tells whether a part lies in a line of gas, where water comes only backwards.
func (w *World) partOfGas(p *part) Truth {
	if p.component < 0 {
		return w.lineOfGas(p.line)
	}
	return w.inGasLine(p.component)
}

// nodesOf lists the nodes of ports behind those in a list that is shared, and gives the longer list as well.
func (g *pressureGraph) nodesOf(ports, shared []int32) (nodes, all []int32) {
	first := len(shared)
	for _, port := range ports {
		shared = append(shared, port)
		if gas := g.gas[port]; gas != port {
			shared = append(shared, gas)
		}
	}
	return shared[first:len(shared):len(shared)], shared
}

// highestOf gives the node at which a part has its highest pressure.
func (x *pressures) highestOf(nodes []int32, failures int) (node int32, low, high float64) {
	node, low, high = -1, math.Inf(-1), math.Inf(-1)
	for _, n := range nodes {
		a, b := x.ends(n, failures)
		if b > high || node < 0 {
			node = n
		}
		low, high = max(low, a), max(high, b)
	}
	if node < 0 {
		return -1, 0, 0
	}
	return node, low, high
}

// loadPart judges a part while everything holds, and with each failure by which more comes.
func (w *World) loadPart(l *loads, x *pressures, p *part) {
	node, low, high := x.highestOf(p.nodes, 0)
	if node < 0 {
		return
	}
	p.pressure = between(low, high)
	if low < high || w.Plant.HasAssumptions() {
		p.pressure = w.pressureOf(x, p.nodes, 0)
	}
	if high > 0 && p.rating.Low < high {
		w.exposeBySource(l, x, p, node, low > p.rating.High)
	}
	if low > p.rating.High {
		return // it bursts while everything holds; what fails besides adds nothing
	}
	for _, n := range p.nodes {
		arc, ok := x.failure(n, p.rating, low, high)
		if !ok {
			continue
		}
		to, component, pressure := l.byBarrier, w.Plant.Ways[x.g.arcWay(arc)].Component, x.at(w, n, 1)
		if int(n) < len(x.g.gas) {
			switch gas := w.partOfGas(p); gas.Value {
			case True:
				to = l.byWaterBarrier
			case Undecided:
				// It is exposed all the same; whether that is water up a gas line is a question of its own.
				flood := Number{Low: math.Inf(-1), High: pressure.High, Missing: joinRefs(pressure.Missing, gas.Missing), Assumed: pressure.Assumed}
				get(l.byWaterBarrier, component).add(exposed{p, n, flood})
			}
		}
		get(to, component).add(exposed{p, n, pressure})
	}
}

// failure finds the arc whose failure brings more to a node than the part bears and than comes to it anyway (low to high). What
// is known to come goes before what may come, so that another unknown does not hide it.
func (x *pressures) failure(node int32, rating Number, low, high float64) (arc int32, ok bool) {
	lowBefore, highBefore := x.ends(node, 0)
	lowAfter, highAfter := x.ends(node, 1)
	switch {
	case lowAfter > lowBefore && lowAfter > low && lowAfter > rating.Low:
		arc = x.failedArc(node, lowEnd)
	case highAfter > highBefore && highAfter > high && highAfter > rating.Low:
		arc = x.failedArc(node, highEnd)
	default:
		return flowpath.None, false
	}
	return arc, arc != flowpath.None && x.g.arcWay(arc) >= 0
}

// exposeBySource notes an overload against the source that sets it; where the pressure is not known, against the one that
// might.
func (w *World) exposeBySource(l *loads, x *pressures, p *part, node int32, sure bool) {
	end := highEnd
	if sure {
		// The source whose pressure is known to be too high, not one that might be higher still.
		end = lowEnd
		best := math.Inf(-1)
		for _, n := range p.nodes {
			if _, v, _, ok := x.best(n, 0, lowEnd); ok && v > best {
				node, best = n, v
			}
		}
	}
	f, _, through, ok := x.best(node, 0, end)
	if !ok {
		return
	}
	source, _ := f.trace(x, node, 0, through)
	get(l.bySource, x.sourceComponent(source)).add(exposed{p, node, p.pressure})
}

// loadByRegulator judges a part with each regulator failed open.
func (w *World) loadByRegulator(l *loads, p *part) {
	x := w.failingRegulators()
	_, low, high := x.highestOf(p.nodes, 0)
	if low > p.rating.High {
		return
	}
	for _, n := range p.nodes {
		if arc, ok := x.failure(n, p.rating, low, high); ok {
			get(l.byRegulator, w.Plant.Ways[x.g.arcWay(arc)].Component).add(exposed{p, n, x.at(w, n, 1)})
		}
	}
}

// pressureOf is the highest pressure of several nodes, with what would make it known.
func (w *World) pressureOf(x *pressures, nodes []int32, failures int) Number {
	_, low, high := x.highestOf(nodes, failures)
	n := between(low, high)
	for _, node := range nodes {
		m := x.at(w, node, failures)
		n.Assumed = joinRefs(n.Assumed, m.Assumed)
		if low < high && m.High == high {
			n.Missing = joinRefs(n.Missing, m.Missing)
		}
	}
	return n
}

func get(m map[int32]*exposure, key int32) *exposure {
	e := m[key]
	if e == nil {
		e = &exposure{}
		m[key] = e
	}
	return e
}

// add notes an exposed part; one part counts once, with the higher pressure.
func (e *exposure) add(x exposed) {
	list := &e.maybe
	if x.pressure.Low > x.part.rating.High {
		list = &e.sure
	}
	if n := len(*list); n > 0 && (*list)[n-1].part == x.part {
		if x.pressure.High > (*list)[n-1].pressure.High {
			(*list)[n-1] = x
		}
		return
	}
	*list = append(*list, x)
}

// finish finds the worst part and the missing data.
func (e *exposure) finish() {
	e.maybe = slices.DeleteFunc(e.maybe, func(x exposed) bool {
		return slices.ContainsFunc(e.sure, func(y exposed) bool { return y.part == x.part })
	})
	for i := range e.sure {
		excess := func(x *exposed) float64 { return x.pressure.Low - x.part.rating.High }
		if excess(&e.sure[i]) > excess(&e.sure[e.worst]) {
			e.worst = i
		}
	}
	for _, x := range e.maybe {
		e.missing = append(e.missing, x.pressure.Missing...)
		e.missing = append(e.missing, x.part.rating.Missing...)
		e.missing = append(e.missing, x.pressure.Assumed...)
		e.missing = append(e.missing, x.part.rating.Assumed...)
	}
	slices.SortFunc(e.missing, Ref.compare)
	e.missing = slices.Compact(e.missing)
}

// number counts the exposed parts.
func (e *exposure) number() Number {
	if e == nil {
		return Exactly(0)
	}
	return Number{Low: float64(len(e.sure)), High: float64(len(e.sure) + len(e.maybe)), Missing: e.missing}
}

// first is the worst exposed part, or one that may be exposed.
func (e *exposure) first() (exposed, bool) {
	switch {
	case e == nil:
	case len(e.sure) > 0:
		return e.sure[e.worst], true
	case len(e.maybe) > 0:
		return e.maybe[0], true
	}
	return exposed{}, false
}

// tag names a part.
func (w *World) tag(p *part) string {
	if p.line >= 0 {
		return w.Plant.Lines[p.line].Tag
	}
	return w.Plant.Components[p.component].Tag
}

// pathTo shows how pressure comes to an exposed part, and ends with it.
func (w *World) pathTo(x *pressures, e exposed, failures int) Path {
	return w.endWith(x.path(w, e.node, failures), e.part)
}

// endWith adds a part to the end of a path that does not pass it.
func (w *World) endWith(path Path, p *part) Path {
	for _, s := range path {
		if s.Component == p.component && s.Line == p.line {
			return path
		}
	}
	if len(path) > 0 {
		if last := &path[len(path)-1]; last.Role == skidrulev1.StepRole_STEP_ROLE_TARGET {
			last.Role = skidrulev1.StepRole_STEP_ROLE_PASSES
		}
		path = append(path, Step{Component: p.component, Line: p.line, Role: skidrulev1.StepRole_STEP_ROLE_TARGET})
	}
	return path
}

// exposureFacts are the facts of an exposure under a common prefix.
func exposureFacts(prefix, what string, get func(w *World, component int32) *exposure, path func(w *World, e exposed) Path, kinds ...plant.Kind) []Definition {
	return []Definition{
		countFact(prefix+"_parts", "Parts that "+what+" beyond their rating.",
			func(w *World, at At) Number { return get(w, at.Index).number() }, kinds...),
		textFact(prefix+"_part", "The one that is exceeded the most.", func(w *World, at At) Text {
			if e, ok := get(w, at.Index).first(); ok {
				return Text{Value: w.tag(e.part)}
			}
			return Text{}
		}, kinds...),
		quantityFact(prefix+"_pressure", quantity.PressureGauge, "Its pressure then.", func(w *World, at At) Number {
			e, _ := get(w, at.Index).first()
			return e.pressure
		}, kinds...),
		quantityFact(prefix+"_rating", quantity.PressureGauge, "Its rating at its highest temperature.", func(w *World, at At) Number {
			if e, ok := get(w, at.Index).first(); ok {
				return e.part.rating
			}
			return Number{}
		}, kinds...),
		pathFact(prefix+"_path", "The way of the pressure to it.", func(w *World, at At) Path {
			if e, ok := get(w, at.Index).first(); ok {
				return path(w, e)
			}
			return nil
		}, kinds...),
	}
}
