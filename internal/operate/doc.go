// Package operate says how a plant is run: its operating cases, the state of every valve, machine and boundary in each, and the
// pressures and flows that follow.
//
// A [Solver] wires the resolved plant to a network of pipes, valves, machines, injectors and vessels for each case and solves it,
// see package network. Parts that do not depend on each other are solved apart: where a datum is missing, exactly the parts that
// depend on it are unknown, and name it. No value is made up for one that is not stated.
//
// What is only known to lie between two ends is solved at both: assumptions of the design, boundaries of which only the range is
// stated, valves between nearly open and open, the temperature of gas between the ambient ends, the two-phase factor and the
// reading of injector tables. A hand valve that throttles a gas line is taken as set on site: the flow of the generator behind it
// passes in normal operation.
//
// The package knows nothing of rules.
package operate
