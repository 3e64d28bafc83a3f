package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// ozoneReach tells where ozone-bearing gas comes without passing a destruct or a gas seal: may counts only what surely holds
// it, must counts what would hold it if missing data turn out well too. behind follows the gas on through destructs.
type ozoneReach struct {
	may, must, behind *flowpath.Reach
}

func (w *World) ozone() *ozoneReach { return w.offGas.ozone.get(w.spreadOzone) }

func (w *World) spreadOzone() *ozoneReach {
	sources := w.ozoneSources()
	p := w.Plant
	class := w.gasClass()
	x := &ozoneReach{}
	x.may, x.must = w.spreadBoth(flowpath.Forward, sources, func(way int32, forward bool) Verdict { return passesGas(class[arcOf(way, forward)]) })
	x.behind = w.spreadGas(flowpath.Forward, sources, func(way int32, forward bool, h holding) bool {
		if h != holds {
			return h != noWay
		}
		return forward && p.Components[p.Ways[way].Component].Kind == plant.KindOzoneDestruct
	})
	return x
}

// ozoneSources lists the ports where ozone-bearing gas comes from: generators, the outlets of injectors, the vessels in which
// ozonated water gives gas off, and the edges of the drawing where ozone enters.
func (w *World) ozoneSources() []int32 {
	out := w.portsOf(plant.KindOzoneGenerator, "ozone_gas")
	out = append(out, w.portsOf(plant.KindVenturiInjector, "outlet")...)
	for _, kind := range [...]plant.Kind{plant.KindContactVessel, plant.KindDegassingVessel, plant.KindReactionVessel} {
		out = append(out, w.portsOf(kind, "inlet", "vent")...)
	}
	for _, c := range w.OfKind(plant.KindBoundary) {
		b := w.data(c).GetBoundary()
		if b.GetRole() == skidrulev1.BoundaryRole_BOUNDARY_ROLE_SINK {
			continue
		}
		switch b.GetService() {
		case skidrulev1.Service_SERVICE_OZONE_GAS, skidrulev1.Service_SERVICE_OFF_GAS, skidrulev1.Service_SERVICE_OZONATED_WATER:
			out = append(out, w.Plant.Components[c].FirstPort)
		}
	}
	return out
}

// untreated tells whether ozone comes to a port that has not passed a destruct or been held by a seal.
func (w *World) untreated(port int32) Truth {
	o := w.ozone()
	switch {
	case o.must.Reached(port):
		return Truth{Value: True}
	case o.may.Reached(port):
		return Open(w.gasDoubts(o.may, port)...)
	}
	return Truth{}
}

// gasDoubts names the missing data of passages on the path to a port.
func (w *World) gasDoubts(r *flowpath.Reach, port int32) []Ref {
	arcs, _ := r.Path(port)
	return doubtsOn(arcs, w.gasHolding)
}

// untreatedPath is the way by which ozone comes to a port.
func (w *World) untreatedPath(port int32) Path {
	o := w.ozone()
	if arcs, ok := o.must.Path(port); ok {
		return w.reachPath(arcs, port, w.gasRole)
	}
	arcs, _ := o.may.Path(port)
	return w.reachPath(arcs, port, w.gasRole)
}

// reachPath shows the arcs that lead to a port; a source alone has no way to show but itself.
func (w *World) reachPath(arcs []int32, port int32, role func(int32, bool) (skidrulev1.StepRole, string)) Path {
	return w.wayPath(w.begins(arcs, port), arcs, role)
}

// exitKinds are the kinds at which gas can leave the drawing.
var exitKinds = []plant.Kind{plant.KindAtmosphereVent, plant.KindDrainPoint, plant.KindBoundary, plant.KindOpenTank}

// gasCanLeave tells whether gas that comes to the component is set free there.
func (w *World) gasCanLeave(component int32) Truth {
	data := w.data(component)
	switch w.Plant.Components[component].Kind {
	case plant.KindAtmosphereVent:
		return Truth{Value: True}
	case plant.KindDrainPoint:
		return leavesAtDrain(data.GetDrainPoint().GetLeadsTo(), specRef(component, "leads_to"))
	case plant.KindOpenTank:
		return w.truth(data.GetOpenTank().Covered, specRef(component, "covered")).Not()
	case plant.KindBoundary:
		b := data.GetBoundary()
		if b.GetRole() == skidrulev1.BoundaryRole_BOUNDARY_ROLE_SOURCE {
			return Truth{}
		}
		leaves := Truth{Value: True}
		if b.GetRole() == skidrulev1.BoundaryRole_BOUNDARY_ROLE_UNSPECIFIED {
			leaves = Open(specRef(component, "role"))
		}
		gas, stated := isGas(b.GetService())
		switch {
		case !stated:
			return leaves.And(Open(specRef(component, "service")))
		case gas:
			return leaves
		}
		// Bubbles leave the water where it stands open.
		return leaves.And(w.truth(b.OpenToPeople, specRef(component, "open_to_people")))
	}
	return Truth{}
}

// leavesAtDrain tells whether gas gets free at a drain.
func leavesAtDrain(d skidrulev1.DrainDestination, ref Ref) Truth {
	switch d {
	case skidrulev1.DrainDestination_DRAIN_DESTINATION_UNSPECIFIED:
		return Open(ref)
	case skidrulev1.DrainDestination_DRAIN_DESTINATION_OPEN_AIR_GAP:
		return Truth{Value: True}
	}
	return Truth{}
}

// entryPorts lists the ports by which gas comes to an exit.
func (w *World) entryPorts(component int32) []int32 {
	if w.Plant.Components[component].Kind == plant.KindOpenTank {
		return w.portsNamed(component, "inlet")
	}
	return []int32{w.Plant.Components[component].FirstPort}
}

// untreatedAtExit tells whether untreated ozone comes to an exit.
func (w *World) untreatedAtExit(component int32) Truth {
	var t Truth
	for _, port := range w.entryPorts(component) {
		t = t.Or(w.untreated(port))
	}
	return t
}

func (w *World) untreatedExitPath(component int32) Path {
	o := w.ozone()
	ports := w.entryPorts(component)
	for _, r := range [2]*flowpath.Reach{o.must, o.may} {
		for _, port := range ports {
			if r.Reached(port) {
				return w.untreatedPath(port)
			}
		}
	}
	return nil
}

// ozoneWasThere tells whether gas that bore ozone comes to the component, treated or not.
func (w *World) ozoneWasThere(component int32) Truth {
	for _, port := range w.entryPorts(component) {
		if w.ozone().behind.Reached(port) {
			return Truth{Value: True}
		}
	}
	return Truth{}
}

// openEnd tells whether gas that comes to a port gets into the room there: no line meets it and nothing closes it.
func (w *World) openEnd(port int32) Truth {
	p := w.Plant
	q := &p.Ports[port]
	if q.Joints > 0 || q.Stated.GetCapped() || q.Direction == skidrulev1.FlowDirection_FLOW_DIRECTION_IN {
		return Truth{}
	}
	c := &p.Components[q.Component]
	switch c.Kind {
	case plant.KindCap:
		return Truth{}
	case plant.KindSamplePoint:
		if p.PortName(port) == "outlet" {
			return leavesAtDrain(c.Data.GetSamplePoint().GetDrainsTo(), specRef(q.Component, "drains_to"))
		}
	case plant.KindReliefValve, plant.KindRuptureDisc:
		// What is not led off is let out on the spot.
		return Truth{Value: True}
	}
	if w.mayStayOpen(port).Value == True {
		// A nozzle that is not used is not there.
		return Truth{}
	}
	return Truth{Value: True}
}

// leak is a port where gas may get into the room.
type leak struct {
	port int32 // by which gas comes
	free Truth
	name string
}

func (w *World) leaks(component int32) []leak { return w.offGas.leaks.get(w.findLeaks).of(component) }

func (w *World) findLeaks() *table[[]leak] {
	p, list := w.Plant, newTable[[]leak](w, 0)
	for i := range p.Ports {
		if free := w.openEnd(int32(i)); free.Value != False {
			note(&list, p.Ports[i].Component, leak{int32(i), free, p.PortLabel(int32(i))})
		}
	}
	for _, c := range w.OfKind(plant.KindGasAnalyser) {
		// It may measure in the line, or draw a sample that has to go somewhere.
		back, ok := p.FindPort(c, "return")
		if ok && p.Ports[back].Joints == 0 && w.explained(back).Value != True {
			note(&list, c, leak{p.Components[c].FirstPort, Open(portRef(back, "capped")), p.PortLabel(back)})
		}
	}
	return &list
}

// hasLeak tells whether gas that comes to the component may get into the room there.
func (w *World) hasLeak(component int32) Truth {
	var t Truth
	for _, l := range w.leaks(component) {
		t = t.Or(l.free)
	}
	return t
}

// worstLeak is the component's leak that ozone most surely gets out by.
func (w *World) worstLeak(component int32) (worst leak, ozone Truth) {
	for i, l := range w.leaks(component) {
		t := l.free.And(w.untreated(l.port))
		if i == 0 || t.Value == True && ozone.Value != True || t.Value == Undecided && ozone.Value == False {
			worst, ozone = l, t
		}
	}
	return worst, ozone
}
