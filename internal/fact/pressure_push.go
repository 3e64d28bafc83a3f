package fact

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// push is a source as a relief device sees it: how high it goes, and what it brings at the set pressure.
type push struct {
	node  int32
	gas   bool
	value Number
	flow  func(set Number) Number // m3/s of liquid, mol/s of gas
	// before is the node before a regulator or concentrator, which passes no more than comes to it; -1 for a source of its own.
	before int32
}

// maxStages bounds how many regulators in series are followed back to what feeds them.
const maxStages = 8

// maxPushVisits bounds the search for what pushes into relief devices. Beyond it everything is taken to push into all.
const maxPushVisits = 50_000_000

// pushTrace tells which pushes come to which relief devices and regulators while everything holds.
type pushTrace struct {
	list     []push
	at       map[int32][]int32 // node to places in list
	receiver map[int32]bool    // nodes of gas receivers
	reach    flowpath.ReachMany
	complete bool
	inlets   [][2]int32      // of each relief device, its places among the targets
	stages   map[int32]int32 // node before a regulator to its place among the targets
}

// tracePushes follows every way back from relief devices and regulators to what pushes.
func (w *World) tracePushes(r *reliefs) *pushTrace {
	x := w.barePressures()
	g := x.g
	t := &pushTrace{list: w.pushes(x), at: map[int32][]int32{}, receiver: map[int32]bool{}, stages: map[int32]int32{}}
	var subjects, targets []int32
	for i := range t.list {
		node := t.list[i].node
		t.at[node] = append(t.at[node], int32(i))
		subjects = append(subjects, node)
	}
	for _, component := range w.OfKind(plant.KindGasReceiver) {
		node := g.gas[w.Plant.PortByTrait(component, 0)]
		t.receiver[node] = true
		subjects = append(subjects, node)
	}
	for i := range r.list {
		inlet := r.list[i].inlet
		t.inlets = append(t.inlets, [2]int32{int32(len(targets)), int32(len(targets) + 1)})
		targets = append(targets, inlet, g.gas[inlet])
	}
	for i := range g.limits {
		before := g.graph.From(g.limits[i].arc)
		t.stages[before] = int32(len(targets))
		targets = append(targets, before)
	}
	t.reach.Limit = maxPushVisits
	err := t.reach.Sweep(g.unregulated(), flowpath.Backward, targets, subjects, flowpath.Avoid{})
	t.complete = err == nil
	return t
}

// unregulated is every way of pressure while everything holds, but through regulators and into places where nothing builds up.
func (g *pressureGraph) unregulated() *flowpath.Ways {
	cost := make([]uint8, g.graph.NumArcs())
	for arc := range cost {
		if cost[arc] = g.sureThrough.Cost(int32(arc)); cost[arc] != flowpath.Open {
			cost[arc] = flowpath.Blocked
		}
	}
	for i := range g.limits {
		cost[g.limits[i].arc] = flowpath.Blocked
	}
	for _, arc := range g.restrictions {
		if g.vents.sure.Has(g.graph.To(arc)) {
			cost[arc] = flowpath.Blocked
		}
	}
	ways, err := flowpath.NewWays(g.graph, cost)
	must(err)
	return ways
}

// into lists the pushes that come to some targets, and whether a receiver does.
func (t *pushTrace) into(targets ...int32) (list []int32, receiver bool) {
	if !t.complete {
		for i := range t.list {
			list = append(list, int32(i))
		}
		return list, true
	}
	for _, target := range targets {
		for _, node := range t.reach.Subjects(int(target)) {
			list = append(list, t.at[node]...)
			receiver = receiver || t.receiver[node]
		}
	}
	slices.Sort(list)
	return slices.Compact(list), receiver
}

// intoRelief lists the pushes that come to a relief device.
func (t *pushTrace) intoRelief(i int) []int32 {
	list, _ := t.into(t.inlets[i][:]...)
	return list
}

// flow is what a push brings at a pressure. Behind a regulator it is no more than what feeds it, unless a receiver stores gas
// there.
func (t *pushTrace) flow(k int32, set Number, stages int) Number {
	s := &t.list[k]
	flow := s.flow(set)
	if s.before < 0 || stages == 0 {
		return flow
	}
	list, receiver := t.into(t.stages[s.before])
	if receiver {
		return flow
	}
	feed := Exactly(0)
	for _, up := range list {
		if t.list[up].gas && t.list[up].value.High > set.Low {
			feed = feed.Add(t.flow(up, set, stages-1))
		}
	}
	return flow.Min(feed)
}

// pushes lists what can push fluid into a zone: boundaries, supplies, machines, and regulators that fail open.
func (w *World) pushes(x *pressures) []push {
	p := w.Plant
	var out []push
	for i := range x.sources {
		s := &x.sources[i]
		data := p.Components[s.component].Data
		var flow func(Number) Number
		switch p.Components[s.component].Kind {
		case plant.KindBoundary:
			stated := w.number(data.GetBoundary().LiquidFlowM3PerS, specRef(s.component, "liquid_flow"))
			if s.gas {
				stated = w.number(data.GetBoundary().GasFlowMolPerS, specRef(s.component, "gas_flow"))
			}
			flow = func(Number) Number { return stated.Max(Exactly(0)) }
		case plant.KindCompressor:
			curve := gasCurve(data.GetCompressor().GetCurve())
			flow = func(set Number) Number { return w.flowAgainst(curve, set, specRef(s.component, "curve")) }
		case plant.KindOxygenConcentrator:
			most := w.concentratorFlow(s.component)
			flow = func(Number) Number { return most }
		case plant.KindOpenTank:
			// A tank drives nothing through a relief device that its own level would not.
			continue
		default:
			// A cylinder or an unknown part gives as much as the line takes.
			flow = func(Number) Number { return between(math.Inf(1), math.Inf(1)) }
		}
		out = append(out, push{s.node, s.gas, s.value, flow, -1})
	}
	for i := range x.machines {
		m := &x.machines[i]
		data := p.Components[m.component].Data
		curve := gasCurve(data.GetBlower().GetCurve())
		if !m.gas {
			curve = liquidCurve(data.GetPump().GetCurve())
		}
		inlet := x.at(w, m.inlet, 0)
		flow := func(set Number) Number { return w.flowAgainst(curve, set.Sub(inlet), specRef(m.component, "curve")) }
		out = append(out, push{m.outlet, m.gas, m.makes[0], flow, -1})
	}
	for _, l := range x.g.limits {
		q := &p.Ways[x.g.of[l.arc/2]]
		before := x.at(w, x.g.graph.From(l.arc), 0)
		flow := func(set Number) Number { return w.regulatorFlow(q.Component, before, set) }
		if !l.regulator {
			most := w.concentratorFlow(q.Component)
			before, flow = before.Min(l.highest), func(Number) Number { return most }
		}
		out = append(out, push{x.g.graph.To(l.arc), true, before, flow, x.g.graph.From(l.arc)})
	}
	return out
}

// curvePoint is a pressure that a machine makes at a flow.
type curvePoint struct{ flow, pressure float64 }

func gasCurve(points []*skidrulev1.FlowPressurePoint) []curvePoint {
	var out []curvePoint
	for _, c := range points {
		if c.FlowMolPerS != nil && c.PressurePaGauge != nil {
			out = append(out, curvePoint{*c.FlowMolPerS, *c.PressurePaGauge})
		}
	}
	return out
}

func liquidCurve(points []*skidrulev1.PumpPoint) []curvePoint {
	var out []curvePoint
	for _, c := range points {
		if c.FlowM3PerS != nil && c.HeadPa != nil {
			out = append(out, curvePoint{*c.FlowM3PerS, *c.HeadPa})
		}
	}
	return out
}

// flowAgainst is the flow of a machine against a pressure, from its curve; beyond the end of the curve only the lower end is
// known.
func (w *World) flowAgainst(curve []curvePoint, pressure Number, ref Ref) Number {
	low, lowKnown := curveFlow(curve, pressure.High)
	high, highKnown := curveFlow(curve, pressure.Low)
	n := Number{Low: low, High: high, Missing: pressure.Missing, Assumed: pressure.Assumed}
	if !lowKnown || !highKnown {
		n.High, n.Missing = math.Inf(1), joinRefs(n.Missing, []Ref{ref})
	}
	return n
}

// curveFlow reads the highest flow at which a curve still makes the pressure, linear between points.
func curveFlow(curve []curvePoint, pressure float64) (float64, bool) {
	best, known := 0.0, len(curve) > 1
	for i, c := range curve {
		if c.pressure < pressure {
			continue
		}
		best = max(best, c.flow)
		if i+1 == len(curve) {
			known = false // the curve ends above the pressure
		} else if next := curve[i+1]; next.pressure < pressure {
			best = max(best, c.flow+(next.flow-c.flow)*(c.pressure-pressure)/(c.pressure-next.pressure))
		}
	}
	return best, known
}

// concentratorFlow is the most product that a concentrator states to give.
func (w *World) concentratorFlow(component int32) Number {
	c := w.data(component).GetOxygenConcentrator()
	most := w.number(c.RatedProductFlowMolPerS, specRef(component, "rated_product_flow"))
	for _, point := range c.GetProduct() {
		if point.ProductFlowMolPerS != nil {
			most = most.Max(Exactly(*point.ProductFlowMolPerS))
		}
	}
	return most
}

// openRegulatorXT is the pressure drop ratio at choked flow of a regulator wide open: common practice for globe-pattern
// valves, no source.
const openRegulatorXT = 0.7

// regulatorFlow is what a regulator passes when it fails wide open: the gas flow equation of IEC 60534-2-1 with its flow
// coefficient, from the highest pressure before it to the set pressure of the relief device, at the lowest ambient
// temperature, as an ideal gas.
func (w *World) regulatorFlow(component int32, before, set Number) Number {
	kv := w.number(w.data(component).GetPressureRegulator().FlowCoefficientKvM3PerH, specRef(component, "flow_coefficient"))
	atmosphere := w.atmosphere()
	temperature := w.number(w.Plant.Basis.MinAmbientTemperatureK, basisRef("min_ambient_temperature"))
	n := restingOn(0, math.Inf(1), kv, before, set, atmosphere, temperature)
	gas := unitop.Gas{MolarMass: w.suppliedMolarMass(component), HeatRatio: 1.4, Compressibility: 1}
	flow := func(kv, before, set, atmosphere, temperature float64) (float64, bool) {
		v := unitop.Valve{Kv: kv, XT: openRegulatorXT}
		f, err := v.GasFlow(before+atmosphere, min(before, set)+atmosphere, temperature, gas)
		return f.Mass / gas.MolarMass, err == nil
	}
	if high, ok := flow(kv.High, before.High, set.Low, atmosphere.High, temperature.Low); ok {
		n.High = high
	}
	if low, ok := flow(kv.Low, before.Low, set.High, atmosphere.Low, temperature.High); ok {
		n.Low = min(low, n.High)
	}
	return n
}

// suppliedMolarMass is that of the gas that comes to a regulator; of nitrogen, the lightest and therefore the largest flow,
// where the way does not tell.
func (w *World) suppliedMolarMass(component int32) float64 {
	const nitrogen, air, oxygen = 0.0280134, 0.0289647, 0.0319988 // kg/mol; IUPAC standard atomic weights, dry air of ISO 2533
	x := w.barePressures()
	node := x.g.gas[w.Plant.PortByTrait(component, 0)]
	f, _, through, ok := x.best(node, 0, highEnd)
	if !ok {
		return nitrogen
	}
	source, _ := f.trace(x, node, 0, through)
	c := &w.Plant.Components[x.sourceComponent(source)]
	switch c.Kind {
	case plant.KindCompressor:
		return air
	case plant.KindOxygenConcentrator:
		return oxygen
	case plant.KindGasSupply:
		switch c.Data.GetGasSupply().GetGas() {
		case skidrulev1.SuppliedGas_SUPPLIED_GAS_OXYGEN:
			return oxygen
		case skidrulev1.SuppliedGas_SUPPLIED_GAS_AIR:
			return air
		}
	}
	return nitrogen
}
