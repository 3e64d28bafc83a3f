package operate

import (
	"context"
	"errors"
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/network"
)

// group solves the parts of one group together.
func (s *solved) group(ctx context.Context, at int, start *network.Solution) error {
	knots := s.plan.members[at].knots
	room := problems.Get().(*problem)
	defer room.free()
	p := room.of(s.w, len(knots))
	held, named := s.layKnots(room, knots)
	if !named {
		return nil
	}
	s.layLinks(room, at)
	if !held || len(p.Elements) == 0 {
		s.settle(room, at)
		return nil
	}
	s.anchor(room, at)
	if start != nil && (len(start.Nodes) != len(p.Nodes) || len(start.Elements) != len(p.Elements)) {
		start = nil
	}
	sol, err := network.Solve(ctx, p, &network.Options{Start: start})
	if err != nil {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		why := s.explain(err, knots, room.links)
		for _, k := range knots {
			s.why[k] = why
		}
		return nil
	}
	s.found[at] = sol
	s.iterations += sol.Iterations
	s.imbalance, s.residual = math.Max(s.imbalance, sol.MaxImbalance), math.Max(s.residual, sol.MaxResidual)
	s.keep(sol, knots, room.links)
	return nil
}

// layKnots puts the knots of a group into its network: held where one has a pressure of its own, named where each has a phase.
func (s *solved) layKnots(room *problem, knots []int32) (held, named bool) {
	for _, k := range knots {
		n := &s.w.knots[k]
		node := network.Node{Phase: n.phase, Inflow: n.inflow}
		if n.phase == 0 {
			return false, false
		}
		if n.phase == network.Liquid {
			node.Elevation = n.z
		}
		if n.fixed {
			node.Pressure, node.Inflow = room.hold(n.pressure), 0
			room.fixed[s.plan.part[k]], held = true, true
		}
		room.p.Nodes = append(room.p.Nodes, node)
	}
	return held, true
}

// layLinks puts the links of a group into its network.
func (s *solved) layLinks(room *problem, at int) {
	part, place := s.plan.part, s.plan.place
	for _, i := range s.plan.members[at].links {
		l := &s.w.links[i]
		e := network.Element{From: int(place[l.from]), To: int(place[l.to]), Fluid: l.fluid, Law: l.law}
		if l.suction >= 0 {
			if s.plan.in[l.suction] != int32(at) {
				continue
			}
			law := l.law.(network.Injector)
			law.SuctionNode = int(place[l.suction])
			e.Law = law
			room.coupled[part[l.suction]] = true
		}
		if l.vessel {
			e.Fluid = fluidWater
			room.coupled[part[l.from]], room.coupled[part[l.to]] = true, true
		}
		room.links = append(room.links, i)
		room.p.Elements = append(room.p.Elements, e)
	}
}

// settle says of a group in which nothing flows what is known of it.
func (s *solved) settle(room *problem, at int) {
	m := &s.plan.members[at]
	if len(room.links) == 0 {
		for _, k := range m.knots {
			if n := &s.w.knots[k]; n.fixed {
				s.pressure[k] = n.pressure
			} else {
				s.why[k] = whyShutIn
			}
		}
		return
	}
	why := whyAlone
	if m.closed {
		why = whyShutIn
		for _, i := range room.links {
			s.flow[i] = 0
		}
	}
	for _, k := range m.knots {
		s.why[k], s.shutIn[k] = why, true
	}
}

// anchor gives each part that hangs on an injector or a vessel alone a closed way to some pressure: it would not be well posed without.
func (s *solved) anchor(room *problem, at int) {
	for _, q := range s.plan.groups[at] {
		if room.fixed[q] || !room.coupled[q] || s.w.knots[q].phase != network.Gas {
			continue
		}
		p := &room.p
		p.Nodes = append(p.Nodes, network.Node{Phase: network.Gas, Pressure: room.hold(s.w.atmosphere)})
		p.Elements = append(p.Elements, network.Element{From: int(s.plan.place[q]), To: len(p.Nodes) - 1, Fluid: fluidGas, Law: placeholder, Blocked: true})
	}
}

// keep takes over what was solved at the knots and links of a group, in the order in which they were put to the solver.
func (s *solved) keep(sol *network.Solution, knots []int32, links []int) {
	w := s.w
	for j, k := range knots {
		r := &sol.Nodes[j]
		// The solver's tolerance is a hundred-millionth of the pressure; digits below it are noise.
		s.pressure[k], s.exchange[k], s.shutIn[k] = w.atmosphere+math.Round((r.Pressure-w.atmosphere)*1e3)/1e3, rested(r.Exchange), r.ShutIn
	}
	for j, i := range links {
		r := &sol.Elements[j]
		s.flow[i], s.gas[i], s.velocity[i], s.state[i], s.npsh[i] = rested(r.Flow), rested(r.Gas), r.Velocity, r.State, r.NPSHAvailable
		if s.flow[i] == 0 {
			s.velocity[i] = 0
		}
		l := &w.links[i]
		if l.vessel {
			s.gas[i] = r.Flow
		}
		if limits := r.Limits &^ (network.LimitChoked | network.LimitReverse | network.LimitOverfill); limits != 0 && math.Abs(r.Flow) > restFlow {
			s.beyond[i] = limits.String()
		}
		if l.suction >= 0 {
			if j := w.jetOf(l.component); j != nil {
				if out := j.outside(s.pressure[l.from], s.pressure[l.to], s.pressure[l.suction]); out != "" {
					s.beyond[i] = out
				}
			}
		}
	}
}

// explain says an error of the solver in terms of the drawing; knots and links are those of the network, in its order.
func (s *solved) explain(err error, knots []int32, links []int) string {
	element := func(i int) string {
		if i < 0 || i >= len(links) {
			return "a place that is closed off"
		}
		l := &s.w.links[links[i]]
		switch {
		case l.component >= 0:
			return s.w.p.Components[l.component].Tag
		case l.way >= 0:
			return "line " + s.w.p.Lines[s.w.p.Ways[l.way].Line].Tag
		}
		return "a place that is no part of the drawing"
	}
	node := func(i int) string {
		if i >= 0 && i < len(knots) {
			for port, k := range s.w.knotOf {
				if k == knots[i] {
					return s.w.p.PortLabel(int32(port))
				}
			}
		}
		return "a place that is no port"
	}
	var open *network.NotConvergedError
	if errors.As(err, &open) {
		return "no steady state was found; the worst place is " + element(open.Element)
	}
	var stranded *network.StrandedGasError
	if errors.As(err, &stranded) {
		return fmt.Sprintf("no steady state: gas that %s draws gathers at %s, where no water carries it on", element(stranded.Injector), node(stranded.Node))
	}
	var broken *network.BrokenColumnError
	if errors.As(err, &broken) {
		return "no steady state: the water at " + node(broken.Node) + ", which carries gas, would be drawn below its vapour pressure"
	}
	var floating *network.FloatingError
	if errors.As(err, &floating) {
		return whyAlone
	}
	var contradiction *network.ContradictionError
	if errors.As(err, &contradiction) {
		return "stated flows into a shut part do not add up to zero"
	}
	return "the data cannot be solved: " + err.Error()
}
