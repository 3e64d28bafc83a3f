package fact

import (
	"math"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// vacuums is the lowest pressure everywhere: what injectors, blowers and boundaries pull spreads against the flow that it
// would cause. Feed valves are taken as shut, which is when the vacuum is deepest.
type vacuums struct {
	sources []pressureSource
	// ends spread minus the deepest and minus the shallowest that the data leave open.
	ends  [2]flowpath.Levels
	of    [2][]int32
	graph *flowpath.Graph
	// pulled are the ports to which any vacuum comes, pulledParts their components and pulledLines their lines; elsewhere the pressure
	// is that of the atmosphere.
	pulled, pulledParts, pulledLines *flowpath.Set
}

var vacuumFacts = []Definition{
	quantityFact("lowest_pressure", quantity.PressureGauge, "Lowest pressure that can come to it in any case; that of the atmosphere where nothing pulls.",
		func(w *World, at At) Number { return w.componentVacuum(at.Index) }),
	pathFact("lowest_pressure_path", "How the lowest pressure comes to it.",
		func(w *World, at At) Path { return w.lowestPath(w.joinedPortsOf(at.Index)) }),
	quantityFact("lowest_pressure", quantity.PressureGauge, "Lowest pressure that can come to the line in any case.",
		func(w *World, at At) Number { return w.lineVacuum(at.Index) }).on(OnLine),
	pathFact("lowest_pressure_path", "How the lowest pressure comes to the line.",
		func(w *World, at At) Path { return w.lowestPath(w.linePorts(nil, at.Index)) }).on(OnLine),
}

func (w *World) vacuums() *vacuums { return w.ratings.vacuums.get(w.findVacuums) }

func (w *World) findVacuums() *vacuums {
	v := &vacuums{graph: w.Graph(), sources: w.vacuumSources()}
	p := w.Plant
	cost := make([]uint8, v.graph.NumArcs())
	for i := range p.Ways {
		for d := range 2 {
			// The vacuum passes from b to a where fluid could flow from a to b.
			if !w.vacuumPasses(&p.Ways[i], d == 1) {
				cost[2*i+d] = flowpath.Blocked
			}
		}
	}
	ways, err := flowpath.NewWays(v.graph, cost)
	must(err)
	breakers := w.vacuumBreakers()
	for end := range 2 {
		in := flowpath.LevelInput{Ways: ways, Hold: true, NodeLimits: breakers[end]}
		for i, s := range v.sources {
			// Depth is minus the pressure: the deepest is the low end.
			if depth := -endOf(s.value, end); depth > math.Inf(-1) {
				in.Sources = append(in.Sources, flowpath.LevelSource{Node: s.node, Value: depth})
				v.of[end] = append(v.of[end], int32(i))
			}
		}
		must(v.ends[end].Sweep(in))
	}
	v.pulled, v.pulledParts = flowpath.NewSet(len(p.Ports)), flowpath.NewSet(len(p.Components))
	for port := range int32(len(p.Ports)) {
		if deep, ok := v.ends[lowEnd].Value(port, 0); ok && deep > 0 {
			v.pulled.Add(port)
			v.pulledParts.Add(p.Ports[port].Component)
		}
	}
	v.pulledLines = flowpath.NewSet(len(p.Lines))
	for i := range p.Ways {
		if q := &p.Ways[i]; q.IsPipe() && (v.pulled.Has(q.From) || v.pulled.Has(q.To)) {
			v.pulledLines.Add(q.Line)
		}
	}
	return v
}

// vacuumSources lists what pulls: the suction of injectors, the inlet of blowers, boundaries below atmosphere.
func (w *World) vacuumSources() []pressureSource {
	p := w.Plant
	var out []pressureSource
	for i := range p.Components {
		c, component := &p.Components[i], int32(i)
		switch c.Kind {
		case plant.KindVenturiInjector:
			out = append(out, pressureSource{component, p.PortByTrait(component, 1), true, w.injectorVacuum(component)})
		case plant.KindBlower:
			lowest := w.number(c.Data.GetBlower().LowestSuctionPaGauge, specRef(component, "lowest_suction"))
			out = append(out, pressureSource{component, p.PortByTrait(component, 0), true, lowest})
		case plant.KindBoundary:
			out = append(out, pressureSource{component, c.FirstPort, false, w.boundaryVacuum(component)})
		}
	}
	return out
}

// injectorVacuum is the lowest suction pressure that an injector pulls with its suction shut: that of its suction curve at no
// flow. Without one it may pull down to the vapour pressure of the water, which no ejector driven by it can pass.
func (w *World) injectorVacuum(component int32) Number {
	spec := w.data(component).GetVenturiInjector()
	lowest := math.Inf(1)
	for _, point := range spec.GetSuctionCurve() {
		if point.SuctionPressurePaGauge == nil {
			continue
		}
		lowest = min(lowest, *point.SuctionPressurePaGauge)
		if point.RelativeFlowRatio != nil && *point.RelativeFlowRatio == 0 {
			return Exactly(lowest)
		}
	}
	deepest := math.Inf(-1)
	atmosphere := w.atmosphere()
	if !math.IsInf(atmosphere.High, 0) {
		deepest = -atmosphere.High
		if cold := w.temperatures().coldWater; !math.IsInf(cold.Low, 0) {
			if vapour, err := fluid.WaterSaturationPressure(cold.Low); err == nil {
				deepest += vapour
			}
		}
	}
	return Number{Low: deepest, High: min(lowest, 0), Missing: []Ref{specRef(component, "suction_curve")}, Assumed: atmosphere.Assumed}
}

// boundaryVacuum is the lowest pressure at a boundary over all cases.
func (w *World) boundaryVacuum(component int32) Number {
	lowest, _ := w.heldPressures(component)
	return w.number(w.data(component).GetBoundary().MinPressurePaGauge, specRef(component, "min_pressure")).Min(Exactly(lowest))
}

// vacuumPasses tells whether a vacuum behind a way, in the given direction of the fluid that it would draw, pulls on what
// stands before it.
func (w *World) vacuumPasses(q *plant.Way, drawsForward bool) bool {
	if q.IsPipe() {
		return true
	}
	p := w.Plant
	c := &p.Components[q.Component]
	switch c.Kind {
	case plant.KindCheckValve, plant.KindVacuumBreaker:
		return drawsForward
	case plant.KindReliefValve, plant.KindRuptureDisc, plant.KindOpenTank, plant.KindCompressor, plant.KindOxygenConcentrator:
		return false
	case plant.KindVenturiInjector:
		// The suction pulls on the gas; the water side has the pressure of the water.
		return p.PortName(q.From) != "suction"
	case plant.KindFloatVentValve:
		// Its float shuts on the water that the vacuum would draw up.
		return false
	case plant.KindHandValve:
		return c.Data.GetNormalPosition() != skidrulev1.ValvePosition_VALVE_POSITION_CLOSED || !c.Data.GetLocked()
	}
	return true
}

// vacuumBreakers gives, for each end, the depth that no node exceeds: where a breaker with capacity or a compressor lets air
// in and nothing can shut it off.
func (w *World) vacuumBreakers() [2][]float64 {
	var out [2][]float64
	breakers, aired := w.OfKind(plant.KindVacuumBreaker), w.airedPorts()
	if len(breakers) == 0 && len(aired) == 0 {
		return out
	}
	for end := range 2 {
		out[end] = make([]float64, len(w.Plant.Ports))
		for i := range out[end] {
			out[end][i] = math.Inf(1)
		}
		for _, port := range aired {
			out[end][port] = 0
		}
	}
	for _, component := range breakers {
		b := w.data(component).GetVacuumBreaker()
		opening := w.number(b.OpeningPressurePaGauge, specRef(component, "opening_pressure"))
		process := w.Plant.PortByTrait(component, 0)
		seen := make([]bool, len(w.Plant.Ports))
		for _, port := range w.cannotBeShutFrom(process, seen) {
			for end := range 2 {
				// Without a stated capacity it is not known to keep up.
				if depth := -endOf(opening, end); end == highEnd || b.CapacityMolPerS != nil {
					out[end][port] = min(out[end][port], max(depth, 0))
				}
			}
		}
	}
	return out
}

// airedPorts lists the ports to which air comes from a compressor by a way that nothing can block: its valves let air in from
// its inlet when it stands still, and a regulator opens to a vacuum behind it.
func (w *World) airedPorts() []int32 {
	p := w.Plant
	var out []int32
	seen := map[int32]bool{}
	for _, component := range w.OfKind(plant.KindCompressor) {
		if inlet := p.PortByTrait(component, 0); p.Ports[inlet].Joints == 0 {
			out = append(out, p.PortByTrait(component, 1))
			seen[out[len(out)-1]] = true
		}
	}
	for i := 0; i < len(out); i++ {
		for _, way := range p.WaysAt(out[i]) {
			q := &p.Ways[way]
			if q.From != out[i] || seen[q.To] || !w.drawsAir(q) {
				continue
			}
			seen[q.To] = true
			out = append(out, q.To)
		}
	}
	return out
}

// drawsAir tells whether air that is drawn passes a way forward, whatever valves are turned.
func (w *World) drawsAir(q *plant.Way) bool {
	return !q.IsPipe() && w.Plant.Components[q.Component].Kind == plant.KindPressureRegulator || w.cannotBeBlocked(q, true)
}

// lowestPressure is the lowest gauge pressure that can come to a port in any case, in Pa: that of the atmosphere where nothing
// pulls.
func (w *World) lowestPressure(port int32) Number {
	v := w.vacuums()
	deep, ok := v.ends[lowEnd].Value(port, 0)
	if !ok || deep <= 0 {
		return Exactly(0)
	}
	shallow, ok := v.ends[highEnd].Value(port, 0)
	if !ok {
		shallow = 0
	}
	n := between(-deep, min(0, -shallow))
	source := &v.sources[v.of[lowEnd][v.ends[lowEnd].Source(port, 0)]]
	n.Assumed = source.value.Assumed
	if !n.Known() {
		n.Missing = source.value.Missing
		if len(n.Missing) == 0 {
			n.Missing = w.breakerDoubts()
		}
	}
	return n
}

// breakerDoubts names what would tell how far vacuum breakers hold.
func (w *World) breakerDoubts() []Ref {
	var refs []Ref
	for _, component := range w.OfKind(plant.KindVacuumBreaker) {
		b := w.data(component).GetVacuumBreaker()
		if b.OpeningPressurePaGauge == nil {
			refs = append(refs, specRef(component, "opening_pressure"))
		}
		if b.CapacityMolPerS == nil {
			refs = append(refs, specRef(component, "capacity"))
		}
	}
	return joinRefs(nil, refs)
}

// lowestOf is the lowest pressure at several ports.
func (w *World) lowestOf(ports []int32) Number {
	n := Exactly(0)
	for _, port := range ports {
		n = w.lowered(n, port)
	}
	return n
}

// lowestPath shows how the lowest pressure comes to the deepest of several ports.
func (w *World) lowestPath(ports []int32) Path {
	v := w.vacuums()
	best, depth := int32(-1), 0.0
	for _, port := range ports {
		if d, ok := v.ends[lowEnd].Value(port, 0); ok && d > depth {
			best, depth = port, d
		}
	}
	if best < 0 {
		return nil
	}
	arcs, _ := v.ends[lowEnd].Path(best, 0)
	source := v.of[lowEnd][v.ends[lowEnd].Source(best, 0)]
	return w.wayPath(v.sources[source].node, arcs, nil)
}

// componentVacuum is the lowest pressure at a component. A machine or supply that delivers gas lets it in: the vacuum ends
// at it.
func (w *World) componentVacuum(component int32) Number {
	switch w.Plant.Components[component].Kind {
	case plant.KindCompressor, plant.KindOxygenConcentrator, plant.KindGasSupply:
		return Exactly(0)
	}
	if !w.vacuums().pulledParts.Has(component) {
		return Exactly(0)
	}
	c, n := &w.Plant.Components[component], Exactly(0)
	for port := c.FirstPort; port < c.FirstPort+c.NumPorts; port++ {
		if w.Plant.Ports[port].Joints > 0 {
			n = w.lowered(n, port)
		}
	}
	return n
}

// lineVacuum is the lowest pressure in a line.
func (w *World) lineVacuum(line int32) Number {
	l, n := &w.Plant.Lines[line], Exactly(0)
	if !w.vacuums().pulledLines.Has(line) {
		return n
	}
	for i := l.FirstWay; i < l.FirstWay+l.NumWays; i++ {
		n = w.lowered(w.lowered(n, w.Plant.Ways[i].From), w.Plant.Ways[i].To)
	}
	return n
}

// lowered is the lowest pressure with that of a port as well.
func (w *World) lowered(n Number, port int32) Number {
	if !w.vacuums().pulled.Has(port) {
		return n
	}
	return n.Min(w.lowestPressure(port))
}

// joinedPortsOf lists the ports of a component that lines meet.
func (w *World) joinedPortsOf(component int32) []int32 {
	c := &w.Plant.Components[component]
	var out []int32
	for i := range c.NumPorts {
		if port := c.FirstPort + i; w.Plant.Ports[port].Joints > 0 {
			out = append(out, port)
		}
	}
	return out
}
