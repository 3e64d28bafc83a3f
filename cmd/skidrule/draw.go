package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/answer"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// drawFlags are the flags of draw.
type drawFlags struct {
	siteFlags
	serverFlags
	format, theme, output, date, finding string
	caseID, units                        string
	elevations, findings                 bool
	capacity, dpi                        int
}

func newDraw(s *surroundings) *cobra.Command {
	f := &drawFlags{}
	cmd := &cobra.Command{
		Use:   "draw FILE|-",
		Short: "Draw a design as a process and instrumentation diagram",
		Long: `draw lays a design out and draws it as SVG or PNG, A3 landscape. A plant that is too large for one sheet becomes several,
with connectors between them; the number of a sheet is then put into the file's name. Positions that the design states are kept.

With --findings the design is checked, what the findings are about is numbered, the list stands beside the diagram, and the way
of the worst finding is highlighted; --finding chooses another one.`,
		Example: `  skidrule draw loop.yaml --output loop.svg
  skidrule draw loop.yaml --findings --elevations --output loop.png
  skidrule draw loop.yaml --case pump_stopped --output stopped.svg
  skidrule draw loop.yaml --finding backflow/two-independent-barriers --output loop.svg`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error { return draw(cmd.Context(), args[0], f, s) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.output, "output", "", "`FILE` to write in place of standard output; a plant of several sheets needs it")
	flags.StringVar(&f.format, "format", "", "format: svg or png; that of the output file's name, or svg, where it is not given")
	flags.StringVar(&f.theme, "theme", "light", "colours: light, dark, or auto for what the reader prefers (SVG)")
	flags.BoolVar(&f.elevations, "elevations", false, "add the stated elevations to the tags")
	flags.BoolVar(&f.findings, "findings", false, "check the design and mark its findings")
	flags.StringVar(&f.finding, "finding", "", "`RULE` or fingerprint of the finding whose way is highlighted")
	flags.StringVar(&f.caseID, "case", "", "operating `case` that is solved; its pressures and flows stand beside the things")
	flags.StringVar(&f.units, "units", "metric", "units of pressures and flows: metric or us")
	flags.StringVar(&f.date, "date", "", "`text` for the date in the title block; nothing is put there by itself")
	flags.IntVar(&f.capacity, "sheet-capacity", 0, "most components on one sheet, at most 200; 64 where it is not given")
	flags.IntVar(&f.dpi, "dpi", 0, "dots per inch of PNG, 20 to 600; 150 where it is not given")
	f.siteFlags.add(cmd)
	f.serverFlags.add(cmd, "that draws")
	return cmd
}

// request is what the flags ask for, without the design.
func (f *drawFlags) request() (*skidrulev1.DrawDesignRequest, error) {
	if f.format == "" {
		f.format = "svg"
		if strings.EqualFold(filepath.Ext(f.output), ".png") {
			f.format = "png"
		}
	}
	themes := map[string]skidrulev1.DrawingTheme{
		"light": skidrulev1.DrawingTheme_DRAWING_THEME_LIGHT, "dark": skidrulev1.DrawingTheme_DRAWING_THEME_DARK, "auto": skidrulev1.DrawingTheme_DRAWING_THEME_AUTO,
	}
	if err := errors.Join(oneOf("format", f.format, "svg", "png"), oneOf("theme", f.theme, "light", "dark", "auto"), oneOf("units", f.units, "metric", "us")); err != nil {
		return nil, err
	}
	if f.capacity < 0 || f.capacity > 200 {
		return nil, fmt.Errorf("--sheet-capacity is %d; 1 to 200 are possible", f.capacity)
	}
	if f.dpi != 0 && (f.dpi < 20 || f.dpi > 600) {
		return nil, fmt.Errorf("--dpi is %d; 20 to 600 are possible", f.dpi)
	}
	format := skidrulev1.DrawingFormat_DRAWING_FORMAT_SVG
	if f.format == "png" {
		format = skidrulev1.DrawingFormat_DRAWING_FORMAT_PNG
	}
	units := skidrulev1.DrawingUnits_DRAWING_UNITS_METRIC
	if f.units == "us" {
		units = skidrulev1.DrawingUnits_DRAWING_UNITS_US
	}
	return &skidrulev1.DrawDesignRequest{
		Findings: f.findings, Fingerprint: f.finding, CaseId: f.caseID,
		Style: &skidrulev1.DrawingStyle{Format: format, Theme: themes[f.theme], Elevations: f.elevations, Date: f.date, SheetCapacity: int32(f.capacity), DotsPerInch: int32(f.dpi), Units: units},
	}, nil
}

func draw(ctx context.Context, arg string, f *drawFlags, s *surroundings) error {
	request, err := f.request()
	if err != nil {
		return problemsExit(s.Err, err)
	}
	d, err := f.readOne(arg, s)
	if err != nil {
		return err
	}
	request.Design, request.Options = d.file.Design, d.site.options
	pages, err := askOne(ctx, &f.serverFlags, request, byEngine(answer.DrawDesign, (*skidrulev1.DrawDesignResponse).GetPages), (*skidrule.Client).Draw)
	if err != nil {
		return d.refuse(err, f.server, s)
	}
	return f.write(pages, s)
}

// write puts each sheet into its file.
func (f *drawFlags) write(pages []*skidrulev1.DrawingPage, s *surroundings) error {
	if f.output == "" || f.output == "-" {
		if len(pages) > 1 {
			return fmt.Errorf("the drawing has %d sheets; name a file with --output, and each goes into one of its own", len(pages))
		}
		if _, terminal := terminalWidth(s.Out); terminal && f.format == "png" {
			return errors.New("a picture is not fit for a terminal; name a file with --output")
		}
	}
	for _, p := range pages {
		path := f.output
		if len(pages) > 1 {
			ext := filepath.Ext(path)
			path = fmt.Sprintf("%s-%d%s", strings.TrimSuffix(path, ext), p.GetNumber(), ext)
			fmt.Fprintln(s.Err, report.Plain(filepath.ToSlash(path)))
		}
		err := target{path: path}.send(s.Out, func(w io.Writer) error {
			_, err := w.Write(p.GetContent())
			return err
		})
		if err != nil {
			return err
		}
	}
	return nil
}
