package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// serviceMemo is what the service and process facts compute once.
type serviceMemo struct {
	live    lazy[liveReach]
	vessels lazy[liveReach] // from all vessels
	full    lazy[liveReach] // from those that stay full
	down    lazy[letDownReach]
}

// moduleKinds are the parts that are taken out and exchanged as a whole.
var moduleKinds = []plant.Kind{plant.KindOzoneGenerator, plant.KindCompressor, plant.KindOxygenConcentrator, plant.KindOzoneDestruct}

// wetModuleKinds are the parts in water that are taken out and exchanged as a whole.
var wetModuleKinds = []plant.Kind{plant.KindPump, plant.KindVenturiInjector}

var serviceFacts = []Definition{
	truthFact("can_be_isolated", "Valves shut it off from every edge of the drawing under pressure and from every gas supply.",
		func(w *World, at At) Truth { t, _ := w.isolable(at.Index); return t }, moduleKinds...),
	textFact("not_isolated_at", "The first of its ports that they do not shut off.", func(w *World, at At) Text {
		if t, port := w.isolable(at.Index); t.Value != True {
			return Text{Value: w.Plant.PortName(port)}
		}
		return Text{}
	}, moduleKinds...),
	pathFact("live_path", "The way from there to that port.",
		func(w *World, at At) Path { return w.livePath(at.Index) }, moduleKinds...),
	truthFact("can_be_let_down", "Gas can leave it, by its normal way or by a vent, without a line being opened.",
		func(w *World, at At) Truth { return w.CanBeLetDown(at.Index) }, moduleKinds...),
	truthFact("comes_apart", "Every port that a line meets is joined by something that comes apart.",
		func(w *World, at At) Truth { t, _ := w.comesApart(at.Index); return t }, moduleKinds...),
	textFact("fixed_port", "The first port that is not.", func(w *World, at At) Text {
		if t, port := w.comesApart(at.Index); t.Value != True {
			return Text{Value: w.Plant.PortLabel(port)}
		}
		return Text{}
	}, moduleKinds...),
	truthFact("parted_from_full_vessels", "Valves part it from every vessel that stays full: that no valve shuts off from mains, and no drain of its own empties.",
		func(w *World, at At) Truth { t, _ := w.partedFrom(w.fullVesselReach(), at.Index); return t }, wetModuleKinds...),
	textFact("not_parted_at", "The first of its ports that they do not part.", func(w *World, at At) Text {
		if t, port := w.partedFrom(w.fullVesselReach(), at.Index); t.Value != True {
			return Text{Value: w.Plant.PortName(port)}
		}
		return Text{}
	}, wetModuleKinds...),
	textFact("vessel_not_parted", "The nearest such vessel whose water runs out there.", func(w *World, at At) Text {
		return w.tagOf(w.FullVesselBefore(at.Index))
	}, wetModuleKinds...),
	pathFact("vessel_path", "The way of the water from there to that port.",
		func(w *World, at At) Path { return w.vesselPath(at.Index) }, wetModuleKinds...),
	truthFact("service_interval_stated", "It is stated how often it is serviced.",
		func(w *World, at At) Truth {
			if w.parts()[at.Index].interval {
				return Truth{Value: True}
			}
			n := w.number(w.data(at.Index).ServiceIntervalS, componentRef(at.Index, "service_interval"))
			return n.MoreThan(Exactly(0))
		}),
	truthFact("wearing_parts_stated", "It is stated which of its parts wear.",
		func(w *World, at At) Truth {
			if !w.parts()[at.Index].wearing {
				return Open(componentRef(at.Index, "wearing_parts"))
			}
			return Truth{Value: True}
		}),

	truthFact("ozonates_water", "Ozone is made, or brought into water, in the drawing.",
		func(w *World, _ At) Truth {
			return Is(len(w.OfKind(plant.KindVenturiInjector)) > 0 || len(w.OfKind(plant.KindOzoneGenerator)) > 0)
		}).on(OnDesign),
}

// liveReach tells where the pressure of mains and supplies gets to with every isolating valve shut: sure takes valves that are
// not known to close as open.
type liveReach struct {
	sure, hoped *flowpath.Reach
	// begins is, by the port where a search starts, what is not stated and decides whether it starts there at all.
	begins map[int32][]Ref
}

func (w *World) liveReach() *liveReach { return w.service.live.get(w.spreadLive) }

// liveSources lists the edges of the drawing under pressure and the gas supplies, by their ports.
func (w *World) liveSources() []int32 {
	var from []int32
	for _, c := range w.OfKind(plant.KindBoundary) {
		b := w.data(c).GetBoundary()
		if highest := b.MaxPressurePaGauge; highest != nil && *highest <= 0 {
			continue
		}
		switch b.GetService() {
		case skidrulev1.Service_SERVICE_DRAIN_WATER, skidrulev1.Service_SERVICE_EXHAUST_GAS, skidrulev1.Service_SERVICE_TREATED_GAS,
			skidrulev1.Service_SERVICE_OFF_GAS:
			// Nothing pushes back from there.
		default:
			from = append(from, w.Plant.Components[c].FirstPort)
		}
	}
	for _, c := range w.OfKind(plant.KindGasSupply) {
		from = append(from, w.Plant.Components[c].FirstPort)
	}
	return from
}

func (w *World) spreadLive() *liveReach {
	from := w.liveSources()
	x := &liveReach{}
	x.sure, x.hoped = w.spreadBoth(flowpath.Forward, from, w.pressureGets)
	return x
}

// pressurePasses tells whether pressure gets along a way with every isolating valve shut.
func (w *World) pressurePasses(way int32, forward, unstatedCloses bool) bool {
	passes := w.pressureGets(way, forward)
	return passes == True || passes == Undecided && !unstatedCloses
}

// pressureGets tells it; it is not decided where an actuated valve does not state whether it closes.
func (w *World) pressureGets(way int32, forward bool) Verdict {
	switch w.kindOfWay(way) {
	case plant.KindHandValve, plant.KindReliefValve, plant.KindRuptureDisc, plant.KindVacuumBreaker, plant.KindSamplePoint:
		return False
	case plant.KindOpenTank:
		// It stands under the pressure of the atmosphere whatever comes in.
		return False
	case plant.KindCheckValve, plant.KindFloatVentValve, plant.KindFloatDrain:
		return Is(forward).Value
	case plant.KindActuatedValve:
		switch w.data(w.Plant.Ways[way].Component).GetFailPosition() {
		case skidrulev1.FailPosition_FAIL_POSITION_CLOSED:
			return False
		case skidrulev1.FailPosition_FAIL_POSITION_UNSPECIFIED:
			return Undecided
		}
	}
	return True
}

// isolable tells whether a module can be shut off, and the first port where it cannot.
func (w *World) isolable(module int32) (Truth, int32) {
	return w.keptOff(w.liveReach(), module, w.joinedPortsOf(module), func(way int32, forward bool) bool { return w.pressurePasses(way, forward, true) })
}

// keptOff tells whether a search with every isolating valve shut keeps off the ports of a component, and the first port where it
// does not. opens tells of a way whether it is open even where every fail position turns out well.
func (w *World) keptOff(x *liveReach, component int32, ports []int32, opens func(way int32, forward bool) bool) (Truth, int32) {
	all, worst := Truth{Value: True}, w.Plant.Components[component].FirstPort
	for _, port := range ports {
		if !x.sure.Reached(port) {
			continue
		}
		if x.hoped.Reached(port) {
			return Truth{}, port
		}
		arcs, _ := x.sure.Path(port)
		refs := joinRefs(w.unstatedOn(arcs, opens), x.begins[w.begins(arcs, port)])
		if all.Value == True {
			worst = port
		}
		all = all.And(Open(refs...))
	}
	return all, worst
}

// unstatedOn lists the fail positions that decide whether a way is open.
func (w *World) unstatedOn(arcs []int32, opens func(way int32, forward bool) bool) []Ref {
	var refs []Ref
	for _, arc := range arcs {
		if v := w.Plant.Ways[arc/2].Component; v >= 0 && !opens(arc/2, arc%2 == 0) {
			refs = joinRefs(refs, []Ref{componentRef(v, "fail_position")})
		}
	}
	return refs
}

func (w *World) livePath(module int32) Path {
	t, port := w.isolable(module)
	if t.Value == True {
		return nil
	}
	return w.reachedPath(w.liveReach().sure, port)
}

// letDownReach is from where gas can leave, and at which ports.
type letDownReach struct {
	ends []int32
	from *flowpath.Reach
}

// letDown marks from where gas can leave: to the atmosphere, to an open tank, into a sample point, by a valve that vents what
// lies behind it, or into an injector that draws.
func (w *World) letDown() *letDownReach {
	return w.service.down.get(func() *letDownReach {
		ends := w.portsOf(plant.KindAtmosphereVent, "inlet")
		ends = append(ends, w.portsOf(plant.KindSamplePoint, "process")...)
		ends = append(ends, w.portsOf(plant.KindOpenTank, "inlet")...)
		ends = append(ends, w.portsOf(plant.KindVenturiInjector, "suction")...)
		for _, c := range w.OfKind(plant.KindHandValve) {
			if w.data(c).GetHandValve().GetVentsWhenClosed() {
				ends = append(ends, w.portsNamed(c, "outlet")...)
			}
		}
		for _, c := range w.OfKind(plant.KindBoundary) {
			switch b := w.data(c).GetBoundary(); b.GetService() {
			case skidrulev1.Service_SERVICE_EXHAUST_GAS, skidrulev1.Service_SERVICE_TREATED_GAS, skidrulev1.Service_SERVICE_OFF_GAS, skidrulev1.Service_SERVICE_OZONE_GAS:
				ends = append(ends, w.Plant.Components[c].FirstPort)
			}
		}
		return &letDownReach{ends: ends, from: w.spread(flowpath.Backward, ends, w.letsGasDown)}
	})
}

// letsGasDown tells whether gas that is let down takes a way.
func (w *World) letsGasDown(way int32, forward bool) bool {
	q := &w.Plant.Ways[way]
	if q.IsPipe() {
		return true
	}
	switch w.kindOfWay(way) {
	case plant.KindCheckValve, plant.KindCompressor, plant.KindBlower, plant.KindOxygenConcentrator, plant.KindPressureRegulator, plant.KindVacuumBreaker:
		return forward
	case plant.KindReliefValve, plant.KindRuptureDisc:
		return false
	}
	return !w.touchesLiquid(q) && !w.shutForGood(way)
}

// CanBeLetDown is the fact can_be_let_down of a component of any kind that gas passes: whether gas can leave it.
func (w *World) CanBeLetDown(component int32) Truth {
	c := &w.Plant.Components[component]
	for port := c.FirstPort; port < c.FirstPort+c.NumPorts; port++ {
		q := &w.Plant.Ports[port]
		if q.Joints > 0 && q.Phase != skidrulev1.Phase_PHASE_LIQUID && q.Direction != skidrulev1.FlowDirection_FLOW_DIRECTION_IN && w.letDown().from.Reached(port) {
			return Truth{Value: True}
		}
	}
	return Truth{}
}

// comesApart tells whether a module's joints come apart, and the first port where they do not.
func (w *World) comesApart(module int32) (Truth, int32) {
	c := &w.Plant.Components[module]
	all, worst := Truth{Value: True}, c.FirstPort
	for port := c.FirstPort; port < c.FirstPort+c.NumPorts; port++ {
		if w.Plant.Ports[port].Joints == 0 {
			continue
		}
		t := w.jointComesApart(port)
		if t.Value == False {
			return t, port
		}
		if t.Value == Undecided && all.Value == True {
			worst = port
		}
		all = all.And(t)
	}
	return all, worst
}

// jointComesApart judges the end connection of a port: what it states, else how the line's ends are made. A thread turns only
// where a union stands next to it.
func (w *World) jointComesApart(port int32) Truth {
	stated := w.Plant.Ports[port].Stated.GetConnection()
	for _, way := range w.Plant.WaysAt(port) {
		q := &w.Plant.Ways[way]
		if !q.IsPipe() {
			continue
		}
		if stated == skidrulev1.EndConnectionType_END_CONNECTION_TYPE_UNSPECIFIED {
			stated = w.Plant.Lines[q.Line].Data.GetConnection()
		}
		if k := w.Plant.Components[w.Plant.Ports[q.From+q.To-port].Component].Kind; k == plant.KindUnion {
			return Truth{Value: True}
		}
	}
	switch stated {
	case skidrulev1.EndConnectionType_END_CONNECTION_TYPE_UNSPECIFIED:
		return Open(portRef(port, "connection"))
	case skidrulev1.EndConnectionType_END_CONNECTION_TYPE_THREADED, skidrulev1.EndConnectionType_END_CONNECTION_TYPE_SOLVENT_SOCKET,
		skidrulev1.EndConnectionType_END_CONNECTION_TYPE_FUSION_SOCKET, skidrulev1.EndConnectionType_END_CONNECTION_TYPE_WELDED:
		return Truth{}
	}
	return Truth{Value: True}
}
