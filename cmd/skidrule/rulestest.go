package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/crew"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/report"
	"github.com/skidrule/skidrule/internal/rulebook"
	"github.com/skidrule/skidrule/rules"
)

func newRulesTest(s *surroundings) *cobra.Command {
	var catalogues []string
	cmd := &cobra.Command{
		Use:   "test [FOLDER …]",
		Short: "Ask rules of the examples inside their files",
		Long: `test reads the rule files of folders, or the built-in ones, and asks each rule of its own examples. An outcome that is not
the expected one is printed with the place of the example, and the exit code is 1.`,
		RunE: func(cmd *cobra.Command, args []string) error {
			files, err := ruleFiles(args)
			if err != nil {
				return problemsExit(s.Err, err)
			}
			parts, err := testParts(catalogues)
			if err != nil {
				return problemsExit(s.Err, err)
			}
			return testRules(cmd.Context(), files, len(args) > 0, parts, s)
		},
	}
	cmd.Flags().StringArrayVar(&catalogues, "catalogue", nil, "`folder` of catalogue files that examples may name; may be repeated")
	return cmd
}

// ruleFiles reads the rule files of folders; the built-in ones where there are none.
func ruleFiles(folders []string) ([]*rulebook.RuleFile, error) {
	if len(folders) == 0 {
		return rulebook.LoadFolder(rules.Files)
	}
	b, err := bring(nil, folders)
	if err != nil {
		return nil, err
	}
	return b.rules, nil
}

// testParts gives the parts that examples may name.
func testParts(folders []string) (plant.Catalogues, error) {
	demo := catalogue.Parts()
	b, err := bring(folders, nil)
	if err != nil || b.catalogue == nil {
		return plant.Catalogues{demo}, err
	}
	own, problems := plant.Index(b.catalogue)
	if len(problems) > 0 {
		return nil, problems
	}
	return plant.Catalogues{own, demo}, nil
}

func testRules(ctx context.Context, files []*rulebook.RuleFile, site bool, parts plant.Catalogues, s *surroundings) error {
	book, err := rulebook.CompileFiles(files, site)
	if err != nil {
		return problemsExit(s.Err, err)
	}
	results := make([][]rulebook.ExampleResult, len(files))
	err = crew.Each(len(files), func(i int) (err error) {
		defer func() {
			if r := recover(); r != nil {
				err = fmt.Errorf("%s: internal error: %v", files[i].Name, r)
			}
		}()
		if rule, ok := book.Find(files[i].Rule.GetId()); ok {
			results[i] = rule.TestExamples(ctx, parts)
		}
		return ctx.Err()
	})
	if err != nil {
		return err
	}
	examples, failed, without := 0, 0, 0
	for i, f := range files {
		for _, r := range results[i] {
			examples++
			if r.Problem != "" {
				failed++
				p := f.Problem("examples."+r.Name, 0, 0, "example "+r.Name+": "+strings.TrimRight(oneLine(r.Problem), ": "))
				fmt.Fprintln(s.Out, report.ProblemLine(p))
			}
		}
		if len(results[i]) == 0 {
			without++
			fmt.Fprintln(s.Out, report.ProblemLine(f.Problem("id", 0, 0, "the rule has no example, so nothing shows that it works")))
		}
	}
	fmt.Fprintf(s.Out, "rules: %d, examples: %d, as expected: %d, not as expected: %d, rules without example: %d\n", len(files), examples, examples-failed, failed, without)
	if failed+without > 0 {
		return &exitError{code: exitFindings}
	}
	return nil
}
