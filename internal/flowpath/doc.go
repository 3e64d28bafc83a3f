// Package flowpath answers questions about the shape of a flow diagram: which
// way leads where, how many barriers stand on the weakest way, what shares a
// cause, which places are one pressure zone.
//
// It knows nodes, arcs and numbers, and nothing of what flows.
//
// A [Graph] is built once and never changes. A [Ways] says for each arc whether
// it is open, holds a barrier, or is no way at all; several may belong to one
// graph, one for each operating case. Both may be shared by any number of
// goroutines. Each question is a type of its own ([Weakest], [CauseGroups],
// [Reach], [ReachMany], [Zones], [Highest], [Levels], [Runs], [Loops], [Bypasses],
// [MinCut], [DeadEnds]) whose zero value is ready: its
// Sweep method answers for all nodes at once, other methods read the answer,
// and a further Sweep reuses the memory. A question belongs to one goroutine at
// a time.
//
// Every identifier is an int32 that counts from zero. Wrong identifiers and
// lengths are errors of the constructor or of Sweep and leave an empty answer;
// a reading method that is asked about a node outside the graph answers as for
// a node that was not reached. The slices that a reading method returns are
// read only and stay valid until the next Sweep, unless it says otherwise.
//
// Costs are stated with n nodes and m arcs. No answer depends on the number of
// processors or on the order of a Go map.
package flowpath
