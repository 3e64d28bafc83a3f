package fact

import (
	"math"

	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// pressureSource is a place where pressure comes from.
type pressureSource struct {
	component int32
	node      int32
	gas       bool
	value     Number // Pa gauge, against a closed outlet
}

// waterColumn is the pressure under a metre of water, Pa/m: 1000 kg/m3, above the density of water at any temperature, times
// standard gravity.
const waterColumn = 1000 * unitop.StandardGravity

// pressureSources lists what brings pressure into the drawing by itself. Pumps and blowers add to what they are given and
// come later.
func (w *World) pressureSources(g *pressureGraph) []pressureSource {
	p := w.Plant
	var out []pressureSource
	add := func(component, port int32, gas bool, value Number) {
		node := port
		if gas {
			node = g.gas[port]
		}
		out = append(out, pressureSource{component, node, gas, value})
	}
	// What may be water or gas: the column of water is not sure to stand there, nor is gas to press without one.
	both := func(component, port int32, value Number, ref Ref) {
		add(component, port, false, value)
		if g.gas[port] != port {
			add(component, port, true, Number{Low: math.Inf(-1), High: value.High, Missing: joinRefs(value.Missing, []Ref{ref}), Assumed: value.Assumed})
		}
	}
	for i := range p.Components {
		c, component := &p.Components[i], int32(i)
		switch c.Kind {
		case plant.KindBoundary:
			value := w.boundaryPressure(component)
			if gas, ok := isGas(c.Data.GetBoundary().GetService()); ok {
				add(component, c.FirstPort, gas, value)
			} else {
				both(component, c.FirstPort, value, specRef(component, "service"))
			}
		case plant.KindGasSupply:
			add(component, c.FirstPort, true, w.number(c.Data.GetGasSupply().PressurePaGauge, specRef(component, "pressure")))
		case plant.KindCompressor:
			add(component, p.PortByTrait(component, 1), true, w.compressorShutOff(component))
		case plant.KindOxygenConcentrator:
			if w.compressesItself(component) {
				add(component, p.PortByTrait(component, 1), true, w.concentratorShutOff(component))
			}
		case plant.KindOpenTank:
			level := w.number(c.Data.GetOpenTank().WaterLevelM, specRef(component, "water_level"))
			for k := range c.NumPorts {
				if port := c.FirstPort + k; p.Ports[port].Phase != skidrulev1.Phase_PHASE_GAS {
					add(component, port, false, level.Scale(waterColumn))
				}
			}
		case plant.KindDrainPoint:
			if value, ok := w.drainPressure(component); ok {
				add(component, c.FirstPort, false, value)
			}
		case plant.KindOther, plant.KindNone:
			if c.Data.GetOther() == nil || c.Data.GetOther().PassesFluid == nil {
				for k := range c.NumPorts {
					ref := elementRef(component)
					both(component, c.FirstPort+k, Missing(ref), ref)
				}
			}
		}
	}
	return out
}

// boundaryPressure is the highest pressure at a boundary over all cases. What it holds in normal operation is no upper end.
func (w *World) boundaryPressure(component int32) Number {
	_, highest := w.heldPressures(component)
	return w.number(w.data(component).GetBoundary().MaxPressurePaGauge, specRef(component, "max_pressure")).Max(Exactly(highest))
}

// heldPressures are the lowest and the highest gauge pressure in Pa that a boundary is stated to hold in normal operation or in a case
// that can occur; infinite, the low above the high, where none is stated.
func (w *World) heldPressures(component int32) (lowest, highest float64) {
	lowest, highest = math.Inf(1), math.Inf(-1)
	if p := w.data(component).GetBoundary().PressurePaGauge; p != nil {
		lowest, highest = *p, *p
	}
	for i := range w.Cases {
		if s := w.Cases[i].Stated(component); s != nil && s.PressurePaGauge != nil && w.Cases[i].Excluded == "" {
			lowest, highest = min(lowest, *s.PressurePaGauge), max(highest, *s.PressurePaGauge)
		}
	}
	return lowest, highest
}

// compressorShutOff is what a compressor makes against a closed outlet.
func (w *World) compressorShutOff(component int32) Number {
	c := w.data(component).GetCompressor()
	return w.number(orAtNoFlow(c.ShutOffPressurePaGauge, c.GetCurve()), specRef(component, "shut_off_pressure"))
}

// orAtNoFlow takes the stated pressure, or that of the curve at no flow.
func orAtNoFlow(stated *float64, curve []*skidrulev1.FlowPressurePoint) *float64 {
	if stated != nil {
		return stated
	}
	for _, point := range curve {
		if point.FlowMolPerS != nil && *point.FlowMolPerS == 0 {
			return point.PressurePaGauge
		}
	}
	return nil
}

// compressesItself tells whether a concentrator brings its own feed air: it says so, or says nothing and is not fed.
func (w *World) compressesItself(component int32) bool {
	built := w.data(component).GetOxygenConcentrator().BuiltInCompressor
	if built != nil {
		return *built
	}
	return w.Plant.Ports[w.Plant.PortByTrait(component, 0)].Joints == 0
}

// concentratorShutOff is the product's pressure against a closed outlet, as stated or as the product table gives it at no
// flow. What it delivers at other flows is a lower end.
func (w *World) concentratorShutOff(component int32) Number {
	c := w.data(component).GetOxygenConcentrator()
	low, stated := math.Inf(-1), c.ShutOffPressurePaGauge
	if c.DeliveryPressurePaGauge != nil {
		low = *c.DeliveryPressurePaGauge
	}
	for _, point := range c.GetProduct() {
		if point.DeliveryPressurePaGauge == nil {
			continue
		}
		low = max(low, *point.DeliveryPressurePaGauge)
		if stated == nil && point.ProductFlowMolPerS != nil && *point.ProductFlowMolPerS == 0 {
			stated = point.DeliveryPressurePaGauge
		}
	}
	return w.number(stated, specRef(component, "shut_off_pressure")).Max(Exactly(low))
}

// drainPressure is what a drain system can push back with; false where it stands open.
func (w *World) drainPressure(component int32) (Number, bool) {
	d := w.data(component).GetDrainPoint()
	switch d.GetLeadsTo() {
	case skidrulev1.DrainDestination_DRAIN_DESTINATION_OPEN_AIR_GAP, skidrulev1.DrainDestination_DRAIN_DESTINATION_TRAPPED:
		return Number{}, false
	case skidrulev1.DrainDestination_DRAIN_DESTINATION_UNSPECIFIED:
		if d.MaxBackPressurePaGauge == nil {
			return Missing(specRef(component, "leads_to")), true
		}
	}
	return w.number(d.MaxBackPressurePaGauge, specRef(component, "max_back_pressure")), true
}

// machine is a pump or blower: it adds to the pressure that it is given.
type machine struct {
	component     int32
	gas           bool
	inlet, outlet int32 // nodes
	passage       int32 // its forward arc
	head          Number
	// makes is the highest pressure at its outlet while everything holds, and with one failure.
	makes [2]Number
}

// machines lists pumps and blowers.
func (w *World) machines(g *pressureGraph) []machine {
	p := w.Plant
	var out []machine
	for i := range p.Components {
		c, component := &p.Components[i], int32(i)
		m := machine{component: component, inlet: p.PortByTrait(component, 0), outlet: p.PortByTrait(component, 1)}
		switch c.Kind {
		case plant.KindPump:
			m.head = w.number(shutOffHead(c.Data.GetPump()), specRef(component, "shut_off_head"))
		case plant.KindBlower:
			b := c.Data.GetBlower()
			m.gas = true
			m.head = w.number(orAtNoFlow(b.ShutOffPressurePaGauge, b.GetCurve()), specRef(component, "shut_off_pressure"))
			m.inlet, m.outlet = g.gas[m.inlet], g.gas[m.outlet]
		default:
			continue
		}
		out = append(out, m)
	}
	for i := range out {
		m := &out[i]
		for _, way := range p.WaysAt(g.portOf(m.inlet)) {
			for pair := g.pairOf(way); pair < g.wayPairs && g.of[pair] == way; pair++ {
				if arc := int32(2 * pair); g.graph.From(arc) == m.inlet && g.graph.To(arc) == m.outlet {
					m.passage = arc
				}
			}
		}
	}
	return out
}
