package fluid

import (
	"fmt"
	"math"
)

// Range is a quantity with its uncertainty: the best value and the two ends
// that it may take. Low <= Best <= High. The unit is the one of the field or
// function that returns it.
type Range struct {
	Low, Best, High float64
}

// Exact returns the range of a value that is taken as known: all three ends
// are x.
func Exact(x float64) Range {
	return Range{Low: x, Best: x, High: x}
}

// Spread returns best with a symmetric relative uncertainty: rel = 0.1 means
// best minus and plus ten per cent of its magnitude. A negative rel counts as
// its magnitude, so the ends stay in order.
func Spread(best, rel float64) Range {
	d := math.Abs(best * rel)
	return Range{Low: best - d, Best: best, High: best + d}
}

// Check returns an error that names the quantity if an end is not finite or
// the ends are out of order.
func (r Range) Check(name string) error {
	for _, v := range [3]struct {
		end string
		x   float64
	}{{"low", r.Low}, {"best", r.Best}, {"high", r.High}} {
		if math.IsNaN(v.x) || math.IsInf(v.x, 0) {
			return &ValueError{Quantity: name + " (" + v.end + ")", Value: v.x, Kind: ErrNotFinite}
		}
	}
	if r.Low > r.Best || r.Best > r.High {
		return fmt.Errorf("%s: low %g, best %g and high %g are not in order", name, r.Low, r.Best, r.High)
	}
	return nil
}

// IsExact tells whether the three values are the same.
func (r Range) IsExact() bool {
	return r.Low == r.Best && r.Best == r.High
}

// Contains tells whether x lies between the ends, ends included.
func (r Range) Contains(x float64) bool {
	return r.Low <= x && x <= r.High
}

// Add returns the sum; the uncertainties add up (no cancelling is assumed).
func (r Range) Add(o Range) Range {
	return Range{Low: r.Low + o.Low, Best: r.Best + o.Best, High: r.High + o.High}
}

// Sub returns r minus o; the uncertainties add up, as the two are taken as
// independent.
func (r Range) Sub(o Range) Range {
	return Range{Low: r.Low - o.High, Best: r.Best - o.Best, High: r.High - o.Low}
}

// Scale returns the range times a number; a negative number swaps the ends.
func (r Range) Scale(k float64) Range {
	return ordered(r.Low*k, r.Best*k, r.High*k)
}

// Mul returns the product: the ends are the extremes of the four products of
// the ends, whatever the signs.
func (r Range) Mul(o Range) Range {
	a, b, c, d := r.Low*o.Low, r.Low*o.High, r.High*o.Low, r.High*o.High
	return Range{
		Low:  min(a, b, c, d),
		Best: r.Best * o.Best,
		High: max(a, b, c, d),
	}
}

// Map applies a function that rises or falls steadily over the range (the
// ends are put back in order). It is not for a function with a turning point
// inside the range.
func (r Range) Map(f func(float64) float64) Range {
	return ordered(f(r.Low), f(r.Best), f(r.High))
}

// MapErr is Map for a function that can fail; the first error ends it.
func (r Range) MapErr(f func(float64) (float64, error)) (Range, error) {
	low, err := f(r.Low)
	if err != nil {
		return Range{}, err
	}
	best, err := f(r.Best)
	if err != nil {
		return Range{}, err
	}
	high, err := f(r.High)
	if err != nil {
		return Range{}, err
	}
	return ordered(low, best, high), nil
}

// Envelope returns the best value of r with ends widened to hold o as well.
func (r Range) Envelope(o Range) Range {
	return Range{
		Low:  min(r.Low, o.Low),
		Best: r.Best,
		High: max(r.High, o.High),
	}
}

// ordered puts the two outer values in order around the middle one. A middle
// value outside them widens the end it passes, so the order always holds.
func ordered(a, best, b float64) Range {
	return Range{Low: min(a, best, b), Best: best, High: max(a, best, b)}
}
