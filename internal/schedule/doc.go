// Package schedule lists what stands in a design, in the columns and the order in which engineers expect such lists: lines, valves,
// instruments, relief devices, trips as a matrix of cause and effect, connections, parts.
//
// A cell is a number in SI units, a text, or says that its datum is not stated and names it; no cell is blank. Operating pressures,
// temperatures and flows are those of the solved cases.
// It computes none of them: facts are fact's, states operate's, and how a list is written is report's.
package schedule
