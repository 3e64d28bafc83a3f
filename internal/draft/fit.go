package draft

import (
	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/operate"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// motiveOf is the water in m3/s that an injector takes at the drafted pressures.
func (p *plan) motiveOf(data *skidrulev1.Component) (float64, bool) {
	in := operate.InjectorTable(data.GetVenturiInjector())
	if in == nil {
		return 0, false
	}
	flow, err := in.Motive(p.inlet+fluid.NormalPressure, p.outlet+fluid.NormalPressure)
	return flow, err == nil
}

// injectorFits tells whether an injector draws the gas at the drafted pressures and takes enough water, and ranks by the water.
// All of the water has to pass it in a full-flow circuit, so a quarter less or more is what a valve can still make up.
func (p *plan) injectorFits(data *skidrulev1.Component) (float64, bool) {
	in := operate.InjectorTable(data.GetVenturiInjector())
	if in == nil {
		return 0, false
	}
	flow, ok := p.motiveOf(data)
	if !ok || flow < 0.75*p.motive || p.circuit == fullFlow && flow > 1.25*p.motive {
		return 0, false
	}
	drawn, err := in.Suction(p.inlet+fluid.NormalPressure, p.outlet+fluid.NormalPressure, suctionVacuum+fluid.NormalPressure)
	if err != nil || drawn.Flow < p.gasFlow {
		return 0, false
	}
	return flow, true
}

// pumpFits tells whether a pump gives the head at the flow, read linearly between the rows of its curve, and ranks by its rated
// flow.
func (p *plan) pumpFits(data *skidrulev1.Component) (float64, bool) {
	curve := data.GetPump().GetCurve()
	for i := 1; i < len(curve); i++ {
		a, b := curve[i-1], curve[i]
		if a.FlowM3PerS == nil || b.FlowM3PerS == nil || a.HeadPa == nil || b.HeadPa == nil || *b.FlowM3PerS <= *a.FlowM3PerS {
			return 0, false
		}
		if p.motive < *a.FlowM3PerS || p.motive > *b.FlowM3PerS {
			continue
		}
		head := *a.HeadPa + (*b.HeadPa-*a.HeadPa)*(p.motive-*a.FlowM3PerS)/(*b.FlowM3PerS-*a.FlowM3PerS)
		// Much more head than is needed drives the injector out of its range, which a valve would have to take: common practice, no source.
		return data.GetPump().GetRatedFlowM3PerS(), head >= 0.9*p.head && head <= 1.3*p.head+0.3e5
	}
	return 0, false
}
