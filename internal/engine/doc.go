// Package engine answers a check request: it resolves the design, asks the rules in every case and puts the report
// together. Command line and server call it with the same message, so their answers are the same bytes.
package engine
