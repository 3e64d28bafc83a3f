package commission

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Closed forms: with two degrees of freedom the tail is exp(-x/2), with four (1 + x/2) exp(-x/2), with one erfc(√(x/2)), with three
// that plus √(2x/π) exp(-x/2). Critical values of 5 %: 3.841, 5.991, 7.815, 9.488 for 1 to 4 degrees of freedom, NIST/SEMATECH
// e-Handbook of Statistical Methods, table 1.3.6.7.4.
func TestChiSquareTail(t *testing.T) {
	for _, x := range []float64{0.001, 0.1, 0.7, 1, 2, 3.5, 8, 20, 60, 300} {
		assert.InEpsilon(t, math.Erfc(math.Sqrt(x/2)), chiSquareTail(x, 1), 1e-9, "1: %g", x)
		assert.InEpsilon(t, math.Exp(-x/2), chiSquareTail(x, 2), 1e-9, "2: %g", x)
		assert.InEpsilon(t, math.Erfc(math.Sqrt(x/2))+math.Sqrt(2*x/math.Pi)*math.Exp(-x/2), chiSquareTail(x, 3), 1e-9, "3: %g", x)
		assert.InEpsilon(t, (1+x/2)*math.Exp(-x/2), chiSquareTail(x, 4), 1e-9, "4: %g", x)
	}
	for n, x := range map[int]float64{1: 3.841, 2: 5.991, 3: 7.815, 4: 9.488} {
		assert.InDelta(t, 0.05, chiSquareTail(x, n), 5e-5, "%d", n)
	}
	assert.Equal(t, 1., chiSquareTail(5, 0))
	assert.Equal(t, 1., chiSquareTail(0, 3))
}

// L Lᵀ gives the matrix back, and solving with it gives what went in.
func TestCholesky(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		a := newMatrix(n)
		for i := range a {
			for j := range a {
				a[i][j] = rapid.Float64Range(-1, 1).Draw(t, "a")
			}
		}
		m := newMatrix(n)
		for i := range m {
			for j := range m {
				m[i][j] = dot(a[i], a[j])
			}
			m[i][i] += 0.1
		}
		l, err := cholesky(m)
		require.NoError(t, err)
		for i := range m {
			for j := range m {
				require.InDelta(t, m[i][j], dot(l[i], l[j]), 1e-12)
			}
		}
		want := make([]float64, n)
		for i := range want {
			want[i] = rapid.Float64Range(-5, 5).Draw(t, "x")
		}
		b := make([]float64, n)
		for i := range b {
			b[i] = dot(m[i], want)
		}
		got := l.solved(b)
		white := l.whitened(b)
		require.InDelta(t, dot(b, got), dot(white, white), 1e-9*(1+dot(white, white)))
		for i := range want {
			require.InDelta(t, want[i], got[i], 1e-9)
		}
	})
	_, err := cholesky(matrix{{1, 2}, {2, 1}})
	assert.Error(t, err)
}

// Leaving a reading out is the same as letting it be wrong by whatever it likes: the least chi-square over its offset.
func TestLeavingOutIsFreeOffset(t *testing.T) {
	m := matrix{{2, 0.5, 0.3}, {0.5, 1, 0.2}, {0.3, 0.2, 1.5}}
	r := []float64{1, -2, 0.7}
	root, err := cholesky(m.without(1))
	require.NoError(t, err)
	white := root.whitened([]float64{r[0], r[2]})
	want := dot(white, white)
	full, err := cholesky(m)
	require.NoError(t, err)
	least := math.Inf(1)
	for o := -6.; o < 6; o += 1e-3 {
		w := full.whitened([]float64{r[0], r[1] - o, r[2]})
		least = math.Min(least, dot(w, w))
	}
	assert.InDelta(t, want, least, 1e-5)
}

func TestSizesInWords(t *testing.T) {
	assert.Equal(t, "54.4 to 40.9 % of its flow coefficient left", span("54.4 % of its flow coefficient left", "40.9 % of its flow coefficient left"))
	assert.Equal(t, "as by a hole of 0.97 to 1.4 mm", span("as by a hole of 0.97 mm", "as by a hole of 1.4 mm"))
	assert.Equal(t, "1 % of its flow coefficient left to shut", span("1 % of its flow coefficient left", "shut"))
	assert.Equal(t, "90 mbar to 1.2 bar low", span("90 mbar low", "1.2 bar low"))
}
