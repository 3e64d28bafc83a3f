package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// ruleFlags are the flags of verbs that show rules.
type ruleFlags struct {
	look
	format string
	serverFlags
	folders []string
}

func (f *ruleFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.format, "format", "text", "format: text or json")
	f.serverFlags.add(cmd, "whose rules are shown")
	flags.StringArrayVar(&f.folders, "rules", nil, "`folder` of rule files of your own; may be repeated")
	flags.StringVar(&f.colour, "color", "auto", "colours in text: auto, always or never")
}

// check looks at the flags that are words.
func (f *ruleFlags) check() error {
	err := errors.Join(oneOf("format", f.format, formats...), oneOf("color", f.colour, "auto", "always", "never"))
	if f.server != "" && len(f.folders) > 0 {
		err = errors.Join(err, errors.New("--server shows the rules of a server, --rules those of a folder here; take one of them"))
	}
	return err
}

// all gives the built-in rules and those of the folders, in order of id.
func (f *ruleFlags) all(s *surroundings) ([]*skidrulev1.Rule, error) {
	e, err := engine.New()
	if err != nil {
		return nil, problemsExit(s.Err, err)
	}
	b, err := bring(nil, f.folders)
	if err != nil {
		return nil, problemsExit(s.Err, err)
	}
	var list []*skidrulev1.Rule
	for _, r := range e.Book().Rules() {
		list = append(list, r.Rule)
	}
	for _, r := range b.rules {
		list = append(list, r.Rule)
	}
	slices.SortStableFunc(list, func(a, b *skidrulev1.Rule) int { return strings.Compare(a.GetId(), b.GetId()) })
	return list, nil
}

func newRules(s *surroundings) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "rules",
		Short: "List rules, or test the examples inside them",
		Args:  noVerb,
		RunE:  func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newRulesList(s), newRulesTest(s))
	return cmd
}

func newRulesList(s *surroundings) *cobra.Command {
	f := &ruleFlags{}
	var topic string
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List rules by topic",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := f.check(); err != nil {
				return err
			}
			if f.server != "" {
				c, err := f.dial()
				if err != nil {
					return err
				}
				defer c.Close()
				list, err := c.Rules(cmd.Context(), topic)
				if err != nil {
					return errors.New(plainFailure(err, f.server))
				}
				return f.write(s.Out, list, s)
			}
			list, err := f.all(s)
			if err != nil {
				return err
			}
			var topics []string
			for _, r := range list {
				if t, _, _ := strings.Cut(r.GetId(), "/"); !slices.Contains(topics, t) {
					topics = append(topics, t)
				}
			}
			if topic != "" && !slices.Contains(topics, topic) {
				return fmt.Errorf("there is no topic %q; topics are %s", topic, strings.Join(topics, ", "))
			}
			list = slices.DeleteFunc(list, func(r *skidrulev1.Rule) bool { return topic != "" && !strings.HasPrefix(r.GetId(), topic+"/") })
			return f.write(s.Out, list, s)
		},
	}
	f.add(cmd)
	cmd.Flags().StringVar(&topic, "topic", "", "`topic` whose rules are wanted")
	return cmd
}
