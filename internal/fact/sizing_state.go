package fact

import (
	"math"

	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plant"
)

// runs tells whether water flows and gas is drawn in a case: normal, lowest and highest flow, and the design's own cases that
// are based on them, unless every pump is stated to stand.
func (w *World) runs(at int32) bool {
	whole := w.Whole()
	return at < 0 || (*whole.sizing.running.get(whole.findRunning))[at]
}

func (w *World) findRunning() *[]bool {
	out := make([]bool, len(w.Cases))
	pumps := w.OfKind(plant.KindPump)
	for i := range w.Cases {
		c := &w.Cases[i]
		switch c.Standard {
		case operate.Normal, operate.LowFlow, operate.HighFlow:
			out[i] = c.Excluded == ""
		}
		stand := 0
		for _, pump := range pumps {
			if w.stands(pump, c) {
				stand++
			}
		}
		out[i] = out[i] && (stand == 0 || stand < len(pumps))
	}
	return &out
}

// stands tells whether a machine is stated to stand in a case.
func (w *World) stands(component int32, c *operate.Case) bool {
	if c == nil {
		return false
	}
	s := c.Stated(component)
	return s != nil && s.Running != nil && !*s.Running
}

// running is the fact of it.
func running(w *World, at At) Truth { return Is(w.runs(at.Case)) }

// operatingState is what holds at an injector in a case: the pressures at its water ports and what flows. The two ends of each
// are those that the stated data leave open.
type operatingState struct {
	inlet, outlet Number // gauge pressure of the motive inlet and of the outlet
	motive        Number // motive flow
	vessel        Number // gauge pressure of the gas space of the vessel behind it
	contact       int32  // that vessel; -1 where there is none
	beyond        []Ref  // curves of pumps that end before the flow that the injector takes
	// weak is the end at which the injector draws least (inlet low, outlet high), strong that at which it draws most.
	weak, strong injectorPoint
	points       []injectorPoint // at every combination of open ends
}

// injectorPoint is one pair of pressures that belong together.
type injectorPoint struct{ inlet, outlet, motive float64 }

// operatingAt gives the state of an injector in a case. All rules of sizes read pressures and water flows here.
//
// Where the case is solved the state is that of the solved network; elsewhere it rests on what is stated along the water's way.
func (w *World) operatingAt(injector, at int32) *operatingState {
	stated := w.waterCase(at).state.of(injector)
	if s := w.solvedOperating(injector, at, stated); s != nil {
		return s
	}
	if w.sizing.keepOpen {
		return w.openState(injector, at, stated)
	}
	return stated
}

// unknownState is a state of which nothing is known because the data is missing.
func unknownState(missing Number, contact int32) *operatingState {
	n := Number{Low: math.Inf(-1), High: math.Inf(1), Missing: missing.Missing, Assumed: missing.Assumed}
	return &operatingState{inlet: n, outlet: n, motive: n, vessel: n, contact: contact}
}

// known tells whether pressures are known well enough to compute with.
func (s *operatingState) known() bool {
	return !math.IsInf(s.inlet.Low, 0) && !math.IsInf(s.inlet.High, 0)
}

// operatingBoundary is the gauge pressure of a boundary in a case: what the case states, else what holds in normal operation,
// else what lies between its stated ends. A case changes only what it states.
func (w *World) operatingBoundary(component int32, at int32) Number {
	b := w.data(component).GetBoundary()
	if at >= 0 {
		if s := w.Cases[at].Stated(component); s != nil && s.PressurePaGauge != nil {
			return Exactly(*s.PressurePaGauge)
		}
	}
	if b.PressurePaGauge == nil && b.MinPressurePaGauge != nil && b.MaxPressurePaGauge != nil {
		return between(*b.MinPressurePaGauge, *b.MaxPressurePaGauge)
	}
	return w.number(b.PressurePaGauge, specRef(component, "pressure"))
}

// speed is that of a machine over its rated speed in a case.
func (w *World) speed(component, at int32) float64 {
	if at >= 0 {
		if s := w.Cases[at].Stated(component); s != nil && s.SpeedRatio != nil {
			return *s.SpeedRatio
		}
	}
	return 1
}

// treatedFlow is the main water flow in a case.
func (w *World) treatedFlow(at int32) Number {
	b := w.Plant.Basis
	if at >= 0 {
		c := &w.Cases[at]
		if c.Design != nil && c.Design.TreatedFlowM3PerS != nil {
			return Exactly(*c.Design.TreatedFlowM3PerS)
		}
		switch {
		case c.Standard == operate.LowFlow && b.MinTreatedFlowM3PerS != nil:
			return Exactly(*b.MinTreatedFlowM3PerS)
		case c.Standard == operate.HighFlow:
			return w.number(b.MaxTreatedFlowM3PerS, basisRef("max_treated_flow"))
		}
	}
	return w.number(b.TreatedFlowM3PerS, basisRef("treated_flow"))
}

// waterTemperatures are the ends of the water temperature in a case.
func (w *World) waterTemperatures(at int32) (low, high Number) {
	if at >= 0 {
		if c := w.Cases[at].Design; c != nil && c.WaterTemperatureK != nil {
			return Exactly(*c.WaterTemperatureK), Exactly(*c.WaterTemperatureK)
		}
	}
	b := w.Plant.Basis
	return w.number(b.MinWaterTemperatureK, basisRef("min_water_temperature")), w.number(b.MaxWaterTemperatureK, basisRef("max_water_temperature"))
}

// portHeight is the elevation of a port: its own, else that of its component.
func (w *World) portHeight(port int32) Number {
	q := &w.Plant.Ports[port]
	if q.Stated != nil && q.Stated.ElevationM != nil {
		return Exactly(*q.Stated.ElevationM)
	}
	return w.number(w.data(q.Component).ElevationM, componentRef(q.Component, "elevation"))
}

// stateCase gives the case whose solved state holds in a case: itself, or normal operation where it states nothing about
// components.
func (w *World) stateCase(at int32) int32 {
	if at < 0 || len(w.Cases[at].Design.GetStates()) == 0 {
		return 0
	}
	return at
}

// caseMemo is what is computed once for each case.
type caseMemo struct {
	arcs  []lazy[flowArcs]
	water []lazy[waterCase]
	gas   []lazy[gasCase]
	dose  []lazy[doseCase]
	out   []lazy[table[Number]] // lowest output by generator
	pumps []lazy[table[*pumpDuty]]
	// inside is whether the output table of each generator holds its state.
	inside []lazy[table[insideOutput]]
}

func (w *World) newCaseMemo() *caseMemo {
	n := len(w.Cases)
	return &caseMemo{
		arcs: make([]lazy[flowArcs], n), water: make([]lazy[waterCase], n), gas: make([]lazy[gasCase], n), dose: make([]lazy[doseCase], n),
		out: make([]lazy[table[Number]], n), pumps: make([]lazy[table[*pumpDuty]], n), inside: make([]lazy[table[insideOutput]], n),
	}
}

func (w *World) caseMemo() *caseMemo { return w.sizing.perCase.get(w.newCaseMemo) }
