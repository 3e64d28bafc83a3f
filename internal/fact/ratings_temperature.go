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
	hot              [2]flowpath.Highest // low and high end of hot gas
	sources          []hotSource
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
	t.sources = w.hotSources()
	w.spreadHeat(t)
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
	n := t.room
	if wet {
		n = n.Max(t.water)
	}
	for _, port := range ports {
		high, ok := t.hot[highEnd].Value(port, 0)
		if !ok {
			continue
		}
		low, _ := t.hot[lowEnd].Value(port, 0)
		hot := Between(min(low, high), high)
		if low < high {
			hot.Missing = t.sources[t.hot[highEnd].Source(port, 0)].value.Missing
		}
		n = n.Max(hot)
	}
	return n
}

// lowestTemperature is the lowest that parts take.
func (w *World) lowestTemperature(wet bool) Number {
	t := w.temperatures()
	if wet {
		return t.coldRoom.Min(t.coldWater)
	}
	return t.coldRoom
}

// wet tells whether a line of water, or one of unknown service, meets the component.
func (w *World) wet(component int32) bool {
	p := w.Plant
	c := &p.Components[component]
	for i := range c.NumPorts {
		for _, way := range p.WaysAt(c.FirstPort + i) {
			if line := p.Ways[way].Line; line >= 0 && w.wetLine(line) {
				return true
			}
		}
	}
	return false
}

func (w *World) wetLine(line int32) bool {
	gas, ok := isGas(w.Plant.Lines[line].Data.GetService())
	return !gas || !ok
}
