package engine_test

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/encoding/prototext"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/plantgen"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// TestLotsAnswerAsTheWhole draws pairs of designs side by side on one sheet: every design of testdata, and every example of a rule
// with one of another. Asked lot by lot, the answer is the same to the byte as asked at once: nothing that a rule looks at reaches from
// one to the other.
func TestLotsAnswerAsTheWhole(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	designs := map[string]*skidrulev1.Design{}
	clean, err := cleanTrials()
	require.NoError(t, err)
	bad, err := mistakeTrials()
	require.NoError(t, err)
	for name, d := range clean {
		designs["designs/"+name] = d.design
	}
	for name, d := range bad {
		designs["mistakes/"+name] = d.design
	}
	for _, c := range e.Book().Rules() {
		for name, x := range c.Rule.GetExamples() {
			// Some examples only say what they change of another.
			if _, _, err := e.CheckLots(context.Background(), x.GetDesign(), 0); err == nil {
				designs[fmt.Sprint(c.Rule.GetId(), " ", name)] = x.GetDesign()
			}
		}
	}
	names := slices.Sorted(maps.Keys(designs))
	divided, pairs := 0, 0
	for i, name := range names {
		if underRace && i%8 != 0 {
			continue
		}
		pairs++
		// A step that shares no factor with their number pairs each with one of another rule.
		other := names[(i+len(names)/2+1)%len(names)]
		both := plantgen.Beside(designs[name], designs[other])
		whole, _, err := e.CheckLots(context.Background(), both, 0)
		require.NoError(t, err, "%s beside %s", name, other)
		lots, n, err := e.CheckLots(context.Background(), both, 1)
		require.NoError(t, err, "%s beside %s", name, other)
		if n > 1 {
			divided++
		}
		if !proto.Equal(whole, lots) {
			assert.Fail(t, "the lots answer otherwise", "%s beside %s: %s", name, other, firstDifference(whole, lots))
		}
	}
	assert.Greater(t, divided, pairs/3)
}

// firstDifference shows where two reports part.
func firstDifference(a, b proto.Message) string {
	x, y := strings.Split(prototext.Format(a), "\n"), strings.Split(prototext.Format(b), "\n")
	for i := range min(len(x), len(y)) {
		if x[i] != y[i] {
			from, to := max(0, i-12), min(i+12, len(x), len(y))
			return strings.Join(x[from:to], "\n") + "\n--- against ---\n" + strings.Join(y[i:to], "\n")
		}
	}
	return "one is longer"
}

// TestLotsOfALargePlant asks a plant of many skids, some with defects, in lots of one, of several and of an odd number of them.
func TestLotsOfALargePlant(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	d := copiesOfDemo(t, 3000)
	whole, _, err := e.CheckLots(context.Background(), d, 0)
	require.NoError(t, err)
	require.NotEmpty(t, whole.GetFindings())
	for _, size := range []int{1, 150, 1000} {
		lots, n, err := e.CheckLots(context.Background(), d, size)
		require.NoError(t, err)
		assert.Greater(t, n, 2)
		if !proto.Equal(whole, lots) {
			assert.Fail(t, "the lots answer otherwise", "lots of %d: %s", size, firstDifference(whole, lots))
		}
	}
}
