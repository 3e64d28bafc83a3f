package drawing_test

import (
	"context"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/drawing"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Drawing the demo takes less than thirty times the check of the same design. Both are the best of some runs, which alternate,
// so that other work on the machine hits both alike.
func TestDrawingIsNotFarSlowerThanTheCheck(t *testing.T) {
	const name = "../../testdata/hatchery-side-stream/design.yaml"
	data, err := os.ReadFile(name)
	require.NoError(t, err)
	f, err := designfile.Read(name, data)
	require.NoError(t, err)
	e, err := engine.New()
	require.NoError(t, err)
	request := &skidrulev1.CheckDesignRequest{Design: f.Design}
	w, err := e.World(context.Background(), request)
	require.NoError(t, err)
	components := map[string]*skidrulev1.Component{}
	for i := range w.Plant.Components {
		components[w.Plant.Components[i].Tag] = w.Plant.Components[i].Data
	}
	check, draw := time.Hour, time.Hour
	for range 8 {
		begin := time.Now()
		_, err := e.Check(context.Background(), request)
		check = min(check, time.Since(begin))
		require.NoError(t, err)
		begin = time.Now()
		pages, err := drawing.Draw(context.Background(), f.Design, drawing.Options{Data: components})
		require.NoError(t, err)
		for i := range pages {
			require.NotEmpty(t, pages[i].SVG())
		}
		draw = min(draw, time.Since(begin))
	}
	t.Logf("check %v, drawing %v, %.1f times", check, draw, float64(draw)/float64(check))
	assert.Less(t, float64(draw), 30*float64(check))
}
