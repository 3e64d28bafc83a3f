package fact

import (
	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

var (
	barrier      = passing{cost: flowpath.Barrier}
	restriction  = passing{cost: flowpath.Open, throttles: true}
	floatBarrier = passing{cost: flowpath.Barrier, throttles: true}
	mayHold      = passing{cost: flowpath.Open, doubtful: true}
)

// passingOf is what a passage does to pressure that stands so against water.
func passingOf(h holding) passing {
	switch h {
	case holds:
		return barrier
	case maybeHolds:
		return mayHold
	}
	return passes
}

// passage judges a passage inside a component against pressure of liquid or gas that pushes along it, forward in the
// direction of normal flow or against it. Valves count as open unless they are locked closed and no case opens them:
// pressure is asked for over all cases at once.
func (b *arcBuilder) passage(q *plant.Way, forward, gas bool) passing {
	p := b.w.Plant
	c := &p.Components[q.Component]
	switch c.Kind {
	case plant.KindCheckValve:
		if forward {
			return passes
		}
		return barrier
	case plant.KindHandValve:
		if c.Data.GetNormalPosition() == skidrulev1.ValvePosition_VALVE_POSITION_CLOSED && c.Data.GetLocked() && !b.openInCase[q.Component] {
			return barrier
		}
		if c.Data.GetHandValve().GetType() == skidrulev1.HandValveType_HAND_VALVE_TYPE_NEEDLE {
			return restriction
		}
		if len(b.w.handValveDoubts(q.Component)) > 0 && !b.openInCase[q.Component] {
			return mayHold
		}
	case plant.KindActuatedValve:
		return b.actuated(q, forward, gas)
	case plant.KindOpenTank:
		// A tank that stands open has the pressure of its water, whatever pushes into it.
		return blocked
	case plant.KindFloatVentValve:
		switch {
		case forward && gas:
			return restriction
		case forward:
			return floatBarrier
		}
	case plant.KindRestrictionOrifice, plant.KindSamplePoint:
		return restriction
	case plant.KindReliefValve, plant.KindRuptureDisc, plant.KindFloatDrain:
		if forward {
			return restriction
		}
	case plant.KindVacuumBreaker:
		if !forward {
			return barrier
		}
	case plant.KindCompressor:
		if !forward {
			// Its discharge valves keep the delivered gas from its inlet.
			return blocked
		}
	case plant.KindOxygenConcentrator:
		switch {
		case !forward:
			return blocked
		case p.PortName(q.To) == "exhaust":
			return restriction
		}
	case plant.KindVenturiInjector:
		return b.injector(q, forward)
	case plant.KindLiquidTrap, plant.KindKnockOutPot:
		return b.separator(q, forward, gas)
	}
	return passes
}

// handValveDoubts names what a hand valve does not state and by which it might hold or throttle. One that is not stated to be locked
// can be turned.
func (w *World) handValveDoubts(component int32) []Ref {
	d := w.data(component)
	var refs []Ref
	if d.GetNormalPosition() == skidrulev1.ValvePosition_VALVE_POSITION_UNSPECIFIED && d.GetLocked() {
		refs = append(refs, componentRef(component, "normal_position"))
	}
	if d.GetHandValve().GetType() == skidrulev1.HandValveType_HAND_VALVE_TYPE_UNSPECIFIED {
		refs = append(refs, specRef(component, "type"))
	}
	return refs
}

// actuated judges an automatic valve: it is open at times, and what pushes forward passes then. Water that comes back up a
// gas line is held by a valve that closes without power and is tight in reverse.
func (b *arcBuilder) actuated(q *plant.Way, forward, gas bool) passing {
	if forward || gas || b.w.inGasLine(q.Component).Value != True {
		return passes
	}
	h, _, _ := b.w.shutOffHolding(q.Component, false)
	return passingOf(h)
}

// injector judges the suction of an injector: gas goes in by it, and water may come out, which presses the gas before it together.
func (b *arcBuilder) injector(q *plant.Way, forward bool) passing {
	if forward || b.w.Plant.PortName(q.From) != "suction" {
		return passes
	}
	h, _, _ := b.w.injectorHolding(q, false)
	return passingOf(h)
}

// separator judges a trap or knock-out pot: its float drain throttles; a trap that drains keeps water from its gas side.
func (b *arcBuilder) separator(q *plant.Way, forward, gas bool) passing {
	p := b.w.Plant
	if p.PortName(q.To) == "drain" {
		if forward {
			return restriction
		}
		return passes
	}
	if gas || p.Components[q.Component].Kind != plant.KindLiquidTrap {
		return passes
	}
	h, _, _ := b.w.trapHolding(q.Component)
	return passingOf(h)
}

// inGasLine tells whether a line of gas runs through the component.
func (w *World) inGasLine(component int32) Truth {
	p := w.Plant
	c := &p.Components[component]
	var open Truth
	for i := range c.NumPorts {
		for _, way := range p.WaysAt(c.FirstPort + i) {
			if line := p.Ways[way].Line; line >= 0 {
				gas := w.lineOfGas(line)
				if gas.Value == True {
					return gas
				}
				open = open.Or(gas)
			}
		}
	}
	return open
}

// lineOfGas tells whether a line carries gas by what it states.
func (w *World) lineOfGas(line int32) Truth {
	gas, ok := w.carriesGas(line)
	if !ok {
		return Open(lineRef(line, "service"))
	}
	return Is(gas)
}

// passageLimit is the most that a passage lets through in its normal direction: a regulator its set pressure and what it
// rises at no flow, a concentrator what it delivers at no flow.
func (w *World) passageLimit(q *plant.Way) (limit, bool) {
	c := &w.Plant.Components[q.Component]
	switch c.Kind {
	case plant.KindPressureRegulator:
		r := c.Data.GetPressureRegulator()
		set := w.number(r.SetPressurePaGauge, specRef(q.Component, "set_pressure"))
		rise := w.number(r.LockUpPa, specRef(q.Component, "lock_up")).Max(Exactly(0))
		return limit{highest: set.Add(rise), regulator: true}, true
	case plant.KindOxygenConcentrator:
		if w.Plant.PortName(q.To) != "outlet" {
			return limit{}, false
		}
		if most := w.concentratorShutOff(q.Component); most.Known() {
			return limit{highest: most}, true
		}
	}
	return limit{}, false
}

// vents are the nodes from which a way that nothing can block leads to the open air, to an open drain or tank, or to a boundary
// that takes up what comes. Pressure that has passed a restriction does not build up there.
type vents struct {
	sure, hoped *flowpath.Set // hoped counts drains that do not say where they lead
	reach       flowpath.Reach
}

func (w *World) ventedNodes(g *pressureGraph) vents {
	p := w.Plant
	hopes := false
	ways := w.openWays(func(way int32, forward bool) bool {
		q := &p.Ways[way]
		open := w.cannotBeBlocked(q, forward)
		hopes = hopes || !open && w.mayBeLockedOpen(q)
		return open
	})
	var ends, doubtful []int32
	for i := range p.Ports {
		switch t := w.leavesFreely(int32(i)); t.Value {
		case True:
			ends = append(ends, int32(i))
		case Undecided:
			doubtful = append(doubtful, int32(i))
		}
	}
	var v vents
	mark := func() *flowpath.Set {
		marked := flowpath.NewSet(g.graph.NumNodes())
		for _, port := range v.reach.Nodes() {
			marked.Add(port)
			marked.Add(g.gas[port])
		}
		return marked
	}
	must(v.reach.Sweep(ways, flowpath.Backward, ends, flowpath.Avoid{}))
	v.sure = mark()
	v.hoped = v.sure
	if len(doubtful) > 0 || hopes {
		if hopes {
			ways = w.openWays(func(way int32, forward bool) bool {
				q := &p.Ways[way]
				return w.cannotBeBlocked(q, forward) || w.mayBeLockedOpen(q)
			})
		}
		must(v.reach.Sweep(ways, flowpath.Backward, append(ends, doubtful...), flowpath.Avoid{}))
		v.hoped = mark()
	}
	return v
}

// mayBeLockedOpen tells whether a way runs through a locked hand valve of which it is not stated that it can be shut or throttles.
func (w *World) mayBeLockedOpen(q *plant.Way) bool {
	if q.IsPipe() || w.Plant.Components[q.Component].Kind != plant.KindHandValve {
		return false
	}
	switch d := w.data(q.Component); d.GetNormalPosition() {
	case skidrulev1.ValvePosition_VALVE_POSITION_UNSPECIFIED, skidrulev1.ValvePosition_VALVE_POSITION_OPEN:
		return d.GetLocked() && len(w.handValveDoubts(q.Component)) > 0
	}
	return false
}

// doubt names what would tell whether a port is vented.
func (v *vents) doubt(w *World, port int32) []Ref {
	if v.sure.Has(port) || !v.hoped.Has(port) {
		return nil
	}
	var refs []Ref
	if arcs, ok := v.reach.Path(port); ok && len(arcs) > 0 {
		port = w.Graph().To(arcs[len(arcs)-1])
		for _, arc := range arcs {
			if q := &w.Plant.Ways[arc/2]; w.mayBeLockedOpen(q) {
				refs = joinRefs(refs, w.handValveDoubts(q.Component))
			}
		}
	}
	return joinRefs(refs, w.leavesFreely(port).Missing)
}

// leavesFreely tells whether what arrives at the port is free to leave.
func (w *World) leavesFreely(port int32) Truth {
	p := w.Plant
	q := &p.Ports[port]
	c := &p.Components[q.Component]
	switch c.Kind {
	case plant.KindAtmosphereVent, plant.KindBoundary, plant.KindOpenTank:
		return Truth{Value: True}
	case plant.KindDrainPoint:
		switch c.Data.GetDrainPoint().GetLeadsTo() {
		case skidrulev1.DrainDestination_DRAIN_DESTINATION_OPEN_AIR_GAP, skidrulev1.DrainDestination_DRAIN_DESTINATION_TRAPPED:
			return Truth{Value: True}
		case skidrulev1.DrainDestination_DRAIN_DESTINATION_UNSPECIFIED:
			return Open(specRef(q.Component, "leads_to"))
		}
	case plant.KindReliefValve, plant.KindRuptureDisc, plant.KindSamplePoint, plant.KindOxygenConcentrator, plant.KindVacuumBreaker:
		if q.Joints > 0 || q.Trait < 0 || q.Stated.GetCapped() {
			return Truth{}
		}
		switch c.Kind.Info().Ports[q.Trait].Name {
		case "outlet":
			return Is(c.Kind != plant.KindOxygenConcentrator)
		case "exhaust", "atmosphere":
			return Truth{Value: True}
		}
	}
	return Truth{}
}

// cannotBeBlocked tells whether a way stays open along one direction whatever valves are turned. A restriction is no such
// way: the pressure before it is not that behind it.
func (w *World) cannotBeBlocked(q *plant.Way, forward bool) bool {
	if q.IsPipe() {
		return true
	}
	p := w.Plant
	c := &p.Components[q.Component]
	switch c.Kind {
	case plant.KindHandValve:
		return c.Data.GetNormalPosition() == skidrulev1.ValvePosition_VALVE_POSITION_OPEN && c.Data.GetLocked() &&
			c.Data.GetHandValve().GetType() != skidrulev1.HandValveType_HAND_VALVE_TYPE_NEEDLE
	case plant.KindActuatedValve, plant.KindThreeWayValve, plant.KindFloatVentValve, plant.KindRestrictionOrifice, plant.KindSamplePoint,
		plant.KindReliefValve, plant.KindRuptureDisc, plant.KindFloatDrain, plant.KindPressureRegulator, plant.KindBackPressureValve,
		plant.KindCompressor, plant.KindPump, plant.KindOxygenConcentrator, plant.KindVacuumBreaker, plant.KindVenturiInjector, plant.KindOpenTank:
		return false
	case plant.KindCheckValve:
		return forward
	case plant.KindLiquidTrap, plant.KindKnockOutPot:
		return p.PortName(q.To) != "drain" || !forward
	}
	return true
}
