package operate

import (
	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// scenario is one way in which a case can stand. Most cases are one; a case that takes each barrier as failed in turn is one for
// each.
//
// What a standard case sets; all else is as in normal operation, and what the design states about a case goes before all of it:
//
//   - normal, cold_destruct: pumps, machines and generators run, valves stand in their normal position, boundaries at their
//     normal pressure.
//   - low_flow: sources at their lowest pressure, sinks at their highest; high_flow the other way round.
//   - pump_stopped: pumps stand, generators are off, sinks at their highest pressure. Trips are not credited: gas valves stay
//     where they are and the feed goes on.
//   - generator_off, purge: generators are off, the gas flows.
//   - feed_shut: nothing comes from any gas source.
//   - gas_valve_shut: actuated valves in gas lines are closed, the feed goes on.
//   - outlet_blocked: no water leaves by any sink. outlet_partly_blocked: sinks at their highest pressure.
//   - barrier_failed: as pump_stopped, with one check valve or one closed actuated valve of a gas line failed open in turn.
//   - zero_transfer: all gas that is drawn comes out again in the vessels.
//   - loss_of_power: pumps, blowers, compressors, concentrators and generators stand, actuated valves go to their fail position,
//     sinks at their highest pressure.
//   - blower_lost: blowers stand; gas can pass them.
//   - isolated: hand valves are closed, pumps stand.
type scenario struct {
	c      *Case
	failed int32   // barrier that is failed open; -1 for none
	burst  bool    // float vents stand fully open before the lightest and coldest gas
	armed  []armed // elements in reserve that may open, see reserve.go
	// A machine that is run at another speed, to find the curve of the system around it; turnedTo 0 for none.
	turned   int32
	turnedTo float64
	// fault is what is not as designed; nil for nothing.
	fault *Fault
}

// scenarios lists the ways in which a case can stand.
func scenarios(p *plant.Plant, c *Case, ph []network.Phase) []scenario {
	if c.Standard != BarrierFailed {
		return []scenario{{c: c, failed: -1}}
	}
	var out []scenario
	for i := range p.Components {
		k := p.Components[i].Kind
		if (k == plant.KindCheckValve || k == plant.KindActuatedValve) && ph[p.Components[i].FirstPort] == network.Gas {
			out = append(out, scenario{c: c, failed: int32(i)})
		}
	}
	if len(out) == 0 {
		out = []scenario{{c: c, failed: -1}}
	}
	return out
}

// runs tells whether a pump, blower, compressor, concentrator or generator runs.
func (s *scenario) runs(p *plant.Plant, component int32) bool {
	if st := s.c.Stated(component); st != nil && st.Running != nil {
		return *st.Running
	}
	d := p.Components[component].Data
	if d.GetOutOfUse() {
		return false
	}
	switch p.Components[component].Kind {
	case plant.KindPump:
		switch s.c.Standard {
		case PumpStopped, BarrierFailed, LossOfPower, Isolated:
			return false
		}
	case plant.KindBlower:
		return s.c.Standard != LossOfPower && s.c.Standard != BlowerLost
	case plant.KindCompressor, plant.KindOxygenConcentrator:
		return s.c.Standard != LossOfPower && s.c.Standard != FeedShut
	case plant.KindGasSupply:
		return s.c.Standard != FeedShut
	case plant.KindOzoneGenerator:
		switch s.c.Standard {
		case PumpStopped, BarrierFailed, LossOfPower, Isolated, GeneratorOff, Purge:
			return false
		}
	}
	return true
}

// speed is that of a machine over its rated speed; 0 where it stands.
func (s *scenario) speed(p *plant.Plant, component int32) float64 {
	if s.turnedTo > 0 && component == s.turned {
		return s.turnedTo
	}
	if !s.runs(p, component) {
		return 0
	}
	if st := s.c.Stated(component); st != nil && st.SpeedRatio != nil {
		return *st.SpeedRatio
	}
	return 1
}

// isFailed tells whether a component is taken as failed.
func (s *scenario) isFailed(component int32) bool {
	if st := s.c.Stated(component); st != nil && st.Failed != nil {
		return *st.Failed
	}
	return component == s.failed
}

// position is that of a valve.
func (s *scenario) position(p *plant.Plant, component int32, gas bool) (skidrulev1.ValvePosition, []Datum) {
	c := &p.Components[component]
	if st := s.c.Stated(component); st != nil && st.GetPosition() != skidrulev1.ValvePosition_VALVE_POSITION_UNSPECIFIED {
		return st.GetPosition(), nil
	}
	if c.Kind == plant.KindActuatedValve {
		switch {
		case component == s.failed:
			return skidrulev1.ValvePosition_VALVE_POSITION_OPEN, nil
		case s.c.Standard == GasValveShut && gas:
			return skidrulev1.ValvePosition_VALVE_POSITION_CLOSED, nil
		case s.c.Standard == LossOfPower:
			switch c.Data.GetFailPosition() {
			case skidrulev1.FailPosition_FAIL_POSITION_CLOSED:
				return skidrulev1.ValvePosition_VALVE_POSITION_CLOSED, nil
			case skidrulev1.FailPosition_FAIL_POSITION_OPEN:
				return skidrulev1.ValvePosition_VALVE_POSITION_OPEN, nil
			case skidrulev1.FailPosition_FAIL_POSITION_UNSPECIFIED:
				return 0, []Datum{{DatumComponent, component, "fail_position"}}
			}
		}
	}
	if s.c.Standard == Isolated && c.Kind == plant.KindHandValve {
		return skidrulev1.ValvePosition_VALVE_POSITION_CLOSED, nil
	}
	pos := c.Data.GetNormalPosition()
	if pos == skidrulev1.ValvePosition_VALVE_POSITION_UNSPECIFIED {
		return 0, []Datum{{DatumComponent, component, "normal_position"}}
	}
	return pos, nil
}

// boundaryPressure reads the gauge pressure of a boundary. It is missing where neither a pressure nor a range is stated.
func (s *scenario) boundaryPressure(r *reader, component int32) float64 {
	b := r.p.Components[component].Data.GetBoundary()
	if st := s.c.Stated(component); st != nil && st.PressurePaGauge != nil {
		return *st.PressurePaGauge
	}
	sink := b.GetRole() == skidrulev1.BoundaryRole_BOUNDARY_ROLE_SINK
	source := b.GetRole() == skidrulev1.BoundaryRole_BOUNDARY_ROLE_SOURCE
	// A case of the design's own that states anything changes only what it states.
	if s.c.Design == nil || len(s.c.Design.GetStates()) == 0 || s.c.Standard == BarrierFailed {
		switch s.c.Standard {
		case LowFlow:
			if source && b.MinPressurePaGauge != nil {
				return *b.MinPressurePaGauge
			}
			if sink && b.MaxPressurePaGauge != nil {
				return *b.MaxPressurePaGauge
			}
		case HighFlow:
			if source && b.MaxPressurePaGauge != nil {
				return *b.MaxPressurePaGauge
			}
			if sink && b.MinPressurePaGauge != nil {
				return *b.MinPressurePaGauge
			}
		case PumpStopped, BarrierFailed, LossOfPower, OutletPartlyBlocked:
			if !source && b.MaxPressurePaGauge != nil {
				return *b.MaxPressurePaGauge
			}
		}
	}
	d := Datum{DatumSpec, component, "pressure"}
	if b.PressurePaGauge == nil && b.MinPressurePaGauge != nil && b.MaxPressurePaGauge != nil {
		low, high := *b.MinPressurePaGauge, *b.MaxPressurePaGauge
		return r.spread(low, (low+high)/2, high, d)
	}
	return r.number(b.PressurePaGauge, d)
}
