package fluid_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/fluid"
)

func TestWholePower(t *testing.T) {
	assert.Equal(t, 1.0, fluid.WholePower(0, 0))
	assert.True(t, math.IsInf(fluid.WholePower(0, -3), 1))
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(0.1, 10).Draw(t, "x")
		if rapid.Bool().Draw(t, "negative") {
			x = -x
		}
		n := rapid.IntRange(-45, 45).Draw(t, "n")
		assert.InEpsilon(t, math.Pow(x, float64(n)), fluid.WholePower(x, n), 1e-13)
	})
}
