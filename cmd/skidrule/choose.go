package main

import (
	"context"
	"errors"
	"io"

	"github.com/spf13/cobra"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/answer"
	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/choose"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// chooseFlags are the flags of choose.
type chooseFlags struct {
	look
	serverFlags
	siteFlags
	format, output, write, measure string
	slots, accept                  []string
	results, checks                int32
	ownOnly                        bool
}

// chooseMeasures are the words for measures.
var chooseMeasures = map[string]skidrulev1.ChoiceMeasure{
	"power": skidrulev1.ChoiceMeasure_CHOICE_MEASURE_POWER, "count": skidrulev1.ChoiceMeasure_CHOICE_MEASURE_COUNT,
	"margin": skidrulev1.ChoiceMeasure_CHOICE_MEASURE_MARGIN, "size": skidrulev1.ChoiceMeasure_CHOICE_MEASURE_SIZE,
}

func newChoose(s *surroundings) *cobra.Command {
	f := &chooseFlags{}
	cmd := &cobra.Command{
		Use:   "choose FILE|-",
		Short: "Choose catalogue parts with which a design meets every rule",
		Long: `choose goes through the parts of your catalogues, and of the demo catalogue, for components that name no part yet, or for those
that --for names. It gives the combinations with which every rule is met at the adverse end, the best by --by first, and says for
each part why the next smaller one does not do. Where nothing does it says what rejects the parts, and what came nearest.

The search is exhaustive: each combination is either checked as a whole design, or excluded by a rule that parts of it break
whatever the others are, or ranks behind what is given. The answer counts them, and says so where it is not proved.

Measures: power is the sum of the stated electric powers; count the number of pieces, a generator counting its cells; margin the
distance of the rule that is nearest to turning, over its limit, whole numbers and temperatures left out; size the sum of the parts' places by size. Smaller parts go before larger ones of
equal measure. --write writes the design with the parts of the best choice, comments kept.

Exit codes: 0 every rule is met by the choices; 1 nothing was found, or findings stand whatever is chosen; 2 wrong usage or
unreadable input; 3 the design leaves data open that concern the parts, or the search was cut short.`,
		Example: `  skidrule choose loop.yaml --catalogue parts
  skidrule choose loop.yaml --for INJ-1,P-1 --by margin --results 5
  skidrule choose loop.yaml --catalogue parts --own-parts-only --accept lines.W-1.length --write chosen.yaml
  skidrule new --water-flow "90 m3/h" --dose "0.2 mg/L" ... | skidrule choose -`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error { return f.run(cmd.Context(), args[0], s) },
	}
	flags := cmd.Flags()
	flags.StringSliceVar(&f.slots, "for", nil, "`tags` of the components whose parts are chosen; all that name none where there are no tags")
	flags.StringVar(&f.measure, "by", "power", "`measure` that choices are ranked by: power, count, margin or size")
	flags.Int32Var(&f.results, "results", 0, "how many choices to give, up to 20; 0 gives 3")
	flags.StringSliceVar(&f.accept, "accept", nil, "`paths` of data that may stay unknown, as lines.W-1.length; one stands for all below it")
	f.siteFlags.add(cmd)
	flags.BoolVar(&f.ownOnly, "own-parts-only", false, "take no part of the demo catalogue")
	flags.Int32Var(&f.checks, "max-checks", 0, "most whole designs to check, up to 100000; 0 stands for 20000")
	flags.StringVar(&f.format, "format", "text", "format: text or json; numbers of json are in SI units")
	flags.StringVar(&f.output, "output", "", "`FILE` to write in place of standard output")
	flags.StringVar(&f.write, "write", "", "`FILE` for the design with the best choice; - is standard output, in place of the answer")
	f.serverFlags.add(cmd, "that chooses")
	f.look.add(cmd, "text")
	return cmd
}

func (f *chooseFlags) run(ctx context.Context, arg string, s *surroundings) error {
	err := errors.Join(oneOf("by", f.measure, "power", "count", "margin", "size"), oneOf("format", f.format, "text", "json"), f.look.known())
	if err != nil {
		return err
	}
	d, err := f.readOne(arg, s)
	if err != nil {
		return err
	}
	answer, err := askOne(ctx, &f.serverFlags, &skidrulev1.ChoosePartsRequest{
		Design: d.file.Design, Options: d.site.options, Slots: f.slots, Measure: chooseMeasures[f.measure], Results: f.results, Accept: f.accept,
		OwnPartsOnly: f.ownOnly, MaxChecks: f.checks,
	}, byEngine(answer.ChooseParts, (*skidrulev1.ChoosePartsResponse).GetChoices), (*skidrule.Client).Choose)
	if err != nil {
		return d.refuse(err, f.server, s)
	}
	if f.write != "-" {
		err = target{path: f.output}.send(s.Out, func(w io.Writer) error {
			if f.format == "json" {
				return report.MessageJSON(w, answer)
			}
			return report.Choices(w, answer, f.style(w, s.Env))
		})
	}
	if err == nil && f.write != "" && len(answer.GetChoices()) > 0 {
		err = f.fill(d.name, d.data, answer.GetChoices()[0], d.site.options.GetCatalogue(), s)
	}
	if err != nil {
		return err
	}
	return chooseExit(answer, f.write != "")
}

// fill writes the design with the parts of a choice.
func (f *chooseFlags) fill(name string, data []byte, choice *skidrulev1.PartChoice, own *skidrulev1.Catalogue, s *surroundings) error {
	text, err := choose.Fill(name, data, choice, own, catalogue.Demo())
	if err != nil {
		return problemsExit(s.Err, err)
	}
	return target{path: f.write}.send(s.Out, func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	})
}

// chooseExit gives the code of an answer, with a word where a design was to be written and was not.
func chooseExit(a *skidrulev1.PartChoices, write bool) error {
	e := &exitError{}
	if len(a.GetChoices()) == 0 && write {
		e.message = "nothing was chosen, so that no design was written"
	}
	switch {
	case len(a.GetUndecided()) > 0 || !a.GetSearch().GetProved():
		e.code = exitIncomplete
	case len(a.GetChoices()) == 0 || len(a.GetStanding()) > 0:
		e.code = exitFindings
	default:
		return nil
	}
	return e
}
