package operate

import (
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/network"
	"github.com/skidrule/skidrule/internal/plant"
)

// compositions gives the gas at each gas knot that anything flows to, as if no ozone dissolved: gas that comes out of water is
// saturated with it, a running generator turns oxygen into ozone as at its rated output, a destruct turns it back.
func (s *solved) compositions() map[int32]fluid.Gas {
	w := s.w
	gas := map[int32]fluid.Gas{} // at knots of water what goes along with it
	for k := range w.knots {
		n := &w.knots[k]
		if n.phase != network.Gas || !n.fixed || s.exchange[k] < 0 {
			continue
		}
		g := fluid.DryAir()
		if n.own >= 0 && w.p.Components[n.own].Kind == plant.KindGasSupply {
			g = w.gas
		}
		gas[int32(k)] = g
	}
	for changed := true; changed; {
		changed = false
		for i := range w.links {
			from, to, moves := s.gasWay(i)
			g, known := gas[from]
			if _, done := gas[to]; moves && known && !done {
				gas[to], changed = s.convert(i, g), true
			}
		}
	}
	return gas
}

// gasWay tells from which knot to which gas goes along a link; false where none does.
func (s *solved) gasWay(i int) (from, to int32, moves bool) {
	l := &s.w.links[i]
	from, to = l.from, l.to
	switch {
	case l.blocked || math.IsNaN(s.flow[i]):
		return from, to, false
	case l.suction >= 0:
		return l.suction, to, s.gas[i] > 0
	case l.vessel:
		return from, to, s.flow[i] > 0
	case s.flow[i] < 0:
		from, to = to, from
	}
	if s.w.knots[from].phase == network.Liquid {
		return from, to, s.gas[i] != 0
	}
	return from, to, s.flow[i] != 0
}

// convert is what a link that gas goes along makes of it.
func (s *solved) convert(i int, g fluid.Gas) fluid.Gas {
	w, l := s.w, &s.w.links[i]
	switch {
	case l.vessel:
		if y, err := fluid.SaturatedWaterFraction(w.water, s.pressure[l.to]); err == nil && y < 1 {
			if wet, err := g.WithWater(y); err == nil {
				return wet
			}
		}
		return g
	case l.component < 0 || w.knots[l.from].phase == network.Liquid:
		return g
	}
	c := &w.p.Components[l.component]
	switch c.Kind {
	case plant.KindOxygenConcentrator:
		return w.gas
	case plant.KindOzoneGenerator:
		spec := c.Data.GetOzoneGenerator()
		if !w.s.runs(w.p, l.component) || spec.RatedOutputKgPerS == nil || spec.RatedConcentrationMassFraction == nil {
			return g
		}
		m, err := g.MolarMass()
		if err != nil {
			return g
		}
		// Output falls with the flow; more than the rated strength is not claimed.
		if o, err := g.WithOzone(math.Min(*spec.RatedOutputKgPerS/(math.Abs(s.flow[i])*m), *spec.RatedConcentrationMassFraction)); err == nil {
			return o
		}
	case plant.KindOzoneDestruct:
		if o, _, err := g.Decomposed(); err == nil {
			return o
		}
	}
	return g
}

// temperature is that of a port: of the water, between the ambient ends for gas, and what compressors, heaters and heated
// destructs state behind them. Low above High where it is not known.
func (s *Solver) temperature(best *solved, port int32) Span {
	w, p := best.w, s.m.p
	unknown := Span{Low: math.Inf(1), Best: math.NaN(), High: math.Inf(-1)}
	b := p.Basis
	switch s.m.phase[port] {
	case network.Liquid:
		low, high := b.MinWaterTemperatureK, b.MaxWaterTemperatureK
		if w.water <= 0 {
			return unknown
		}
		out := Span{w.water, w.water, w.water}
		if w.s.c.Design == nil || w.s.c.Design.WaterTemperatureK == nil {
			if low != nil {
				out.Low = math.Min(out.Low, *low)
			}
			if high != nil {
				out.High = math.Max(out.High, *high)
			}
		}
		return out
	case network.Gas:
		if b.MinAmbientTemperatureK == nil || b.MaxAmbientTemperatureK == nil {
			return unknown
		}
		out := Span{*b.MinAmbientTemperatureK, w.gasT, *b.MaxAmbientTemperatureK}
		c := &p.Components[p.Ports[port].Component]
		hot := (*float64)(nil)
		if p.PortName(port) == "outlet" {
			switch c.Kind {
			case plant.KindCompressor:
				hot = c.Data.GetCompressor().OutletTemperatureK
			case plant.KindGasHeater:
				hot = c.Data.GetGasHeater().OutletTemperatureK
			case plant.KindOzoneDestruct:
				if w.s.c.Standard != ColdDestruct && w.s.c.Standard != LossOfPower {
					hot = c.Data.GetOzoneDestruct().SetTemperatureK
				}
			}
		}
		if hot != nil {
			out.Best, out.High = *hot, math.Max(out.High, *hot)
		}
		return out
	}
	return unknown
}
