package service_test

import (
	"context"
	"fmt"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/plantgen"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// BenchmarkEdit compares one edit of a design of 300 components with a full check of it, in turn and over the same server. It
// reports medians and 99th percentiles of both and their ratios.
func BenchmarkEdit(b *testing.B) {
	e, err := engine.New()
	require.NoError(b, err)
	d := largeDesign(b, 300)
	client := skidrule.New(serve(b, e, options()))
	ctx := context.Background()
	editing, err := client.Edit(ctx, d, nil)
	require.NoError(b, err)
	defer editing.Close()
	values := []string{"0.5 bar(g)", "10 bar(g)", "16 bar(g)"}
	var edits, checks []time.Duration
	for i := 0; b.Loop(); i++ {
		begin := time.Now()
		_, err := editing.Apply(set(fmt.Sprintf("components.CV-%d-%d.max_pressure", 1+i%2, i%7), values[i%len(values)]))
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

// largeDesign is a plant of n components and more: copies of the main demo design, with all data of its parts stated.
func largeDesign(t testing.TB, n int) *skidrulev1.Design {
	t.Helper()
	data, err := os.ReadFile("../../testdata/hatchery-side-stream/design.yaml")
	require.NoError(t, err)
	f, err := designfile.Read("design.yaml", data)
	require.NoError(t, err)
	demo, problems := plant.Index(catalogue.Demo())
	require.Empty(t, problems)
	whole, err := plantgen.Whole(f.Design, plant.Catalogues{demo})
	require.NoError(t, err)
	return plantgen.Copies(whole, n, 1)
}
