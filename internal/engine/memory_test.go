package engine_test

import (
	"context"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// memoryOf100k is how much may be allocated for a plant of 100,000 components, from its bytes to its report: were nothing collected
// meanwhile, it would still not be more.
const memoryOf100k = 1 << 30

// What a check by stated data allocates grows with the plant and no faster: a large plant stays below its share of the bound.
func TestMemoryOfLargePlants(t *testing.T) {
	e, err := engine.New()
	require.NoError(t, err)
	sizes := []int{2400, 24_000}
	if underRace {
		sizes = sizes[:1]
	}
	for _, n := range sizes {
		data, err := proto.Marshal(copiesOfDemo(t, n))
		require.NoError(t, err)
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		d := &skidrulev1.Design{}
		require.NoError(t, proto.Unmarshal(data, d))
		_, err = e.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: d, Options: &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FINDINGS, StatedOnly: true}})
		require.NoError(t, err)
		runtime.ReadMemStats(&after)
		each := (after.TotalAlloc - before.TotalAlloc) / uint64(len(d.GetComponents()))
		t.Logf("%d components: %d bytes each", len(d.GetComponents()), each)
		assert.Less(t, each, uint64(memoryOf100k/100_000))
	}
}
