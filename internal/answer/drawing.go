package answer

import (
	"context"
	"errors"

	"github.com/skidrule/skidrule/internal/drawing"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// defaultDPI is the resolution of PNG where the request does not say: letters of 2 mm are 12 pixels high.
const defaultDPI = 150

// DrawDesign draws a design, with findings or with the values of a case where they are asked for.
func DrawDesign(ctx context.Context, e *engine.Engine, r *skidrulev1.DrawDesignRequest) (*skidrulev1.DrawDesignResponse, error) {
	style := r.GetStyle()
	dpi, err := dpiOf(style)
	if err != nil {
		return nil, err
	}
	if n := style.GetSheetCapacity(); n < 0 || n > 200 {
		return nil, engine.Refuse("style.sheet_capacity", "leave it out for 64", "the capacity of a sheet is not from 0 to 200")
	}
	w, err := e.World(ctx, &skidrulev1.CheckDesignRequest{Design: r.GetDesign(), Options: r.GetOptions()})
	if err != nil {
		return nil, err
	}
	o := drawing.Options{Date: style.GetDate(), Theme: themeOf(style.GetTheme()), Elevations: style.GetElevations(),
		SheetCapacity: int(style.GetSheetCapacity()), Data: w.Plant.DataByTag()}
	if r.GetFindings() || r.GetFingerprint() != "" {
		report, err := e.CheckWorld(ctx, w, r.GetOptions())
		if err != nil {
			return nil, err
		}
		if o.Overlay, err = drawing.FindingsOverlay(report, r.GetFingerprint()); err != nil {
			return nil, engine.Refuse("fingerprint", "name the fingerprint or the rule of a finding that the check has", "%s", err)
		}
	}
	if r.GetCaseId() != "" {
		if err := solvedValues(ctx, w, r, &o); err != nil {
			return nil, err
		}
	}
	inner, span := engine.Stage(ctx, "draw")
	pages, err := drawing.Draw(inner, r.GetDesign(), o)
	span.End()
	if errors.Is(err, drawing.ErrDesign) {
		return nil, &engine.RequestError{Violations: []engine.Violation{{Problem: plant.Problem{Message: err.Error()}, InDesign: true}}}
	}
	if err != nil {
		return nil, err
	}
	return pagesMessage(ctx, pages, style.GetFormat() == skidrulev1.DrawingFormat_DRAWING_FORMAT_PNG, dpi)
}

// solvedValues solves a case and puts its pressures and flows on the drawing.
func solvedValues(ctx context.Context, w *fact.World, r *skidrulev1.DrawDesignRequest, o *drawing.Options) error {
	named, err := engine.NamedCases(w, "case_id", r.GetCaseId())
	if err != nil {
		return err
	}
	c := &w.Cases[named[0]]
	if c.Excluded != "" {
		return engine.Refuse("case_id", "name another case", "the case %s cannot occur: %s", c.ID, c.Excluded)
	}
	_, span := engine.Stage(ctx, "solve")
	state, err := w.Solve(named[0])
	span.End()
	if err != nil {
		return err
	}
	units := quantity.Metric
	if r.GetStyle().GetUnits() == skidrulev1.DrawingUnits_DRAWING_UNITS_US {
		units = quantity.US
	}
	kinds := map[string]string{}
	for i := range w.Plant.Components {
		kinds[w.Plant.Components[i].Tag] = w.Plant.Components[i].Kind.String()
	}
	o.Overlay.Case, o.Overlay.Values = c.ID, drawing.CaseValues(solvedCase(w.Plant, c, state), kinds, units)
	return nil
}

// dpiOf reads the resolution of PNG.
func dpiOf(style *skidrulev1.DrawingStyle) (int, error) {
	dpi := int(style.GetDotsPerInch())
	switch {
	case dpi == 0:
		return defaultDPI, nil
	case dpi < 20 || dpi > 600:
		return 0, engine.Refuse("style.dots_per_inch", "leave it out for 150", "the resolution is not from 20 to 600 dots per inch")
	}
	return dpi, nil
}

func themeOf(t skidrulev1.DrawingTheme) drawing.Theme {
	switch t {
	case skidrulev1.DrawingTheme_DRAWING_THEME_DARK:
		return drawing.ThemeDark
	case skidrulev1.DrawingTheme_DRAWING_THEME_AUTO:
		return drawing.ThemeAuto
	}
	return drawing.ThemeLight
}

func pagesMessage(ctx context.Context, pages []drawing.Page, png bool, dpi int) (*skidrulev1.DrawDesignResponse, error) {
	answer := &skidrulev1.DrawDesignResponse{}
	for i := range pages {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		m := &skidrulev1.DrawingPage{Number: int32(pages[i].Sheet.Number), MediaType: "image/svg+xml"}
		if png {
			content, err := pages[i].PNG(dpi)
			if err != nil {
				return nil, err
			}
			m.MediaType, m.Content = "image/png", content
		} else {
			m.Content = pages[i].SVG()
		}
		for _, it := range pages[i].Sheet.Items {
			if it.Kind != "off_sheet" {
				m.Tags = append(m.Tags, it.Tag)
			}
		}
		answer.Pages = append(answer.Pages, m)
	}
	return answer, nil
}
