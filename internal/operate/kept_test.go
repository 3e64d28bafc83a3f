package operate

import (
	"context"
	"fmt"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/plantgen"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Of two skids side by side, one of which has changed, the other is not solved again.
func TestIslandsAreKept(t *testing.T) {
	data, err := os.ReadFile("../../testdata/hatchery-side-stream/design.yaml")
	require.NoError(t, err)
	f, err := designfile.Read("design.yaml", data)
	require.NoError(t, err)
	pair := plantgen.Beside(f.Design, f.Design)
	kept := &Kept{}
	solve := func(d *skidrulev1.Design) *State {
		p, problems := plant.Resolve(d, plant.Catalogues{catalogue.Parts()})
		require.Empty(t, problems)
		cases, wrong := Cases(p)
		require.Empty(t, wrong)
		s, err := NewSolver(p, cases)
		require.NoError(t, err)
		kept.Turn()
		s.Keep(kept)
		st, err := s.Case(context.Background(), 0)
		require.NoError(t, err)
		return st
	}
	solve(pair)
	require.Len(t, kept.now, 3) // two skids, and what no line joins to anything
	changed := proto.CloneOf(pair)
	for _, l := range changed.GetLines() {
		if l.GetTag() == "W-1-b" {
			l.LengthM = proto.Float64(l.GetLengthM() + 10)
		}
	}
	again := solve(changed)
	require.Len(t, kept.now, 3) // two skids, and what no line joins to anything
	both := 0
	for key := range kept.now {
		if kept.before[key] == kept.now[key] {
			both++
		}
	}
	assert.Equal(t, 2, both, "what has not changed is taken as it was")
	kept.Turn()
	kept.Turn()
	assert.Equal(t, fmt.Sprintf("%+v", again.Ports), fmt.Sprintf("%+v", solve(changed).Ports), "solved from nothing it is the same") // NaN is no NaN
}
