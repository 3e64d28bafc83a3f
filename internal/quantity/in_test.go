package quantity_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/quantity"
)

// Units are those of the SI Brochure, 9th edition, and of NIST SP 811, appendix B.8.
func TestInUnit(t *testing.T) {
	for _, c := range []struct {
		si   float64
		d    quantity.Dimension
		unit string
		want float64
	}{
		{150000, quantity.PressureGauge, "bar(g)", 1.5},
		{-70000, quantity.PressureGauge, "bar(g)", -0.7},
		{6894.757293168361, quantity.PressureGauge, "psi(g)", 1},
		{273.15, quantity.Temperature, "degC", 0},
		{273.15, quantity.Temperature, "degF", 32},
		{0.0037, quantity.Length, "mm", 3.7},
		{31557600, quantity.Duration, "months", 12},
		{0.5, quantity.Ratio, "", 0.5},
	} {
		got, err := quantity.In(c.si, c.d, c.unit)
		require.NoError(t, err, c.unit)
		assert.InDelta(t, c.want, got, 1e-12, c.unit)
	}
	for _, unit := range []string{"furlong", "g/Nm3 in O2", "degC"} {
		_, err := quantity.In(1, quantity.MassFraction, unit)
		assert.Error(t, err, unit)
	}
	_, err := quantity.In(math.NaN(), quantity.Length, "m")
	assert.Error(t, err)
}

// A number that Parse reads comes out again.
func TestInIsTheInverseOfParse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		dimensions := quantity.Dimensions()
		d := dimensions[rapid.IntRange(0, len(dimensions)-1).Draw(t, "dimension")]
		unit := d.Preferred(quantity.Metric)
		number := rapid.Float64Range(1e-3, 1).Draw(t, "number")
		si, err := quantity.Parse(fmt.Sprint(number, " ", unit), d)
		require.NoError(t, err)
		x, err := quantity.In(si, d, unit)
		require.NoError(t, err)
		assert.InEpsilon(t, number, x, 1e-9)
	})
}
