package fact

import (
	"slices"

	"github.com/skidrule/skidrule/internal/flowpath"
	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// flowArcs marks the arcs along which fluid runs in operation: they lead from a source to a sink by normal flow, past nothing
// that is shut.
type flowArcs struct {
	runs []bool // of arcs
}

// mainPassages tells, for each kind, which of its passages the main stream takes; drains, samples, vents and the like wait.
var mainPassages = func() [][]bool {
	side := map[string]bool{"drain": true, "sample": true, "relief": true, "level": true, "overflow": true, "vent": true, "fill": true, "exhaust": true, "atmosphere": true}
	kinds := plant.Kinds()
	out := make([][]bool, slices.Max(kinds)+1)
	for _, k := range kinds {
		info := k.Info()
		for _, passage := range info.Passages {
			main := !side[info.Ports[passage[0]].Name] && !side[info.Ports[passage[1]].Name]
			switch k {
			case plant.KindReliefValve, plant.KindRuptureDisc, plant.KindVacuumBreaker, plant.KindFloatDrain, plant.KindWaterSeal, plant.KindSamplePoint,
				plant.KindFloatVentValve, plant.KindGasAnalyser:
				main = false
			}
			out[k] = append(out[k], main)
		}
	}
	return out
}()

// bothWays tells the fittings that fluid passes in either direction: the lines that meet there say which.
func bothWays(k plant.Kind) bool {
	switch k {
	case plant.KindTee, plant.KindHeader, plant.KindThreeWayValve, plant.KindJunction:
		return true
	}
	return false
}

// MayRun tells whether the main stream can take an arc of the graph in normal operation, valves taken as open.
func (w *World) MayRun(arc int32) bool {
	q := &w.Plant.Ways[arc/2]
	forward := arc%2 == 0
	if q.IsPipe() {
		return forward
	}
	c := &w.Plant.Components[q.Component]
	if c.Data.GetOutOfUse() {
		return false
	}
	if bothWays(c.Kind) {
		return true
	}
	if q.Step < 0 {
		// Free ports of a part that is not known pass fluid; ports that repeat one another are joined for what turns round only.
		return c.Kind == plant.KindOther || c.Kind == plant.KindNone
	}
	return forward && mainPassages[c.Kind][q.Step]
}

// normalRuns tells of every arc whether the main stream can take it, valves taken as open, and of every way whether it is shut in normal
// operation.
type normalRuns struct{ may, shut []bool }

func (w *World) normalRuns() *normalRuns {
	return w.sizing.normal.get(func() *normalRuns {
		x := &normalRuns{may: make([]bool, w.Graph().NumArcs()), shut: make([]bool, len(w.Plant.Ways))}
		for i := range x.shut {
			x.may[2*i], x.may[2*i+1] = w.MayRun(int32(2*i)), w.MayRun(int32(2*i+1))
			x.shut[i] = w.shutIn(int32(i), nil)
		}
		return x
	})
}

// position is that of a valve in a case: what the case states, else the normal one.
func (w *World) position(component int32, c *operate.Case) skidrulev1.ValvePosition {
	if c != nil {
		if s := c.Stated(component); s.GetPosition() != skidrulev1.ValvePosition_VALVE_POSITION_UNSPECIFIED {
			return s.GetPosition()
		}
	}
	return w.data(component).GetNormalPosition()
}

// shutIn tells whether a valve is stated to be shut in a case, or a pump to stand.
func (w *World) shutIn(way int32, c *operate.Case) bool {
	q := &w.Plant.Ways[way]
	if q.IsPipe() {
		return false
	}
	switch w.Plant.Components[q.Component].Kind {
	case plant.KindHandValve, plant.KindActuatedValve:
		return w.position(q.Component, c) == skidrulev1.ValvePosition_VALVE_POSITION_CLOSED
	case plant.KindPump:
		return w.stands(q.Component, c)
	case plant.KindThreeWayValve:
		other := ""
		switch w.data(q.Component).GetThreeWayValve().GetPosition() {
		case skidrulev1.ThreeWayPosition_THREE_WAY_POSITION_TO_A:
			other = "port_b"
		case skidrulev1.ThreeWayPosition_THREE_WAY_POSITION_TO_B:
			other = "port_a"
		}
		return other != "" && (w.Plant.PortName(q.From) == other || w.Plant.PortName(q.To) == other)
	}
	return false
}

// flowArcs computes the arcs of a case once; cases that state nothing about components share those of normal operation.
func (w *World) flowArcs(at int32) *flowArcs {
	memo := &w.sizing.arcs
	var c *operate.Case
	if at >= 0 && len(w.Cases[at].Design.GetStates()) > 0 {
		c = &w.Cases[at]
		memo = &w.caseMemo().arcs[at]
	}
	return memo.get(func() *flowArcs { return w.findFlowArcs(c) })
}

func (w *World) findFlowArcs(c *operate.Case) *flowArcs {
	w.pause()
	p, g := w.Plant, w.Graph()
	normal := w.normalRuns()
	open := slices.Clone(normal.may)
	for i := range p.Ways {
		shut := normal.shut[i]
		if c != nil {
			shut = w.shutIn(int32(i), c)
		}
		if shut {
			open[2*i], open[2*i+1] = false, false
		}
	}
	runs := func(way int32, forward bool) bool { return open[arcOf(way, forward)] }
	sources, sinks := make([]int32, 0, 16), make([]int32, 0, 16)
	for i := range p.Components {
		sources, sinks = w.streamEnds(sources, sinks, int32(i))
	}
	fed := w.spread(flowpath.Forward, sources, runs)
	drawn := w.spread(flowpath.Backward, sinks, runs)
	for arc, o := range open {
		a := int32(arc)
		open[arc] = o && fed.Reached(g.From(a)) && drawn.Reached(g.To(a))
	}
	return &flowArcs{runs: open}
}

// streamEnds adds the ports of a component at which streams begin and end to lists of them.
func (w *World) streamEnds(sources, sinks []int32, component int32) (begin, end []int32) {
	c := &w.Plant.Components[component]
	if c.Data.GetOutOfUse() {
		return sources, sinks
	}
	first := c.FirstPort
	switch c.Kind {
	case plant.KindBoundary:
		role := c.Data.GetBoundary().GetRole()
		if role != skidrulev1.BoundaryRole_BOUNDARY_ROLE_SINK {
			sources = append(sources, first)
		}
		if role != skidrulev1.BoundaryRole_BOUNDARY_ROLE_SOURCE {
			sinks = append(sinks, first)
		}
	case plant.KindContactVessel, plant.KindReactionVessel, plant.KindDegassingVessel, plant.KindOpenTank:
		return w.appendPorts(sources, component, "outlet"), w.appendPorts(sinks, component, "inlet")
	case plant.KindGasSupply, plant.KindCompressor, plant.KindOxygenConcentrator, plant.KindBlower:
		sources = w.appendPorts(sources, component, "outlet")
	case plant.KindVenturiInjector:
		sinks = w.appendPorts(sinks, component, "suction")
	case plant.KindAtmosphereVent, plant.KindDrainPoint:
		sinks = append(sinks, first)
	case plant.KindOzoneGenerator:
		sinks = w.appendPorts(sinks, component, "feed_gas")
	case plant.KindJunction:
		if d := c.Data.GetJunction().DemandM3PerS; d != nil {
			if *d < 0 {
				sources = append(sources, first)
			} else if *d > 0 {
				sinks = append(sinks, first)
			}
		}
	case plant.KindOther, plant.KindNone:
		for k := range c.NumPorts {
			sources, sinks = append(sources, first+k), append(sinks, first+k)
		}
	}
	return sources, sinks
}
