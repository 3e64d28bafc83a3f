package fact

import (
	"container/heap"
	"math"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/unitop"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// dissolvedReach tells where ozonated water comes: reach from wherever ozone dissolves, early without passing a contact or
// reaction vessel, and the shortest time in vessels behind contact.
type dissolvedReach struct {
	reach, early *flowpath.Reach
	time         []float64 // of ports, s; infinite where water that has had its contact does not come
	timeMissing  [][]Ref   // by island, vessels that would add time if their data were stated
}

func (w *World) dissolved() *dissolvedReach { return w.offGas.dissolved.get(w.spreadDissolved) }

// waterPasses tells whether water takes a passage. It goes against normal flow only where nothing but pipe and fittings lie.
func (w *World) waterPasses(way int32, forward bool) bool {
	p := w.Plant
	q := &p.Ways[way]
	if q.IsPipe() {
		return true
	}
	c := &p.Components[q.Component]
	switch c.Kind {
	case plant.KindPump, plant.KindCheckValve, plant.KindReliefValve, plant.KindRuptureDisc, plant.KindStrainer, plant.KindLiquidFilter,
		plant.KindFloatDrain, plant.KindWaterSeal, plant.KindStaticMixer:
		return forward
	case plant.KindVenturiInjector:
		return forward && p.PortName(q.From) != "suction"
	case plant.KindFloatVentValve, plant.KindKnockOutPot, plant.KindOzoneDestruct, plant.KindLiquidTrap, plant.KindOzoneGenerator, plant.KindDemister:
		return false
	case plant.KindHandValve:
		h, _, _ := w.gasHolding(way, forward)
		return h != noWay
	}
	if isGasVessel(c.Kind) {
		return forward && p.PortName(q.To) != "vent"
	}
	return true
}

func (w *World) spreadDissolved() *dissolvedReach {
	p := w.Plant
	x := &dissolvedReach{}
	early := func(way int32, forward bool) bool {
		k := w.kindOfWay(way)
		return k != plant.KindContactVessel && k != plant.KindReactionVessel && w.waterPasses(way, forward)
	}
	injectors := w.portsOf(plant.KindVenturiInjector, "outlet")
	contacted := w.contactOutlets()
	mixed, piped := w.partByIsland(injectors, contacted)
	sources := append(append([]int32{}, injectors...), contacted...)
	sources = append(sources, w.portsOf(plant.KindDegassingVessel, "outlet")...)
	edges := []int32{}
	for _, c := range w.OfKind(plant.KindBoundary) {
		b := w.data(c).GetBoundary()
		if b.GetService() == skidrulev1.Service_SERVICE_OZONATED_WATER && b.GetRole() != skidrulev1.BoundaryRole_BOUNDARY_ROLE_SINK {
			edges = append(edges, p.Components[c].FirstPort)
		}
	}
	sources = append(sources, edges...)
	x.reach = w.spread(flowpath.Forward, sources, w.waterPasses)
	x.early = w.spread(flowpath.Forward, append(mixed, edges...), early)
	// Where an island has no vessel for it, contact takes place in the pipe alone.
	w.spreadTime(x, append(contacted, piped...))
	return x
}

// contactOutlets lists the outlets of the vessels in which contact takes place: contact vessels, and in islands that have none
// reaction vessels.
func (w *World) contactOutlets() []int32 {
	contact := w.portsOf(plant.KindContactVessel, "outlet")
	_, others := w.partByIsland(w.portsOf(plant.KindReactionVessel, "outlet"), contact)
	return append(contact, others...)
}

// partByIsland parts ports into those in islands of others and the rest.
func (w *World) partByIsland(ports, others []int32) (with, without []int32) {
	has := byIsland(w, false)
	for _, port := range others {
		has[w.islandOfPort(port)] = true
	}
	for _, port := range ports {
		if has[w.islandOfPort(port)] {
			with = append(with, port)
		} else {
			without = append(without, port)
		}
	}
	return with, without
}

// spreadTime finds the shortest time that water has spent in vessels since its contact ended.
func (w *World) spreadTime(x *dissolvedReach, from []int32) {
	p, g := w.Plant, w.Graph()
	x.time, x.timeMissing = make([]float64, len(p.Ports)), byIsland[[]Ref](w, nil)
	for i := range x.time {
		x.time[i] = math.Inf(1)
	}
	q := &timeQueue{}
	arrive := func(port int32, t float64) {
		if t < x.time[port] {
			x.time[port] = t
			heap.Push(q, timeEntry{t, port})
		}
	}
	for _, port := range from {
		arrive(port, 0)
	}
	seen := map[int32]bool{}
	for q.Len() > 0 {
		e := heap.Pop(q).(timeEntry)
		if e.time > x.time[e.port] {
			continue
		}
		for _, way := range p.WaysAt(e.port) {
			for _, arc := range [2]int32{2 * way, 2*way + 1} {
				if g.From(arc) != e.port || !w.waterPasses(way, arc&1 == 0) {
					continue
				}
				t := e.time
				if c := p.Ways[way].Component; c >= 0 {
					if spent, refs, vessel := w.vesselTime(c); vessel {
						t += spent
						if len(refs) > 0 && !seen[c] {
							seen[c] = true
							at := w.island(c)
							x.timeMissing[at] = joinRefs(x.timeMissing[at], refs)
						}
					}
				}
				arrive(g.To(arc), t)
			}
		}
	}
}

// vesselTime is the shortest time in s that water spends in a vessel: the time in which the first tenth has left it, at the
// highest flow of the site. What is not stated adds nothing.
func (w *World) vesselTime(component int32) (t float64, missing []Ref, vessel bool) {
	var volume, ratio *float64
	switch s := w.data(component).GetSpec().(type) {
	case *skidrulev1.Component_ReactionVessel:
		volume, ratio = s.ReactionVessel.VolumeM3, s.ReactionVessel.ShortCircuitRatio
	case *skidrulev1.Component_OpenTank:
		volume, ratio = s.OpenTank.VolumeM3, s.OpenTank.ShortCircuitRatio
	case *skidrulev1.Component_ContactVessel:
		volume, ratio = s.ContactVessel.VolumeM3, s.ContactVessel.ShortCircuitRatio
	default:
		return 0, nil, false
	}
	flow := w.Plant.Basis.MaxTreatedFlowM3PerS
	if volume == nil {
		missing = append(missing, specRef(component, "volume"))
	}
	if ratio == nil {
		missing = append(missing, specRef(component, "short_circuit"))
	}
	if flow == nil || *flow <= 0 {
		missing = append(missing, basisRef("max_treated_flow"))
	}
	if len(missing) > 0 {
		return 0, missing, true
	}
	return *volume * *ratio / *flow, nil, true
}

// residual is the most ozone in kg/m3 that is dissolved in water which comes to a port: what is wanted at the end of contact,
// less what decays in the vessels behind it.
func (w *World) residual(port int32) Number {
	x := w.dissolved()
	basis := w.Plant.Basis
	end := w.number(basis.TargetResidualKgPerM3, basisRef("target_residual"))
	if x.early.Reached(port) {
		// This water has not had its contact: it bears more than it should have at the end.
		return Number{Low: max(0, end.Low), High: math.Inf(1), Missing: joinRefs(end.Missing, []Ref{elementRef(w.Plant.Ports[port].Component)}), Assumed: end.Assumed}
	}
	end.Low = max(0, end.Low)
	time, missing := x.time[port], x.timeMissing[w.islandOfPort(port)]
	if time == 0 && len(missing) == 0 || math.IsInf(end.High, 0) || math.IsInf(time, 0) {
		return end
	}
	rate := w.number(basis.OzoneDecayPerS, basisRef("ozone_decay"))
	left := func(c, k, t float64) float64 {
		loss, err := unitop.OzoneLossInPlugFlow(fluid.Exact(c), fluid.Exact(0), fluid.Exact(k), t)
		if err != nil {
			return c
		}
		return loss.Residual.Best
	}
	high := end.High
	if !math.IsInf(rate.Low, 0) {
		high = left(end.High, rate.Low, time)
	}
	low := 0.0
	if !math.IsInf(rate.High, 0) && len(missing) == 0 {
		low = left(end.Low, rate.High, time)
	}
	n := end.with(rate, low, high)
	if low < high {
		n.Missing = joinRefs(n.Missing, missing)
	}
	return n
}

// waterExit is the port by which ozonated water comes to where it leaves or stands open.
func (w *World) waterExit(component int32) (int32, bool) {
	best, found := int32(0), false
	x := w.dissolved()
	for _, port := range w.entryPorts(component) {
		if x.reach.Reached(port) && (!found || x.time[port] < x.time[best]) {
			best, found = port, true
		}
	}
	return best, found
}

// givesOffOzone tells whether ozonated water leaves the drawing at a boundary, stands open in a tank or falls into an open drain.
func (w *World) givesOffOzone(component int32) Truth {
	if _, ok := w.waterExit(component); !ok {
		return Truth{}
	}
	switch data := w.data(component).GetSpec().(type) {
	case *skidrulev1.Component_Boundary:
		if data.Boundary.GetRole() == skidrulev1.BoundaryRole_BOUNDARY_ROLE_SOURCE {
			return Truth{}
		}
		if gas, stated := isGas(data.Boundary.GetService()); stated {
			return Is(!gas)
		}
		return Open(specRef(component, "service"))
	case *skidrulev1.Component_OpenTank:
		return w.truth(data.OpenTank.Covered, specRef(component, "covered")).Not()
	case *skidrulev1.Component_DrainPoint:
		return leavesAtDrain(data.DrainPoint.GetLeadsTo(), specRef(component, "leads_to"))
	}
	return Truth{}
}

// exitResidual is the most ozone in kg/m3 in the water that leaves or stands open at a component.
func (w *World) exitResidual(component int32) Number {
	port, ok := w.waterExit(component)
	if !ok {
		return Exactly(0)
	}
	return w.residual(port)
}

// exitWaterPath is the way by which that water comes.
func (w *World) exitWaterPath(component int32) Path {
	port, ok := w.waterExit(component)
	if !ok {
		return nil
	}
	x := w.dissolved()
	r := x.reach
	if x.early.Reached(port) {
		r = x.early
	}
	arcs, _ := r.Path(port)
	return w.reachPath(arcs, port, nil)
}

// timeEntry is a port that waits with the time by which it was come to.
type timeEntry struct {
	time float64
	port int32
}

// timeQueue gives the earliest port first, of equal times the lowest.
type timeQueue []timeEntry

func (q timeQueue) Len() int { return len(q) }

func (q timeQueue) Less(i, j int) bool {
	if q[i].time != q[j].time {
		return q[i].time < q[j].time
	}
	return q[i].port < q[j].port
}

func (q timeQueue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }

func (q *timeQueue) Push(e any) { *q = append(*q, e.(timeEntry)) }

func (q *timeQueue) Pop() any {
	old := *q
	e := old[len(old)-1]
	*q = old[:len(old)-1]
	return e
}
