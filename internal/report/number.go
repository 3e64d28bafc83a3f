package report

import (
	"strconv"
	"strings"

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

// orElse is a value in the units of a system, or a word where there is none.
func orElse(word string, x *float64, dimension string, units quantity.System) string {
	if x == nil {
		return word
	}
	return measure(*x, dimension, units)
}

// between writes a range; one whose ends differ by less than is shown reads as a single value.
func between(low, high string) string {
	if low == high {
		return low
	}
	return low + " to " + high
}

// span is a range with its unit once; one value where both ends read the same.
func span(from, to float64, dimension string, units quantity.System) string {
	low, high := measure(from, dimension, units), measure(to, dimension, units)
	if a, ua, ok := strings.Cut(low, " "); ok && low != high {
		if _, ub, ok := strings.Cut(high, " "); ok && ua == ub {
			low = a
		}
	}
	return between(low, high)
}

// number is a piece of evidence in words, harmless on a terminal.
type number struct {
	Label    string `json:"label"`
	Measured string `json:"measured"`
	// Limit is empty where there is none.
	Limit string `json:"limit,omitempty"`
}

// text is the measured side with its limit.
func (n number) text() string {
	if n.Limit == "" {
		return n.Measured
	}
	return n.Measured + ", limit " + n.Limit
}

func numbers(list []*skidrulev1.Evidence, units quantity.System) []number {
	return each(list, func(e *skidrulev1.Evidence) number {
		return number{clean(e.GetLabel()), clean(measured(e, units)), clean(limit(e, units))}
	})
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
