package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/answer"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// listFlags are the flags of list.
type listFlags struct {
	look
	serverFlags
	siteFlags
	format, output string
	noSolving      bool
}

func newList(s *surroundings) *cobra.Command {
	f := &listFlags{}
	cmd := &cobra.Command{
		Use:   "list FILE|- [LIST …]",
		Short: "List lines, valves, instruments, relief devices, trips, connections and parts",
		Long: `list writes what stands in a design as the lists that engineers keep: lines, valves, instruments, relief (devices), trips (cause
and effect), connections and parts; all where none is named. Pressures, temperatures and flows of the line list are those of the
solved cases. What is not stated says so; no cell is blank.

xlsx is a spreadsheet with a sheet for each list; csv is one list. Their numbers have their unit in the header.`,
		Example: `  skidrule list loop.yaml valves
  skidrule list loop.yaml lines --format csv --output lines.csv
  skidrule list loop.yaml --format xlsx --output lists.xlsx`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return listDesign(cmd.Context(), args[0], args[1:], f, s)
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.format, "format", "text", "format: text, csv, xlsx or json; numbers of json are in SI units")
	flags.StringVar(&f.output, "output", "", "`FILE` to write in place of standard output; xlsx needs one")
	flags.BoolVar(&f.noSolving, "no-solving", false, "leave out what is computed by solving the operating cases")
	f.siteFlags.addParts(cmd)
	f.serverFlags.add(cmd, "that lists")
	f.look.add(cmd, "text, csv and xlsx")
	return cmd
}

func listDesign(ctx context.Context, arg string, lists []string, f *listFlags, s *surroundings) error {
	err := errors.Join(oneOf("format", f.format, "text", "csv", "xlsx", "json"), f.look.known())
	if err == nil && f.format == "csv" && len(lists) != 1 {
		err = fmt.Errorf("csv is one list, and %d are named: name one behind the file, as in `skidrule list %s lines --format csv`", len(lists), arg)
	}
	if err == nil && f.format == "xlsx" && f.output == "" {
		err = errors.New("a spreadsheet is no text: name its file with --output")
	}
	if err != nil {
		return err
	}
	d, err := f.readOne(arg, s)
	if err != nil {
		return err
	}
	book, err := askOne(ctx, &f.serverFlags, &skidrulev1.ListDesignRequest{Design: d.file.Design, Catalogue: d.site.options.GetCatalogue(), Lists: lists, SkipSolving: f.noSolving},
		byEngine(answer.ListDesign, (*skidrulev1.ListDesignResponse).GetBook), (*skidrule.Client).List)
	if err != nil {
		return d.refuse(err, f.server, s)
	}
	if f.format == "csv" && len(book.GetSchedules()) != 1 {
		return fmt.Errorf("the answer holds %d lists in place of %s", len(book.GetSchedules()), strings.Join(lists, ", "))
	}
	return target{path: f.output}.send(s.Out, func(w io.Writer) error {
		style := f.style(w, s.Env)
		switch f.format {
		case "json":
			return report.MessageJSON(w, book)
		case "csv":
			return report.ScheduleCSV(w, book.GetSchedules()[0], style.Units)
		case "xlsx":
			return report.Workbook(w, book, style.Units)
		}
		return report.Schedule(w, book, style)
	})
}
