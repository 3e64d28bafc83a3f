// Package upkeep plans how a plant is kept: what wears when, which wearing parts are kept in store, and how each module is taken
// out: what is stopped, purged, shut, locked, vented, drained, proved and undone, in that order, and what else stands meanwhile.
//
// It reads a [fact.World] and writes messages. What it says of isolation, letting down and joints is what the rules under
// rules/service are told. Texts carry no numbers with units: those stand in fields of their own, in SI units.
// It solves nothing and asks no rules; how a plan is printed is report's.
package upkeep
