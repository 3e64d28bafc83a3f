package service_test

import (
	"context"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/plantgen"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// BenchmarkEdit compares one edit of a design with a full check of it, in turn and over the same server: the main demo and a plant
// of 300 components, whose operating cases are solved, and one that is too large for that. It reports medians and 99th percentiles
// of both and their ratios.
func BenchmarkEdit(b *testing.B) {
	b.Run("demo", func(b *testing.B) {
		benchmarkEdit(b, mainDemo(b), "components.CV-1.max_pressure", "components.CV-2.max_pressure")
	})
	b.Run("300", func(b *testing.B) {
		benchmarkEdit(b, largeDesign(b, 300), "components.CV-1-0.max_pressure", "components.CV-2-6.max_pressure")
	})
	b.Run("450", func(b *testing.B) {
		benchmarkEdit(b, largeDesign(b, 450), "components.CV-1-0.max_pressure", "components.CV-2-6.max_pressure")
	})
}

func benchmarkEdit(b *testing.B, d *skidrulev1.Design, paths ...string) {
	e, err := engine.New()
	require.NoError(b, err)
	client := skidrule.New(serve(b, e, options()))
	ctx := context.Background()
	editing, err := client.Edit(ctx, d, nil)
	require.NoError(b, err)
	defer editing.Close()
	values := []string{"0.5 bar(g)", "10 bar(g)", "16 bar(g)"}
	var edits, checks []time.Duration
	for i := 0; b.Loop(); i++ {
		begin := time.Now()
		_, err := editing.Apply(set(paths[i%len(paths)], values[i%len(values)]))
		require.NoError(b, err)
		edits = append(edits, time.Since(begin))
		begin = time.Now()
		_, err = client.Check(ctx, &skidrulev1.CheckDesignRequest{Design: d})
		require.NoError(b, err)
		checks = append(checks, time.Since(begin))
	}
	at := func(all []time.Duration, part float64) float64 {
		slices.Sort(all)
		return all[int(part*float64(len(all)-1))].Seconds() * 1e3
	}
	b.ReportMetric(at(edits, 0.5), "edit-p50-ms")
	b.ReportMetric(at(edits, 0.99), "edit-p99-ms")
	b.ReportMetric(at(checks, 0.5), "check-p50-ms")
	b.ReportMetric(at(edits, 0.5)/at(checks, 0.5), "p50-ratio")
	b.ReportMetric(at(edits, 0.99)/at(checks, 0.99), "p99-ratio")
}

// mainDemo is the main demo design.
func mainDemo(t testing.TB) *skidrulev1.Design {
	return readDesign(t, "../../testdata/hatchery-side-stream/design.yaml")
}

// largeDesign is a plant of n components and more: copies of the main demo design, with all data of its parts stated.
func largeDesign(t testing.TB, n int) *skidrulev1.Design {
	t.Helper()
	whole, err := plantgen.Whole(mainDemo(t), plant.Catalogues{catalogue.Parts()})
	require.NoError(t, err)
	return plantgen.Copies(whole, n, 1)
}
