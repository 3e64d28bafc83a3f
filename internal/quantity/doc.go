// Package quantity reads, converts and prints numbers with units, in metric or
// US customary units.
//
// A quantity has a [Dimension], and a dimension is more than powers of metre,
// kilogram and second: gauge pressure, absolute pressure and pressure
// difference are three dimensions, an actual volume flow of a liquid and a
// molar flow of a gas are two, and a mass fraction is not a mole fraction.
// [Parse] therefore wants to know which dimension the text stands for, and
// refuses a text that states something else. It never guesses and never
// converts what the text does not determine: gauge to absolute needs the
// site's atmospheric pressure, an actual gas volume its temperature and
// pressure.
//
// Arithmetic is exact: the decimal number and the definition of the unit are
// rational numbers, and the product is rounded once, to the nearest float64.
// [Exact] prints the inverse: a text that [Parse] turns into the very same bits.
//
// # Text
//
// A quantity is a number, an optional space and a unit: "10 bar(g)",
// "60 g/h", "0.5 m3/h", "20 degC". The number has a decimal point and an
// optional exponent; decimal commas, thousands marks, hexadecimal, NaN and
// infinities are refused. Units combine by "*", "·" or a space, by one "/", by
// parentheses and by exponents ("m2", "m²", "m^2", "s-1"). A second "/" or a
// product after "/" needs parentheses (SI Brochure, 9th edition, section 5.2).
// Micro sign and mu, superscripts, middle dots, the degree sign, the minus sign
// and non-breaking spaces are read as their plain spellings.
//
// Gas flows state their reference: "8 NL/min" and "0.5 Nm3/h" (0 °C,
// 101.325 kPa), "0.5 Sm3/h" (15 °C, 101.325 kPa), or in words
// "8 L/min at 20 degC, 1.013 bar(a)".
//
// Ozone in a feed gas is a mass fraction when the feed gas is named:
// "100 g/Nm3 in O2", "60000 ppmv in air".
//
// Properties of what is measured are not held here but in fluid, and which field
// of a design has which dimension in the schema, read by designfile.
package quantity
