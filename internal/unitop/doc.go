// Package unitop models the units of an ozone contact skid one by one, each
// usable alone: what an injector draws, when a float vent opens, what a
// knock-out pot holds back, what a valve or relief device passes, what a wall
// bears.
//
// Every function works in SI units. Pressures are absolute pascal unless the
// name says gauge; temperatures are kelvin; gas flow is in mol/s or kg/s, so
// that no reference condition is silent. Where the basis is uncertain the
// result is a fluid.Range with a low, a best and a high value, and the comment
// says where the spread comes from.
//
// Outside its stated range a function returns an error that wraps
// fluid.ErrOutOfRange or fluid.ErrNotFinite; where a model has no answer, or
// more than one, the error wraps [ErrNoSolution] or [ErrTwoRoots]. No function
// returns NaN and none clamps silently.
//
// How units stand in a plant and act on each other is not known here: that is
// network's and operate's. Properties of fluids are fluid's.
package unitop
