package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/misspelt"
	"github.com/skidrule/skidrule/internal/report"
	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func newExplain(s *surroundings) *cobra.Command {
	f := &ruleFlags{}
	cmd := &cobra.Command{
		Use:     "explain RULE",
		Short:   "Say what a rule demands, why, and how a break is mended",
		Example: "  skidrule explain backflow/two-independent-barriers",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := f.check(); err != nil {
				return err
			}
			rule, here, err := f.find(cmd, args[0], s)
			if err != nil {
				return err
			}
			if f.format == "json" {
				return report.RulesJSON(s.Out, []*skidrulev1.Rule{rule})
			}
			if err := report.Explain(s.Out, rule, f.style(s.Out, s.Env)); err != nil {
				return err
			}
			return here.tell(s.Out, rule.GetId())
		},
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 0 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			return ruleIDs(), cobra.ShellCompDirectiveNoFileComp
		},
	}
	f.add(cmd)
	return cmd
}

// ruleIDs lists the built-in rules for completion; none where they cannot be loaded.
func ruleIDs() []string {
	e, err := engine.New()
	if err != nil {
		return nil
	}
	return e.Book().IDs()
}

// find gives a rule of the site and its folders, of the server where one is named, or a built-in one; with what the site changes,
// nil where nobody was asked.
func (f *ruleFlags) find(cmd *cobra.Command, id string, s *surroundings) (*skidrulev1.Rule, *siteRules, error) {
	for _, r := range engine.WaiverRules() {
		if r.GetId() == id {
			return r, nil, nil
		}
	}
	if f.server != "" {
		c, err := f.dial()
		if err != nil {
			return nil, nil, err
		}
		defer c.Close()
		rule, err := c.Rule(cmd.Context(), id)
		var missing *skidrule.NotFoundError
		if err != nil && !errors.As(err, &missing) {
			return nil, nil, errors.New(plainFailure(err, f.server))
		}
		return rule, nil, err
	}
	here, err := f.all(s)
	if err != nil {
		return nil, nil, err
	}
	known := make([]string, len(here.list))
	for i, r := range here.list {
		if known[i] = r.GetId(); r.GetId() == id {
			return r, here, nil
		}
	}
	message := fmt.Sprintf("there is no rule %q", id)
	if near := misspelt.DidYouMean(id, known); near != "" {
		return nil, nil, errors.New(message + "; " + near)
	}
	topic := rulebook.Topic(id)
	known = slices.DeleteFunc(known, func(k string) bool { return rulebook.Topic(k) != topic })
	if len(known) > 0 {
		return nil, nil, fmt.Errorf("%s; those of the topic %s are %s", message, topic, strings.Join(known, ", "))
	}
	return nil, nil, errors.New(message + "; `skidrule rules list` lists them")
}

// write is a writer of rules in the format of the flags.
func (f *ruleFlags) write(w io.Writer, list []*skidrulev1.Rule, s *surroundings) error {
	if f.format == "json" {
		return report.RulesJSON(w, list)
	}
	return report.Rules(w, list, f.style(w, s.Env))
}
