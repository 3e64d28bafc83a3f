package calc

import (
	"math"
	"strconv"
	"strings"

	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/quantity"
)

// formatSI prints an SI value in the metric unit that suits its size. Pure
// numbers keep six digits.
func formatSI(x float64, d quantity.Dimension) string {
	return formatIn(x, d, quantity.Metric)
}

func formatIn(x float64, d quantity.Dimension, system quantity.System) string {
	if d == quantity.Ratio {
		return strconv.FormatFloat(x, 'g', 6, 64)
	}
	if d == quantity.Temperature && math.Abs(x-iceKelvin) < 1e-9 && system == quantity.Metric {
		// The number nearest to 273.15 is not 273.15, and the rest of it would be printed.
		return "0 " + d.Preferred(system)
	}
	return quantity.Format(x, d, system)
}

// iceKelvin is 0 degC.
const iceKelvin = 273.15

// formatSpan prints a valid range.
func formatSpan(low, high float64, d quantity.Dimension) string {
	return formatSI(low, d) + " to " + formatSI(high, d)
}

// formatRange prints low, best and high, or one value when they are the same.
func formatRange(r fluid.Range, d quantity.Dimension, system quantity.System) string {
	best := formatIn(r.Best, d, system)
	if r.IsExact() {
		return best
	}
	return best + " (low " + formatIn(r.Low, d, system) + ", high " + formatIn(r.High, d, system) + ")"
}

// scale is a unit in which columns and axes are counted: value = (SI - zero)/one.
type scale struct {
	unit      string
	zero, one float64
}

// scaleOf returns the preferred unit of a dimension with its conversion, which
// is linear for every dimension.
func scaleOf(d quantity.Dimension, system quantity.System) scale {
	unit := d.Preferred(system)
	zero, errZero := quantity.Parse(strings.TrimSpace("0 "+unit), d)
	one, errOne := quantity.Parse(strings.TrimSpace("1 "+unit), d)
	if errZero != nil || errOne != nil || one == zero {
		return scale{unit: d.SI(), one: 1}
	}
	return scale{unit: unit, zero: zero, one: one - zero}
}

func (s scale) of(si float64) float64 { return (si - s.zero) / s.one }

// label joins a name and a unit for a column or an axis.
func (s scale) label(name string) string {
	if s.unit == "" {
		return name
	}
	return name + " [" + s.unit + "]"
}
