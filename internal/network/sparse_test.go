package network

import (
	"math/rand"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// The sparse solver against gonum's dense one on random diagonally dominant
// systems, with and without prepared target lists.
func TestMatrix(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	for range 200 {
		n := 1 + r.Intn(60)
		var pairs []int64
		for i := range n {
			for j := i + 1; j < n; j++ {
				if r.Intn(n) < 3 {
					pairs = append(pairs, int64(i)<<32|int64(j))
				}
			}
		}
		slices.Sort(pairs)
		var m matrix
		require.True(t, m.analyse(n, pairs))
		dense := mat.NewDense(n, n, nil)
		set := func(i, j int, v float64) {
			m.val[m.spot(int32(i), int32(j))] = v
			dense.Set(i, j, v)
		}
		b := make([]float64, n)
		for i := range n {
			set(i, i, float64(n)+r.Float64())
			b[i] = r.NormFloat64()
		}
		for _, p := range pairs {
			i, j := int(p>>32), int(p&0x7fffffff)
			set(i, j, r.NormFloat64())
			set(j, i, r.NormFloat64())
		}
		var want mat.VecDense
		require.NoError(t, want.SolveVec(dense, mat.NewVecDense(n, slices.Clone(b))))
		if r.Intn(2) == 0 {
			m.target = nil
		}
		m.factorise(1e-30)
		m.solve(b)
		for i := range b {
			require.InDelta(t, want.AtVec(i), b[i], 1e-10)
		}
	}
}

// A complete graph of a thousand unknowns is refused, not attempted.
func TestMatrixBound(t *testing.T) {
	var pairs []int64
	for i := range 1000 {
		for j := i + 1; j < 1000; j++ {
			pairs = append(pairs, int64(i)<<32|int64(j))
		}
	}
	var m matrix
	require.False(t, m.analyse(1000, pairs))
	require.True(t, m.analyse(2, []int64{1}))
}
