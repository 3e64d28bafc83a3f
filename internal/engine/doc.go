// Package engine answers a check request: it resolves the design, asks the rules in every case and puts the report
// together. Command line and server call it with the same message, so their answers are the same bytes.
//
// It holds no rules and no engineering: what a rule may ask is fact's, its outcome rulebook's. Requests other than checks and
// comparisons are answer's, and pages for people report's.
package engine
