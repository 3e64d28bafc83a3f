package fact

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// LetDownWay is the way by which gas leaves a component without a line being opened, and the component at its end; nil and -1 where
// there is none. A way along normal flow goes before a shorter one.
func (w *World) LetDownWay(component int32) (Path, int32) {
	x, ports := w.letDown(), w.gasExitsOf(component)
	along := func(way int32, forward bool) bool {
		return (forward || bothWays(w.kindOfWay(way))) && w.letsGasDown(way, forward)
	}
	for _, open := range [...]func(way int32, forward bool) bool{along, w.letsGasDown} {
		r := w.spread(flowpath.Forward, ports, open)
		best := flowpath.None
		var least []int32
		for _, end := range x.ends {
			if arcs, ok := r.Path(end); ok && (best == flowpath.None || len(arcs) < len(least)) {
				best, least = end, arcs
			}
		}
		if best != flowpath.None {
			return w.reachedPath(r, best), w.Plant.Ports[best].Component
		}
	}
	return nil, -1
}

// gasExitsOf lists the joined ports by which gas may leave a component.
func (w *World) gasExitsOf(component int32) []int32 {
	var out []int32
	for _, port := range w.joinedPortsOf(component) {
		if q := &w.Plant.Ports[port]; q.Phase != skidrulev1.Phase_PHASE_LIQUID && q.Direction != skidrulev1.FlowDirection_FLOW_DIRECTION_IN {
			out = append(out, port)
		}
	}
	return out
}

// VentInside is what lets a section down that its valves have shut in: a vent, a sample point, an open tank or a valve that vents
// inside it, with the way; nil and -1 where the drawing has none.
func (w *World) VentInside(component int32, i *Isolation) (Path, int32) {
	return w.exitInside(component, i, []plant.Kind{plant.KindAtmosphereVent, plant.KindSamplePoint, plant.KindOpenTank}, false)
}

// DrainInside is what empties a section that its valves have shut in: a drain point or a sample point inside it, with the way; nil
// and -1 where the drawing has none.
func (w *World) DrainInside(component int32, i *Isolation) (Path, int32) {
	return w.exitInside(component, i, []plant.Kind{plant.KindDrainPoint, plant.KindSamplePoint}, true)
}

// exitInside searches from a component over what stays open behind shut valves to an exit of one of the kinds. Hand valves that
// stand shut in operation are opened for it. Water does not leave by the vents of vessels, nor gas by what is made for liquid.
func (w *World) exitInside(component int32, i *Isolation, kinds []plant.Kind, water bool) (Path, int32) {
	ports := w.gasExitsOf(component)
	if water {
		ports = w.waterPortsOf(component)
	}
	r := w.spread(flowpath.Forward, ports, func(way int32, forward bool) bool { return w.emptiesAlong(way, forward, i, water) })
	for _, port := range r.Nodes() {
		c := w.Plant.Ports[port].Component
		if c == component || !slices.Contains(kinds, w.Plant.Components[c].Kind) && !w.ventsAt(port, water) {
			continue
		}
		return w.reachedPath(r, port), c
	}
	return nil, -1
}

// ventsAt tells whether a port is the one behind a hand valve that vents when it is closed.
func (w *World) ventsAt(port int32, water bool) bool {
	c := w.Plant.Ports[port].Component
	return !water && w.data(c).GetHandValve().GetVentsWhenClosed() && w.Plant.PortName(port) == "outlet"
}

func (w *World) emptiesAlong(way int32, forward bool, i *Isolation, water bool) bool {
	q := &w.Plant.Ways[way]
	if q.IsPipe() {
		return true
	}
	if slices.Contains(i.Valves, q.Component) || slices.Contains(i.Checks, q.Component) && !forward {
		return false
	}
	switch w.Plant.Components[q.Component].Kind {
	case plant.KindCheckValve, plant.KindFloatDrain, plant.KindWaterSeal:
		return forward
	case plant.KindReliefValve, plant.KindRuptureDisc, plant.KindVacuumBreaker:
		return false
	case plant.KindActuatedValve:
		// It is without power by now.
		return w.data(q.Component).GetFailPosition() == skidrulev1.FailPosition_FAIL_POSITION_OPEN
	}
	if water {
		return w.vesselRuns(way, forward, false) || w.Plant.Components[q.Component].Kind == plant.KindHandValve || w.Plant.Components[q.Component].Kind == plant.KindSamplePoint
	}
	return !w.touchesLiquid(q)
}

// OzoneComesTo tells whether ozone-bearing gas comes to a port of the component that is not for liquid, or is made in it.
func (w *World) OzoneComesTo(component int32) Truth {
	if w.Plant.Components[component].Kind == plant.KindOzoneGenerator {
		return Truth{Value: True}
	}
	var t Truth
	for _, port := range w.joinedPortsOf(component) {
		if w.Plant.Ports[port].Phase != skidrulev1.Phase_PHASE_LIQUID && !w.InWater(port) {
			t = t.Or(w.untreated(port))
		}
	}
	return t
}

// InWater tells whether the lines that meet a port carry water.
func (w *World) InWater(port int32) bool {
	for _, way := range w.Plant.WaysAt(port) {
		if line := w.Plant.Ways[way].Line; line >= 0 {
			gas, stated := isGas(w.lines()[line].service)
			return stated && !gas
		}
	}
	return false
}

// PurgePlan is how the ozone around a component is washed out by the feed gas, with the cells off and the injector drawing.
type PurgePlan struct {
	// Generators whose gas comes to the component, or the component itself, ascending.
	Generators []int32
	// Sources of the feed gas that washes it out, ascending.
	Sources []int32
	// Way from the first source by the first generator to where its gas is drawn or leaves.
	Way Path
	// Volume of the ozone-bearing gas in lines and in chambers whose volume is stated, in m3. Cells state no volume and are not in it.
	Volume Number
	// Flow of the feed gas in mol/s: the rated flow of the generators.
	Flow Number
	// Change is the time in s in which the flow brings that volume once, at the highest stated cell pressure and the lowest stated
	// temperature around: the ideal gas law.
	Change Number
}

// Purge plans how the ozone around a component is washed out; nil where no generator's gas comes to it.
func (w *World) Purge(component int32) *PurgePlan {
	x := w.gasNet()
	out := &PurgePlan{Flow: Exactly(0)}
	volume, lines := Exactly(0), map[int32]bool{}
	take := func(arcs []int32) {
		for _, arc := range arcs {
			q := &w.Plant.Ways[arc/2]
			if q.IsPipe() && !lines[q.Line] {
				lines[q.Line] = true
				volume = volume.Add(w.lineVolume(q.Line))
			}
		}
		for _, c := range w.chambersOn(arcs) {
			volume = volume.Add(w.chamberVolume(c))
		}
	}
	pressure := Exactly(0)
	comes := w.gasInto(component)
	for _, g := range x.generators {
		gas := x.of.of(g)
		if g != component && !comes.Reached(w.Plant.PortByTrait(g, 1)) {
			continue
		}
		out.Generators = append(out.Generators, g)
		for k, s := range gas.sources {
			out.Sources = appendMissing(out.Sources, s)
			if out.Way == nil && len(gas.toward) > 0 {
				arcs := append(slices.Clone(gas.from[k]), w.throughCell(g)...)
				arcs = append(arcs, gas.toward[0]...)
				out.Way = w.wayPath(w.Graph().From(arcs[0]), arcs, nil)
			}
		}
		for _, arcs := range gas.toward {
			take(arcs)
		}
		if arcs, ok := comes.Path(w.Plant.PortByTrait(g, 1)); ok {
			// Off-gas: what lies between the vessel and the component is washed out through the water.
			take(w.behindWater(arcs))
		}
		out.Flow = out.Flow.Add(gas.design)
		if w.data(g).GetOzoneGenerator().GetMode() == skidrulev1.FeedMode_FEED_MODE_PRESSURE_FED {
			pressure = pressure.Max(w.number(w.data(g).GetOzoneGenerator().MaxCellPressurePaGauge, specRef(g, "max_cell_pressure")))
		}
	}
	if len(out.Generators) == 0 {
		return nil
	}
	slices.Sort(out.Sources)
	out.Volume = volume
	coldest := w.number(w.Plant.Basis.MinAmbientTemperatureK, basisRef("min_ambient_temperature"))
	if coldest.Unknown() {
		out.Change = Missing(coldest.Missing...)
	} else {
		amount := w.atmosphere().Add(pressure).Mul(volume).Div(coldest.Scale(fluid.GasConstant))
		out.Change = amount.Div(out.Flow)
	}
	out.Change.Missing = JoinRefs(out.Change.Missing, volume.Missing, out.Flow.Missing)
	return out
}

// gasInto is from where ozone-bearing gas comes to the ports of a component that are not for liquid, by normal flow, through the
// water as well.
func (w *World) gasInto(component int32) *flowpath.Reach {
	var ports []int32
	for _, port := range w.joinedPortsOf(component) {
		if w.Plant.Ports[port].Phase != skidrulev1.Phase_PHASE_LIQUID {
			ports = append(ports, port)
		}
	}
	return w.spread(flowpath.Backward, ports, func(way int32, forward bool) bool {
		q := &w.Plant.Ways[way]
		if q.IsPipe() {
			return forward
		}
		if w.shutForGood(way) || !forward && !bothWays(w.kindOfWay(way)) {
			return false
		}
		switch w.Plant.Components[q.Component].Kind {
		case plant.KindOzoneGenerator, plant.KindOzoneDestruct, plant.KindReliefValve, plant.KindRuptureDisc, plant.KindVacuumBreaker:
			return false
		case plant.KindVenturiInjector:
			return w.Plant.PortName(q.From) == "suction"
		case plant.KindContactVessel, plant.KindDegassingVessel, plant.KindReactionVessel, plant.KindOpenTank:
			return w.Plant.Ports[q.To].Phase != skidrulev1.Phase_PHASE_LIQUID
		}
		return true
	})
}

// OzoneFrom lists the generators in use whose gas comes to a component, itself where it is one, ascending.
func (w *World) OzoneFrom(component int32) []int32 {
	var out []int32
	comes := w.gasInto(component)
	for _, g := range w.gasNet().generators {
		if g == component || comes.Reached(w.Plant.PortByTrait(g, 1)) {
			out = append(out, g)
		}
	}
	return out
}

// behindWater keeps the arcs of a way behind the last port in water; none where it meets no water.
func (w *World) behindWater(arcs []int32) []int32 {
	for i := len(arcs) - 1; i >= 0; i-- {
		if w.InWater(w.Graph().From(arcs[i])) {
			return arcs[i+1:]
		}
	}
	return nil
}

// throughCell is the arc through the cells of a generator.
func (w *World) throughCell(generator int32) []int32 {
	for i := range w.Plant.Ways {
		if q := &w.Plant.Ways[i]; q.Component == generator && q.From == w.Plant.PortByTrait(generator, 0) && q.To == w.Plant.PortByTrait(generator, 1) {
			return []int32{2 * int32(i)}
		}
	}
	return nil
}

// chambersOn lists traps, pots and vessels on a way.
func (w *World) chambersOn(arcs []int32) []int32 {
	var out []int32
	for _, arc := range arcs {
		c := w.Plant.Ways[arc/2].Component
		if c < 0 {
			continue
		}
		switch w.Plant.Components[c].Kind {
		case plant.KindLiquidTrap, plant.KindKnockOutPot, plant.KindContactVessel, plant.KindHeader:
			out = appendMissing(out, c)
		}
	}
	return out
}

// chamberVolume is the gas that a trap, pot, vessel or header holds.
func (w *World) chamberVolume(c int32) Number {
	data := w.data(c)
	var n Number
	switch w.Plant.Components[c].Kind {
	case plant.KindLiquidTrap:
		n = w.number(data.GetLiquidTrap().VolumeM3, specRef(c, "volume"))
	case plant.KindKnockOutPot:
		d := w.number(data.GetKnockOutPot().DiameterM, specRef(c, "diameter"))
		n = d.Mul(d).Mul(w.number(data.GetKnockOutPot().HeightM, specRef(c, "height"))).Scale(math.Pi / 4)
	case plant.KindContactVessel:
		n = w.number(data.GetContactVessel().GasCapVolumeM3, specRef(c, "gas_cap_volume"))
	case plant.KindHeader:
		n = w.number(data.GetHeader().VolumeM3, specRef(c, "volume"))
	}
	n.Low = max(n.Low, 0)
	return n
}

// CauseLine is one line of cause and effect that the drawing states.
type CauseLine struct {
	Action *skidrulev1.SignalAction
	Source int32 // component whose signal it is; -1 where the stated tag is not there or states none
	Owner  int32 // component that lists it: a controller, or the instrument itself
}

// CauseAndEffect lists the lines of cause and effect of the whole plant, in order of components.
func (w *World) CauseAndEffect() []CauseLine {
	signals := w.signals()
	out := make([]CauseLine, len(signals))
	for i, s := range signals {
		out[i] = CauseLine{s.Action, s.Source, s.Owner}
	}
	return out
}

// AskedWhetherIsolated tells the kinds of which the rules of isolation, letting down and joints are asked.
func AskedWhetherIsolated(k plant.Kind) bool { return slices.Contains(moduleKinds, k) }

// ComesApart judges the joint at a port: whether it comes apart without being cut.
func (w *World) ComesApart(port int32) Truth { return w.jointComesApart(port) }

// StreamEnds gives the ports of a component at which streams of the drawing begin and end.
func (w *World) StreamEnds(component int32) (sources, sinks []int32) {
	return w.streamEnds(nil, nil, component)
}

// GasOf gives where the feed gas of a generator comes from, and the injectors that draw from it, each ascending.
func (w *World) GasOf(generator int32) (sources, injectors []int32) {
	if gas := w.gasNet().of.of(generator); gas != nil {
		return gas.sources, gas.injectors
	}
	return nil, nil
}

// ReliefLoad is what a relief device is set to, what it lets out and what it is asked to, each in its SI unit.
type ReliefLoad struct {
	Set                     Number // Pa gauge
	Gas, GasToRelieve       Number // mol/s
	Liquid, LiquidToRelieve Number // m3/s
	ShutOffBy               int32  // valve that can shut it off; -1 for none
}

// ReliefLoad gives the load of a relief valve or rupture disc.
func (w *World) ReliefLoad(device int32) ReliefLoad {
	r := w.reliefOf(device)
	return ReliefLoad{Set: r.set, Gas: r.gas, GasToRelieve: r.pushesGas, Liquid: r.liquid, LiquidToRelieve: r.pushesLiquid, ShutOffBy: w.shutOffBetween(device)}
}
