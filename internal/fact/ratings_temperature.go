package fact

import (
	"math"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
)

// temperatures are the highest and lowest that parts take, over all cases: that of the room, of the water where it comes to
// them, and of hot gas that flows to them.
type temperatures struct {
	water, coldWater Number
	room, coldRoom   Number
	wetRoom, coldWet Number              // of what water comes to in the room
	hot              [2]flowpath.Highest // low and high end of hot gas
	sources          []hotSource
	// wet are the components that a line of water, or one of unknown service, meets.
	wet *flowpath.Set
	// warmed are the components that hot gas comes to.
	warmed *flowpath.Set
}

// hotSource is where gas leaves hot.
type hotSource struct {
	port  int32
	value Number
}

func (w *World) temperatures() *temperatures { return w.ratings.temperatures.get(w.findTemperatures) }

func (w *World) findTemperatures() *temperatures {
	b := w.Plant.Basis
	t := &temperatures{
		room:     w.number(b.MaxAmbientTemperatureK, basisRef("max_ambient_temperature")),
		coldRoom: w.number(b.MinAmbientTemperatureK, basisRef("min_ambient_temperature")),
	}
	t.water, t.coldWater = w.waterExtremes()
	t.wetRoom, t.coldWet = t.room.Max(t.water), t.coldRoom.Min(t.coldWater)
	t.wet = w.wetComponents()
	t.sources = w.hotSources()
	w.spreadHeat(t)
	t.warmed = flowpath.NewSet(len(w.Plant.Components))
	for port := range w.Plant.Ports {
		if _, hot := t.hot[highEnd].Value(int32(port), 0); hot {
			t.warmed.Add(w.Plant.Ports[port].Component)
		}
	}
	return t
}

// waterExtremes are the highest and lowest water temperature: of the basis, of every boundary, of every case.
func (w *World) waterExtremes() (high, low Number) {
	b := w.Plant.Basis
	warm, cold := math.Inf(-1), math.Inf(1)
	take := func(values ...*float64) {
		for _, v := range values {
			if v != nil {
				warm, cold = max(warm, *v), min(cold, *v)
			}
		}
	}
	take(b.WaterTemperatureK, b.MinWaterTemperatureK, b.MaxWaterTemperatureK)
	for _, component := range w.OfKind(plant.KindBoundary) {
		x := w.data(component).GetBoundary()
		if gas, known := isGas(x.GetService()); !gas || !known {
			take(x.TemperatureK, x.MinTemperatureK, x.MaxTemperatureK)
		}
	}
	for i := range w.Cases {
		if d := w.Cases[i].Design; d != nil && w.Cases[i].Excluded == "" {
			take(d.WaterTemperatureK)
		}
	}
	high = w.number(b.MaxWaterTemperatureK, basisRef("max_water_temperature")).Max(Exactly(warm))
	low = w.number(b.MinWaterTemperatureK, basisRef("min_water_temperature")).Min(Exactly(cold))
	return high, low
}

// hotSources lists where gas leaves hotter than the room: compressors, heaters and destructs.
func (w *World) hotSources() []hotSource {
	p := w.Plant
	var out []hotSource
	for i := range p.Components {
		c, component := &p.Components[i], int32(i)
		var value Number
		switch c.Kind {
		case plant.KindCompressor:
			value = w.number(c.Data.GetCompressor().OutletTemperatureK, specRef(component, "outlet_temperature"))
		case plant.KindGasHeater:
			value = w.number(c.Data.GetGasHeater().OutletTemperatureK, specRef(component, "outlet_temperature"))
		case plant.KindOzoneDestruct:
			value = w.hottestBed(component)
		default:
			continue
		}
		out = append(out, hotSource{p.PortByTrait(component, 1), value})
	}
	return out
}

// spreadHeat carries hot gas along its flow until it comes to something that has its own temperature. Water that runs off to
// a drain is not hot gas.
func (w *World) spreadHeat(t *temperatures) {
	p, graph := w.Plant, w.Graph()
	cost := make([]uint8, graph.NumArcs())
	for i := range p.Ways {
		q := &p.Ways[i]
		cost[2*i+1] = flowpath.Blocked
		if !q.IsPipe() && (losesHeat(p.Components[q.Component].Kind) || p.PortName(q.To) == "drain") {
			cost[2*i] = flowpath.Blocked
		}
	}
	ways, err := flowpath.NewWays(graph, cost)
	must(err)
	for end := range 2 {
		nodes, values := make([]int32, len(t.sources)), make([]float64, len(t.sources))
		for i, s := range t.sources {
			nodes[i], values[i] = s.port, endOf(s.value, end)
		}
		must(t.hot[end].Sweep(ways, nodes, values, 0))
	}
}

// losesHeat tells kinds behind which gas has the temperature of the part, the room or the water.
func losesHeat(k plant.Kind) bool {
	switch k {
	case plant.KindOxygenConcentrator, plant.KindGasDryer, plant.KindOzoneGenerator, plant.KindVenturiInjector, plant.KindHeatExchanger,
		plant.KindReactionVessel, plant.KindContactVessel, plant.KindDegassingVessel, plant.KindOpenTank, plant.KindOzoneDestruct:
		return true
	}
	return false
}

// highestTemperature is the highest that some ports take.
func (w *World) highestTemperature(ports []int32, wet bool) Number {
	t := w.temperatures()
	n := t.dry(wet)
	for _, port := range ports {
		n = t.withGas(n, port)
	}
	return n
}

// componentTemperature is the highest that a component takes.
func (w *World) componentTemperature(component int32) Number {
	t, c := w.temperatures(), &w.Plant.Components[component]
	n := t.dry(t.wet.Has(component))
	if !t.warmed.Has(component) {
		return n
	}
	for port := c.FirstPort; port < c.FirstPort+c.NumPorts; port++ {
		n = t.withGas(n, port)
	}
	return n
}

// lineTemperature is the highest that a line takes.
func (w *World) lineTemperature(line int32) Number {
	t, l := w.temperatures(), &w.Plant.Lines[line]
	n := t.dry(w.wetLine(line))
	for i := l.FirstWay; i < l.FirstWay+l.NumWays; i++ {
		n = t.withGas(t.withGas(n, w.Plant.Ways[i].From), w.Plant.Ways[i].To)
	}
	return n
}

// dry is the highest temperature of what no hot gas comes to.
func (t *temperatures) dry(wet bool) Number {
	if wet {
		return t.wetRoom
	}
	return t.room
}

// withGas is the highest temperature with the gas at a port as well.
func (t *temperatures) withGas(n Number, port int32) Number {
	high, ok := t.hot[highEnd].Value(port, 0)
	if !ok {
		return n
	}
	low, _ := t.hot[lowEnd].Value(port, 0)
	hot := between(min(low, high), high)
	if low < high {
		hot.Missing = t.sources[t.hot[highEnd].Source(port, 0)].value.Missing
	}
	return n.Max(hot)
}

// lowestTemperature is the lowest that parts take.
func (w *World) lowestTemperature(wet bool) Number {
	t := w.temperatures()
	if wet {
		return t.coldWet
	}
	return t.coldRoom
}

// wet tells whether a line of water, or one of unknown service, meets the component.
func (w *World) wet(component int32) bool { return w.temperatures().wet.Has(component) }

func (w *World) wetComponents() *flowpath.Set {
	p, wet := w.Plant, flowpath.NewSet(len(w.Plant.Components))
	for i := range p.Lines {
		if !w.wetLine(int32(i)) {
			continue
		}
		for way := p.Lines[i].FirstWay; way < p.Lines[i].FirstWay+p.Lines[i].NumWays; way++ {
			wet.Add(p.Ports[p.Ways[way].From].Component)
			wet.Add(p.Ports[p.Ways[way].To].Component)
		}
	}
	return wet
}

func (w *World) wetLine(line int32) bool {
	gas, ok := w.carriesGas(line)
	return !gas || !ok
}
