package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
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
	flags.StringVar(&f.suggest, "suggest", "", "propose edits that mend errors and warnings, as a patch behind the text report; --suggest=`FILE` writes it there")
	flags.Lookup("suggest").NoOptDefVal = "-"
}

// check refuses a patch inside a report that programs read.
func (f *suggestFlags) check(out []target) error {
	if f.suggest != "-" {
		return nil
	}
	for _, t := range out {
		if (t.path == "" || t.path == "-") && t.format != "text" {
			return fmt.Errorf("--suggest without a file writes a patch behind the report, which is no part of %s; write --suggest=FILE", t.format)
		}
	}
	return nil
}

// propose looks for proposals about every input that could be checked and writes them as one patch.
func (f *suggestFlags) propose(ctx context.Context, a asker, server string, inputs []input, outcomes []outcome, s *surroundings) error {
	if f.suggest == "" {
		return nil
	}
	var patch bytes.Buffer
	for i := range inputs {
		if outcomes[i].answer == nil {
			continue
		}
		data, err := inputs[i].bytes()
		if err != nil {
			return err
		}
		site := inputs[i].site
		request := suggest.Request{Name: strings.TrimLeft(inputs[i].name, "/"), Data: data, Options: site.options, Check: a.Check}
		if site.brought.catalogue != nil {
			request.Catalogues = append(request.Catalogues, site.brought.catalogue)
		}
		request.Catalogues = append(request.Catalogues, catalogue.Demo())
		result, err := suggest.Propose(ctx, request)
		if err != nil {
			return errors.New(inputs[i].name + ": " + plainFailure(err, server))
		}
		writeProposals(&patch, inputs[i].name, result)
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
