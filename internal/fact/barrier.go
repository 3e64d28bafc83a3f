package fact

import (
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// holding says how a passage stands against water that is pushed along it in one direction.
type holding uint8

const (
	letsPass   holding = iota // a way
	maybeHolds                // a barrier if the missing data turn out well
	holds                     // a barrier
	noWay                     // nothing passes, whatever fails: it is locked shut
)

// waterHolding judges one passage of the component against water pushed along it, forward in the direction of normal flow
// or against it. note says why something that looks like a barrier does not count; missing names what would decide.
func (w *World) waterHolding(way int32, forward bool) (h holding, note string, missing []Ref) {
	q := &w.Plant.Ways[way]
	if q.IsPipe() {
		return letsPass, "", nil
	}
	c := &w.Plant.Components[q.Component]
	switch c.Kind {
	case plant.KindCheckValve:
		if forward {
			return letsPass, "it opens in this direction", nil
		}
		return holds, "", nil
	case plant.KindFloatVentValve:
		if forward {
			return holds, "", nil
		}
		return letsPass, "", nil
	case plant.KindLiquidTrap:
		return w.trapHolding(q.Component)
	case plant.KindActuatedValve:
		return w.shutOffHolding(q.Component, forward)
	case plant.KindVenturiInjector:
		return w.injectorHolding(q, forward)
	case plant.KindHandValve:
		if c.Data.GetNormalPosition() == skidrulev1.ValvePosition_VALVE_POSITION_CLOSED {
			if c.Data.GetLocked() {
				return noWay, "", nil
			}
			return letsPass, "closed but not locked", nil
		}
		return letsPass, "", nil
	case plant.KindReliefValve, plant.KindRuptureDisc:
		if forward {
			return holds, "", nil
		}
		return letsPass, "", nil
	}
	return letsPass, "", nil
}

// injectorHolding judges the suction passage of an injector.
func (w *World) injectorHolding(q *plant.Way, forward bool) (holding, string, []Ref) {
	p := w.Plant
	if forward || p.PortName(q.From) != "suction" {
		return letsPass, "", nil
	}
	spec := p.Components[q.Component].Data.GetVenturiInjector()
	if spec.GetIntegralCheckValve() {
		return holds, "its suction port has a check valve", nil
	}
	return letsPass, "", nil
}

// trapHolding judges a liquid trap: it stops water only while its drain takes the water away.
func (w *World) trapHolding(component int32) (holding, string, []Ref) {
	p := w.Plant
	drain, ok := p.FindPort(component, "drain")
	if !ok || p.Ports[drain].Joints == 0 {
		return letsPass, "its drain is not connected", nil
	}
	spec := p.Components[component].Data.GetLiquidTrap()
	switch spec.GetDrainPrinciple() {
	case skidrulev1.DrainPrinciple_DRAIN_PRINCIPLE_MANUAL:
		return letsPass, "its drain opens by hand only", nil
	case skidrulev1.DrainPrinciple_DRAIN_PRINCIPLE_UNSPECIFIED:
		return maybeHolds, "", []Ref{specRef(component, "drain_principle")}
	}
	return holds, "", nil
}

// shutOffHolding judges an automatic shut-off valve: it holds where it closes without power and, against reverse pressure,
// where its stated reverse shut-off pressure covers the highest water pressure.
func (w *World) shutOffHolding(component int32, forward bool) (holding, string, []Ref) {
	data := w.data(component)
	var missing []Ref
	switch data.GetFailPosition() {
	case skidrulev1.FailPosition_FAIL_POSITION_CLOSED:
	case skidrulev1.FailPosition_FAIL_POSITION_UNSPECIFIED:
		missing = append(missing, componentRef(component, "fail_position"))
	default:
		return letsPass, "it does not close without power", nil
	}
	if !forward {
		highest := w.highestWaterPressure(component)
		rated := w.number(data.GetActuatedValve().ReverseShutOffPressurePa, specRef(component, "reverse_shut_off_pressure"))
		switch t := rated.AtLeast(highest); t.Value {
		case False:
			return letsPass, "its reverse shut-off pressure is below the water pressure", nil
		case Undecided:
			missing = append(missing, t.Missing...)
		}
	}
	if len(missing) > 0 {
		return maybeHolds, "it is not known to hold", missing
	}
	return holds, "", nil
}
