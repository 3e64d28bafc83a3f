// Command run prints how a server fares beside a sink for a design file:
//
//	go run ./internal/loadtest/run testdata/hatchery-side-stream/design.yaml
//
// It calls this machine alone, with at most 64 callers, and ends by itself after about half a minute.
package main

import (
	"context"
	"fmt"
	"os"
	"time"

	"google.golang.org/grpc"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/loadtest"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "name one design file")
		os.Exit(2)
	}
	if err := run(context.Background(), os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(ctx context.Context, path string) error {
	data, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	file, err := designfile.Read(path, data)
	if err != nil {
		return err
	}
	e, err := engine.New()
	if err != nil {
		return err
	}
	servers, err := loadtest.Start(e)
	if err != nil {
		return err
	}
	defer servers.Close()
	report, err := e.Check(ctx, &skidrulev1.CheckDesignRequest{Design: file.Design, Options: &skidrulev1.CheckOptions{StatedOnly: true}})
	if err != nil {
		return err
	}
	asked := 0
	for _, c := range report.GetCases() {
		if c.GetExcludedBecause() == "" {
			asked++
		}
	}
	fmt.Printf("%s: %d components, %d lines, %d cases of which %d can occur, %d rules, findings view\n", path, len(file.Design.GetComponents()), len(file.Design.GetLines()),
		len(report.GetCases()), asked, report.GetCoverage().GetRules())
	for _, call := range calls(file.Design) {
		fmt.Printf("\n%s\n%8s %12s %12s %8s %10s %10s %10s %10s\n", call.Name, "callers", "calls/s", "sink", "ratio", "p50", "p99", "allocs", "of sink")
		var eight loadtest.Pair
		for _, callers := range []int{1, 8, 64} {
			p, err := servers.Compare(ctx, call, callers, 3*time.Second)
			if err != nil {
				return err
			}
			fmt.Printf("%8d %12.0f %12.0f %8.3f %10v %10v %10.0f %10.0f\n", callers, p.Server.PerS, p.Sink.PerS, p.Ratio(), p.Server.P50.Round(time.Microsecond), p.Server.P99.Round(time.Microsecond),
				p.Server.Allocations, p.Sink.Allocations)
			if callers == 8 {
				eight = p
			}
		}
		half, lost, err := servers.AtRate(ctx, call, eight.Server.PerS/2, 3*time.Second)
		if err != nil {
			return err
		}
		fmt.Printf("at half load (%.0f calls/s): p50 %v, p99 %v, p99/p50 %.1f, %d lost\n", eight.Server.PerS/2, half.P50.Round(time.Microsecond), half.P99.Round(time.Microsecond), float64(half.P99)/float64(half.P50), lost)
	}
	return nil
}

// calls are the calls that are measured: a check by rules on stated data alone, one that solves cases for the rules that ask for
// it, and solving by itself.
func calls(d *skidrulev1.Design) []loadtest.Call {
	view := skidrulev1.ReportView_REPORT_VIEW_FINDINGS
	stated := &skidrulev1.CheckDesignRequest{Design: d, Options: &skidrulev1.CheckOptions{View: view, StatedOnly: true}}
	solved := &skidrulev1.CheckDesignRequest{Design: d, Options: &skidrulev1.CheckOptions{View: view}}
	solve := &skidrulev1.SolveDesignRequest{Design: d, SkipMargins: true}
	check := func(r *skidrulev1.CheckDesignRequest) func(context.Context, *grpc.ClientConn) error {
		return func(ctx context.Context, c *grpc.ClientConn) error {
			_, err := skidrulev1.NewCheckServiceClient(c).CheckDesign(ctx, r)
			return err
		}
	}
	return []loadtest.Call{
		{Name: "CheckDesign, rules on stated data alone", Do: check(stated)},
		{Name: "CheckDesign, rules with solved states", Do: check(solved)},
		{Name: "SolveDesign, solved states of all cases", Do: func(ctx context.Context, c *grpc.ClientConn) error {
			_, err := skidrulev1.NewSolveServiceClient(c).SolveDesign(ctx, solve)
			return err
		}},
	}
}
