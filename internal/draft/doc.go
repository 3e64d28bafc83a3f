// Package draft writes the first design of a plant for a demand: it chooses the shape, sizes what can be sized, draws every
// part that the built-in rules ask for, and names as questions what only the makers of parts and the site can tell.
//
// Draft is a function of its inputs alone: the same demand and catalogue give the same bytes. Data of parts is never invented:
// a datum of a bought part is stated only where the part was picked from a catalogue. What a draughtsman decides (what stands
// where, which way a valve fails, how large a vessel is made, where a switch is set) is stated, and its comment says why.
//
// Numbers that rest on common practice are listed among the sizes with their range and source; those that stand in for a datum
// of the design are declared in its assumptions, so that the check tries both ends.
//
// It does not judge what it drew: engine checks the draft, and what that cannot verify becomes a question. Parts for the slots that
// stay open are choose's.
package draft
