// Package fact answers what rules ask of a plant: what is stated, and what follows from it by graph and computation. Each
// fact is defined once, with a name, a type, the things it is a fact of and a description; rules see it under that name.
//
// A fact never guesses. Where data is missing it answers with the range of what may be and the names of the missing data.
// It knows nothing of how rules are written or outcomes reported.
package fact
