// Package commission compares a skid as it stands with the skid as it is drawn.
//
// A [Skid] gives the card of expected readings: for every operating case what each instrument should show, from its low to its high
// end, and where in its span. And it diagnoses readings taken on site: it solves the whole drawing with one fault at a time put
// into an element, see [operate.Fault], finds the size of each fault that fits best, and ranks the faults and the design as drawn
// by their misfit. Where several explain the readings about as well it says so, and which further reading would tell them apart.
//
// A datum that the design does not state makes the readings that rest on it unknown, by name; no value is made up for one.
//
// It solves nothing itself, that is operate's, asks no rules, and lays out no pages: that is report's.
package commission
