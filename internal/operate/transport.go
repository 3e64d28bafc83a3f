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
	out := map[int32]fluid.Gas{}
	for k := range w.knots {
		n := &w.knots[k]
		if n.phase != network.Gas || !n.fixed || s.exchange[k] < 0 {
			continue
		}
		g := fluid.DryAir()
		if n.own >= 0 && w.p.Components[n.own].Kind == plant.KindGasSupply {
			g = w.gas
		}
		out[int32(k)] = g
	}
	carried := map[int32]fluid.Gas{} // by liquid knot
	for range w.links {
		changed := false
		for i := range w.links {
			l := &w.links[i]
			switch {
			case l.blocked || math.IsNaN(s.flow[i]):
				continue
			case l.suction >= 0:
				if g, ok := out[l.suction]; ok && s.gas[i] > 0 {
					changed = put(carried, l.to, g) || changed
				}
				continue
			case l.vessel:
				g, ok := carried[l.from]
				if !ok || s.flow[i] <= 0 {
					continue
				}
				if y, err := fluid.SaturatedWaterFraction(w.water, s.pressure[l.to]); err == nil && y < 1 {
					if wet, err := g.WithWater(y); err == nil {
						g = wet
					}
				}
				changed = put(out, l.to, g) || changed
				continue
			}
			from, to := l.from, l.to
			if s.flow[i] < 0 {
				from, to = to, from
			}
			if w.knots[from].phase == network.Liquid {
				if g, ok := carried[from]; ok && s.gas[i] != 0 {
					changed = put(carried, to, g) || changed
				}
				continue
			}
			if s.flow[i] == 0 && !l.switches {
				continue
			}
			g, ok := out[from]
			if !ok || s.flow[i] == 0 {
				continue
			}
			if l.component >= 0 {
				g = w.convert(l.component, g, math.Abs(s.flow[i]))
			}
			changed = put(out, to, g) || changed
		}
		if !changed {
			break
		}
	}
	return out
}

// put sets what is not set yet.
func put(m map[int32]fluid.Gas, k int32, g fluid.Gas) bool {
	if _, ok := m[k]; ok {
		return false
	}
	m[k] = g
	return true
}

// convert is what a component makes of the gas.
func (w *wiring) convert(at int32, g fluid.Gas, flow float64) fluid.Gas {
	c := &w.p.Components[at]
	switch c.Kind {
	case plant.KindOxygenConcentrator:
		return w.gas
	case plant.KindOzoneGenerator:
		spec := c.Data.GetOzoneGenerator()
		if !w.s.runs(w.p, at) || spec.RatedOutputKgPerS == nil || spec.RatedConcentrationMassFraction == nil {
			return g
		}
		m, err := g.MolarMass()
		if err != nil || flow <= 0 {
			return g
		}
		// Output falls with the flow; more than the rated strength is not claimed.
		if o, err := g.WithOzone(math.Min(*spec.RatedOutputKgPerS/(flow*m), *spec.RatedConcentrationMassFraction)); err == nil {
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
