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
	"github.com/skidrule/skidrule/internal/commission"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// commissionFlags are the flags of commission.
type commissionFlags struct {
	look
	serverFlags
	siteFlags
	format, output, sheet string
	cases, readings       []string
}

func newCommission(s *surroundings) *cobra.Command {
	f := &commissionFlags{}
	cmd := &cobra.Command{
		Use:   "commission FILE|-",
		Short: "Say what instruments should show, and what readings on site tell",
		Long: `commission makes the card of a design: for every operating case what each instrument should show, from its low to its high end,
where in its span, and what a reading outside points to, with blanks for the date, what was read, and initials.

With readings taken on site, of one moment and one operating case, it says what the injector draws, and ranks what explains them:
the design as drawn, a fouled throat, air that leaks in, a closed or stuck valve, a stuck check valve, a worn pump, a blocked
return, a gauge that shows wrong, low supply pressure, a choked strainer. Where the readings cannot decide it says so, and which
reading would.

A reading is TAG=VALUE, as PI-1="3.5 bar". TAG is a pressure gauge or flow meter; a port, as INJ-1.suction, for a gauge that is put
on; an injector or pump for the water that passes it. Behind the value may stand how well it is known: "± 0.05 bar", "± 2 %" of the
value, or "class 1.6", per cent of the span. What is not stated is assumed, and the answer says what.`,
		Example: `  skidrule commission loop.yaml --format html --output card.html
  skidrule commission loop.yaml --case normal,pump_stopped
  skidrule commission loop.yaml --reading PI-1="3.5 bar" --reading PI-2="1.1 bar ± 40 mbar" --reading INJ-1.suction="-0.2 bar"
  skidrule commission loop.yaml --readings monday.yaml`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error { return commissionRun(cmd.Context(), args[0], f, s) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.format, "format", "text", "format: text, markdown, html or json; numbers of json are in SI units")
	flags.StringVar(&f.output, "output", "", "`FILE` to write in place of standard output")
	flags.StringSliceVar(&f.cases, "case", nil, "operating `cases` of the card, all where there are none; with readings the one they were taken in, normal where there is none")
	flags.StringArrayVar(&f.readings, "reading", nil, "`TAG=VALUE` of a reading; may be repeated")
	flags.StringVar(&f.sheet, "readings", "", "`FILE` of readings")
	f.siteFlags.addParts(cmd)
	f.serverFlags.add(cmd, "that answers")
	f.look.add(cmd, "text, markdown and html")
	return cmd
}

func commissionRun(ctx context.Context, arg string, f *commissionFlags, s *surroundings) error {
	if err := errors.Join(oneOf("format", f.format, "text", "markdown", "html", "json"), f.look.known()); err != nil {
		return err
	}
	readings, caseID, err := f.read()
	if err != nil {
		return problemsExit(s.Err, err)
	}
	d, err := f.readOne(arg, s)
	if err != nil {
		return err
	}
	parts := d.site.options.GetCatalogue()
	refused := func(err error) error {
		return d.refuse(err, f.server, s, func(field string) string { return readingAt(field, readings) })
	}
	units := f.look.system()
	out := target{path: f.output}
	if len(readings) == 0 && f.sheet == "" {
		card, err := askOne(ctx, &f.serverFlags, &skidrulev1.MakeCardRequest{Design: d.file.Design, Catalogue: parts, CaseIds: f.cases},
			byEngine(answer.MakeCard, (*skidrulev1.MakeCardResponse).GetCard), (*skidrule.Client).MakeCard)
		if err != nil {
			return refused(err)
		}
		return out.send(s.Out, func(w io.Writer) error {
			switch f.format {
			case "json":
				return report.MessageJSON(w, card)
			case "markdown":
				return report.CardMarkdown(w, card, units)
			case "html":
				return report.CardHTML(w, card, units)
			}
			return report.Card(w, card, f.style(w, s.Env))
		})
	}
	diagnosis, err := askOne(ctx, &f.serverFlags, &skidrulev1.DiagnoseRequest{Design: d.file.Design, Catalogue: parts, CaseId: caseID, Readings: readings},
		byEngine(answer.Diagnose, (*skidrulev1.DiagnoseResponse).GetDiagnosis), (*skidrule.Client).Diagnose)
	if err != nil {
		return refused(err)
	}
	return out.send(s.Out, func(w io.Writer) error {
		switch f.format {
		case "json":
			return report.MessageJSON(w, diagnosis)
		case "markdown":
			return report.DiagnosisMarkdown(w, diagnosis, units)
		case "html":
			return report.DiagnosisHTML(w, diagnosis, units)
		}
		return report.Diagnosis(w, diagnosis, f.style(w, s.Env))
	})
}

// read gathers the readings of flags and file, and the case that they were taken in.
func (f *commissionFlags) read() ([]*skidrulev1.SiteReading, string, error) {
	var out []*skidrulev1.SiteReading
	caseID := ""
	if f.sheet != "" {
		in := input{name: f.sheet}
		data, err := in.bytes()
		if err != nil {
			return nil, "", err
		}
		sheet, err := commission.ReadSheet(f.sheet, data)
		if err != nil {
			return nil, "", err
		}
		out, caseID = sheet.Readings, sheet.Case
	}
	for _, text := range f.readings {
		place, value, ok := strings.Cut(text, "=")
		if !ok {
			return nil, "", fmt.Errorf(`--reading %q is not TAG=VALUE, as PI-1="3.5 bar"`, text)
		}
		r, err := commission.ParseReading(place, value)
		if err != nil {
			return nil, "", fmt.Errorf("--reading %w", err)
		}
		out = append(out, r)
	}
	if len(out) == 0 && f.sheet == "" {
		return nil, "", nil
	}
	switch {
	case len(f.cases) > 1:
		return nil, "", fmt.Errorf("--case names %d cases; readings are taken in one", len(f.cases))
	case len(f.cases) == 1 && caseID != "" && caseID != f.cases[0]:
		return nil, "", fmt.Errorf("--case says %s and %s says %s", f.cases[0], f.sheet, caseID)
	case len(f.cases) == 1:
		caseID = f.cases[0]
	}
	return out, caseID, nil
}

// readingAt names the reading that a field of the request is about.
func readingAt(field string, readings []*skidrulev1.SiteReading) string {
	var i int
	if _, err := fmt.Sscanf(field, "readings[%d]", &i); err == nil && i >= 0 && i < len(readings) {
		return "reading of " + readings[i].GetPlace()
	}
	return ""
}
