package network

import "math"

// IsothermalFlow is the flow of the isothermal law through a line of an area and resistance.
func IsothermalFlow(p1, p2, area, n float64, gas Fluid) float64 {
	w, _ := isothermal(p2/p1, n)
	return area * p1 * math.Sqrt(w/(n*gas.MolarMass*gas.molarEnergy()))
}

// IsentropicFlow is the flow of the isentropic law through an orifice of cdArea = Cd A.
func IsentropicFlow(p1, p2, cdArea float64, gas Fluid) float64 {
	h, _ := isentropic(p2/p1, newIsentropic(gas.HeatRatio))
	return cdArea * p1 * math.Sqrt(2*h/(gas.MolarMass*gas.molarEnergy()))
}
