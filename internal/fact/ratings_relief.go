package fact

import (
	"math"
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

var reliefKinds = []plant.Kind{plant.KindReliefValve, plant.KindRuptureDisc}

var reliefFacts = []Definition{
	quantityFact("set_point", quantity.PressureGauge, "Set pressure of the relief valve, or burst pressure of the disc.",
		func(w *World, at At) Number { return w.reliefOf(at.Index).set }, reliefKinds...),
	quantityFact("liquid_to_relieve", quantity.LiquidFlow, "Liquid that the sources which can exceed the set pressure bring at that pressure.",
		func(w *World, at At) Number { return w.reliefOf(at.Index).pushesLiquid }, reliefKinds...),
	quantityFact("gas_to_relieve", quantity.GasFlow, "Gas that the sources which can exceed the set pressure bring at that pressure, a failed regulator among them.",
		func(w *World, at At) Number { return w.reliefOf(at.Index).pushesGas }, reliefKinds...),
	quantityFact("liquid_relief_capacity", quantity.LiquidFlow, "Liquid that it lets out.",
		func(w *World, at At) Number { return w.reliefOf(at.Index).liquid }, reliefKinds...),
	quantityFact("gas_relief_capacity", quantity.GasFlow, "Gas that it lets out.",
		func(w *World, at At) Number { return w.reliefOf(at.Index).gas }, reliefKinds...),
	truthFact("can_be_shut_off", "A valve that can be closed stands in the line that leads to it or from it, up to where that line branches.",
		func(w *World, at At) Truth { return Is(w.shutOffBetween(at.Index) >= 0) }, reliefKinds...),
	textFact("shut_off_by", "The first such valve.", func(w *World, at At) Text {
		return w.tagOf(w.shutOffBetween(at.Index))
	}, reliefKinds...),
	pathFact("branch_path", "The line that leads to it, and the valve that can shut it off.",
		func(w *World, at At) Path { return w.branchPath(at.Index) }, reliefKinds...),
	truthFact("discharges_freely", "Nothing can block the way behind it.",
		func(w *World, at At) Truth { return w.dischargesFreely(at.Index) }, reliefKinds...),
}

// reliefOf gives a relief device with its load; one that no line meets has none.
func (w *World) reliefOf(component int32) *relief {
	r := w.reliefs()
	if i, ok := r.of[component]; ok {
		return &r.list[i]
	}
	return &relief{component: component}
}

// reliefSpread is how the set pressures of relief devices spread: over what they are joined with, and over what they guard.
type reliefSpread struct {
	heights *heights
	ends    [2]flowpath.Levels
	of      [2][]int32 // place in the list of relief devices
	port    [2][]int32 // where it enters
}

// spreadSetPressures spreads what each relief device leaves standing while it blows.
func (w *World) spreadSetPressures() *reliefSpread {
	return w.ratings.setPressures.get(func() *reliefSpread {
		g, r, h := w.pressureGraph(), w.reliefs(), w.barePressures().heights[0]
		s := &reliefSpread{heights: h}
		ways := g.oneWay(g.unregulated(), w.barePressures().machines)
		seen := make([]bool, len(w.Plant.Ports))
		for i := range r.list {
			v := &r.list[i]
			ports := w.cannotBeShutFrom(v.inlet, seen)
			if len(ports) == 0 {
				ports = []int32{v.inlet}
			}
			for end := range 2 {
				set := endOf(v.set, end)
				if math.IsInf(set, -1) {
					continue
				}
				s.of[end] = append(s.of[end], slices.Repeat([]int32{int32(i)}, len(ports))...)
				s.port[end] = append(s.port[end], ports...)
			}
		}
		for end := range 2 {
			in := flowpath.LevelInput{Ways: ways, Hold: true}
			var of, entered []int32
			for k, port := range s.port[end] {
				v := &r.list[s.of[end][k]]
				set := endOf(v.set, end)
				for i, node := range [2]int32{port, g.gas[port]} {
					inlet := [2]int32{v.inlet, g.gas[v.inlet]}[i]
					in.Sources = append(in.Sources, flowpath.LevelSource{Node: node, Value: h.head(inlet, set, end)})
					of, entered = append(of, s.of[end][k]), append(entered, port)
				}
			}
			s.of[end], s.port[end] = of, entered
			must(s.ends[end].Sweep(in))
		}
		return s
	})
}

// at is the pressure that relief devices let stand at a node, at one end of what is known.
func (s *reliefSpread) at(node int32, end int) (float64, bool) {
	head, ok := s.ends[end].Value(node, 0)
	if !ok {
		return 0, false
	}
	return s.heights.pressure(node, head, end), true
}

// loadByReliefs notes the parts that bear less than a relief device around them lets stand.
func (w *World) loadByReliefs(l *loads) {
	r := w.reliefs()
	if len(r.list) == 0 {
		return
	}
	s := w.spreadSetPressures()
	for _, list := range [2][]part{l.components, l.lines} {
		for i := range list {
			p := &list[i]
			for _, node := range p.nodes {
				high, ok := s.at(node, highEnd)
				if !ok || p.rating.Low >= high {
					continue
				}
				v := &r.list[s.of[highEnd][s.ends[highEnd].Source(node, 0)]]
				low, ok := s.at(node, lowEnd)
				if ok && low > p.rating.High {
					v = &r.list[s.of[lowEnd][s.ends[lowEnd].Source(node, 0)]]
				}
				pressure := Number{Low: min(low, high), High: high}
				if pressure.Low < pressure.High {
					pressure.Missing = joinRefs(v.set.Missing, s.heights.refs(w, v.inlet, node, v.inlet))
				}
				get(l.byRelief, v.component).add(exposed{p, node, pressure})
			}
		}
	}
}

// reliefPath shows the way from a relief device to a part that it does not protect.
func (w *World) reliefPath(e exposed) Path {
	s, g := w.spreadSetPressures(), w.pressureGraph()
	end := lowEnd
	if _, ok := s.ends[lowEnd].Value(e.node, 0); !ok {
		end = highEnd
	}
	arcs, ok := s.ends[end].Path(e.node, 0)
	if !ok {
		return nil
	}
	source := s.ends[end].Source(e.node, 0)
	ways := make([]int32, 0, len(arcs))
	for _, arc := range arcs {
		if way := g.arcWay(arc); way >= 0 {
			ways = append(ways, 2*way+arc%2)
		}
	}
	device := w.reliefs().list[s.of[end][source]].component
	path := append(Path{{Component: device, Line: -1, Role: skidrulev1.StepRole_STEP_ROLE_SOURCE}}, w.wayPath(s.port[end][source], ways, nil)...)
	if len(path) > 1 && path[1].Component == device {
		path = path[1:]
	} else if len(path) > 1 {
		path[1].Role = skidrulev1.StepRole_STEP_ROLE_PASSES
	}
	return w.endWith(path, e.part)
}

// branchPath shows the line that leads to a relief device, up to the valve that can shut it off.
func (w *World) branchPath(component int32) Path {
	path := Path{{Component: component, Line: -1, Role: skidrulev1.StepRole_STEP_ROLE_SOURCE}}
	for _, way := range w.Plant.WaysAt(w.Plant.PortByTrait(component, 0)) {
		q := &w.Plant.Ways[way]
		if !q.IsPipe() {
			continue
		}
		other := q.From
		if w.Plant.Ports[other].Component == component {
			other = q.To
		}
		path = append(path, Step{Component: -1, Line: q.Line, Role: skidrulev1.StepRole_STEP_ROLE_PASSES},
			Step{Component: w.Plant.Ports[other].Component, Line: -1, Role: skidrulev1.StepRole_STEP_ROLE_PASSES})
		break
	}
	if valve := w.shutOffBetween(component); valve >= 0 {
		path = append(path, Step{Component: valve, Line: -1, Role: skidrulev1.StepRole_STEP_ROLE_PASSES})
	}
	path[len(path)-1].Role = skidrulev1.StepRole_STEP_ROLE_TARGET
	return path
}
