// Package suggest proposes edits of a design file that mend findings: it tries changes that a designer would try, checks the
// design again with each, and keeps those with which the finding is gone and nothing else went wrong; what a new part leads to is
// named. A proposal never states a datum of a part: a part that is put in is one of a catalogue, with the data of the catalogue, or a
// bare one, whose data the next check asks for.
//
// It has no opinion on designs: what is a finding is engine's, and which part is the best of many is choose's. Nothing is written to a
// file: that is the command's.
package suggest
