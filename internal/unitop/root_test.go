package unitop

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// A root is enclosed by neighbouring numbers, whatever the shape of the function, within the evaluations that halving would take.
func TestCrossingEnclosesTheRoot(t *testing.T) {
	shapes := map[string]func(x float64) float64{
		"straight":   func(x float64) float64 { return x },
		"steep":      func(x float64) float64 { return math.Copysign(math.Pow(math.Abs(x), 0.2), x) },
		"flat":       func(x float64) float64 { return x * x * x },
		"one-sided":  func(x float64) float64 { return math.Expm1(30 * x) },
		"step":       func(x float64) float64 { return math.Copysign(1, x) },
		"unbounded":  func(x float64) float64 { return math.Log1p(x) },
		"two slopes": func(x float64) float64 { return max(x, 1e6*x) },
	}
	for name, shape := range shapes {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				root := rapid.Float64Range(0.01, 0.99).Draw(t, "root")
				asked := 0
				f := func(x float64) float64 {
					asked++
					return shape(x - root)
				}
				x := crossing(0, 1, f(0), f(1), 0, f)
				assert.GreaterOrEqual(t, shape(x-root), 0.0)
				assert.Less(t, shape(math.Nextafter(x, 0)-root), 0.0)
				assert.LessOrEqual(t, asked, 180)
			})
		})
	}
}
