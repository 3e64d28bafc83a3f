package network

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
	// Suction must be given.
	Suction SuctionFunc
	// ReverseLeak lets negative values of Suction stand: flow out of the
	// suction port. Otherwise the suction flow is never negative.
	ReverseLeak bool
}
