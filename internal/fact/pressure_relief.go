package fact

import (
	"math"
	"sort"

	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// relief is a relief valve or rupture disc with what it is asked to let out.
type relief struct {
	component    int32
	inlet        int32 // port
	set          Number
	liquid, gas  Number // what it lets out
	pushesLiquid Number // what the sources that exceed its set pressure bring
	pushesGas    Number
	// guards tells, for liquid and gas, whether it holds the pressure down: its outlet is free and it takes what comes.
	guards [2]Truth
}

// reliefs is every relief device with what it does to the pressure around it.
type reliefs struct {
	list []relief
	of   map[int32]int32 // component to place in list
	// limits holds, while everything holds and with one failure, for the low and the high end, the head that each node is held to.
	limits [2][2][]float64
	// by is, for the low end, the relief device that holds a node; -1 for none.
	by       []int32
	doubtful bool
}

// Layers of the pressure graph, as relief devices tell them apart.
const (
	liquidLayer = 0
	gasLayer    = 1
)

func (w *World) reliefs() *reliefs { return w.ratings.reliefs.get(w.findReliefs) }

func (w *World) findReliefs() *reliefs {
	p := w.Plant
	r := &reliefs{of: map[int32]int32{}}
	for i := range p.Components {
		c, component := &p.Components[i], int32(i)
		x := relief{component: component, inlet: p.PortByTrait(component, 0)}
		switch c.Kind {
		case plant.KindReliefValve:
			v := c.Data.GetReliefValve()
			x.set = w.number(v.SetPressurePaGauge, specRef(component, "set_pressure"))
			x.liquid = w.number(v.LiquidCapacityM3PerS, specRef(component, "liquid_capacity"))
			x.gas = w.number(v.GasCapacityMolPerS, specRef(component, "gas_capacity"))
		case plant.KindRuptureDisc:
			v := c.Data.GetRuptureDisc()
			x.set = w.number(v.BurstPressurePaGauge, specRef(component, "burst_pressure"))
			x.liquid = w.number(v.LiquidCapacityM3PerS, specRef(component, "liquid_capacity"))
			x.gas = w.number(v.GasCapacityMolPerS, specRef(component, "gas_capacity"))
		default:
			continue
		}
		if p.Ports[x.inlet].Joints == 0 {
			continue
		}
		r.of[component] = int32(len(r.list))
		r.list = append(r.list, x)
	}
	if len(r.list) == 0 {
		return r
	}
	w.loadReliefs(r)
	w.limitByReliefs(r)
	return r
}

// loadReliefs finds what each device has to let out.
func (w *World) loadReliefs(r *reliefs) {
	t := w.tracePushes(r)
	for i := range r.list {
		v := &r.list[i]
		v.pushesLiquid, v.pushesGas = Exactly(0), Exactly(0)
		for _, k := range t.intoRelief(i) {
			s := &t.list[k]
			pushes := w.atRelief(s, v)
			if pushes.High <= v.set.Low {
				continue
			}
			flow := t.flow(k, v.set, maxStages)
			if pushes.Low <= v.set.High {
				// It may not exceed the set pressure at all.
				flow.Low, flow.Missing = 0, joinRefs(flow.Missing, joinRefs(pushes.Missing, v.set.Missing))
			}
			if s.gas {
				v.pushesGas = v.pushesGas.Add(flow)
			} else {
				v.pushesLiquid = v.pushesLiquid.Add(flow)
			}
		}
		free := w.dischargesFreely(v.component)
		v.guards[liquidLayer] = free.And(v.takes(v.pushesLiquid, v.liquid))
		v.guards[gasLayer] = free.And(v.takes(v.pushesGas, v.gas))
	}
}

// atRelief is what a push of liquid brings at a relief device: its own pressure and the column between the two.
func (w *World) atRelief(s *push, v *relief) Number {
	n := s.value
	if s.gas || math.IsInf(n.High, 0) {
		return n
	}
	h := w.barePressures().heights[0]
	n.Low = h.pressure(v.inlet, h.head(s.node, n.Low, lowEnd), lowEnd)
	n.High = h.pressure(v.inlet, h.head(s.node, n.High, highEnd), highEnd)
	if n.Low < n.High {
		n.Missing = joinRefs(n.Missing, h.refs(w, v.inlet, s.node, v.inlet))
	}
	return n
}

// takes tells whether a capacity covers what comes; what does not come needs none.
func (v *relief) takes(flow, capacity Number) Truth {
	if flow.High <= 0 {
		return Truth{Value: True}
	}
	t := capacity.AtLeast(flow)
	if t.Value == Undecided && len(t.Missing) == 0 {
		t.Missing = v.set.Missing
	}
	return t
}

// dischargesFreely tells whether nothing can block the way behind a relief device.
func (w *World) dischargesFreely(component int32) Truth {
	outlet := w.Plant.PortByTrait(component, 1)
	v := &w.pressureGraph().vents
	if w.Plant.Ports[outlet].Joints == 0 || v.sure.Has(outlet) {
		return Truth{Value: True}
	}
	if refs := v.doubt(w, outlet); len(refs) > 0 {
		return Open(refs...)
	}
	return Truth{}
}

// limitByReliefs spreads what the devices hold down to the places that nothing can shut off from them.
func (w *World) limitByReliefs(r *reliefs) {
	g, heights := w.pressureGraph(), w.barePressures().heights
	n := g.graph.NumNodes()
	order := make([]int32, len(r.list))
	for i := range order {
		order[i] = int32(i)
	}
	r.by = make([]int32, n)
	for i := range r.by {
		r.by[i] = -1
	}
	for end := range 2 {
		for failures := range 2 {
			r.limits[failures][end] = make([]float64, n)
			for i := range r.limits[failures][end] {
				r.limits[failures][end][i] = math.Inf(1)
			}
		}
		sort.SliceStable(order, func(a, b int) bool { return endOf(r.list[order[a]].set, end) < endOf(r.list[order[b]].set, end) })
		for layer := range 2 {
			seen := make([]bool, len(w.Plant.Ports))
			for _, i := range order {
				v := &r.list[i]
				guards := v.guards[layer].Value
				if guards == False || guards == Undecided && end == highEnd {
					continue
				}
				if guards == Undecided || !v.set.Known() {
					r.doubtful = true
				}
				for _, port := range w.cannotBeShutFrom(v.inlet, seen) {
					node := port
					if layer == gasLayer {
						if node = g.gas[port]; node == port {
							continue
						}
					}
					inlet := v.inlet
					if layer == gasLayer {
						inlet = g.gas[inlet]
					}
					for failures, h := range heights {
						r.limits[failures][end][node] = h.head(inlet, max(endOf(v.set, end), 0), end)
					}
					if end == lowEnd {
						r.by[node] = i
					}
				}
			}
		}
	}
}

// cannotBeShutFrom lists the ports from which a way that nothing can block leads to a port, without those seen before.
func (w *World) cannotBeShutFrom(port int32, seen []bool) []int32 {
	p := w.Plant
	if seen[port] {
		return nil
	}
	seen[port] = true
	out := []int32{port}
	for i := 0; i < len(out); i++ {
		for _, way := range p.WaysAt(out[i]) {
			q := &p.Ways[way]
			for d := range 2 {
				from, to := q.From, q.To
				if d == 1 {
					from, to = to, from
				}
				disc := !q.IsPipe() && d == 0 && p.Components[q.Component].Kind == plant.KindRuptureDisc
				if to != out[i] || seen[from] || !disc && !w.cannotBeBlocked(q, d == 0) {
					continue
				}
				seen[from] = true
				out = append(out, from)
			}
		}
	}
	return out
}

// reliefDoubts names what would tell whether a relief device holds a node down.
func (x *pressures) reliefDoubts(node int32, failures int) []Ref {
	if x.relief == nil || !x.relief.doubtful {
		return nil
	}
	var refs []Ref
	f, _, through, ok := x.best(node, failures, highEnd)
	if !ok {
		return nil
	}
	_, arcs := f.trace(x, node, failures, through)
	look := func(node int32) {
		if i := x.relief.by[node]; i >= 0 && x.relief.limits[failures][lowEnd][node] < x.relief.limits[failures][highEnd][node] {
			v := &x.relief.list[i]
			refs = joinRefs(refs, joinRefs(v.set.Missing, joinRefs(v.guards[liquidLayer].Missing, v.guards[gasLayer].Missing)))
		}
	}
	look(node)
	for _, arc := range arcs {
		look(x.g.graph.From(arc))
	}
	return refs
}

// shutOffBetween finds a valve that can be shut in the line that leads to or from a relief device, up to where it branches;
// -1 where there is none.
func (w *World) shutOffBetween(component int32) int32 {
	p := w.Plant
	for _, start := range [2]int32{p.PortByTrait(component, 0), p.PortByTrait(component, 1)} {
		port, from := start, int32(-1)
		for steps := 0; steps < len(p.Components); steps++ {
			next, way := w.otherEnd(port, from)
			if next < 0 {
				break
			}
			c := p.Ports[next].Component
			if w.canBeShut(c) {
				return c
			}
			through := w.onlyWayOn(next)
			if through < 0 {
				break
			}
			port, from = through, way
		}
	}
	return -1
}

// otherEnd follows the single pipe at a port; -1 where there is none or more than one besides that by which one came.
func (w *World) otherEnd(port, came int32) (next, way int32) {
	p := w.Plant
	next, way = -1, -1
	for _, i := range p.WaysAt(port) {
		q := &p.Ways[i]
		if !q.IsPipe() || i == came {
			continue
		}
		if next >= 0 {
			return -1, -1
		}
		next, way = q.From, i
		if q.From == port {
			next = q.To
		}
	}
	return next, way
}

// onlyWayOn gives the port at which the only other line leaves a component; -1 where the line branches or ends.
func (w *World) onlyWayOn(port int32) int32 {
	p := w.Plant
	c := &p.Components[p.Ports[port].Component]
	on := int32(-1)
	for i := range c.NumPorts {
		other := c.FirstPort + i
		if other == port || p.Ports[other].Joints == 0 {
			continue
		}
		if on >= 0 {
			return -1
		}
		on = other
	}
	if on < 0 && p.Ports[port].Joints == 2 {
		return port // a line that runs past an instrument
	}
	return on
}

// canBeShut tells whether a part of a line can be closed in operation.
func (w *World) canBeShut(component int32) bool {
	c := &w.Plant.Components[component]
	switch c.Kind {
	case plant.KindHandValve:
		return c.Data.GetNormalPosition() != skidrulev1.ValvePosition_VALVE_POSITION_OPEN || !c.Data.GetLocked()
	case plant.KindActuatedValve, plant.KindThreeWayValve:
		return true
	}
	return false
}
