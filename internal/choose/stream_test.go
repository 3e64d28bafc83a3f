package choose

import (
	"context"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// TestStreamsGoThroughEverything compares the order in which combinations come with that of going through all of them, where
// what goes together is drawn at random: nothing is left out, nothing comes twice, and no cost falls.
func TestStreamsGoThroughEverything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := &chooser{measure: rapid.SampledFrom([]skidrulev1.ChoiceMeasure{skidrulev1.ChoiceMeasure_CHOICE_MEASURE_COUNT, skidrulev1.ChoiceMeasure_CHOICE_MEASURE_MARGIN}).Draw(t, "measure")}
		s := &search{c: c, done: map[string]*checked{}}
		n := rapid.IntRange(1, 4).Draw(t, "slots")
		for i := range n {
			q := &slot{}
			var left []int
			for k := range rapid.IntRange(1, 4).Draw(t, "parts") {
				q.parts = append(q.parts, &part{pieces: int64(rapid.IntRange(0, 3).Draw(t, "pieces")), place: int64(rapid.IntRange(0, 3).Draw(t, "place")), margin: float64(rapid.IntRange(1, 4).Draw(t, "margin"))})
				left = append(left, k)
			}
			slices.SortStableFunc(left, func(a, b int) int { return q.parts[a].cost(c.measure).compare(q.parts[b].cost(c.measure)) })
			c.slots, s.left = append(c.slots, q), append(s.left, left)
			s.scopes = append(s.scopes, &scope{slots: []int{i}, seen: map[string]bool{}})
		}
		for range rapid.IntRange(0, 3).Draw(t, "scopes") {
			x := &scope{seen: map[string]bool{}, bad: 1}
			for i := range n {
				if rapid.Bool().Draw(t, "in scope") {
					x.slots = append(x.slots, i)
				}
			}
			if len(x.slots) > 0 {
				s.scopes = append(s.scopes, x)
			}
		}
		all := [][]int{{}}
		for i := range n {
			var longer [][]int
			for _, a := range all {
				for k := range c.slots[i].parts {
					longer = append(longer, append(slices.Clone(a), k))
				}
			}
			all = longer
		}
		for _, x := range s.scopes {
			for _, a := range all {
				if k := x.key(c, a); !x.seen[k] {
					x.seen[k] = rapid.IntRange(0, 4).Draw(t, "apart") == 0
				}
			}
		}
		want := map[string]cost{}
		for _, a := range all {
			if slices.ContainsFunc(s.scopes, func(x *scope) bool { return x.seen[x.key(c, a)] }) {
				continue
			}
			k := nothing(c.measure)
			for i, at := range a {
				k = k.join(c.slots[i].parts[at].cost(c.measure), c.measure)
			}
			want[key(a)] = k
		}
		got, last := map[string]bool{}, cost{}
		root := s.arrange()
		for k := 0; ; k++ {
			x, err := root.get(context.Background(), k)
			require.NoError(t, err)
			if x == nil {
				break
			}
			require.False(t, got[key(x.assignment)], "%v comes twice", x.assignment)
			got[key(x.assignment)] = true
			require.Equal(t, want[key(x.assignment)], x.cost)
			require.False(t, k > 0 && x.cost.compare(last) < 0, "costs fall from %v to %v", last, x.cost)
			last = x.cost
		}
		require.Len(t, got, len(want))
		// What was excluded and what came make up the whole.
		assert.Equal(t, int64(len(all)-len(want)), root.excluded().Int64())
	})
}

// nothing is the cost of no part.
func nothing(m skidrulev1.ChoiceMeasure) cost {
	if m == skidrulev1.ChoiceMeasure_CHOICE_MEASURE_MARGIN {
		return cost{first: math.Inf(-1)}
	}
	return cost{}
}
