package engine_test

import (
	"context"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/operate"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// BenchmarkSolve times all cases of the main demo design beside the evaluation of the rules on stated data alone, in one run.
// Metric solve/rules is the ratio; it must stay below 40.
func BenchmarkSolve(b *testing.B) {
	e, err := engine.New()
	require.NoError(b, err)
	data, err := os.ReadFile("../../testdata/hatchery-side-stream/design.yaml")
	require.NoError(b, err)
	f, err := designfile.Read("design.yaml", data)
	require.NoError(b, err)
	request := &skidrulev1.CheckDesignRequest{Design: f.Design, Options: &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FINDINGS,
		StatedOnly: true}}
	w, err := e.World(context.Background(), request)
	require.NoError(b, err)
	var solving, rules time.Duration
	for b.Loop() {
		start := time.Now()
		solver, err := operate.NewSolver(w.Plant, w.Cases)
		require.NoError(b, err)
		for at := range w.Cases {
			if w.Cases[at].Excluded == "" {
				_, err = solver.Case(context.Background(), at)
				require.NoError(b, err)
			}
		}
		solving += time.Since(start)
		start = time.Now()
		_, err = e.Check(context.Background(), request)
		require.NoError(b, err)
		rules += time.Since(start)
	}
	b.ReportMetric(float64(solving)/float64(rules), "solve/rules")
	require.Less(b, float64(solving)/float64(rules), 40.0)
}
