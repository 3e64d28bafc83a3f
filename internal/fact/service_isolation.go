package fact

import (
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Isolation is how a component is shut off from everything that holds or brings pressure.
type Isolation struct {
	// Shut is the fact can_be_isolated of the component, whatever its kind. Of a main or supply it tells of all others.
	Shut Truth
	// Valves are the hand and actuated valves to shut, ascending.
	Valves []int32
	// Checks are the check valves that alone hold back what no valve shuts off, ascending.
	Checks []int32
	// Open are mains and supplies that neither valves nor check valves shut off, ascending.
	Open []int32
	// With are the other components that stand under the same pressure once the valves are shut, ascending.
	With []int32
	// RunsOut are vessels full of water that no valve parts from it, ascending.
	RunsOut []int32
	// Second are the valves that would stand behind Valves against ozone; nil where Valves meet no ozone or there is no second row.
	Second []int32
	// OzoneAt are those of Valves and Checks that stand against ozone from elsewhere, ascending.
	OzoneAt []int32
	// Section holds the ports under the same pressure, those of the component among them.
	Section *flowpath.Set
}

// What a cut costs at a valve. A valve that can be locked goes before one of which that is not known, a hand valve before one that
// its actuator holds. A check valve stands in only where nothing else does: common practice, no source.
const (
	costLockable int32 = 1000
	costHand     int32 = 1100
	costActuated int32 = 1200
	costCheck    int32 = 20_000
)

// holderKinds are parts that keep or make pressure, or ozone, when mains and supplies are shut. Modules are shut off from them
// where valves stand between; the others are stopped and let down together with the module.
var holderKinds = [...]plant.Kind{
	plant.KindCompressor, plant.KindBlower, plant.KindOxygenConcentrator, plant.KindGasReceiver, plant.KindOzoneGenerator, plant.KindPump,
	plant.KindContactVessel, plant.KindReactionVessel, plant.KindDegassingVessel, plant.KindOpenTank,
}

// closing says how the passages of a plant close for one component that is taken out.
type closing struct {
	checks   bool // check valves count
	unstated bool // actuated valves whose fail position is not stated close
}

// Isolation finds the cheapest set of valves whose closing shuts a component off from every main and supply under pressure, and from
// what else holds pressure or ozone and can be shut off at all; of equally cheap sets the one nearest to the component. Check valves
// stand in only where no valve does. Where nothing shuts a main off, it is listed under Open and the set is that for the others.
//
// The cost is a minimum cut; O(n²m) at worst, in practice close to the size of the plant.
func (w *World) Isolation(component int32) *Isolation {
	out := &Isolation{}
	out.Shut, _ = w.isolable(component)
	ports := w.joinedPortsOf(component)
	own := slices.ContainsFunc(w.liveSources(), func(port int32) bool { return w.Plant.Ports[port].Component == component })
	if own {
		// What it holds itself is shut at its own valve; the question is what others bring.
		out.Shut = Truth{Value: True}
	}
	out.Section = flowpath.NewSet(len(w.Plant.Ports))
	if len(ports) == 0 {
		return out
	}
	how := w.bestClosing(out.Shut, component, ports)
	capacity := w.capacities(component, how)
	around := w.comesFrom(ports, capacity)
	var sources []int32
	for _, port := range w.liveSources() {
		if owner := w.Plant.Ports[port].Component; owner == component {
			continue
		} else if around.Reached(port) {
			out.Open = appendMissing(out.Open, owner)
		} else {
			sources = append(sources, port)
		}
	}
	for _, c := range w.holders() {
		if c != component && !w.anyReached(around, c) {
			sources = append(sources, w.joinedPortsOf(c)...)
		}
	}
	var cut flowpath.MinCut
	must(cut.Sweep(w.Graph(), capacity, nil, sources, ports, flowpath.MaxCut))
	arcs, _ := cut.Cut(flowpath.Backward)
	for _, arc := range arcs {
		c := w.Plant.Ways[arc/2].Component
		if w.Plant.Components[c].Kind == plant.KindCheckValve {
			out.Checks = appendMissing(out.Checks, c)
		} else {
			out.Valves = appendMissing(out.Valves, c)
		}
	}
	slices.Sort(out.Valves)
	slices.Sort(out.Checks)
	slices.Sort(out.Open)
	if own && len(out.Open) > 0 {
		out.Shut = Truth{}
	}
	w.fillSection(out, component, ports, capacity)
	out.RunsOut = w.runsOut(component, how.unstated)
	w.faceOzone(out, component, ports, sources, capacity)
	return out
}

// bestClosing is the strictest way to close that shuts every main off which the component can be shut off from at all.
func (w *World) bestClosing(shut Truth, component int32, ports []int32) closing {
	unstated := shut.Value == Undecided
	positive := closing{unstated: unstated}
	around := w.comesFrom(ports, w.capacities(component, positive))
	for _, port := range w.liveSources() {
		if w.Plant.Ports[port].Component != component && around.Reached(port) {
			return closing{checks: true, unstated: unstated}
		}
	}
	return positive
}

// capacities says what it costs to cut each arc: 0 where nothing passes, Unlimited where nothing closes it.
func (w *World) capacities(component int32, how closing) []int32 {
	out := make([]int32, 2*len(w.Plant.Ways))
	for i := range w.Plant.Ways {
		for d := range 2 {
			out[2*i+d] = w.costOfClosing(int32(i), d == 0, component, how)
		}
	}
	return out
}

func (w *World) costOfClosing(way int32, forward bool, component int32, how closing) int32 {
	c := w.Plant.Ways[way].Component
	if c < 0 || c == component {
		return flowpath.Unlimited
	}
	if w.pressurePasses(way, forward, how.unstated) {
		return flowpath.Unlimited
	}
	data := w.data(c)
	switch w.Plant.Components[c].Kind {
	case plant.KindHandValve:
		if data.GetHandValve().GetLockable() || data.GetLocked() {
			return costLockable
		}
		return costHand
	case plant.KindActuatedValve:
		return costActuated
	case plant.KindCheckValve:
		if how.checks {
			return costCheck
		}
		return flowpath.Unlimited
	}
	return 0
}

// comesFrom is where pressure can come from to the ports over what nothing closes.
func (w *World) comesFrom(ports, capacity []int32) *flowpath.Reach {
	return w.spread(flowpath.Backward, ports, func(way int32, forward bool) bool { return capacity[arcOf(way, forward)] == flowpath.Unlimited })
}

// holders lists the parts that keep pressure, ascending.
func (w *World) holders() []int32 {
	var out []int32
	for _, k := range holderKinds {
		out = append(out, w.OfKind(k)...)
	}
	slices.Sort(out)
	return out
}

func (w *World) anyReached(r *flowpath.Reach, component int32) bool {
	return slices.ContainsFunc(w.joinedPortsOf(component), r.Reached)
}

// fillSection finds what stands under the pressure of the component once the valves are shut.
func (w *World) fillSection(out *Isolation, component int32, ports, capacity []int32) {
	around := w.spread(flowpath.Backward, ports, func(way int32, forward bool) bool {
		c := w.Plant.Ways[way].Component
		return capacity[arcOf(way, forward)] != 0 && (c < 0 || !slices.Contains(out.Valves, c) && (forward || !slices.Contains(out.Checks, c)))
	})
	for _, port := range around.Nodes() {
		out.Section.Add(port)
		c := w.Plant.Ports[port].Component
		switch w.Plant.Components[c].Kind {
		case plant.KindDrainPoint, plant.KindAtmosphereVent, plant.KindBoundary:
			continue
		}
		if c != component && !slices.Contains(out.Valves, c) && !slices.Contains(out.Checks, c) {
			out.With = append(out.With, c)
		}
	}
	slices.Sort(out.With)
	out.With = slices.Compact(out.With)
}

// faceOzone finds the valves that hold ozone from elsewhere back, and whether a second row of valves stands behind them.
func (w *World) faceOzone(out *Isolation, component int32, ports, sources, capacity []int32) {
	closed := func(c int32) bool { return slices.Contains(out.Valves, c) || slices.Contains(out.Checks, c) }
	var ozone []int32
	// Generators whose gas comes to the component are stopped and washed out before it is opened.
	washed := w.OzoneFrom(component)
	for _, port := range w.ozoneSources() {
		if c := w.Plant.Ports[port].Component; c != component && !out.Section.Has(port) && !slices.Contains(washed, c) {
			ozone = append(ozone, port)
		}
	}
	comes := w.spread(flowpath.Forward, ozone, func(way int32, forward bool) bool {
		c := w.Plant.Ways[way].Component
		if c >= 0 && w.Plant.Components[c].Kind == plant.KindOzoneGenerator && !forward {
			// What a cell makes does not go back into its feed.
			return false
		}
		return capacity[arcOf(way, forward)] != 0 && (c < 0 || !closed(c))
	})
	for _, list := range [2][]int32{out.Valves, out.Checks} {
		for _, c := range list {
			p := &w.Plant.Components[c]
			from := slices.ContainsFunc([]int32{p.FirstPort, p.FirstPort + 1}, func(port int32) bool { return comes.Reached(port) && !out.Section.Has(port) })
			if from && !w.wet(c) {
				out.OzoneAt = append(out.OzoneAt, c)
			}
		}
	}
	slices.Sort(out.OzoneAt)
	if len(out.OzoneAt) == 0 {
		return
	}
	// With the first row taken as open, do other valves part the component from what the first row parts it from?
	second := slices.Clone(capacity)
	for i := range w.Plant.Ways {
		c := w.Plant.Ways[i].Component
		if c >= 0 && (slices.Contains(out.OzoneAt, c) || w.Plant.Components[c].Kind == plant.KindCheckValve) {
			for d := range 2 {
				if second[2*i+d] != 0 {
					second[2*i+d] = flowpath.Unlimited
				}
			}
		}
	}
	var behind []int32
	for _, port := range sources {
		if comes.Reached(port) {
			behind = append(behind, port)
		}
	}
	var cut flowpath.MinCut
	must(cut.Sweep(w.Graph(), second, nil, behind, ports, flowpath.MaxCut))
	arcs, _ := cut.Cut(flowpath.Backward)
	for _, arc := range arcs {
		if c := w.Plant.Ways[arc/2].Component; !closed(c) {
			out.Second = appendMissing(out.Second, c)
		}
	}
	slices.Sort(out.Second)
}

// HoldsBackwards judges an actuated valve that is shut against water from behind: what its stated reverse shut-off pressure says.
func (w *World) HoldsBackwards(valve int32) Truth {
	switch h, _, missing := w.shutOffHolding(valve, false); h {
	case holds:
		return Truth{Value: True}
	case maybeHolds:
		return Open(missing...)
	}
	return Truth{}
}

// vesselRuns tells whether the water of a vessel runs along a way with every isolating valve shut. It stays in the vessel at the
// ports above it.
func (w *World) vesselRuns(way int32, forward, unstatedCloses bool) bool {
	runs := w.vesselWaterGets(way, forward)
	return runs == True || runs == Undecided && !unstatedCloses
}

// vesselWaterGets tells it; it is not decided where an actuated valve does not state whether it closes.
func (w *World) vesselWaterGets(way int32, forward bool) Verdict {
	q := &w.Plant.Ways[way]
	from, to := &w.Plant.Ports[q.From], &w.Plant.Ports[q.To]
	if from.Phase == skidrulev1.Phase_PHASE_GAS || to.Phase == skidrulev1.Phase_PHASE_GAS {
		return False
	}
	if q.IsPipe() {
		return True
	}
	if w.kindOfWay(way) == plant.KindFloatVentValve {
		return False
	}
	passes := w.pressureGets(way, forward)
	if passes == False {
		return False
	}
	for _, port := range [2]int32{q.From, q.To} {
		if name := w.Plant.PortName(port); name == "vent" || name == "relief" {
			return False
		}
	}
	return passes
}

// waterVesselKinds are vessels that are full of water in operation.
var waterVesselKinds = [...]plant.Kind{plant.KindContactVessel, plant.KindReactionVessel, plant.KindDegassingVessel, plant.KindOpenTank}

// vesselOutlets lists the ports of vessels at which their water stands.
func (w *World) vesselOutlets() []int32 {
	var out []int32
	for _, k := range waterVesselKinds {
		out = append(out, w.portsOf(k, "inlet", "outlet", "drain", "sample")...)
	}
	return out
}

// waterPortsOf lists the joined ports of a component that are not for gas.
func (w *World) waterPortsOf(component int32) []int32 {
	var out []int32
	for _, port := range w.joinedPortsOf(component) {
		if w.Plant.Ports[port].Phase != skidrulev1.Phase_PHASE_GAS {
			out = append(out, port)
		}
	}
	return out
}

// runsOut lists the vessels whose water no valve parts from a component, ascending.
func (w *World) runsOut(component int32, unstatedCloses bool) []int32 {
	ports := w.waterPortsOf(component)
	if len(ports) == 0 {
		return nil
	}
	r := w.spread(flowpath.Backward, ports, func(way int32, forward bool) bool { return w.vesselRuns(way, forward, unstatedCloses) })
	var out []int32
	for _, port := range w.vesselOutlets() {
		if c := w.Plant.Ports[port].Component; c != component && r.Reached(port) {
			out = appendMissing(out, c)
		}
	}
	slices.Sort(out)
	return out
}
