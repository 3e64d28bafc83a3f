package fact

import (
	"math"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// leastLimitedPressure is the lowest pressure in Pa abs at which published velocity limits for oxygen hold.
// Source: EIGA Doc 13/20, clause 4.4.2, read in a transcription.
const leastLimitedPressure = 0.21e6

// oxygenFlows tells what flows through the lines on the feed side and under which pressure.
type oxygenFlows struct {
	flow    []Number         // of lines: every generator behind it at its highest flow
	serves  []bool           // of lines: a generator lies behind it
	highest flowpath.Highest // feeding pressure, Pa gauge
	feeders []feeder
}

// feeder is what holds the pressure of the gas behind it.
type feeder struct {
	highest Number // Pa gauge
	lowest  Number // Pa gauge; unknown where valves behind it may let the pressure down
}

func (w *World) oxygenFlows() *oxygenFlows { return w.feed.flows.get(w.findOxygenFlows) }

func (w *World) findOxygenFlows() *oxygenFlows {
	p := w.Plant
	x := &oxygenFlows{flow: make([]Number, len(p.Lines)), serves: make([]bool, len(p.Lines))}
	// The flow of a generator passes every line before it: one search back from each, shared where they lie in one place.
	generators := w.OfKind(plant.KindOzoneGenerator)
	var cells []int32
	for _, g := range generators {
		cells = append(cells, p.PortByTrait(g, 0))
	}
	subjects, lines := make([]int32, 0, len(p.Lines)), make([]int32, 0, len(p.Lines))
	for i := range p.Lines {
		if l := &p.Lines[i]; l.NumWays > 0 {
			subjects, lines = append(subjects, p.Ways[l.FirstWay].To), append(lines, int32(i))
		}
	}
	at := listBy(len(p.Ports), subjects, lines) // lines by the port where their first pipe ends
	many := &flowpath.ReachMany{}
	must(many.Sweep(w.feedWays(), flowpath.Backward, cells, subjects, flowpath.Avoid{}))
	for i, g := range generators {
		spec := w.data(g).GetOzoneGenerator()
		flow := w.number(spec.MaxFlowMolPerS, specRef(g, "max_flow"))
		if spec.MaxFlowMolPerS == nil && spec.RatedFlowMolPerS != nil {
			flow = Number{Low: *spec.RatedFlowMolPerS, High: math.Inf(1), Missing: flow.Missing}
		}
		flow.Low = max(flow.Low, 0)
		for _, port := range many.Subjects(i) {
			for _, line := range at.of(port) {
				x.flow[line], x.serves[line] = addNaming(x.flow[line], flow), true
			}
		}
	}
	var ports []int32
	var values []float64
	feed := func(port int32, highest, lowest Number) {
		ports, values = append(ports, port), append(values, highest.High)
		x.feeders = append(x.feeders, feeder{highest, lowest})
	}
	let := between(math.Inf(-1), math.Inf(1))
	for _, c := range w.OfKind(plant.KindGasSupply) {
		s := w.data(c).GetGasSupply()
		feed(p.Components[c].FirstPort, w.number(s.PressurePaGauge, specRef(c, "pressure")), w.number(s.MinPressurePaGauge, specRef(c, "min_pressure")))
	}
	for _, c := range w.OfKind(plant.KindOxygenConcentrator) {
		feed(p.PortByTrait(c, 1), w.deliveryPressure(c), let)
	}
	for _, c := range w.OfKind(plant.KindPressureRegulator) {
		feed(p.PortByTrait(c, 1), w.number(w.data(c).GetPressureRegulator().SetPressurePaGauge, specRef(c, "set_pressure")), let)
	}
	for _, c := range w.OfKind(plant.KindCompressor) {
		feed(p.PortByTrait(c, 1), w.number(w.data(c).GetCompressor().ShutOffPressurePaGauge, specRef(c, "shut_off_pressure")), let)
	}
	for _, port := range w.gasEdges() {
		c := p.Ports[port].Component
		feed(port, w.number(w.data(c).GetBoundary().MaxPressurePaGauge, specRef(c, "max_pressure")), let)
	}
	held := w.openWays(func(way int32, forward bool) bool {
		k := w.kindOfWay(way)
		return forward && w.feedPasses(way) && k != plant.KindPressureRegulator && k != plant.KindCompressor && k != plant.KindOxygenConcentrator
	})
	must(x.highest.Sweep(held, ports, values, 0))
	return x
}

// feederOf is what holds the pressure of a line; ok is false where nothing is known to feed it.
func (w *World) feederOf(line int32) (f feeder, ok bool) {
	x, l := w.oxygenFlows(), &w.Plant.Lines[line]
	if l.NumWays == 0 {
		return feeder{}, false
	}
	i := x.highest.Source(w.Plant.Ways[l.FirstWay].To, 0)
	if i == flowpath.None {
		return feeder{}, false
	}
	return x.feeders[i], true
}

// velocityMatters tells whether oxygen on its way to generators is in a line at a pressure at which the limits hold.
func (w *World) velocityMatters(line int32) Truth {
	if !w.oxygenFlows().serves[line] {
		return Truth{}
	}
	f, ok := w.feederOf(line)
	if !ok {
		return w.lineInOxygen(line).And(Open(lineRef(line, "route")))
	}
	return w.lineInOxygen(line).And(f.highest.Add(w.atmosphere()).AtLeast(Exactly(leastLimitedPressure)))
}

// oxygenVelocity gives the highest velocity of a line and its limit. At a given flow the product of pressure and velocity is
// fixed, and no limit allows more of it at a lower pressure, so the lowest pressure decides: that of the supply before the
// first regulator, elsewhere that at which limits begin, since valves may let the pressure down that far.
func (w *World) oxygenVelocity(line int32) (velocity, limit Number) {
	flow, bore := w.oxygenFlows().flow[line], w.LineBore(line)
	warm := w.number(w.Plant.Basis.MaxAmbientTemperatureK, basisRef("max_ambient_temperature"))
	pressure := leastLimitedPressure
	var missing, assumed []Ref
	if f, ok := w.feederOf(line); ok {
		lowest := f.lowest.Add(w.atmosphere())
		pressure = max(pressure, lowest.Low)
		missing, assumed = lowest.Missing, lowest.Assumed
	}
	velocity = Number{Low: 0, High: math.Inf(1), Missing: JoinRefs(flow.Missing, bore.Missing, warm.Missing, missing), Assumed: JoinRefs(flow.Assumed, bore.Assumed, warm.Assumed, assumed)}
	limit = between(0, math.Inf(1))
	if v, err := unitop.OxygenVelocityLimit(pressure, unitop.Impingement); err == nil {
		limit = Exactly(v)
	}
	// Near the atmosphere oxygen is ideal within 0.1 %; its compressibility at 100 bar, 0.935 at 10 degC to 0.965 at 40 degC by the
	// equation of Schmidt and Wagner, is on the safe side.
	const compressibility = 1.0
	if v, err := unitop.GasVelocity(flow.High, bore.Low, pressure, warm.High, compressibility); err == nil {
		velocity.High = v
	}
	if v, err := unitop.GasVelocity(flow.Low, bore.High, pressure, warm.Low, compressibility); err == nil {
		velocity.Low = v
	}
	return velocity, limit
}

// lineIsMetal tells whether a line is of metal: the limits are for metal pipe.
func (w *World) lineIsMetal(line int32) Truth {
	m := w.lines()[line].material
	if m == skidrulev1.Material_MATERIAL_UNSPECIFIED {
		return Open(lineRef(line, "material"))
	}
	return Is(metal(m))
}

func metal(m skidrulev1.Material) bool {
	switch m {
	case skidrulev1.Material_MATERIAL_STAINLESS_316, skidrulev1.Material_MATERIAL_STAINLESS_304, skidrulev1.Material_MATERIAL_CARBON_STEEL,
		skidrulev1.Material_MATERIAL_BRASS, skidrulev1.Material_MATERIAL_BRONZE, skidrulev1.Material_MATERIAL_COPPER,
		skidrulev1.Material_MATERIAL_ALUMINIUM, skidrulev1.Material_MATERIAL_TITANIUM:
		return true
	}
	return false
}
