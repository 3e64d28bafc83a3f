// Package rulebook loads, compiles and evaluates rules: conditions in the Common Expression Language over the facts of a
// plant, with four outcomes and a fifth for a rule that itself went wrong.
//
// A condition is three-valued. A comparison whose sides are not known well enough is neither true nor false: it names the
// data that would decide it, and so does the outcome. The package does not know who reads outcomes.
package rulebook
