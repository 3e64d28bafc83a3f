package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// ruleFlags are the flags of verbs that show rules.
type ruleFlags struct {
	look
	format string
	serverFlags
	folders   []string
	project   string
	noProject bool
}

func (f *ruleFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.format, "format", "text", "format: text or json")
	f.serverFlags.add(cmd, "whose rules are shown")
	flags.StringArrayVar(&f.folders, "rules", nil, "`folder` of rule files of your own; may be repeated")
	flags.StringVar(&f.project, "project", "", "project `file` in place of the nearest "+projectName+" in this folder or above")
	flags.BoolVar(&f.noProject, "no-project", false, "look for no project file")
	flags.StringVar(&f.colour, "color", "auto", "colours in text: auto, always or never")
}

// check looks at the flags that are words.
func (f *ruleFlags) check() error {
	err := errors.Join(oneOf("format", f.format, formats...), oneOf("color", f.colour, "auto", "always", "never"))
	if f.server != "" && (len(f.folders) > 0 || f.project != "") {
		err = errors.Join(err, errors.New("--server shows the rules of a server, --rules and --project those of folders here; take one of them"))
	}
	return err
}

// all gives the built-in rules as the project file of this folder changes them, its own and those of the folders, in order of id.
func (f *ruleFlags) all(s *surroundings) (*siteRules, error) {
	here, err := f.rulesHere()
	if err != nil {
		return nil, problemsExit(s.Err, err)
	}
	slices.SortStableFunc(here.list, func(a, b *skidrulev1.Rule) int { return strings.Compare(a.GetId(), b.GetId()) })
	return here, nil
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
			here, err := f.all(s)
			if err != nil {
				return err
			}
			list := here.list
			var topics []string
			for _, r := range list {
				if t := rulebook.Topic(r.GetId()); !slices.Contains(topics, t) {
					topics = append(topics, t)
				}
			}
			if topic != "" && !slices.Contains(topics, topic) {
				return fmt.Errorf("there is no topic %q; topics are %s", topic, strings.Join(topics, ", "))
			}
			list = slices.DeleteFunc(list, func(r *skidrulev1.Rule) bool { return topic != "" && rulebook.Topic(r.GetId()) != topic })
			return f.write(s.Out, list, s)
		},
	}
	f.add(cmd)
	cmd.Flags().StringVar(&topic, "topic", "", "`topic` whose rules are wanted")
	return cmd
}
