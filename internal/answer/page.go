package answer

import (
	"context"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Page is what a page about a design shows beside the report.
type Page struct {
	// Data has the components with the data of their parts, by tag.
	Data map[string]*skidrulev1.Component
	// Solution has the cases that the check was asked about.
	Solution *skidrulev1.Solution
	// Unsolved is why there is no solution; a page is of use without it.
	Unsolved error
}

// CheckForPage checks a design, of which a page shows more than the report. It resolves the design and solves its cases once.
func CheckForPage(ctx context.Context, e *engine.Engine, r *skidrulev1.CheckDesignRequest) (*skidrulev1.Report, *Page, error) {
	w, err := e.World(ctx, r)
	if err != nil {
		return nil, nil, err
	}
	report, err := e.CheckWorld(ctx, w, r.GetOptions())
	if err != nil {
		return nil, nil, err
	}
	p := &Page{Data: w.Plant.DataByTag()}
	p.Solution, p.Unsolved = solveWorld(ctx, e, w, SolutionFor(r))
	return report, p, nil
}

// SolutionFor is the request for what a page shows of a checked design.
func SolutionFor(r *skidrulev1.CheckDesignRequest) *skidrulev1.SolveDesignRequest {
	return &skidrulev1.SolveDesignRequest{Design: r.GetDesign(), Catalogue: r.GetOptions().GetCatalogue(), CaseIds: r.GetOptions().GetCaseIds(), SkipMargins: true}
}

// PartData gives the components of a design with the data of their parts, by tag; nothing where the design does not resolve.
func PartData(d *skidrulev1.Design, own *skidrulev1.Catalogue) map[string]*skidrulev1.Component {
	parts, problems := plant.Index(own)
	if len(problems) > 0 {
		return nil
	}
	p, problems := plant.Resolve(d, plant.Catalogues{parts, catalogue.Parts()})
	if len(problems) > 0 {
		return nil
	}
	return p.DataByTag()
}
