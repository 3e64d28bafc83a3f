package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/report"
	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// checkFlags are the flags of check.
type checkFlags struct {
	look
	format, failOn string
	date           string
	outputs, cases []string
	asked          rulebook.Selection
	siteFlags
	serverFlags
	baselineFlags
	suggestFlags
	allowUnverified, quiet, archive bool
	statedOnly                      bool
	category                        string
}

func newCheck(s *surroundings) *cobra.Command {
	f := &checkFlags{}
	cmd := &cobra.Command{
		Use:   "check FILE|FOLDER|PATTERN|- …",
		Short: "Check designs and report findings",
		Long: `check reads designs, asks every rule of each and prints what is wrong, what could not be verified, and which data would
decide it. A folder stands for the design files below it, ** in a pattern for any folders, - for standard input.`,
		Example: `  skidrule check loop.yaml
  skidrule check designs/ --fail-on warning --output json=report.json
  skidrule check - --stdin-name loop.yaml < loop.yaml
  skidrule check loop.yaml --only backflow --case pump_stopped`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return errors.New("name a design file, a folder or a pattern, or - for standard input")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return check(cmd.Context(), args, f, s) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.format, "format", "text", "format of the report: "+strings.Join(reportFormats, ", "))
	flags.StringArrayVar(&f.outputs, "output", nil, "`FILE` for the report in place of standard output, or FORMAT=FILE for one beside it; may be repeated")
	flags.StringVar(&f.failOn, "fail-on", "error", "mildest severity of a finding that fails the run: error, warning or note")
	flags.BoolVar(&f.allowUnverified, "allow-unverified", false, "pass although rules failed or those of severity error could not be verified; the report says so")
	f.addQuestion(flags)
	f.siteFlags.add(cmd)
	f.baselineFlags.add(cmd)
	f.suggestFlags.add(cmd)
	f.serverFlags.add(cmd, "to ask instead of checking in this process")
	f.look.add(cmd, "text")
	flags.StringVar(&f.date, "date", "", "`text` for the date of the HTML report; nothing is put there by itself")
	flags.BoolVar(&f.archive, "archive", false, "keep in SARIF what uploads leave out: waived findings and what could not be verified")
	flags.StringVar(&f.category, "category", "skidrule", "`name` of this run in SARIF, so that uploads of several runs stand side by side")
	flags.BoolVar(&f.quiet, "quiet", false, "no progress on standard error")
	return cmd
}

// addQuestion adds the flags that say what is asked of a design.
func (f *checkFlags) addQuestion(flags *pflag.FlagSet) {
	flags.StringSliceVar(&f.cases, "case", nil, "operating `cases` to ask about; all where there are none")
	flags.StringSliceVar(&f.asked.Only, "only", nil, "`rules` or topics to ask; all where there are none")
	flags.StringSliceVar(&f.asked.Skip, "skip", nil, "`rules` or topics not to ask")
	flags.BoolVar(&f.statedOnly, "stated-only", false, "rest rules on what the drawing states alone and solve no operating case; the report says so")
}

func check(ctx context.Context, args []string, f *checkFlags, s *surroundings) error {
	ctx = engine.KeepingRules(ctx)
	gate, out, err := f.read()
	if err = errors.Join(err, f.suggestFlags.check(out)); err != nil {
		return err
	}
	inputs, err := gather(args, s.In, f.stdinName)
	if err != nil {
		return err
	}
	known := &ledger{flags: &f.baselineFlags, read: map[string]*baseline{}, asks: func(id string) bool { return len(f.cases) == 0 && f.asked.Asks(id) }}
	rules, err := f.siteFlags.settle(inputs, f.options(), known)
	if err != nil {
		return problemsExit(s.Err, err)
	}
	a, closeAsker, err := newAsker(&f.serverFlags)
	if err != nil {
		return err
	}
	defer closeAsker()
	c := &checking{asker: a, server: f.server, page: writes(out, "html")}
	c.full = c.page || f.suggest != ""
	outcomes, err := c.all(ctx, inputs, newProgress(s.Err, len(inputs), f.quiet))
	if err != nil {
		return fmt.Errorf("stopped: %w", err)
	}
	if err := known.settle(s.Err, outcomes); err != nil {
		return problemsExit(s.Err, err)
	}
	var asked []*skidrulev1.Rule
	if c.page || writes(out, "sarif") {
		if asked, err = f.askedRules(ctx, a, rules); err != nil {
			return err
		}
	}
	m := &mending{flags: &f.suggestFlags, asker: a, server: f.server, outcomes: outcomes}
	if err := m.fix(ctx, out); err != nil {
		return err
	}
	verdict := f.report(ctx, outcomes, gate, out, asked, s)
	if f.onlyFixes(out) {
		return verdict
	}
	if err := m.propose(ctx, s); err != nil {
		return err
	}
	return verdict
}

// read checks the flags that are words.
func (f *checkFlags) read() (report.Gate, []target, error) {
	gate := report.Gate{AllowUnverified: f.allowUnverified}
	severity := map[string]skidrulev1.Severity{
		"error": skidrulev1.Severity_SEVERITY_ERROR, "warning": skidrulev1.Severity_SEVERITY_WARNING, "note": skidrulev1.Severity_SEVERITY_NOTE,
	}
	gate.Threshold = severity[f.failOn]
	out, err := targets(f.format, f.outputs)
	return gate, out, errors.Join(err, oneOf("fail-on", f.failOn, "error", "warning", "note"),
		f.look.known())
}

// options of the request, as far as flags state them.
func (f *checkFlags) options() *skidrulev1.CheckOptions {
	return &skidrulev1.CheckOptions{Only: f.asked.Only, Skip: f.asked.Skip, CaseIds: f.cases, StatedOnly: f.statedOnly}
}

// report writes the outcomes to their targets and gives the exit code as an error. The rules that were asked are there for the formats
// that tell of them.
func (f *checkFlags) report(ctx context.Context, outcomes []outcome, gate report.Gate, out []target, asked []*skidrulev1.Rule, s *surroundings) error {
	var answers []report.Answer
	var bad []report.Unusable
	for _, o := range outcomes {
		if o.unusable != nil {
			bad = append(bad, *o.unusable)
			continue
		}
		answers = append(answers, *o.answer)
	}
	for _, t := range out {
		err := t.send(s.Out, func(w io.Writer) error {
			style := f.style(w, s.Env)
			switch t.format {
			case "json":
				return report.JSON(w, answers, bad, gate)
			case "sarif":
				return report.SARIF(w, answers, bad, gate, f.sarif(outcomes, asked))
			case "html":
				return report.HTML(ctx, w, pages(outcomes, f.server), bad, gate, report.HTMLOptions{Date: f.date, Units: style.Units, Rules: asked})
			case "junit":
				return report.JUnit(w, answers, bad, gate)
			case "markdown":
				return report.Markdown(w, answers, bad, gate, style.Units)
			}
			return report.Text(w, answers, gate, style)
		})
		if err != nil {
			return err
		}
	}
	for i := range bad {
		printProblems(s.Err, bad[i].Problems, bad[i].More)
	}
	if len(bad) > 0 {
		return &exitError{code: exitUnusable}
	}
	return exitOf(gate.Worst(answers))
}

// exitOf is the exit code of a decision as an error.
func exitOf(d report.Decision) error {
	switch d {
	case report.Broken:
		return &exitError{code: exitFindings}
	case report.Incomplete:
		return &exitError{code: exitIncomplete}
	}
	return nil
}

// printProblems writes what is wrong with a file, one line each.
func printProblems(w io.Writer, list []designfile.Problem, more int) {
	for _, p := range list {
		fmt.Fprintln(w, report.ProblemLine(p))
	}
	if more > 0 {
		fmt.Fprintf(w, "and %d more\n", more)
	}
}

// problemsExit prints problems of files and ends with the code for unusable input; another error is returned as it is.
func problemsExit(w io.Writer, err error) error {
	var problems *designfile.Problems
	if errors.As(err, &problems) {
		printProblems(w, problems.List, problems.More)
		return &exitError{code: exitUnusable}
	}
	return err
}
