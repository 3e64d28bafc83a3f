package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/answer"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// newFlags are the flags of new.
type newFlags struct {
	look
	serverFlags
	format, output, parts string
	force                 bool
	catalogues, basis     []string
}

// demandFlag is a flag of new that states one datum of a demand.
type demandFlag struct{ name, path, usage string }

// demandFlags are those with names of their own; every other datum of the basis is stated with --basis.
var demandFlags = []demandFlag{
	{"name", "name", "`name` of the design"},
	{"water-flow", "basis.treated_flow", "water to be treated, a `flow` as \"40 m3/h\""},
	{"min-water-flow", "basis.min_treated_flow", "lowest `flow` of the water"},
	{"max-water-flow", "basis.max_treated_flow", "highest `flow` of the water"},
	{"water-temperature", "basis.water_temperature", "normal `temperature` of the water, as \"12 degC\""},
	{"min-water-temperature", "basis.min_water_temperature", "lowest `temperature` of the water"},
	{"max-water-temperature", "basis.max_water_temperature", "highest `temperature` of the water"},
	{"dose", "basis.transferred_dose", "ozone that has to dissolve, a `concentration` in the flow as \"2 mg/L\""},
	{"giardia-log", "basis.target_log_giardia", "wanted log10 inactivation of Giardia, a `number`"},
	{"virus-log", "basis.target_log_virus", "wanted log10 inactivation of viruses, a `number`"},
	{"cryptosporidium-log", "basis.target_log_cryptosporidium", "wanted log10 inactivation of Cryptosporidium, a `number`"},
	{"residual", "basis.target_residual", "ozone wanted at the end of contact, a `concentration`"},
	{"max-residual", "basis.max_residual", "ozone that people or process bear where the water leaves, a `concentration`"},
	{"ozone-demand", "basis.ozone_demand", "ozone that the water uses up at once, a `concentration`"},
	{"ozone-decay", "basis.ozone_decay", "decay of dissolved ozone, a `rate` as \"0.002 1/s\""},
	{"altitude", "basis.altitude", "`height` of the site above sea level"},
	{"atmospheric-pressure", "basis.atmospheric_pressure", "atmospheric `pressure` of the site, in place of the altitude"},
	{"supply-pressure", "supply_pressure", "`pressure` at which the water comes, as \"1.1 bar(g)\""},
	{"min-supply-pressure", "min_supply_pressure", "lowest `pressure` at which the water comes"},
	{"max-supply-pressure", "max_supply_pressure", "highest `pressure` that the supply can bring"},
	{"return-pressure", "return_pressure", "`pressure` against which the water leaves"},
	{"min-return-pressure", "min_return_pressure", "lowest `pressure` against which the water leaves"},
	{"max-return-pressure", "max_return_pressure", "highest `pressure` that the return can bring"},
	{"circuit", "circuit", "`way` of the water in place of the one that fits: side_stream, full_flow or atmospheric_tank"},
	{"feed", "feed", "`gas` in place of the one that fits: concentrator, stored_oxygen or air"},
}

func newNew(s *surroundings) *cobra.Command {
	f := &newFlags{}
	cmd := &cobra.Command{
		Use:   "new",
		Short: "Draft the first design file of a plant from what it has to do",
		Long: `new draws a whole skid for a demand: it chooses the shape and says why, sizes what can be sized, draws every part that the rules
ask for, and names as questions what only the makers of parts and the site can tell. It invents no data of parts: with --parts they
are picked from catalogues, without it each is asked for.

Needed are --water-flow, --water-temperature, --supply-pressure, --return-pressure, --altitude (or --atmospheric-pressure), and either
--dose or a log inactivation with --residual. What else is known narrows the questions.`,
		Example: `  skidrule new --water-flow "90 m3/h" --water-temperature "12 degC" --dose "0.2 mg/L" \
    --supply-pressure "1.1 bar(g)" --return-pressure "1 bar(g)" --altitude "340 m" --output loop.yaml
  skidrule new --water-flow "12 m3/h" --water-temperature "10 degC" --giardia-log 1 --residual "0.3 mg/L" \
    --supply-pressure "1 bar(g)" --return-pressure "1 bar(g)" --altitude "0 m" --parts demo --format text`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return f.run(cmd.Context(), cmd.Flags(), s) },
	}
	flags := cmd.Flags()
	flags.SortFlags = false
	for _, d := range demandFlags {
		flags.String(d.name, "", d.usage)
	}
	flags.Bool("no-pump", false, "let the water pressure do without a pump")
	flags.Bool("open-to-people", false, "say whether water that leaves stands open where people are")
	flags.StringArrayVar(&f.basis, "basis", nil, "`KEY=VALUE`: a further datum of the basis as a design file spells it, as --basis \"room_volume=120 m3\"; may be repeated")
	flags.StringVar(&f.parts, "parts", "", "`where` parts are picked from: demo (the invented demo catalogue, after your own) or own")
	flags.StringArrayVar(&f.catalogues, "catalogue", nil, "`folder` of catalogue files with parts of your own; may be repeated")
	flags.StringVar(&f.format, "format", "design", "format: design (the commented file), text (reasons, sizes and questions) or json")
	flags.StringVar(&f.output, "output", "", "`FILE` to write in place of standard output; an existing file is kept")
	flags.BoolVar(&f.force, "force", false, "let --output replace an existing file")
	f.serverFlags.add(cmd, "that drafts")
	f.look.add(cmd, "text")
	return cmd
}

func (f *newFlags) run(ctx context.Context, flags *pflag.FlagSet, s *surroundings) error {
	err := errors.Join(oneOf("format", f.format, "design", "text", "json"), f.look.known())
	if f.parts != "" {
		err = errors.Join(err, oneOf("parts", f.parts, "demo", "own"))
	}
	if err != nil {
		return err
	}
	if f.output != "" && !f.force {
		if _, err := os.Lstat(f.output); err == nil {
			return fmt.Errorf("%s is there already and stays as it is; --force replaces it", f.output)
		} else if !errors.Is(err, fs.ErrNotExist) {
			return plainError(err)
		}
	}
	b, err := bring(f.catalogues, nil)
	if err != nil {
		return problemsExit(s.Err, err)
	}
	request, err := f.request(flags)
	if err != nil {
		return err
	}
	request.Catalogue = b.catalogue
	d, err := askOne(ctx, &f.serverFlags, request, byEngine(answer.DraftDesign, (*skidrulev1.DraftDesignResponse).GetDraft), (*skidrule.Client).Draft)
	if err != nil {
		return f.refused(err)
	}
	return f.write(d, s)
}

// request reads the demand out of the flags, as a file with these data would be read, so that flags take what files take.
func (f *newFlags) request(flags *pflag.FlagSet) (*skidrulev1.DraftDesignRequest, error) {
	basis := map[string]any{}
	demand := map[string]any{}
	put := func(path string, value any) {
		if key, ok := strings.CutPrefix(path, "basis."); ok {
			basis[key] = value
			return
		}
		demand[path] = value
	}
	for _, d := range demandFlags {
		if flags.Changed(d.name) {
			put(d.path, flags.Lookup(d.name).Value.String())
		}
	}
	for _, name := range []string{"no-pump", "open-to-people"} {
		if flags.Changed(name) {
			put(strings.ReplaceAll(name, "-", "_"), flags.Lookup(name).Value.String() == "true")
		}
	}
	for _, pair := range f.basis {
		key, value, ok := strings.Cut(pair, "=")
		key = strings.TrimSpace(key)
		if !ok || key == "" {
			return nil, fmt.Errorf("--basis %q is not KEY=VALUE, as --basis \"room_volume=120 m3\"", pair)
		}
		if _, twice := basis[key]; twice {
			return nil, fmt.Errorf("--basis %s is stated twice", key)
		}
		switch value = strings.TrimSpace(value); value {
		case "true", "false":
			basis[key] = value == "true"
		default:
			basis[key] = value
		}
	}
	if len(basis) > 0 {
		demand["basis"] = basis
	}
	data, err := json.Marshal(demand)
	if err != nil {
		return nil, err
	}
	request := &skidrulev1.DraftDesignRequest{Demand: &skidrulev1.DraftDemand{}}
	_, err = designfile.Decode(data, "flags", request.Demand, designfile.Options{})
	var problems *designfile.Problems
	if errors.As(err, &problems) {
		var all []error
		for _, p := range problems.List {
			all = append(all, errors.New(flagOf(p.Path)+": "+join(p.Message, p.Suggestion)))
		}
		return nil, errors.Join(all...)
	}
	if err != nil {
		return nil, err
	}
	switch f.parts {
	case "demo":
		request.Parts = skidrulev1.DraftParts_DRAFT_PARTS_DEMO
	case "own":
		request.Parts = skidrulev1.DraftParts_DRAFT_PARTS_OWN
	}
	return request, nil
}

func join(message, suggestion string) string {
	if suggestion == "" {
		return message
	}
	return message + "; " + suggestion
}

// flagOf is the flag that states a datum of a demand.
func flagOf(path string) string {
	path = strings.TrimPrefix(path, "demand.")
	for _, d := range demandFlags {
		if d.path == path {
			return "--" + d.name
		}
	}
	switch key, ok := strings.CutPrefix(path, "basis."); {
	case ok:
		return "--basis " + key
	case path == "no_pump", path == "open_to_people":
		return "--" + strings.ReplaceAll(path, "_", "-")
	case path == "catalogue":
		return "--catalogue"
	}
	return path
}

// refused says why there is no draft, a line for each flag that is wrong.
func (f *newFlags) refused(err error) error {
	list, more, ok := violationsOf(err)
	if !ok {
		return errors.New(plainFailure(err, f.server))
	}
	lines := make([]string, len(list))
	for i, v := range list {
		lines[i] = flagOf(v.Path) + ": " + v.Message
	}
	if more > 0 {
		lines = append(lines, fmt.Sprintf("and %d more", more))
	}
	return &exitError{code: exitUnusable, message: strings.Join(lines, "\n")}
}

// write writes the draft. Where the file goes to --output, standard output says what it is and asks.
func (f *newFlags) write(d *skidrulev1.Draft, s *surroundings) error {
	text := func(w io.Writer) error { return report.Draft(w, d, f.style(w, s.Env)) }
	send := func(w io.Writer) error {
		switch f.format {
		case "json":
			return report.MessageJSON(w, d)
		case "text":
			return text(w)
		}
		_, err := io.WriteString(w, d.GetText())
		return err
	}
	if err := (target{path: f.output}).send(s.Out, send); err != nil {
		return err
	}
	if f.output != "" && f.format == "design" {
		return text(s.Out)
	}
	return nil
}
