// Package choose finds the catalogue parts with which a design meets every rule, the best by a measure first, and says why the next
// smaller ones do not do.
//
// The search is exhaustive. A design with open slots, components that have no part yet, is checked by the rules themselves: a
// missing datum widens what a rule asks, so a rule that is broken while slots are open stays broken whatever their parts are.
// That excludes parts alone, and combinations of parts of some slots, with all that they would be combined with. What is left is
// gone through in order of a bound of the measure that no combination falls below, and each combination is checked as a whole
// design with its operating cases solved. The search ends when the bound says that nothing better is left.
//
// A combination that fails is traced: slots are opened, and data of its parts left out, as long as the same rule stays broken. What
// remains excludes every combination whose parts agree in those data, and slots that were found to depend on each other are
// combined before the others. Designs whose slots all depend on each other, such as a bare draft, take many whole checks; naming
// some slots at a time keeps the search short.
//
// Two things are taken as given and tested against going through every combination: that the numbers of a check with open slots
// enclose those of the whole design, see engine.CheckOpen, and that a rule which cannot be verified names what it lacks.
//
// It judges no design itself, that is engine's, and draws no new parts: that is for suggest and draft.
package choose
