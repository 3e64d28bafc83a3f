package network

// Gravity is the standard acceleration of free fall, m/s² (ISO 80000-3, exact).
const Gravity = 9.80665

// GasConstant is the molar gas constant R, J/(mol K) (CODATA 2018, exact:
// the product of the Boltzmann and Avogadro constants).
const GasConstant = 8.31446261815324

// MaxElements bounds the size of a problem, nodes and elements alike, so that
// bad input cannot ask for unbounded work.
const MaxElements = 20000

// maxInjectors bounds the number of injectors in one problem.
const maxInjectors = 64

// Phase tells what a node or fluid is.
type Phase uint8

// The two phases. Liquid nodes conserve mass in kg/s, gas nodes amount of
// substance in mol/s.
const (
	Liquid Phase = iota + 1
	Gas
)

// String gives the phase as a word.
func (p Phase) String() string {
	switch p {
	case Liquid:
		return "liquid"
	case Gas:
		return "gas"
	}
	return "unknown phase"
}

// Fluid holds the properties that element laws need. Which fields are used
// depends on Phase; the others must be zero or are ignored.
type Fluid struct {
	Phase Phase
	// Viscosity is the dynamic viscosity, Pa s, both phases, > 0.
	Viscosity float64

	// Density of a liquid, kg/m³, > 0.
	Density float64
	// VapourPressure of a liquid, Pa absolute, ≥ 0. Used for the suction
	// head of pumps and the choking of valves.
	VapourPressure float64
	// CriticalPressure of a liquid, Pa absolute; needed only where a valve
	// states a liquid recovery factor.
	CriticalPressure float64

	// MolarMass of a gas, kg/mol, > 0.
	MolarMass float64
	// Temperature of a gas, K, > 0.
	Temperature float64
	// Compressibility Z of a gas, > 0; 1 for an ideal gas.
	Compressibility float64
	// HeatRatio cp/cv of a gas, 1 to 2; needed by gas valves and orifices.
	HeatRatio float64
}

// molarEnergy is Z R T, J/mol: pressure times molar volume.
func (f *Fluid) molarEnergy() float64 {
	return f.Compressibility * GasConstant * f.Temperature
}

// GasDensity is p M / (Z R T), kg/m³, at absolute pressure p in Pa.
func (f *Fluid) GasDensity(p float64) float64 {
	return p * f.MolarMass / f.molarEnergy()
}

// Node is a point with one pressure.
type Node struct {
	// ID names the node in errors; it may be empty.
	ID    string
	Phase Phase
	// Elevation, m.
	Elevation float64
	// Pressure, Pa absolute, fixes the pressure of the node; nil leaves it
	// to be found. A fixed node supplies or takes whatever flow results
	// ([NodeResult.Exchange]).
	Pressure *float64
	// Inflow is the fixed flow into the network at this node, kg/s or
	// mol/s; negative takes out. It must be zero at a fixed pressure.
	Inflow float64
}

// Element joins two nodes by a law.
type Element struct {
	// ID names the element in errors; it may be empty.
	ID string
	// From and To are indices into Problem.Nodes.
	From, To int
	// Fluid is the index into Problem.Fluids of what flows. A vessel
	// states its liquid here.
	Fluid int
	// Law says how pressures and flow hang together.
	Law Law
	// Blocked closes the element entirely, whatever its law: flow is zero.
	Blocked bool
}

// Problem is a network to solve. Solve does not change it.
type Problem struct {
	Fluids   []Fluid
	Nodes    []Node
	Elements []Element
	// TwoPhaseFactor multiplies the friction of lines that carry gas in
	// liquid, to state the spread of the homogeneous model (solve once
	// low, once high). 0 means 1. Typical spread 0.6 to 1.7 (common
	// practice, no source). Range 0.1 to 10.
	TwoPhaseFactor float64
}
