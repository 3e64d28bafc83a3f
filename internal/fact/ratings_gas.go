package fact

import (
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

var gasPressureFacts = []Definition{
	quantityFact("highest_gas_pressure", quantity.PressureGauge, "Highest pressure of gas in its lines of gas; that of the atmosphere where no line of gas meets it.",
		func(w *World, at At) Number { return w.highestGasPressure(at.Index) }),
	quantityFact("highest_gas_pressure", quantity.PressureGauge, "Highest pressure of gas in the line; that of the atmosphere in a line of water.",
		func(w *World, at At) Number { return w.lineGasPressure(at.Index) }).on(OnLine),

	truthFact("has_jacket", "Cooling water or a service stream is joined to it.",
		func(w *World, at At) Truth { return Is(len(w.jacketPorts(at.Index)) > 0) }, jacketKinds...),
	quantityFact("jacket_pressure", quantity.PressureGauge, "Highest pressure on its cooling or service side.",
		func(w *World, at At) Number { return w.jacketPressure(at.Index) }, jacketKinds...),
	quantityFact("jacket_rating", quantity.PressureGauge, "Highest pressure that its cooling or service side bears.",
		func(w *World, at At) Number { return w.jacketRating(at.Index) }, jacketKinds...),

	quantityFact("inlet_pressure", quantity.PressureGauge, "Highest pressure at its inlet in any case.",
		func(w *World, at At) Number { return w.highestPressure(w.Plant.PortByTrait(at.Index, 0), 0) }, plant.KindPump, plant.KindFloatVentValve),
	pathFact("inlet_pressure_path", "How it comes there.",
		func(w *World, at At) Path { return w.highestPressurePath(w.Plant.PortByTrait(at.Index, 0), 0) }, plant.KindPump, plant.KindFloatVentValve),
}

// jacketKinds have a second side with a rating of its own.
var jacketKinds = []plant.Kind{plant.KindOzoneGenerator, plant.KindHeatExchanger}

// lineGasPressure is the highest pressure of gas in a line.
func (w *World) lineGasPressure(line int32) Number {
	gas, known := w.carriesGas(line)
	if known && !gas {
		return Exactly(0)
	}
	x, l, n := w.pressures(), &w.Plant.Lines[line], Exactly(0)
	for i := l.FirstWay; i < l.FirstWay+l.NumWays; i++ {
		for _, port := range [2]int32{w.Plant.Ways[i].From, w.Plant.Ways[i].To} {
			n = n.Max(x.at(w, x.g.gas[port], 0))
		}
	}
	if !known && n.High > 0 {
		return Number{Low: 0, High: n.High, Missing: joinRefs(n.Missing, []Ref{lineRef(line, "service")}), Assumed: n.Assumed}
	}
	return n
}

// highestGasPressure is that of the gas that meets a component.
func (w *World) highestGasPressure(component int32) Number {
	p, x := w.Plant, w.pressures()
	c := &p.Components[component]
	n := Exactly(0)
	for i := range c.NumPorts {
		port := c.FirstPort + i
		if w.jacketPort(port) {
			continue
		}
		for _, way := range p.WaysAt(port) {
			line := p.Ways[way].Line
			if line < 0 {
				continue
			}
			gas, known := w.carriesGas(line)
			if known && !gas {
				continue
			}
			switch at := x.at(w, x.g.gas[port], 0); {
			case gas || p.Ports[port].Phase == skidrulev1.Phase_PHASE_GAS:
				n = n.Max(at)
			case at.High > 0:
				n = n.Max(Number{Low: min(0, at.Low), High: at.High, Missing: joinRefs(at.Missing, []Ref{lineRef(line, "service")}), Assumed: at.Assumed})
			}
		}
	}
	return n
}

// jacketPorts lists the joined ports of a cooling or service side.
func (w *World) jacketPorts(component int32) []int32 {
	var out []int32
	for _, port := range w.joinedPortsOf(component) {
		if w.jacketPort(port) {
			out = append(out, port)
		}
	}
	return out
}

func (w *World) jacketPressure(component int32) Number {
	n := Exactly(0)
	for _, port := range w.jacketPorts(component) {
		n = n.Max(w.highestPressure(port, 0))
	}
	return n
}

func (w *World) jacketRating(component int32) Number {
	data := w.data(component)
	if w.Plant.Components[component].Kind == plant.KindHeatExchanger {
		return w.number(data.GetHeatExchanger().MaxServicePressurePaGauge, specRef(component, "max_service_pressure"))
	}
	return w.number(data.GetOzoneGenerator().MaxCoolantPressurePaGauge, specRef(component, "max_coolant_pressure"))
}
