// Package drawing makes a process and instrumentation diagram of a design: sheets of symbols, right-angled lines and labels,
// written as SVG or PNG.
//
// A design becomes a neutral sheet model first: items with ports on the sides of their symbols, and edges between ports. Items
// are placed in layers from left to right, what hangs on them (drains, vents, instruments) is stacked below, above or beside
// them, and lines are routed on the grid. All lengths of the model are whole modules of 2.5 mm; y grows downwards.
//
// The symbols are drawn for this program on the 2.5 mm grid, in the spirit of ISO 10628-2 (diagrams for the chemical and
// petrochemical industry, graphical symbols) and ANSI/ISA-5.1 (instrumentation symbols and identification). The proportions are
// common practice, not copied from the texts of those standards.
//
// The same design and options give the same bytes.
// It solves nothing and asks no rules: findings and solved values are given to it, and it lays them over the sheet.
package drawing
