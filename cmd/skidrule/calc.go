package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/answer"
	"github.com/skidrule/skidrule/internal/calc"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// calcFlags are the flags of calc.
type calcFlags struct {
	format, units, sweep, result, output string
	points                               int
	serverFlags
}

// Formats of calc. Only a sweep has a table or a curve.
var (
	singleFormats = []string{"text", "json"}
	sweepFormats  = []string{"text", "json", "csv", "svg", "png"}
)

func newCalc(s *surroundings) *cobra.Command {
	f := &calcFlags{}
	cmd := &cobra.Command{
		Use:   "calc [NAME [KEY=VALUE…]]",
		Short: "Run a single calculation: formula, inputs, result with low and high, valid range, source",
		Long: `calc lists every calculation; with a name it says what that one needs; with inputs it runs it. Numbers carry their unit,
choices are words, and a table is CSV, or @FILE for a file of it. With --sweep one input runs from one end to the other, which
gives a table, CSV or a curve.`,
		Example: `  skidrule calc
  skidrule calc water-properties
  skidrule calc water-properties temperature='15 degC' pressure='1 bar(a)'
  skidrule calc water-properties pressure='1 bar(a)' --sweep temperature='5 degC..30 degC'
  skidrule calc water-properties pressure='1 bar(a)' --sweep temperature='5..30 degC' --result density --output density.svg`,
		RunE: func(cmd *cobra.Command, args []string) error { return runCalc(cmd, args, f, s) },
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			if len(args) == 0 {
				return calc.Names(), cobra.ShellCompDirectiveNoFileComp
			}
			c, err := calc.Get(args[0])
			if err != nil {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			var keys []string
			for _, in := range c.Inputs {
				keys = append(keys, in.Key+"=")
			}
			return keys, cobra.ShellCompDirectiveNoFileComp | cobra.ShellCompDirectiveNoSpace
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.format, "format", "", "format: text or json; for a sweep csv, svg or png as well; that of the output file's name, or text, where it is not given")
	flags.StringVar(&f.units, "units", "metric", "units of the numbers: metric or us; JSON is SI, with texts in these")
	flags.StringVar(&f.sweep, "sweep", "", "`KEY=FIRST..LAST` to run along, as temperature='5 degC..30 degC'")
	flags.IntVar(&f.points, "points", 0, "points of a sweep, ends included, 2 to 2000; 21 where it is not given")
	flags.StringVar(&f.result, "result", "", "`KEY` of the result whose curve is drawn; the first number where it is not given")
	flags.StringVar(&f.output, "output", "", "`FILE` to write in place of standard output")
	f.serverFlags.add(cmd, "that calculates")
	return cmd
}

func runCalc(cmd *cobra.Command, args []string, f *calcFlags, s *surroundings) error {
	if err := f.check(); err != nil {
		return err
	}
	if len(args) == 0 || len(args) == 1 && f.sweep == "" {
		return f.describe(cmd, args, s)
	}
	inputs, err := readInputs(args[1:])
	if err != nil {
		return err
	}
	request := &skidrulev1.CalculateRequest{Name: args[0], Inputs: inputs}
	if f.sweep != "" {
		key, span, ok := strings.Cut(f.sweep, "=")
		if !ok {
			return fmt.Errorf("--sweep is %q; it is written KEY=FIRST..LAST", f.sweep)
		}
		if f.points < 0 || f.points > 1<<20 {
			return fmt.Errorf("--points is %d; 2 to 2000 are possible", f.points)
		}
		request.Sweep = &skidrulev1.CalculationSweep{Key: strings.TrimSpace(key), Span: span, Points: int32(f.points)}
	}
	told, err := askOne(cmd.Context(), &f.serverFlags, request, answer.Calculate, (*skidrule.Client).Calculate)
	if err != nil {
		return calcError(err, f.server)
	}
	content, err := f.render(told)
	if err != nil {
		return err
	}
	if _, terminal := terminalWidth(s.Out); terminal && f.format == "png" && f.output == "" {
		return errors.New("a picture is not fit for a terminal; name a file with --output")
	}
	return f.write(s, content)
}

// check looks at the flags, and takes the format from the output file's name where it is not given.
func (f *calcFlags) check() error {
	if f.format == "" {
		f.format = "text"
		if ext := strings.TrimPrefix(strings.ToLower(filepath.Ext(f.output)), "."); slices.Contains(sweepFormats, ext) {
			f.format = ext
		}
	}
	known := singleFormats
	if f.sweep != "" {
		known = sweepFormats
	} else if slices.Contains(sweepFormats, f.format) && !slices.Contains(singleFormats, f.format) {
		return fmt.Errorf("%s is for a sweep; add --sweep KEY=FIRST..LAST", f.format)
	}
	if f.sweep == "" && (f.points != 0 || f.result != "") {
		return errors.New("--points and --result are for a sweep; add --sweep KEY=FIRST..LAST")
	}
	return errors.Join(oneOf("format", f.format, known...), oneOf("units", f.units, "metric", "us"))
}

func (f *calcFlags) system() quantity.System {
	if f.units == "us" {
		return quantity.US
	}
	return quantity.Metric
}

func (f *calcFlags) write(s *surroundings, content []byte) error {
	return target{path: f.output}.send(s.Out, func(w io.Writer) error {
		_, err := w.Write(content)
		return err
	})
}

// readInputs reads KEY=VALUE arguments. @FILE stands for the content of a file.
func readInputs(args []string) (map[string]string, error) {
	inputs := map[string]string{}
	for _, a := range args {
		key, value, ok := strings.Cut(a, "=")
		if key = strings.TrimSpace(key); !ok || key == "" {
			return nil, fmt.Errorf("%q is no input; inputs are written KEY=VALUE, with quotes around a value with blanks", a)
		}
		if _, twice := inputs[key]; twice {
			return nil, fmt.Errorf("the input %s is given twice", key)
		}
		if path, file := strings.CutPrefix(value, "@"); file {
			content, err := readTable(path)
			if err != nil {
				return nil, err
			}
			value = content
		}
		inputs[key] = value
	}
	return inputs, nil
}

// maxTable is longer than any table that is read.
const maxTable = 2 << 20

func readTable(path string) (string, error) {
	file, err := os.Open(path)
	if err != nil {
		return "", plainError(err)
	}
	defer file.Close()
	content, err := io.ReadAll(io.LimitReader(file, maxTable))
	return string(content), plainError(err)
}

// render writes an answer in the format of the flags.
func (f *calcFlags) render(told *skidrulev1.CalculateResponse) ([]byte, error) {
	if f.sweep == "" {
		r, err := answer.ResultOf(told)
		if err != nil {
			return nil, err
		}
		if f.format == "json" {
			return r.JSON(f.system())
		}
		return []byte(r.Text(f.system())), nil
	}
	sweep, err := answer.SweepOf(told)
	if err != nil {
		return nil, err
	}
	switch f.format {
	case "json":
		return sweep.JSON(f.system())
	case "csv":
		return sweep.CSV(f.system())
	case "svg", "png":
		result := f.result
		for _, out := range sweep.Calculation.Outputs {
			if result == "" && out.Dimension != 0 {
				result = out.Key
			}
		}
		if f.format == "svg" {
			return sweep.SVG(result, f.system())
		}
		return sweep.PNG(result, f.system())
	}
	return []byte(sweep.Text(f.system())), nil
}

// calcError says an error of this process or of a server in the same words.
func calcError(err error, server string) error {
	if list, _, ok := violationsOf(err); ok {
		messages := make([]string, len(list))
		for i, v := range list {
			messages[i] = v.Message
		}
		return errors.New(strings.Join(messages, "\n"))
	}
	if server == "" || errors.As(err, new(*skidrule.NotFoundError)) {
		return err
	}
	return errors.New(plainFailure(err, server))
}
