package main

import (
	"context"
	"errors"
	"io"

	"github.com/spf13/cobra"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/answer"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// upkeepFlags are the flags of service.
type upkeepFlags struct {
	look
	serverFlags
	siteFlags
	format, output string
	modules        []string
	steps          bool
}

func newService(s *surroundings) *cobra.Command {
	f := &upkeepFlags{}
	cmd := &cobra.Command{
		Use:   "service FILE|-",
		Short: "Plan services, spares and how modules are taken out",
		Long: `service lists what wears when, what is kept in store, and how each module is taken out: what is stopped, purged, shut, locked,
vented, drained, proved and undone, in that order; what else stands still meanwhile; which trips act; and what is wrong with it.
The valves to shut are the fewest that shut the module off from every main, supply and store of pressure or ozone, the nearest of
equally few; check valves stand in only where nothing else does.

--module TAG shows the steps for one module, --steps those of all.`,
		Example: `  skidrule service loop.yaml
  skidrule service loop.yaml --module OG-1
  skidrule service loop.yaml --format json --output service.json`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error { return planUpkeep(cmd.Context(), args[0], f, s) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.format, "format", "text", "format: text or json; numbers of json are in SI units")
	flags.StringVar(&f.output, "output", "", "`FILE` to write in place of standard output")
	flags.StringSliceVar(&f.modules, "module", nil, "`tags` of modules to take out; all where there are none")
	flags.BoolVar(&f.steps, "steps", false, "show the steps for every module")
	f.siteFlags.addParts(cmd)
	f.serverFlags.add(cmd, "that plans")
	f.look.add(cmd, "text")
	return cmd
}

func planUpkeep(ctx context.Context, arg string, f *upkeepFlags, s *surroundings) error {
	if err := errors.Join(oneOf("format", f.format, "text", "json"), f.look.known()); err != nil {
		return err
	}
	d, err := f.readOne(arg, s)
	if err != nil {
		return err
	}
	plan, err := askOne(ctx, &f.serverFlags, &skidrulev1.PlanUpkeepRequest{Design: d.file.Design, Catalogue: d.site.options.GetCatalogue(), ModuleTags: f.modules},
		byEngine(answer.PlanUpkeep, (*skidrulev1.PlanUpkeepResponse).GetPlan), (*skidrule.Client).PlanUpkeep)
	if err != nil {
		return d.refuse(err, f.server, s)
	}
	parts := report.UpkeepParts{Services: true, Spares: true, Removals: true, Steps: f.steps}
	if len(f.modules) > 0 {
		parts = report.UpkeepParts{Steps: true}
	}
	return target{path: f.output}.send(s.Out, func(w io.Writer) error {
		if f.format == "json" {
			return report.MessageJSON(w, plan)
		}
		return report.Upkeep(w, plan, parts, f.style(w, s.Env))
	})
}
