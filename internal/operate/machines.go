package operate

import (
	"math"

	"github.com/skidrule/skidrule/internal/network"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// machine makes the links of pumps and of what brings gas. A stopped pump or blower lets flow pass against its own resistance; a
// stopped compressor or concentrator passes nothing.
func (w *wiring) machine(at int32) {
	c := &w.p.Components[at]
	first := c.FirstPort
	runs := w.s.runs(w.p, at)
	switch s := c.Data.GetSpec().(type) {
	case *skidrulev1.Component_Pump:
		l := w.between(at, first, first+1)
		law := network.Pump{Speed: w.s.speed(w.p, at)}
		for _, q := range s.Pump.GetCurve() {
			if q.FlowM3PerS == nil || q.HeadPa == nil {
				continue
			}
			// The curve is a pressure rise with water of 998.2 kg/m3, 20 degC.
			law.Curve.Points = append(law.Curve.Points, network.CurvePoint{Flow: *q.FlowM3PerS, Rise: *q.HeadPa / (998.2 * network.Gravity)})
			if q.NpshRequiredM != nil {
				law.NPSHRequired.Points = append(law.NPSHRequired.Points, network.CurvePoint{Flow: *q.FlowM3PerS, Rise: *q.NpshRequiredM})
			}
		}
		if !fallsWithFlow(law.Curve.Points) {
			w.lack(ref(at, "curve"))
		}
		if len(law.NPSHRequired.Points) < 2 {
			law.NPSHRequired = network.Curve{}
		}
		l.law = law
		w.add(l)
	case *skidrulev1.Component_Blower:
		l := w.between(at, first, first+1)
		l.law = network.Blower{Curve: w.gasCurve(at, s.Blower.GetCurve()), Speed: w.s.speed(w.p, at)}
		w.add(l)
	case *skidrulev1.Component_Compressor:
		l := w.between(at, first, first+1)
		if w.p.Ports[first].Joints == 0 {
			l.from = w.extra(at)
			w.fix(l.from, 0)
		}
		l.law, l.fluid, l.blocked = network.Blower{Curve: w.gasCurve(at, s.Compressor.GetCurve()), Speed: math.Max(w.s.speed(w.p, at), 0.01)}, fluidAir, !runs
		w.add(l)
	case *skidrulev1.Component_OxygenConcentrator:
		w.concentrator(at, s.OxygenConcentrator, runs)
	case *skidrulev1.Component_GasSupply:
		if !runs {
			return
		}
		high := w.number(s.GasSupply.PressurePaGauge, ref(at, "pressure"))
		p := high
		if low := s.GasSupply.MinPressurePaGauge; low != nil && *low < high {
			p = w.spread(*low, (*low+high)/2, high, ref(at, "pressure"))
		}
		if st := w.s.c.Stated(at); st != nil && st.PressurePaGauge != nil {
			p = *st.PressurePaGauge
		}
		k := w.knotOf[first]
		w.knots[k].own = at
		w.fix(k, p)
	}
}

// fallsWithFlow tells whether points can serve as a machine's curve.
func fallsWithFlow(points []network.CurvePoint) bool {
	for i := 1; i < len(points); i++ {
		if points[i].Flow <= points[i-1].Flow || points[i].Rise > points[i-1].Rise {
			return false
		}
	}
	return len(points) >= 2
}

// gasCurve turns a curve of molar flow against pressure rise into one of volume flow at atmospheric suction.
func (w *wiring) gasCurve(at int32, points []*skidrulev1.FlowPressurePoint) network.Curve {
	var out network.Curve
	for _, q := range points {
		if q.FlowMolPerS != nil && q.PressurePaGauge != nil {
			out.Points = append(out.Points, network.CurvePoint{Flow: w.atSuction(*q.FlowMolPerS), Rise: *q.PressurePaGauge})
		}
	}
	if !fallsWithFlow(out.Points) {
		w.lack(ref(at, "curve"))
	}
	return out
}

// atSuction is the volume flow in m3/s of a molar one at atmospheric suction.
func (w *wiring) atSuction(flow float64) float64 {
	return flow * network.GasConstant * w.gasT / math.Max(w.atmosphere, 1)
}

// concentrator is a source whose pressure falls with the flow; its inlet takes the stated air and its exhaust gives the rest.
func (w *wiring) concentrator(at int32, s *skidrulev1.OxygenConcentrator, runs bool) {
	first := w.p.Components[at].FirstPort
	var curve network.Curve
	for _, q := range s.GetProduct() {
		if q.ProductFlowMolPerS != nil && q.DeliveryPressurePaGauge != nil {
			curve.Points = append(curve.Points, network.CurvePoint{Flow: w.atSuction(*q.ProductFlowMolPerS), Rise: *q.DeliveryPressurePaGauge})
		}
	}
	if !fallsWithFlow(curve.Points) {
		w.lack(ref(at, "product"))
	}
	l := link{to: w.knotOf[first+1], component: at, way: -1, suction: -1, blocked: !runs, law: network.Blower{Curve: curve, Speed: 1}}
	l.missing = w.take()
	l.from = w.extra(at)
	w.fix(l.from, 0)
	for _, id := range w.p.WaysAt(first + 1) {
		if q := &w.p.Ways[id]; !q.IsPipe() && q.To == first+1 {
			l.way = id
		}
	}
	w.add(l)
	if !runs {
		return
	}
	if w.p.Ports[first].Joints > 0 {
		k := w.knotOf[first]
		w.knots[k].inflow -= w.number(s.FeedAirFlowMolPerS, ref(at, "feed_air_flow"))
		w.knots[k].missing = joinData(w.knots[k].missing, w.take())
	}
	if w.p.Ports[first+2].Joints > 0 {
		k := w.knotOf[first+2]
		w.knots[k].inflow += math.Max(0, w.number(s.FeedAirFlowMolPerS, ref(at, "feed_air_flow"))-w.number(s.RatedProductFlowMolPerS, ref(at, "rated_product_flow")))
		w.knots[k].missing = joinData(w.knots[k].missing, w.take())
	}
}
