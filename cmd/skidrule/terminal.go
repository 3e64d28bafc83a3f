package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/report"
)

// terminalWidth gives the columns of a stream; false where it is no terminal.
func terminalWidth(stream any) (int, bool) {
	f, ok := stream.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return 0, false
	}
	columns, _, err := term.GetSize(int(f.Fd()))
	if err != nil || columns <= 0 {
		columns = 80
	}
	return columns, true
}

// colours decides whether a stream gets colours: the flag, then NO_COLOR, then what forces them, then whether it is a
// terminal that can show them.
func colours(flag string, stream io.Writer, env func(string) string) bool {
	switch flag {
	case "always":
		return true
	case "never":
		return false
	}
	if env("NO_COLOR") != "" {
		return false
	}
	for _, name := range []string{"FORCE_COLOR", "CLICOLOR_FORCE"} {
		if v := env(name); v != "" && v != "0" {
			return true
		}
	}
	_, terminal := terminalWidth(stream)
	return terminal && env("TERM") != "dumb"
}

// look is what flags say about the look of text.
type look struct {
	colour string
	units  string
}

// add adds the flags; shown names the formats that have numbers in these units.
func (l *look) add(cmd *cobra.Command, shown string) {
	cmd.Flags().StringVar(&l.units, "units", "metric", "units of the numbers in "+shown+": metric or us")
	cmd.Flags().StringVar(&l.colour, "color", "auto", "colours in text: auto, always or never")
}

// known refuses words that the flags do not have.
func (l *look) known() error {
	return errors.Join(oneOf("units", l.units, "metric", "us"), oneOf("color", l.colour, "auto", "always", "never"))
}

func (l *look) system() quantity.System {
	if l.units == "us" {
		return quantity.US
	}
	return quantity.Metric
}

// style lays text out for a stream. Text that goes elsewhere than to a terminal is the same everywhere.
func (l *look) style(stream io.Writer, env func(string) string) report.Style {
	s := report.Style{Width: 100, Colour: colours(l.colour, stream, env), Units: l.system()}
	if columns, ok := terminalWidth(stream); ok {
		s.Width = min(columns, 120)
		s.ASCII = !unicodeLocale(env)
	}
	return s
}

// unicodeLocale tells whether a terminal may be sent more than ASCII. A locale that is not set does not forbid it.
func unicodeLocale(env func(string) string) bool {
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if v := strings.ToLower(env(name)); v != "" {
			return strings.Contains(v, "utf-8") || strings.Contains(v, "utf8")
		}
	}
	return true
}

// oneOf refuses a flag value that is none of the words.
func oneOf(flag, value string, words ...string) error {
	if slices.Contains(words, value) {
		return nil
	}
	return fmt.Errorf("--%s is %q; it may be %s", flag, value, strings.Join(words, ", "))
}
