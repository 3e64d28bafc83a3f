package operate_test

import (
	"context"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/plantgen"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Of two skids side by side, one of which has changed, the other is not solved again.
func TestIslandsAreKept(t *testing.T) {
	pair := plantgen.Beside(read(t, demo), read(t, demo))
	kept := &operate.Kept{}
	solve := func(d *skidrulev1.Design) *operate.State {
		s, err := operate.NewSolver(resolve(t, d))
		require.NoError(t, err)
		kept.Turn()
		s.Keep(kept)
		st, err := s.Case(context.Background(), 0)
		require.NoError(t, err)
		return st
	}
	const islands = 3 // two skids, and what no line joins to anything
	solve(pair)
	states, taken := kept.Round()
	require.Equal(t, islands, states)
	require.Zero(t, taken)
	changed := proto.CloneOf(pair)
	for _, l := range changed.GetLines() {
		if l.GetTag() == "W-1-b" {
			l.LengthM = proto.Float64(l.GetLengthM() + 10)
		}
	}
	again := solve(changed)
	states, taken = kept.Round()
	require.Equal(t, islands, states)
	assert.Equal(t, islands-1, taken, "what has not changed is taken as it was")
	kept.Turn()
	kept.Turn()
	assert.Equal(t, fmt.Sprintf("%+v", again.Ports), fmt.Sprintf("%+v", solve(changed).Ports), "solved from nothing it is the same") // NaN is no NaN
}
