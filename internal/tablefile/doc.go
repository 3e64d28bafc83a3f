// Package tablefile reads tables of measured performance from CSV files into catalogue entries: injectors, pumps, blowers,
// generators and whatever else has a table in the schema.
//
// A file begins with rows of a key and a value: which part it is, what kind, and under which conditions it was measured. A
// row whose cells end in a unit in square brackets is the header of a table; the rows below it are its points. A row whose
// first cell begins with # is a comment.
//
//	part,house/injector-25
//	title,"injector, 1 in"
//	origin,"maker's table, measured with water at 15 degC"
//	kind,venturi_injector
//	max_pressure,6 bar(g)
//	performance_gas,air
//	performance_suction_pressure,0 bar(g)
//	inlet_pressure [bar(g)],outlet_pressure [bar(g)],motive_flow [m3/h],suction_flow [NL/min]
//	2,0.5,3.1,14
//	3,0.5,3.8,22
//
// Keys and units are those of design files. A column without a dimension has [1] for its unit. A part with several tables
// names each with a row `table` before its header. Comma, semicolon and tab separate cells, whichever the first row has;
// decimals have a point. A cell that is left empty is not stated.
//
// Tables are read and not used: the models that interpolate in them are unitop's
// and network's, and an entry is written as a catalogue file by designfile.
package tablefile
