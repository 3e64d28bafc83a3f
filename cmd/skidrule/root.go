package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/report"
)

// Exit codes.
const (
	exitPassed     = 0 // the gate passed
	exitFindings   = 1 // findings at or above the threshold
	exitUnusable   = 2 // wrong usage, unreadable input, or the program itself went wrong
	exitIncomplete = 3 // no finding, but a rule failed or one of severity error could not be verified
)

// surroundings is what a command sees of the world outside.
type surroundings struct {
	In       io.Reader
	Out, Err io.Writer
	Env      func(string) string
}

// exitError ends the program with a code. Its message, where it has one, goes to standard error.
type exitError struct {
	code    int
	message string
}

// Error is what is told of it.
func (e *exitError) Error() string { return e.message }

// run executes one command line and gives the exit code. A panic becomes one line and exit code 2, as Go's own would be.
func run(ctx context.Context, args []string, s *surroundings) (code int) {
	defer func() {
		if r := recover(); r != nil {
			fmt.Fprintf(s.Err, "skidrule: internal error, please report it with the design that shows it: %s\n", oneLine(fmt.Sprint(r)))
			code = exitUnusable
		}
	}()
	root := newRoot(s)
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	var exit *exitError
	switch {
	case err == nil:
		return exitPassed
	case errors.As(err, &exit):
		if exit.message != "" {
			complain(s.Err, exit.message)
		}
		return exit.code
	}
	complain(s.Err, err.Error())
	return exitUnusable
}

func newRoot(s *surroundings) *cobra.Command {
	root := &cobra.Command{
		Use:   "skidrule",
		Short: "Check the flow diagram of an ozone contact skid",
		Long: `skidrule reads the gas-and-liquid flow diagram of an ozone contact skid from a design file, works out what happens
in it, and says with evidence whether it is safe, fits and works.

Exit codes: 0 the gate passed; 1 findings at or above --fail-on; 2 wrong usage or unreadable input; 3 no finding, but a rule
failed or one of severity error could not be verified.`,
		SilenceErrors: true,
		SilenceUsage:  true,
		Version:       engine.Version(),
		// A verb is wanted; without one the help says which there are.
		RunE: func(cmd *cobra.Command, args []string) error { return cmd.Help() },
		Args: noVerb,
	}
	root.SuggestionsMinimumDistance = 2
	root.SetIn(s.In)
	root.SetOut(s.Out)
	root.SetErr(s.Err)
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error {
		return fmt.Errorf("%w; `%s --help` lists the flags", err, cmd.CommandPath())
	})
	root.AddCommand(newCheck(s), newExplain(s), newRules(s), newConvert(s), newServe(s), newSolve(s), newService(s), newList(s), newVersion(s), newCalc(s), newDraw(s), newSchema(s), newCompare(s), newVocabulary(s), newNew(s))
	root.AddCommand(newCommission(s))
	root.AddCommand(newChoose(s))
	return root
}

// complain writes a message of several lines so that each names the program.
func complain(w io.Writer, message string) {
	for line := range strings.SplitSeq(strings.TrimRight(message, "\n"), "\n") {
		fmt.Fprintln(w, "skidrule: "+report.Plain(line))
	}
}

// noVerb refuses a word that is no verb, with the nearest one.
func noVerb(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	message := fmt.Sprintf("there is no verb %q", args[0])
	if near := cmd.SuggestionsFor(args[0]); len(near) > 0 {
		return errors.New(message + "; did you mean " + strings.Join(near, " or ") + "?")
	}
	return fmt.Errorf("%s; `%s --help` lists them", message, cmd.CommandPath())
}

// oneLine keeps a message on one line.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }
