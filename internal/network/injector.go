package network

import "math"

// SuctionFunc gives the gas an injector draws, mol/s, at absolute pressures of
// motive inlet, discharge and suction port, Pa. It must be continuous, finite
// for all positive pressures (the solver passes far-off points on its way; the
// caller judges whether the solution lies inside its data), and not fall when
// pSuction rises. Below the dead-end suction pressure it should go on to
// negative values, smoothly: then a shut suction line comes to the dead-end
// pressure. If it is flat zero there, that pressure is not determined.
type SuctionFunc func(pIn, pOut, pSuction float64) float64

// MotiveFunc gives the motive flow of an injector, kg/s, for pIn > pOut. The
// same demands as for SuctionFunc; it must not fall when pIn rises nor rise
// with pOut. The solver mirrors it for reverse flow.
type MotiveFunc func(pIn, pOut, pSuction float64) float64

// Injector is a venturi: From is the motive inlet, To the discharge, and
// SuctionNode the gas node that it draws from. The gas goes on in the liquid
// to the next [Vessel] or boundary.
type Injector struct {
	// SuctionNode is the index of the gas node.
	SuctionNode int
	// GasFluid is the index of the gas drawn.
	GasFluid int
	// MotiveKv is the flow coefficient from inlet to outlet, m³/h at 1 bar;
	// used if Motive is nil. One of the two must be given.
	MotiveKv float64
	Motive   MotiveFunc
	// Suction must be given; [JetModel] offers one.
	Suction SuctionFunc
	// ReverseLeak lets negative values of Suction stand: flow out of the
	// suction port. Otherwise the suction flow is never negative.
	ReverseLeak bool
}

// JetModel is a smooth stand-in for an injector's suction where no table is at
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
type JetModel struct {
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
	Gas Fluid
}

// Suction is a [SuctionFunc].
func (m JetModel) Suction(pIn, pOut, pSuction float64) float64 {
	dp := math.Max(pIn-pOut, 0)
	a, b := pIn-m.Recovery*dp, m.VapourPressure
	width := 0.01 * math.Abs(pIn)
	p0 := 0.5 * (a + b + math.Sqrt((a-b)*(a-b)+width*width))
	if pIn < pOut { // no motive flow, or water going back: throat at discharge pressure
		p0 = 0.5 * (pOut + b + math.Sqrt((pOut-b)*(pOut-b)+width*width))
	}
	c := m.MotiveKv / 3600 * math.Sqrt(waterDensity/m.Density)
	// The root of the motive flow, with a finite slope at none.
	volume := m.MaxRatio * c * (dp/math.Sqrt(1e5*(dp+100)) + 0.01)
	u := pSuction - p0
	if u <= 0 {
		return volume * u / m.Spread * p0 / m.Gas.molarEnergy()
	}
	return volume * u / (u + m.Spread) * pSuction / m.Gas.molarEnergy()
}
