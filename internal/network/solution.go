package network

import "strings"

// State of an element that switches.
type State uint8

// The states. Elements that do not switch are Open, blocked ones Shut.
const (
	// Open: the element passes what its law gives.
	Open State = iota + 1
	// Controlling: a regulator holds its set point; a float passes just
	// what arrives.
	Controlling
	// Shut: no flow.
	Shut
	// HeldShut: a float that the pressure difference keeps shut although
	// there is something to pass.
	HeldShut
)

// String gives the state as a word.
func (s State) String() string {
	switch s {
	case Open:
		return "open"
	case Controlling:
		return "controlling"
	case Shut:
		return "shut"
	case HeldShut:
		return "held shut"
	}
	return "unknown state"
}

// Limit is a set of reasons why a result lies outside what its law covers.
type Limit uint16

// The limits.
const (
	// LimitMach: gas velocity above 0.3 of the speed of sound, where the
	// isothermal law is only approximate.
	LimitMach Limit = 1 << iota
	// LimitChoked: gas or liquid flow is choked (a fact, within the law).
	LimitChoked
	// LimitVoid: more than 0.9 of the volume of a two-phase line is gas:
	// not bubbly any more, outside the homogeneous model.
	LimitVoid
	// LimitCurve: flow beyond the stated ends of a machine curve.
	LimitCurve
	// LimitBoiling: pressure of the liquid below its vapour pressure at one
	// end: the liquid column breaks, so the solution is not physical there.
	LimitBoiling
	// LimitReverse: reverse flow through a pump, blower or injector.
	LimitReverse
	// LimitOverfill: the gas outlets of a vessel take more than arrives
	// (LiquidSets): liquid will rise into them.
	LimitOverfill
)

var limitNames = [...]string{"above Mach 0.3", "choked", "mostly gas by volume", "beyond the curve",
	"below vapour pressure", "reverse flow", "outlets take more gas than arrives"}

// String lists the limits in words.
func (l Limit) String() string {
	var s []string
	for i, n := range limitNames {
		if l&(1<<i) != 0 {
			s = append(s, n)
		}
	}
	return strings.Join(s, ", ")
}

// NodeResult is the answer for one node.
type NodeResult struct {
	// Pressure, Pa absolute. A negative liquid pressure is the arithmetic
	// result of a column that would break; see [LimitBoiling].
	Pressure float64
	// Exchange is what a fixed pressure, or the vessel tied to the node,
	// adds to the network, kg/s or mol/s; zero at other nodes.
	Exchange float64
	// Imbalance is the flow in minus out, kg/s or mol/s: the residual of
	// the balance, zero but for rounding.
	Imbalance float64
	// ShutIn: no open way to a pressure boundary. The pressure is then only
	// what small equal leaks would give; a warm start may find another one
	// that keeps the same elements shut.
	ShutIn bool
	// CarriedGas is the gas that arrives in the liquid of a node, mol/s.
	CarriedGas float64
	// StrandedGas is the part of it that stays behind, mol/s, because hardly
	// any liquid carries it on: more than a thousand volumes of gas at 1 bar
	// would go with each volume of liquid. The state is then only what the
	// model makes of such a place.
	StrandedGas float64
}

// ElementResult is the answer for one element.
type ElementResult struct {
	// Flow from From to To: kg/s liquid, mol/s gas. Of a vessel: the gas
	// released, mol/s.
	Flow float64
	// Gas carried by the liquid, in the direction of Flow, mol/s; of an
	// injector: the suction flow.
	Gas float64
	// Velocity, m/s, signed as Flow, where a diameter is known (else 0): of
	// gas at the end with the lower pressure, of gas in liquid the velocity
	// of the mixture at the mean pressure.
	Velocity float64
	// Mach number at that end, isothermal if the fluid states no heat
	// ratio; 0 for liquid.
	Mach float64
	// Void is the volume fraction of gas in the liquid at mean pressure.
	Void float64
	// NPSHAvailable and NPSHRequired of a pump, m; required 0 if no curve.
	NPSHAvailable, NPSHRequired float64
	// Residual is the distance from the element's law, Pa (suction of an
	// injector: see SuctionResidual).
	Residual float64
	// SuctionResidual of an injector, mol/s.
	SuctionResidual float64
	State           State
	Limits          Limit
}

// Solution is the answer of Solve.
type Solution struct {
	Nodes    []NodeResult
	Elements []ElementResult
	// Converged tells whether every residual is within the tolerances.
	Converged bool
	// Iterations of Newton's method, all attempts together.
	Iterations int
	// MaxImbalance is the largest node imbalance relative to the largest
	// flow of its phase; MaxResidual the largest element residual, Pa.
	MaxImbalance, MaxResidual float64
}

// Options of Solve; nil takes the defaults.
type Options struct {
	// Start is an earlier solution of a problem with the same numbers of
	// nodes and elements, to start from.
	Start *Solution
	// MaxIterations of Newton's method, 1 to 1e5; 0 means 200. The direct
	// attempt takes at most 60 of them, each step of a smooth approach at
	// most 40, and the exact states after it at most four times as many.
	MaxIterations int
	// Tolerance of element residuals relative to the pressures at their
	// ends, and of imbalances relative to the largest flow of the phase;
	// 0 means 1e-8. Range 1e-12 to 1e-3.
	Tolerance float64
}
