// Package calc is the list of every calculation that an engineer can run by
// name. One registration feeds the command line, the remote call, the printed
// documentation and the tests: name, formula, inputs with their valid ranges,
// outputs, sources with their status, and worked check cases.
//
// [List] and [Get] read the list, [Run] and [RunText] evaluate one
// calculation, [SweepOver] evaluates it along one input. Results are rendered
// by [Result.Text], [Result.JSON], [Sweep.CSV], [Sweep.SVG] and [Sweep.PNG].
//
// Numbers are SI throughout: pascal, kelvin, kilogram, second, mole. Text
// inputs carry their unit and are read by package quantity.
//
// It takes numbers, words and tables, not designs: the models are those of
// unitop and fluid, and what holds in a drawn skid is operate's.
package calc
