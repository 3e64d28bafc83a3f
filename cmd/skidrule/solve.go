package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/answer"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// solveFlags are the flags of solve.
type solveFlags struct {
	look
	format, output string
	serverFlags
	siteFlags
	cases, plots []string
	noMargins    bool
}

func newSolve(s *surroundings) *cobra.Command {
	f := &solveFlags{}
	cmd := &cobra.Command{
		Use:   "solve FILE|-",
		Short: "Compute pressures and flows in every operating case",
		Long: `solve computes what happens in a design: pressure, temperature and gas at every port, flow and velocity in every line, in every
operating case, each with the ends between which it lies; balances; water that stands in gas lines; and how far the outcome of
each rule is from turning. What is missing makes unknown exactly what depends on it, and is named.

--plot NAME=FILE draws as SVG: NAME is the tag of a pump (its curve and the system's, in the first case), of an injector (gas drawn
against outlet pressure), or of a line (pressure along it in every case).`,
		Example: `  skidrule solve loop.yaml
  skidrule solve loop.yaml --case normal --case pump_stopped --format csv --output states.csv
  skidrule solve loop.yaml --plot P-1=pump.svg --plot INJ-1=injector.svg --plot W-1=line.svg`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error { return solve(cmd.Context(), args[0], f, s) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.format, "format", "text", "format: text, json or csv; numbers of json and csv are in SI units")
	flags.StringVar(&f.output, "output", "", "`FILE` to write in place of standard output")
	flags.StringSliceVar(&f.cases, "case", nil, "operating `cases` to solve; all where there are none")
	flags.StringArrayVar(&f.plots, "plot", nil, "`NAME=FILE` of a plot to draw as SVG; may be repeated")
	flags.BoolVar(&f.noMargins, "no-margins", false, "leave out how far outcomes of rules are from turning")
	f.siteFlags.addParts(cmd)
	f.serverFlags.add(cmd, "that solves")
	f.look.add(cmd, "text")
	return cmd
}

func solve(ctx context.Context, arg string, f *solveFlags, s *surroundings) error {
	plots, err := f.read()
	if err != nil {
		return err
	}
	d, err := f.readOne(arg, s)
	if err != nil {
		return err
	}
	solution, err := askOne(ctx, &f.serverFlags, &skidrulev1.SolveDesignRequest{Design: d.file.Design, Catalogue: d.site.options.GetCatalogue(), CaseIds: f.cases, SkipMargins: f.noMargins},
		byEngine(answer.SolveDesign, (*skidrulev1.SolveDesignResponse).GetSolution), (*skidrule.Client).Solve)
	if err != nil {
		return d.refuse(err, f.server, s)
	}
	for _, p := range plots {
		err := target{path: p.path}.send(s.Out, func(w io.Writer) error { return report.SolutionPlot(w, solution, p.name) })
		if err != nil {
			return err
		}
	}
	if len(plots) > 0 && f.output == "" && f.format == "text" {
		// Whoever asks for pictures does not want a thousand lines beside them.
		return nil
	}
	return target{path: f.output}.send(s.Out, func(w io.Writer) error {
		switch f.format {
		case "json":
			return report.MessageJSON(w, solution)
		case "csv":
			return report.SolutionCSV(w, solution)
		}
		return report.Solution(w, solution, f.style(w, s.Env))
	})
}

// namedPlot is a plot and the file for it.
type namedPlot struct{ name, path string }

// read checks the flags that are words.
func (f *solveFlags) read() ([]namedPlot, error) {
	var plots []namedPlot
	for _, p := range f.plots {
		name, path, ok := strings.Cut(p, "=")
		if !ok || name == "" || path == "" {
			return nil, fmt.Errorf("--plot %q is not NAME=FILE, as P-1=pump.svg", p)
		}
		plots = append(plots, namedPlot{name, path})
	}
	return plots, errors.Join(oneOf("format", f.format, "text", "json", "csv"), f.look.known())
}
