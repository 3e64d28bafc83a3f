package quantity

import (
	"fmt"
	"math"
	"math/big"
)

// In gives a value in the SI unit of a dimension counted in a unit of it, as 100000 Pa(g) in bar(g) is 1. An unknown unit, or one
// that is no single factor such as a mixture, is an error, and so is a value that is not finite.
func In(si float64, d Dimension, unit string) (float64, error) {
	if math.IsNaN(si) || math.IsInf(si, 0) {
		return 0, fmt.Errorf("quantity: %v is no finite %s", si, d.Noun())
	}
	f, fault := fold(unit)
	if fault != nil {
		return 0, fault
	}
	c, fault := convert(f, 0, len(f.text), d, "1")
	if fault != nil {
		return 0, fault
	}
	if c.mixture != nil {
		return 0, fmt.Errorf("quantity: %s is no single factor of %s", unit, d.SI())
	}
	x, _ := scaled{unit, 0, c.scale, c.zero}.in(new(big.Rat).SetFloat64(si)).Float64()
	return x, nil
}
