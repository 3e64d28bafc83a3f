// Package network solves for the steady pressures and flows of coupled liquid
// and gas networks.
//
// A [Problem] is a set of nodes, each of one phase, joined by elements: pipes,
// fittings, valves, check valves, pumps, blowers, regulators, orifices,
// injectors that tie water to gas, vessels where gas and liquid part, float
// vents and float drains. [Solve] returns absolute pressures, flows and the
// state of everything that switches, together with the residuals that prove
// the answer. Nothing here knows what the fluids are for: densities,
// viscosities and molar masses come from the caller.
//
// # Units and signs
//
// SI throughout. Pressures are absolute, in pascal. Liquid flow is mass flow
// in kg/s, gas flow is molar flow in mol/s. The flow of an element is positive
// from From to To. Elevations are metres above any common datum. Gravity is
// the standard 9.80665 m/s² (exact by definition, ISO 80000-3).
//
// # Method
//
// Every element law is written W(pFrom, pTo) = φ(flow), with W non-decreasing
// in pFrom and non-increasing in pTo and φ increasing. Newton's method on
// pressures and flows together, with the flows eliminated (Todini and Pilati,
// "A gradient algorithm for the analysis of pipe networks", 1988, from
// memory), leaves one sparse system in the pressures. It is factorised without
// pivoting in a minimum-degree order that is found once per topology. Elements
// that switch (check valve open or closed, regulator open, controlling or
// closed) follow an active set; when states begin to oscillate they are frozen
// until the flows have settled and then changed one at a time. Where that does
// not converge, the gas that injectors add is led from no effect on the liquid
// to its whole effect; then the equations are followed as a transient, by steps
// that grow as the residuals fall; then the ideal elements are approached by
// smooth ones: shut elements leak and set points droop, less and less, and
// injectors are relaxed. An answer is one only with all residuals within the
// tolerance.
//
// The slope of φ is the mean slope between the present flow and the one that W
// would drive, so that a step neither overshoots from rest nor creeps back by
// halves; at the solution it is the slope of Newton's method.
//
// Quadratic laws have no slope at zero flow. Below a pressure difference of
// 1 Pa (gas: 1 Pa at 1 bar) they are replaced by the odd cubic that joins with
// equal value and slope; above it they are exact.
//
// Gas drawn by injectors is carried with the water, divided where the water
// divides, to the next vessel or boundary, and may go round in loops and from
// vents back to suctions. The gas in each kilogram of liquid is an unknown of
// every node it can reach; its balances stand in the same Newton system.
//
// Below a velocity of some 0.05 m/s, a fifth of that at which bubbles rise
// (common practice, no source), liquid no longer holds gas: what fills a line
// is taken as the carried gas times v²/(v² + (0.05 m/s)²), so that at 1 m/s a
// four-hundredth is left out. Without that a line could have no steady state,
// filled with gas one way and free of it the other.
//
// # Networks without steady state
//
// Gas that gathers where no liquid carries it on is a [*StrandedGasError],
// liquid with gas that would have to stand below its vapour pressure a
// [*BrokenColumnError]; both name the place. A [*NotConvergedError] names the
// worst place of the last state.
//
// # Shut-in parts
//
// A part whose every way to a pressure boundary is shut has no pressure of its
// own. It is not an error: its nodes are marked [NodeResult.ShutIn] and get the
// pressure at which equal, vanishingly small leaks of the closed elements
// around it would balance. A part that has no pressure boundary even with
// everything open is a [*FloatingError].
package network
