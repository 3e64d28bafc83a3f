package report

import (
	"strconv"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// measure is a value of a dimension in the units of a system. A dimension that is no quantity, as `count`, gives the bare
// number.
func measure(x float64, dimension string, units quantity.System) string {
	if d, ok := quantity.DimensionByName(dimension); ok {
		return quantity.Format(x, d, units)
	}
	return strconv.FormatFloat(x, 'g', 6, 64)
}

// between writes a range; one whose ends differ by less than is shown reads as a single value.
func between(low, high string) string {
	if low == high {
		return low
	}
	return low + " to " + high
}

// measured is the measured side of evidence.
func measured(e *skidrulev1.Evidence, units quantity.System) string {
	switch {
	case e.Value != nil && e.ValueHigh != nil:
		return between(measure(e.GetValue(), e.GetDimension(), units), measure(e.GetValueHigh(), e.GetDimension(), units))
	case e.Value != nil:
		return measure(e.GetValue(), e.GetDimension(), units)
	case e.ValueHigh != nil:
		return "at most " + measure(e.GetValueHigh(), e.GetDimension(), units)
	case e.GetText() != "":
		return e.GetText()
	}
	return "not known"
}

// limit is the limit of evidence; empty where there is none.
func limit(e *skidrulev1.Evidence, units quantity.System) string {
	if e.Limit != nil {
		return measure(e.GetLimit(), e.GetDimension(), units)
	}
	return e.GetLimitText()
}
