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

// mending looks for proposals about the answers of one run.
type mending struct {
	flags    *suggestFlags
	asker    asker
	server   string
	outcomes []outcome
	menders  []*suggest.Mender // of the outcomes; nil before they are asked
}

// open prepares the proposals about one answer, once.
func (m *mending) open(ctx context.Context, i int) (*suggest.Mender, error) {
	if m.menders == nil {
		m.menders = make([]*suggest.Mender, len(m.outcomes))
	}
	if m.menders[i] != nil {
		return m.menders[i], nil
	}
	o := &m.outcomes[i]
	request := suggest.Request{Name: strings.TrimLeft(o.answer.File, "/"), File: o.file, Data: o.data, Options: o.site.options, Report: o.full, Check: m.asker.Check}
	if own := o.site.brought.catalogue; own != nil {
		request.Catalogues = append(request.Catalogues, own)
	}
	request.Catalogues = append(request.Catalogues, catalogue.Demo())
	var err error
	m.menders[i], err = suggest.Open(ctx, request)
	return m.menders[i], err
}

// each calls do with what mends every input that could be checked, until one fails.
func (m *mending) each(ctx context.Context, do func(a *report.Answer, mender *suggest.Mender) error) error {
	for i := range m.outcomes {
		a := m.outcomes[i].answer
		if a == nil {
			continue
		}
		mender, err := m.open(ctx, i)
		if err == nil {
			err = do(a, mender)
		}
		if err != nil {
			return errors.New(a.File + ": " + plainFailure(err, m.server))
		}
	}
	return nil
}

// fix puts the edits that are safe beside the answers, where they are asked for and a report that has a place for them is written.
func (m *mending) fix(ctx context.Context, out []target) error {
	if m.flags.suggest == "" || !writes(out, "sarif") {
		return nil
	}
	return m.each(ctx, func(a *report.Answer, mender *suggest.Mender) error {
		list, err := mender.Safe(ctx)
		a.Fixes = map[string]report.Fix{}
		for _, p := range list {
			a.Fixes[p.Finding.GetFingerprint()] = report.NewFix(p.Words, mender.Text(), p.Edits)
		}
		return err
	})
}

// propose looks for proposals about every input that could be checked and writes them as one patch.
func (m *mending) propose(ctx context.Context, s *surroundings) error {
	if m.flags.suggest == "" {
		return nil
	}
	var patch bytes.Buffer
	err := m.each(ctx, func(a *report.Answer, mender *suggest.Mender) error {
		result, err := mender.Propose(ctx)
		if err == nil {
			writeProposals(&patch, a.File, result)
		}
		return err
	})
	if err != nil {
		return err
	}
	if m.flags.suggest == "-" {
		_, err := fmt.Fprintf(s.Out, "\n%s", patch.Bytes())
		return err
	}
	return replace(m.flags.suggest, patch.Bytes())
}

// onlyFixes tells that standard output is SARIF, which has the safe edits and no patch behind it.
func (f *suggestFlags) onlyFixes(out []target) bool {
	return f.suggest == "-" && slices.ContainsFunc(out, func(t target) bool { return (t.path == "" || t.path == "-") && t.format == "sarif" })
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
