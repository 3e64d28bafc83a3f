package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/report"
	"github.com/skidrule/skidrule/internal/suggest"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// suggestFlags are the flags about proposals.
type suggestFlags struct {
	suggest string
}

// add adds the flags to a verb.
func (f *suggestFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.suggest, "suggest", "", "propose edits that mend errors and warnings, as a patch behind the text report; --suggest=`FILE` writes it there; with SARIF those that are safe stand in it as fixes")
	flags.Lookup("suggest").NoOptDefVal = "-"
}

// check refuses a patch inside a report that programs read.
func (f *suggestFlags) check(out []target) error {
	if f.suggest != "-" {
		return nil
	}
	for _, t := range out {
		if (t.path == "" || t.path == "-") && t.format != "text" && t.format != "sarif" {
			return fmt.Errorf("--suggest without a file writes a patch behind the report, which is no part of %s; write --suggest=FILE", t.format)
		}
	}
	return nil
}

// request asks for proposals about one input.
func (f *suggestFlags) request(a asker, in *input) (suggest.Request, error) {
	data, err := in.bytes()
	request := suggest.Request{Name: strings.TrimLeft(in.name, "/"), Data: data, Options: in.site.options, Check: a.Check}
	if in.site.brought.catalogue != nil {
		request.Catalogues = append(request.Catalogues, in.site.brought.catalogue)
	}
	request.Catalogues = append(request.Catalogues, catalogue.Demo())
	return request, err
}

// each calls do with a request about every input that could be checked, until one fails.
func (f *suggestFlags) each(a asker, server string, inputs []input, outcomes []outcome, do func(i int, request suggest.Request) error) error {
	for i := range inputs {
		if outcomes[i].answer == nil {
			continue
		}
		request, err := f.request(a, &inputs[i])
		if err != nil {
			return err
		}
		if err := do(i, request); err != nil {
			return errors.New(inputs[i].name + ": " + plainFailure(err, server))
		}
	}
	return nil
}

// fix puts the edits that are safe beside the answers, where they are asked for and a report that has a place for them is written.
func (f *suggestFlags) fix(ctx context.Context, a asker, server string, inputs []input, outcomes []outcome, out []target) error {
	if f.suggest == "" || !slices.ContainsFunc(out, func(t target) bool { return t.format == "sarif" }) {
		return nil
	}
	return f.each(a, server, inputs, outcomes, func(i int, request suggest.Request) error {
		list, err := suggest.Safe(ctx, request)
		if err != nil {
			return err
		}
		text := bytes.TrimPrefix(request.Data, []byte("\uFEFF"))
		for _, p := range list {
			if outcomes[i].answer.Fixes == nil {
				outcomes[i].answer.Fixes = map[string]report.Fix{}
			}
			outcomes[i].answer.Fixes[p.Finding.GetFingerprint()] = report.NewFix(p.Words, text, p.Edits)
		}
		return nil
	})
}

// onlyFixes tells that standard output is SARIF, which has the safe edits and no patch behind it.
func (f *suggestFlags) onlyFixes(out []target) bool {
	return f.suggest == "-" && slices.ContainsFunc(out, func(t target) bool { return (t.path == "" || t.path == "-") && t.format == "sarif" })
}

// propose looks for proposals about every input that could be checked and writes them as one patch.
func (f *suggestFlags) propose(ctx context.Context, a asker, server string, inputs []input, outcomes []outcome, s *surroundings) error {
	if f.suggest == "" {
		return nil
	}
	var patch bytes.Buffer
	err := f.each(a, server, inputs, outcomes, func(i int, request suggest.Request) error {
		result, err := suggest.Propose(ctx, request)
		if err == nil {
			writeProposals(&patch, inputs[i].name, result)
		}
		return err
	})
	if err != nil {
		return err
	}
	if f.suggest == "-" {
		_, err := fmt.Fprintf(s.Out, "\n%s", patch.Bytes())
		return err
	}
	return replace(f.suggest, patch.Bytes())
}

// writeProposals writes the proposals about one file. Lines that begin with # are for readers; programs that apply patches pass
// over them.
func writeProposals(w io.Writer, name string, r *suggest.Result) {
	say := func(format string, args ...any) {
		fmt.Fprintln(w, "# "+report.Plain(oneLine(fmt.Sprintf(format, args...))))
	}
	if r.Unedited {
		say("%s: edits are proposed for YAML with plain line feeds alone; `skidrule convert` writes it", name)
	}
	if r.CutShort {
		say("%s: the design has too many components or findings to try every edit", name)
	}
	if len(r.Proposals)+len(r.Open) == 0 {
		say("%s: nothing to mend", name)
	}
	for _, p := range r.Proposals {
		say("%s: %s of %s", name, p.Finding.GetRuleId(), p.Finding.GetSubject())
		say("proposal: %s", p.Words)
		switch {
		case p.Status == skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE:
			say("afterwards: the finding is a question")
		default:
			say("afterwards: the finding is gone")
		}
		if len(p.Missing) > 0 {
			say("not stated, and asked for afterwards: %s", strings.Join(p.Missing, ", "))
		}
		for _, f := range p.New {
			say("leads to: %s of %s: %s", f.GetRuleId(), f.GetSubject(), f.GetMessage())
		}
		fmt.Fprint(w, p.Patch)
	}
	for _, f := range r.Open {
		say("%s: %s of %s: no edit was found; %s", name, f.GetRuleId(), f.GetSubject(), f.GetMend())
	}
}
