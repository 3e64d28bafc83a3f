package fact

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// gasVessels are the kinds in which gas leaves the water.
var gasVessels = []plant.Kind{plant.KindContactVessel, plant.KindDegassingVessel, plant.KindReactionVessel, plant.KindOpenTank}

// isGasVessel tells those kinds.
func isGasVessel(k plant.Kind) bool {
	switch k {
	case plant.KindContactVessel, plant.KindDegassingVessel, plant.KindReactionVessel, plant.KindOpenTank:
		return true
	}
	return false
}

// ventWays is how the gas spaces of vessels are let off.
type ventWays struct {
	toFloat *flowpath.Reach   // backward from float vents: which vents lead to one
	freely  *flowpath.Reach   // backward from what must stay dry: which vents lead there without a float vent
	sure    *flowpath.Weakest // backward from the atmosphere; barriers are valves that are known not to be locked open
	doubted *flowpath.Weakest // barriers are those that may not be, too; the same where there are none
}

func (w *World) ventWays() *ventWays { return w.offGas.vents.get(w.findVentWays) }

func (w *World) findVentWays() *ventWays {
	p, x := w.Plant, &ventWays{}
	// A vent way leaves a vessel for good, does not wait for a relief valve, and is no sealed drain.
	shut := func(way int32, forward bool, h holding) bool {
		if h == noWay {
			return true
		}
		switch kind := w.kindOfWay(way); kind {
		case plant.KindReliefValve, plant.KindRuptureDisc:
			return true
		case plant.KindKnockOutPot, plant.KindOzoneDestruct, plant.KindFloatDrain, plant.KindDemister:
			return w.touchesLiquid(&p.Ways[way])
		default:
			return isGasVessel(kind) && !forward
		}
	}
	x.toFloat = w.spreadGas(flowpath.Backward, w.portsOf(plant.KindFloatVentValve, "inlet"), func(way int32, forward bool, h holding) bool {
		c := p.Ways[way].Component
		return !shut(way, forward, h) && (c < 0 || !w.stopsAutomaticVent(c))
	})
	x.freely = w.spreadGas(flowpath.Backward, w.dryPorts(), func(way int32, forward bool, h holding) bool {
		k := w.kindOfWay(way)
		return !shut(way, forward, h) && h != holds && k != plant.KindFloatVentValve && k != plant.KindKnockOutPot
	})
	doubtful := false
	barriers := func(ofDoubt uint8) *flowpath.Ways {
		return w.arcCosts(func(way int32, forward bool, h holding) uint8 {
			if shut(way, forward, h) {
				return flowpath.Blocked
			}
			if c := p.Ways[way].Component; c >= 0 {
				switch w.canShut(c).Value {
				case True:
					return flowpath.Barrier
				case Undecided:
					doubtful = true
					return ofDoubt
				}
			}
			return flowpath.Open
		})
	}
	outside := w.gasOutlets()
	x.sure = &flowpath.Weakest{}
	must(x.sure.Sweep(barriers(flowpath.Open), flowpath.Backward, outside))
	if x.doubted = x.sure; doubtful {
		x.doubted = &flowpath.Weakest{}
		must(x.doubted.Sweep(barriers(flowpath.Barrier), flowpath.Backward, outside))
	}
	return x
}

// stopsAutomaticVent tells what gas cannot pass by itself on its way from a vessel to its float vent.
func (w *World) stopsAutomaticVent(component int32) bool {
	c := &w.Plant.Components[component]
	switch c.Kind {
	case plant.KindFloatVentValve, plant.KindKnockOutPot, plant.KindOzoneDestruct:
		return true
	case plant.KindHandValve, plant.KindActuatedValve:
		return c.Data.GetNormalPosition() == skidrulev1.ValvePosition_VALVE_POSITION_CLOSED
	}
	return false
}

// dryPorts are where water must not come by way of a vent.
func (w *World) dryPorts() []int32 {
	out := w.portsOf(plant.KindKnockOutPot, "inlet")
	out = append(out, w.portsOf(plant.KindOzoneDestruct, "inlet")...)
	return append(out, w.gasOutlets()...)
}

// gasOutlets lists where gas leaves the drawing on purpose.
func (w *World) gasOutlets() []int32 {
	out := w.portsOf(plant.KindAtmosphereVent, "inlet")
	for _, c := range w.OfKind(plant.KindBoundary) {
		b := w.data(c).GetBoundary()
		gas, stated := isGas(b.GetService())
		if (gas || !stated) && b.GetRole() != skidrulev1.BoundaryRole_BOUNDARY_ROLE_SOURCE {
			out = append(out, w.Plant.Components[c].FirstPort)
		}
	}
	return out
}

// canShut tells whether a component can block the gas that passes it.
func (w *World) canShut(component int32) Truth {
	c := &w.Plant.Components[component]
	switch c.Kind {
	case plant.KindHandValve:
		// A lock is drawn where there is one: a valve without the mark is not locked.
		locked := Is(c.Data.GetLocked())
		open := Truth{Value: True}
		switch c.Data.GetNormalPosition() {
		case skidrulev1.ValvePosition_VALVE_POSITION_UNSPECIFIED:
			open = Open(componentRef(component, "normal_position"))
		case skidrulev1.ValvePosition_VALVE_POSITION_CLOSED:
			open = Truth{}
		}
		if w.everMoved(component, skidrulev1.ValvePosition_VALVE_POSITION_CLOSED) {
			open = Truth{}
		}
		return locked.And(open).Not()
	case plant.KindActuatedValve, plant.KindBackPressureValve, plant.KindPressureRegulator:
		return Truth{Value: True}
	}
	return Truth{}
}

// ventPorts lists the ports by which gas leaves a vessel: its vents where a line meets any of them, else, of a water-filled
// vessel, its outlets.
func (w *World) ventPorts(vessel int32) []int32 {
	joined := w.joinedPorts(vessel, "vent")
	if len(joined) == 0 && w.Plant.Components[vessel].Kind == plant.KindReactionVessel {
		return w.joinedPorts(vessel, "outlet")
	}
	return joined
}

// ventJoined tells whether a line meets a vent port of the vessel.
func (w *World) ventJoined(vessel int32) Truth {
	return Is(len(w.joinedPorts(vessel, "vent")) > 0)
}

// gasGathers tells whether gas stays in a vessel unless a vent lets it off. A water-filled vessel whose outlet lies at least as
// high as every other port hands its bubbles on.
func (w *World) gasGathers(vessel int32) Truth {
	c := &w.Plant.Components[vessel]
	switch c.Kind {
	case plant.KindOpenTank:
		covered := w.truth(c.Data.GetOpenTank().Covered, specRef(vessel, "covered"))
		var bears Truth
		for _, port := range w.portsNamed(vessel, "inlet") {
			bears = bears.Or(Is(w.ozone().may.Reached(port) || w.dissolved().reach.Reached(port)))
		}
		return bears.And(covered)
	case plant.KindReactionVessel:
		outlet := w.highestOf(w.joinedPorts(vessel, "outlet"))
		rest := w.highestOf(w.joinedPorts(vessel, "inlet", "drain", "sample", "relief"))
		return outlet.AtLeast(rest).Not()
	}
	return Truth{Value: True}
}

// joinedPorts lists the ports of the names that lines meet.
func (w *World) joinedPorts(component int32, names ...string) []int32 {
	return slices.DeleteFunc(w.portsNamed(component, names...), func(port int32) bool { return w.Plant.Ports[port].Joints == 0 })
}

// highestOf is the highest elevation of some ports; of none it is below everything.
func (w *World) highestOf(ports []int32) Number {
	top := between(math.Inf(-1), math.Inf(-1))
	for _, port := range ports {
		top = top.Max(w.portElevation(port))
	}
	return top
}

// portElevation is the stated elevation of a port.
func (w *World) portElevation(port int32) Number {
	var stated *float64
	if s := w.Plant.Ports[port].Stated; s != nil {
		stated = s.ElevationM
	}
	return w.number(stated, portRef(port, "elevation"))
}

// ventHeight is the elevation of the vessel's highest vent port that a line meets.
func (w *World) ventHeight(vessel int32) Number { return w.highestOf(w.joinedPorts(vessel, "vent")) }

// otherHeight is that of its highest inlet or outlet.
func (w *World) otherHeight(vessel int32) Number {
	return w.highestOf(w.joinedPorts(vessel, "inlet", "outlet"))
}

// underPressure tells whether a vessel stands under pressure, so that an open pipe would let its water out.
func (w *World) underPressure(vessel int32) Truth {
	data := w.data(vessel)
	switch w.Plant.Components[vessel].Kind {
	case plant.KindContactVessel:
		v := data.GetContactVessel()
		if v.Pressurised == nil && v.OperatingPressurePaGauge != nil {
			return Is(*v.OperatingPressurePaGauge > 0)
		}
		return w.truth(v.Pressurised, specRef(vessel, "pressurised"))
	case plant.KindDegassingVessel:
		return w.number(data.GetDegassingVessel().OperatingPressurePaGauge, specRef(vessel, "operating_pressure")).MoreThan(Exactly(0))
	case plant.KindReactionVessel:
		return Truth{Value: True}
	}
	return Truth{}
}

// ventsByItself tells whether gas leaves the vessel without anyone's doing: by a float vent, or, where it is not under
// pressure, by an open pipe.
func (w *World) ventsByItself(vessel int32) Truth {
	x := w.ventWays()
	for _, port := range w.ventPorts(vessel) {
		if x.toFloat.Reached(port) {
			return Truth{Value: True}
		}
	}
	return w.underPressure(vessel).Not().And(w.hasVentWay(vessel))
}

// hasVentWay tells whether any way leads from the gas space to the atmosphere, through valves or not.
func (w *World) hasVentWay(vessel int32) Truth {
	for _, port := range w.ventPorts(vessel) {
		if w.ventWays().sure.Reached(port) {
			return Truth{Value: True}
		}
	}
	return Truth{}
}

// bestVent is the vent port whose way out meets the fewest valves that can shut it.
func (w *World) bestVent(x *flowpath.Weakest, vessel int32) (int32, bool) {
	best, found := int32(0), false
	for _, port := range w.ventPorts(vessel) {
		if x.Reached(port) && (!found || x.Barriers(port) < x.Barriers(best)) {
			best, found = port, true
		}
	}
	return best, found
}

// shutOffs counts the valves that can shut the vessel's best way out.
func (w *World) shutOffs(vessel int32) Number {
	x := w.ventWays()
	low, ok := w.bestVent(x.sure, vessel)
	if !ok {
		return between(math.Inf(1), math.Inf(1))
	}
	high, _ := w.bestVent(x.doubted, vessel)
	n := Number{Low: float64(x.sure.Barriers(low)), High: float64(x.doubted.Barriers(high))}
	if n.Low < n.High {
		arcs, _ := x.doubted.Path(high)
		for _, arc := range arcs {
			if c := w.Plant.Ways[arc/2].Component; c >= 0 {
				n.Missing = joinRefs(n.Missing, w.canShut(c).Missing)
			}
		}
	}
	return n
}

// shutOff names the first valve on that way.
func (w *World) shutOff(vessel int32) Text {
	port, ok := w.bestVent(w.ventWays().sure, vessel)
	if !ok {
		return Text{}
	}
	arcs, _ := w.ventWays().sure.Path(port)
	for _, arc := range arcs {
		if c := w.Plant.Ways[arc/2].Component; c >= 0 && w.canShut(c).Value == True {
			return Text{Value: w.Plant.Components[c].Tag}
		}
	}
	return Text{}
}

// ventPath is the vessel's best way out.
func (w *World) ventPath(vessel int32) Path {
	port, ok := w.bestVent(w.ventWays().sure, vessel)
	if !ok {
		return nil
	}
	arcs, _ := w.ventWays().sure.Path(port)
	return w.wayPath(port, arcs, func(way int32, _ bool) (skidrulev1.StepRole, string) {
		if c := w.Plant.Ways[way].Component; c >= 0 && w.canShut(c).Value == True {
			return skidrulev1.StepRole_STEP_ROLE_NOT_COUNTED, "it can be shut"
		}
		return skidrulev1.StepRole_STEP_ROLE_PASSES, ""
	})
}

// leavesWithoutFloat gives a way by which water of a vessel under pressure leaves with the gas because no float vent holds it.
func (w *World) leavesWithoutFloat(vessel int32) (Path, bool) {
	r := w.ventWays().freely
	for _, port := range w.joinedPorts(vessel, "vent") {
		if arcs, ok := r.Path(port); ok {
			return w.wayPath(port, arcs, w.gasRole), true
		}
	}
	return nil, false
}
