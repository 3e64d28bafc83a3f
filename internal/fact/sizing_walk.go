package fact

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// waterEnd is where the pressure of a stream is known: a gauge pressure at an elevation.
type waterEnd struct{ pressure, height Number }

// waterWalk is the water's way to and from one injector, up to where pressures are stated.
type waterWalk struct {
	injector         int32
	up, down         []int32   // arcs in the direction of flow
	upWith, downWith [][]int32 // for each arc, the injectors whose water runs along it
	source, sink     waterEnd
	pumps            []walkPump
	vessel           int32  // vessel with a gas space that the water comes to; -1 where there is none
	vesselAt         int    // arcs of down before it
	vesselPort       int32  // the inlet by which it comes in
	reaction         int32  // water-filled vessel before that; -1 where there is none
	tank             int32  // open tank that the water comes to first; -1 where there is none
	known, behind    Number // what the ways up to the vessel lack, and what the way behind it lacks
	upLoss, downLoss []walkLoss
	behindLoss       []walkLoss
}

// walkLoss is what resists on the way, with the injectors whose water it resists.
type walkLoss struct {
	drop
	with []int32
}

// walkPump is a pump on the way, with its place among the arcs.
type walkPump struct {
	component int32
	at        int
	curve     pumpCurve
}

// waterWalker follows the water of one case.
type waterWalker struct {
	w         *World
	at        int32
	state     *operate.Case // nil where the case states nothing about components
	arcs      *flowArcs
	consumers map[int32]branch
	suppliers map[int32]branch
	forward   map[int32]branch // by port: what all that leaves it leads to
	backward  map[int32]branch // by port: what all that arrives comes from

	// Room that is used again and again.
	seen     []int32 // of each port, the number of the walk that came by last
	walked   int32
	branched []int32 // of each port, the number of the branch that came by last; made for the first branch
	branch   int32
	stack    []int32
	arcsAt   []int32
	came     []int32
	losses   []drop
	step     []hop // of the walk
	joined   []hop // of a joint on it
	next     []hop // of a branch
}

// branch is what lies on a side branch: the injectors that take or give all its water, or something else.
type branch struct {
	injectors []int32
	other     bool
}

// maxCoupled is the highest number of injectors on one stream that are solved together.
const maxCoupled = 64

// hop is one step of a walk: a pipe or passage, with what of the fitting before it, in the direction of the walk, is passed.
type hop struct {
	arc    int32
	inside []int32 // arcs inside the fitting, in the direction of flow
	to     int32   // the port that the walk comes to
}

// hops adds to a list the ways on from a port, with the flow or against it. At a fitting those of all its ports count, since it is one
// place.
func (x *waterWalker) hops(out []hop, port int32, forward bool) []hop {
	p, g := x.w.Plant, x.w.Graph()
	component := p.Ports[port].Component
	c := &p.Components[component]
	if !bothWays(c.Kind) {
		for _, arc := range x.arcsOf(port, forward) {
			out = append(out, hop{arc: arc, to: tailOf(g, arc, !forward)})
		}
		return out
	}
	for other := c.FirstPort; other < c.FirstPort+c.NumPorts; other++ {
		for _, arc := range x.arcsOf(other, forward) {
			if !p.Ways[arc/2].IsPipe() {
				continue
			}
			from, to := port, other
			if !forward {
				from, to = other, port
			}
			if inside, ok := x.within(component, from, to); ok {
				out = append(out, hop{arc, inside, tailOf(g, arc, !forward)})
			}
		}
	}
	return out
}

// within finds the arcs inside a fitting from one of its ports to another; false where a shut way lies between.
func (x *waterWalker) within(component, from, to int32) ([]int32, bool) {
	if from == to {
		return nil, true
	}
	g, first := x.w.Graph(), x.w.Plant.Components[component].FirstPort
	// By port of the fitting, the arc by which the search came to it.
	const start, unseen = -1, -2
	by := x.came[:0]
	for range x.w.Plant.Components[component].NumPorts {
		by = append(by, unseen)
	}
	x.came = by
	by[from-first] = start
	var room [16]int32
	queue := append(room[:0], from)
	for k := 0; k < len(queue); k++ {
		for _, way := range x.w.Plant.WaysAt(queue[k]) {
			if x.w.Plant.Ways[way].Component != component || x.w.shutIn(way, x.state) {
				continue
			}
			for d := range int32(2) {
				arc := 2*way + d
				if g.From(arc) != queue[k] {
					continue
				}
				if at := &by[g.To(arc)-first]; *at == unseen {
					*at = arc
					queue = append(queue, g.To(arc))
				}
			}
		}
	}
	if by[to-first] == unseen {
		return nil, false
	}
	var out []int32
	for at := to; by[at-first] >= 0; at = g.From(by[at-first]) {
		out = append(out, by[at-first])
	}
	slices.Reverse(out)
	return out, true
}

// arcsOf lists the running arcs that leave a port, or arrive at it. The list holds until the next is asked for.
func (x *waterWalker) arcsOf(port int32, leaving bool) []int32 {
	out := x.arcsAt[:0]
	for _, way := range x.w.Plant.WaysAt(port) {
		q := &x.w.Plant.Ways[way]
		if !q.IsPipe() && x.w.Plant.Components[q.Component].Kind == plant.KindVenturiInjector {
			continue
		}
		for d := range int32(2) {
			arc := 2*way + d
			end := q.From
			if leaving != (d == 0) {
				end = q.To
			}
			if end == port && x.arcs.runs[arc] {
				out = append(out, arc)
			}
		}
	}
	x.arcsAt = out
	return out
}

// follow finds what a hop leads to (forward) or comes from.
func (x *waterWalker) follow(h hop, forward bool) branch {
	memo := x.suppliers
	if forward {
		memo = x.consumers
	}
	if b, ok := memo[h.arc]; ok {
		return b
	}
	p := x.w.Plant
	var b branch
	if x.branched == nil {
		x.branched = make([]int32, len(p.Ports))
	}
	x.branch++
	stack := append(x.stack[:0], h.to)
	for len(stack) > 0 && !b.other {
		port := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if x.branched[port] == x.branch {
			continue
		}
		x.branched[port] = x.branch
		component := p.Ports[port].Component
		switch kind := p.Components[component].Kind; {
		case kind == plant.KindVenturiInjector:
			b.injectors = append(b.injectors, component)
			continue
		case kind == plant.KindBoundary || isGasVessel(kind) && kind != plant.KindReactionVessel:
			b.other = true
			continue
		}
		next := x.hops(x.next[:0], port, forward)
		x.next = next
		if len(next) == 0 || len(b.injectors) > maxCoupled {
			b.other = true
		}
		for _, n := range next {
			stack = append(stack, n.to)
		}
	}
	x.stack = stack
	slices.Sort(b.injectors)
	b.injectors = slices.Compact(b.injectors)
	memo[h.arc] = b
	return b
}

// join gives the injectors whose water runs together at a port: of all that leaves there, or arrives. Where a branch carries
// anything else the component is named.
func (x *waterWalker) join(lack func(...Ref), with []int32, port int32, forward bool) []int32 {
	memo := x.backward
	if forward {
		memo = x.forward
	}
	b, ok := memo[port]
	if !ok {
		all := x.hops(x.joined[:0], port, forward)
		if x.joined = all; len(all) > 1 {
			for _, h := range all {
				one := x.follow(h, forward)
				b.other = b.other || one.other
				b.injectors = append(b.injectors, one.injectors...)
			}
			slices.Sort(b.injectors)
			b.injectors = slices.Compact(b.injectors)
			memo[port] = b // where one way goes on there is nothing to remember
		}
	}
	if b.other {
		lack(elementRef(x.w.Plant.Ports[port].Component))
	}
	if len(b.injectors) == 0 {
		return with
	}
	return b.injectors
}

// walk follows the water of one injector both ways.
func (x *waterWalker) walk(injector int32) *waterWalk {
	const usual = 24 // arcs on most ways
	walk := &waterWalk{
		injector: injector, vessel: -1, reaction: -1, tank: -1,
		up: make([]int32, 0, usual), upWith: make([][]int32, 0, usual), down: make([]int32, 0, usual), downWith: make([][]int32, 0, usual),
	}
	x.walkUp(walk)
	x.walkDown(walk)
	losses := func(arcs []int32, with [][]int32, known *Number) []walkLoss {
		list, n := x.w.resistancesInto(x.losses[:0], arcs, false)
		x.losses = list
		known.Missing, known.Assumed = joinRefs(known.Missing, n.Missing), joinRefs(known.Assumed, n.Assumed)
		out, k := make([]walkLoss, len(list)), 0
		for i := range list {
			for arcs[k] != list[i].arc {
				k++
			}
			out[i] = walkLoss{list[i], with[k]}
		}
		return out
	}
	walk.upLoss = losses(walk.up, walk.upWith, &walk.known)
	walk.downLoss = losses(walk.down[:walk.vesselAt], walk.downWith[:walk.vesselAt], &walk.known)
	walk.behindLoss = losses(walk.down[walk.vesselAt:], walk.downWith[walk.vesselAt:], &walk.behind)
	return walk
}

// lacking names the missing data of numbers that have no finite ends.
func lacking(numbers ...Number) (refs []Ref) {
	for _, n := range numbers {
		if math.IsInf(n.Low, 0) || math.IsInf(n.High, 0) {
			refs = joinRefs(refs, n.Missing)
		}
	}
	return refs
}

// walkUp goes against the flow from the motive inlet to where the pressure is stated.
func (x *waterWalker) walkUp(walk *waterWalk) {
	w, p := x.w, x.w.Plant
	lack := func(refs ...Ref) { walk.known.Missing = joinRefs(walk.known.Missing, refs) }
	port, begun := p.PortByTrait(walk.injector, 0), false
	with := []int32{walk.injector}
	lack(lacking(w.portHeight(port))...)
	x.walked++
	for {
		component := p.Ports[port].Component
		if x.seen[port] == x.walked {
			lack(elementRef(component))
			return
		}
		x.seen[port] = x.walked
		if begun {
			if end, ok := w.waterEnd(port, x.at); ok {
				walk.source = end
				lack(lacking(end.pressure, end.height)...)
				break
			}
			with = x.join(lack, with, port, true)
		}
		ins := x.hops(x.step[:0], port, false)
		x.step = ins
		if len(ins) != 1 {
			// No water comes, or two streams meet whose shares are not known.
			lack(elementRef(component))
			return
		}
		for _, arc := range slices.Backward(ins[0].inside) {
			walk.up, walk.upWith = append(walk.up, arc), append(walk.upWith, with)
		}
		walk.up, walk.upWith = append(walk.up, ins[0].arc), append(walk.upWith, with)
		port, begun = ins[0].to, true
	}
	slices.Reverse(walk.up)
	slices.Reverse(walk.upWith)
	for i, arc := range walk.up {
		q := &p.Ways[arc/2]
		if q.IsPipe() || p.Components[q.Component].Kind != plant.KindPump {
			continue
		}
		curve, ok := w.pumpCurve(q.Component, x.at)
		if !ok {
			lack(specRef(q.Component, "curve"))
		}
		walk.pumps = append(walk.pumps, walkPump{q.Component, i, curve})
	}
}

// walkDown goes with the flow from the outlet, through the vessel in which gas and water part, to where the pressure is stated.
func (x *waterWalker) walkDown(walk *waterWalk) {
	w, p := x.w, x.w.Plant
	lack := func(refs ...Ref) {
		if walk.vessel >= 0 {
			walk.behind.Missing = joinRefs(walk.behind.Missing, refs)
			return
		}
		walk.known.Missing = joinRefs(walk.known.Missing, refs)
	}
	port, begun := p.PortByTrait(walk.injector, 2), false
	with := []int32{walk.injector}
	lack(lacking(w.portHeight(port))...)
	x.walked++
	defer func() {
		if walk.vessel < 0 {
			walk.vesselAt = len(walk.down)
		}
	}()
	for {
		component := p.Ports[port].Component
		kind := p.Components[component].Kind
		if x.seen[port] == x.walked {
			lack(elementRef(component))
			return
		}
		x.seen[port] = x.walked
		if begun {
			switch {
			case kind == plant.KindReactionVessel && walk.reaction < 0:
				walk.reaction = component
			case (kind == plant.KindContactVessel || kind == plant.KindDegassingVessel) && walk.vessel < 0:
				walk.vessel, walk.vesselAt, walk.vesselPort = component, len(walk.down), port
				refs := lacking(w.waterLevel(component), w.portHeight(port))
				walk.known.Missing = joinRefs(walk.known.Missing, refs)
			case kind == plant.KindBoundary || kind == plant.KindOpenTank || isGasVessel(kind) && component != walk.vessel && component != walk.reaction:
				if kind == plant.KindOpenTank && walk.vessel < 0 {
					walk.tank = component
				}
				if end, ok := w.waterEnd(port, x.at); ok {
					walk.sink = end
					lack(lacking(end.pressure, end.height)...)
					return
				}
			}
			with = x.join(lack, with, port, false)
		}
		outs := x.hops(x.step[:0], port, true)
		x.step = outs
		if len(outs) != 1 {
			lack(elementRef(component))
			return
		}
		if kind == plant.KindPump {
			// What a pump behind the vessel draws is its own affair.
			lack(elementRef(component))
			return
		}
		for _, arc := range outs[0].inside {
			walk.down, walk.downWith = append(walk.down, arc), append(walk.downWith, with)
		}
		walk.down, walk.downWith = append(walk.down, outs[0].arc), append(walk.downWith, with)
		port, begun = outs[0].to, true
	}
}

// waterEnd gives pressure and elevation where the design states the pressure of a stream; false elsewhere.
func (w *World) waterEnd(port, at int32) (waterEnd, bool) {
	component := w.Plant.Ports[port].Component
	c := &w.Plant.Components[component]
	switch c.Kind {
	case plant.KindBoundary:
		return waterEnd{w.operatingBoundary(component, at), w.portHeight(port)}, true
	case plant.KindOpenTank:
		return waterEnd{Exactly(0), w.waterLevel(component)}, true
	case plant.KindContactVessel, plant.KindDegassingVessel:
		return waterEnd{w.statedVesselPressure(component), w.waterLevel(component)}, true
	}
	return waterEnd{}, false
}

// statedVesselPressure is the pressure that a vessel states for its gas space; none where it is open.
func (w *World) statedVesselPressure(component int32) Number {
	data := w.data(component)
	if v := data.GetContactVessel(); v != nil && v.Pressurised != nil && !*v.Pressurised {
		return Exactly(0)
	}
	return w.number(operatingPressure(data), specRef(component, "operating_pressure"))
}

// waterLevel is the elevation of the water surface in a vessel. A degassing vessel is full to its top.
func (w *World) waterLevel(component int32) Number {
	data := w.data(component)
	bottom := w.number(data.ElevationM, componentRef(component, "elevation"))
	switch s := data.GetSpec().(type) {
	case *skidrulev1.Component_ContactVessel:
		return bottom.Add(w.number(s.ContactVessel.WaterLevelM, specRef(component, "water_level")))
	case *skidrulev1.Component_OpenTank:
		return bottom.Add(w.number(s.OpenTank.WaterLevelM, specRef(component, "water_level")))
	case *skidrulev1.Component_DegassingVessel:
		return bottom.Add(w.number(s.DegassingVessel.HeightM, specRef(component, "height")))
	}
	return bottom
}
