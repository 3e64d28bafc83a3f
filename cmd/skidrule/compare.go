package main

import (
	"context"
	"errors"
	"io"
	"strings"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func newCompare(s *surroundings) *cobra.Command {
	f := &checkFlags{}
	cmd := &cobra.Command{
		Use:   "compare OLD NEW",
		Short: "Tell which findings are new, gone and unchanged between two revisions",
		Long: `compare checks two revisions of a design in the same way and tells which findings are new, which are gone and why, and
which are unchanged. A finding that is gone because its data is gone is not called mended. Only what is new fails the run.
The project file is that of the later revision.`,
		Example: `  skidrule compare loop-b.yaml loop-c.yaml
  git show HEAD:loop.yaml | skidrule compare - loop.yaml --stdin-name loop.yaml`,
		Args: cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error { return f.compare(cmd.Context(), args, s) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.format, "format", "text", "format: text or json")
	flags.StringVar(&f.failOn, "fail-on", "error", "mildest severity of a new finding that fails the run: error, warning or note")
	flags.BoolVar(&f.allowUnverified, "allow-unverified", false, "pass although rules failed or those of severity error can no longer be verified")
	f.addQuestion(flags)
	f.siteFlags.add(cmd)
	f.serverFlags.add(cmd, "to ask instead of checking in this process")
	f.look.add(cmd, "text")
	return cmd
}

// compare answers one command line.
func (f *checkFlags) compare(ctx context.Context, args []string, s *surroundings) error {
	gate, _, err := f.read()
	if err = errors.Join(err, oneOf("format", f.format, formats...)); err != nil {
		return err
	}
	inputs := make([]input, 2)
	files := make([]*designfile.File, 2)
	for i, arg := range args {
		list, err := gather([]string{arg}, s.In, f.stdinName)
		if err != nil {
			return err
		}
		if len(list) != 1 {
			return errors.New(arg + " stands for several designs; name one")
		}
		inputs[i] = list[0]
		data, err := list[0].bytes()
		if err != nil {
			return err
		}
		if files[i], err = designfile.Read(list[0].name, data); err != nil {
			return problemsExit(s.Err, err)
		}
	}
	if _, err := f.siteFlags.settle(inputs[1:], f.options(), &ledger{flags: &baselineFlags{}, read: map[string]*baseline{}}); err != nil {
		return problemsExit(s.Err, err)
	}
	a, closeAsker, err := newAsker(&f.serverFlags)
	if err != nil {
		return err
	}
	defer closeAsker()
	site := inputs[1].site
	answer, err := a.Compare(ctx, &skidrulev1.CompareDesignsRequest{OldDesign: files[0].Design, NewDesign: files[1].Design, Options: proto.CloneOf(site.options)})
	if err != nil {
		return f.refusedComparison(err, inputs, files, s)
	}
	c := &report.Compared{
		Old: report.Answer{File: inputs[0].name, Positions: files[0].Positions}, New: report.Answer{File: inputs[1].name, Positions: files[1].Positions},
		Comparison: answer,
	}
	err = target{format: f.format}.send(s.Out, func(w io.Writer) error {
		if f.format == "json" {
			return report.CompareJSON(w, c, gate)
		}
		return report.CompareText(w, c, gate, f.style(w, s.Env))
	})
	if err != nil {
		return err
	}
	return exitOf(gate.JudgeComparison(answer).Decision)
}

// refusedComparison places what is wrong in the files that the comparison was asked of.
func (f *checkFlags) refusedComparison(err error, inputs []input, files []*designfile.File, s *surroundings) error {
	list, more, ok := violationsOf(err)
	if !ok {
		return errors.New(plainFailure(err, f.server))
	}
	var problems []designfile.Problem
	for _, v := range list {
		i := 1
		path, inDesign := strings.CutPrefix(v.Path, "new_design.")
		if !inDesign {
			if path, inDesign = strings.CutPrefix(v.Path, "old_design."); inDesign {
				i = 0
			}
		}
		p := designfile.Problem{File: inputs[i].name, Path: path, Message: v.Message}
		if at, ok := files[i].Positions.Find(path); ok && inDesign {
			p.PlaceAt(at)
		} else {
			p.Message = path + ": " + p.Message
			if at := inputs[1].site.place(v.Path); at != "" {
				p.Message += " (" + at + ")"
			}
		}
		problems = append(problems, p)
	}
	printProblems(s.Err, problems, more)
	return &exitError{code: exitUnusable}
}
