package flowpath_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/skidrule/skidrule/internal/flowpath"
)

// Two numbers have one root where a chain of joints leads from one to the other, and the root is the least of the chain's.
func TestSets(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 20).Draw(t, "n")
		s, of := flowpath.NewSets(n), make([]int32, n)
		for i := range of {
			of[i] = int32(i)
		}
		for range rapid.IntRange(0, 30).Draw(t, "joints") {
			i, j := rapid.Int32Range(0, int32(n-1)).Draw(t, "i"), rapid.Int32Range(0, int32(n-1)).Draw(t, "j")
			s.Join(i, j)
			low, high := min(of[i], of[j]), max(of[i], of[j])
			for k := range of {
				if of[k] == high {
					of[k] = low
				}
			}
		}
		for k := range of {
			require.Equal(t, of[k], s.Root(int32(k)))
		}
		s.Part()
		require.Equal(t, int32(n-1), s.Root(int32(n-1)))
	})
}
