package network_test

import (
	"math"

	"github.com/skidrule/skidrule/internal/network"
)

// jetModel is a smooth stand-in for an injector's suction where no table is at
// hand: an own form, not a published correlation, with the right signs and
// limits. Dead-end suction pressure
//
//	p0 = pIn − Recovery (pIn − pOut), not below VapourPressure (smooth),
//
// suction volume flow at suction conditions
//
//	Q = MaxRatio (Qw + Qp) u/(u + Spread), u = pSuction − p0,
//
// with the motive volume flow Qw of MotiveKv, smoothed below some 100 Pa, and a
// hundredth of its value at 1 bar for Qp; straight on below u = 0.
type jetModel struct {
	// MotiveKv, m³/h at 1 bar. Density of the motive liquid, kg/m³.
	MotiveKv, Density float64
	// Recovery is (pIn − p0)/(pIn − pOut), > 1; 1.5 to 4 is usual (common
	// practice, no source).
	Recovery float64
	// MaxRatio is the largest volume of gas per volume of water, > 0.
	MaxRatio float64
	// Spread, Pa, > 0: excess of suction pressure at half the largest ratio.
	Spread float64
	// VapourPressure, Pa, lowest suction pressure.
	VapourPressure float64
	// Gas that is drawn.
	Gas network.Fluid
}

// suction is a [network.SuctionFunc].
func (m jetModel) suction(pIn, pOut, pSuction float64) float64 {
	dp := math.Max(pIn-pOut, 0)
	a, b := pIn-m.Recovery*dp, m.VapourPressure
	width := 0.01 * math.Abs(pIn)
	p0 := 0.5 * (a + b + math.Sqrt((a-b)*(a-b)+width*width))
	if pIn < pOut { // no motive flow, or water going back: throat at discharge pressure
		p0 = 0.5 * (pOut + b + math.Sqrt((pOut-b)*(pOut-b)+width*width))
	}
	c := m.MotiveKv / 3600 * math.Sqrt(999.1/m.Density)
	// The root of the motive flow, with a finite slope at none.
	volume := m.MaxRatio * c * (dp/math.Sqrt(1e5*(dp+100)) + 0.01)
	u := pSuction - p0
	if u <= 0 {
		return volume * u / m.Spread * p0 / (network.GasConstant * m.Gas.Temperature)
	}
	return volume * u / (u + m.Spread) * pSuction / (network.GasConstant * m.Gas.Temperature)
}

// threePoint is the curve through shut-off, one duty point with Q > 0 and
// rise = shutOff − c Q².
func threePoint(shutOff, flow, rise float64) network.Curve {
	return network.Curve{ShutOff: shutOff, Quadratic: (shutOff - rise) / (flow * flow)}
}
