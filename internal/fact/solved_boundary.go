package fact

import (
	"math"

	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

var boundaryFacts = []Definition{
	truthFact("pressure_and_flow_stated", "Both a pressure and a flow are stated at it: the pressure sets what flows, and the flow can be checked.",
		func(w *World, at At) Truth { return Is(w.boundaryStatement(at).ok) }, plant.KindBoundary).byCase(),
	truthFact("pressure_sets_flow", "Cases are solved, a pressure is stated at it, and its role says which way it runs: what comes about may run the other way.",
		func(w *World, at At) Truth { return w.pressureSetsFlow(at) }, plant.KindBoundary).byCase(),
	truthFact("runs_as_its_role", "What comes about there runs into the drawing at a source and out of it at a sink, or stands.",
		func(w *World, at At) Truth { return w.runsAsItsRole(at) }, plant.KindBoundary).byCase(),
	quantityFact("flow_deviation", quantity.Ratio, "How far the stated flow lies from what is computed, over the stated flow; 0 within the range of the computed one.",
		func(w *World, at At) Number { return w.flowDeviation(at) }, plant.KindBoundary).byCase(),
	quantityFact("stated_water_flow", quantity.LiquidFlow, "Water flow stated at it, into the drawing positive.",
		func(w *World, at At) Number { return w.boundaryStatement(at).of(network.Liquid) }, plant.KindBoundary).byCase(),
	quantityFact("computed_water_flow", quantity.LiquidFlow, "Water flow that comes about there.",
		func(w *World, at At) Number { return w.boundaryFlow(at, network.Liquid) }, plant.KindBoundary).byCase(),
	quantityFact("stated_gas_flow", quantity.GasFlow, "Gas flow stated at it, into the drawing positive.",
		func(w *World, at At) Number { return w.boundaryStatement(at).of(network.Gas) }, plant.KindBoundary).byCase(),
	quantityFact("computed_gas_flow", quantity.GasFlow, "Gas flow that comes about there.",
		func(w *World, at At) Number { return w.boundaryFlow(at, network.Gas) }, plant.KindBoundary).byCase(),
}

// flowStatement is what is stated about the flow at a boundary whose pressure is stated too.
type flowStatement struct {
	ok    bool
	phase network.Phase
	flow  float64 // m3/s of water, mol/s of gas
}

func (s flowStatement) of(phase network.Phase) Number {
	if !s.ok || s.phase != phase {
		return Missing()
	}
	return Exactly(s.flow)
}

// boundaryStated is what is stated at a boundary in a case: what the case states goes before what holds otherwise.
func (w *World) boundaryStated(at At) (pressure, water, gas *float64) {
	b := w.data(at.Index).GetBoundary()
	pressure, water, gas = b.PressurePaGauge, b.LiquidFlowM3PerS, b.GasFlowMolPerS
	if at.Case >= 0 {
		if s := w.Cases[at.Case].Stated(at.Index); s != nil {
			if s.PressurePaGauge != nil {
				pressure = s.PressurePaGauge
			}
			if s.LiquidFlowM3PerS != nil {
				water = s.LiquidFlowM3PerS
			}
			if s.GasFlowMolPerS != nil {
				gas = s.GasFlowMolPerS
			}
		}
	}
	return pressure, water, gas
}

// boundaryStatement reads it for a case.
func (w *World) boundaryStatement(at At) flowStatement {
	pressure, water, gas := w.boundaryStated(at)
	isGas, known := isGas(w.data(at.Index).GetBoundary().GetService())
	switch {
	case pressure == nil || !known:
		return flowStatement{}
	case isGas && gas != nil:
		return flowStatement{true, network.Gas, *gas}
	case !isGas && water != nil:
		return flowStatement{true, network.Liquid, *water}
	}
	return flowStatement{}
}

// boundaryFlow is the flow that a boundary brings in a case, as computed.
func (w *World) boundaryFlow(at At, phase network.Phase) Number {
	port := w.Plant.Components[at.Index].FirstPort
	lacks := Missing(elementRef(at.Index))
	st := w.solvedCase(max(at.Case, 0))
	if st == nil {
		return lacks
	}
	if q := &st.Ports[port]; !q.Known || len(q.Beyond) > 0 {
		if refs := JoinRefs(datumRefs(q.Missing), datumRefs(q.Beyond)); len(refs) > 0 {
			return Missing(refs...)
		}
		return lacks
	}
	for i := range st.Exchanges {
		if e := &st.Exchanges[i]; e.Component == at.Index && e.Phase == phase {
			return Number{Low: e.Flow.Low, High: e.Flow.High, Assumed: datumRefs(st.Ports[port].Assumed)}
		}
	}
	return lacks
}

// flowDeviation compares the two.
func (w *World) flowDeviation(at At) Number {
	s := w.boundaryStatement(at)
	if !s.ok {
		return Missing(elementRef(at.Index))
	}
	flow := w.boundaryFlow(at, s.phase)
	if flow.Unknown() {
		return flow
	}
	off := max(0, flow.Low-s.flow, s.flow-flow.High)
	if off == 0 {
		return Number{Assumed: flow.Assumed}
	}
	if s.flow == 0 {
		return between(math.Inf(1), math.Inf(1))
	}
	return Number{Low: off / math.Abs(s.flow), High: off / math.Abs(s.flow), Assumed: flow.Assumed}
}

// pressureSetsFlow tells whether what flows at a boundary follows from a pressure, and can run against its role: not where a flow is
// stated alone. Where no case is solved, nobody knows what flows.
func (w *World) pressureSetsFlow(at At) Truth {
	role := w.data(at.Index).GetBoundary().GetRole()
	if !w.solves() || role == skidrulev1.BoundaryRole_BOUNDARY_ROLE_EITHER {
		return Is(false)
	}
	pressure, water, gas := w.boundaryStated(at)
	switch {
	case pressure == nil && (water != nil || gas != nil):
		return Is(false)
	case role == skidrulev1.BoundaryRole_BOUNDARY_ROLE_UNSPECIFIED:
		return Open(specRef(at.Index, "role"))
	case pressure == nil:
		return Open(specRef(at.Index, "pressure"))
	}
	return Is(true)
}

// runsAsItsRole compares the direction of the computed flow with the role.
func (w *World) runsAsItsRole(at At) Truth {
	b := w.data(at.Index).GetBoundary()
	gas, known := isGas(b.GetService())
	if !known {
		return Open(specRef(at.Index, "service"))
	}
	phase := network.Liquid
	if gas {
		phase = network.Gas
	}
	flow := w.boundaryFlow(at, phase)
	if b.GetRole() == skidrulev1.BoundaryRole_BOUNDARY_ROLE_SINK {
		flow.Low, flow.High = -flow.High, -flow.Low
	}
	switch {
	case flow.Unknown():
		return Open(flow.Missing...)
	case flow.High < 0:
		return Truth{Value: False, Assumed: flow.Assumed}
	case flow.Low < 0:
		return Truth{Value: Undecided, Missing: []Ref{elementRef(at.Index)}, Assumed: flow.Assumed}
	}
	return Truth{Value: True, Assumed: flow.Assumed}
}
