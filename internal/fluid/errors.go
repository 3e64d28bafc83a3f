package fluid

import (
	"errors"
	"fmt"
	"math"
)

var (
	// ErrOutOfRange is wrapped by every error about a value outside the
	// range for which the formula is valid.
	ErrOutOfRange = errors.New("outside the valid range")

	// ErrNotFinite is wrapped by every error about a value that is not a
	// number or is infinite.
	ErrNotFinite = errors.New("not a finite number")
)

// ValueError says which quantity had which value and what would have been
// right. It wraps [ErrOutOfRange] or [ErrNotFinite].
type ValueError struct {
	Quantity string  // what the value is, for example "water temperature"
	Value    float64 // the value given, in Unit
	Low      float64 // lowest value allowed, in Unit
	High     float64 // highest value allowed, in Unit; +Inf when unbounded
	Unit     string  // SI unit symbol; empty for a pure number
	Kind     error   // ErrOutOfRange or ErrNotFinite
}

// Error describes the value and the range in one line.
func (e *ValueError) Error() string {
	unit := ""
	if e.Unit != "" {
		unit = " " + e.Unit
	}
	if errors.Is(e.Kind, ErrNotFinite) {
		return fmt.Sprintf("%s is %g: %v", e.Quantity, e.Value, ErrNotFinite)
	}
	if math.IsInf(e.High, 1) {
		return fmt.Sprintf("%s %g%s is %v: at least %g%s", e.Quantity, e.Value, unit, ErrOutOfRange, e.Low, unit)
	}
	return fmt.Sprintf("%s %g%s is %v: %g to %g%s", e.Quantity, e.Value, unit, ErrOutOfRange, e.Low, e.High, unit)
}

// Unwrap gives the kind, so that errors.Is finds it.
func (e *ValueError) Unwrap() error { return e.Kind }

// Within returns an error unless x is finite and low <= x <= high. Pass
// math.Inf(1) as high for no upper bound. Quantity and unit go into the text.
func Within(quantity string, x, low, high float64, unit string) error {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return &ValueError{Quantity: quantity, Value: x, Low: low, High: high, Unit: unit, Kind: ErrNotFinite}
	}
	if x < low || x > high {
		return &ValueError{Quantity: quantity, Value: x, Low: low, High: high, Unit: unit, Kind: ErrOutOfRange}
	}
	return nil
}

// Positive returns an error unless x is finite and greater than zero.
func Positive(quantity string, x float64, unit string) error {
	if err := Within(quantity, x, 0, math.Inf(1), unit); err != nil {
		return err
	}
	if x == 0 {
		return fmt.Errorf("%s is zero: %w: more than 0 %s", quantity, ErrOutOfRange, unit)
	}
	return nil
}
