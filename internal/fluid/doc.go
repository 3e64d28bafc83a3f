// Package fluid gives properties of the fluids in an ozone contact skid:
// water, oxygen, nitrogen, argon, ozone, water vapour and their mixtures; how
// the gases dissolve, diffuse and (ozone) decay in water; and the exact
// conversions between the ways of stating an ozone concentration.
//
// Every function works in SI units with absolute temperature (K) and absolute
// pressure (Pa); concentrations in water are mol/m3 or kg/m3 as the name says.
// Temperatures in degrees Celsius occur only where a published formula is
// written in them, inside the function.
//
// Outside its stated range a function returns an error that wraps
// [ErrOutOfRange] or [ErrNotFinite]; it never returns NaN and never clamps.
// Where published values disagree by more than the noise, the function returns
// a [Range] and its comment says which source is the best value and why.
//
// Units of a skid are unitop's, pressures and flows in lines network's; which
// fluid stands where is not known here.
package fluid
