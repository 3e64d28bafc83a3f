package main

import (
	"context"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/report"
	"github.com/skidrule/skidrule/internal/service"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// pageParts is what an HTML report shows of a design beside the answer.
type pageParts struct {
	data     map[string]*skidrulev1.Component
	solution *skidrulev1.Solution
	// unsolved says why there is no solution; the page is of use without it.
	unsolved string
}

// withPage checks a design and finds what an HTML report shows of it beside.
func (c *checking) withPage(ctx context.Context, r *skidrulev1.CheckDesignRequest) (*skidrulev1.Report, *pageParts, error) {
	solve := &skidrulev1.SolveDesignRequest{Design: r.GetDesign(), Catalogue: r.GetOptions().GetCatalogue(), CaseIds: r.GetOptions().GetCaseIds(), SkipMargins: true}
	p := &pageParts{}
	var answer *skidrulev1.Report
	var unsolved error
	switch a := c.asker.(type) {
	case *engine.Engine:
		w, err := a.World(ctx, r)
		if err != nil {
			return nil, nil, err
		}
		if answer, err = a.CheckWorld(ctx, w, r.GetOptions()); err != nil {
			return nil, nil, err
		}
		p.data = w.Plant.DataByTag()
		p.solution, unsolved = service.SolveWorld(ctx, a, w, solve)
	case *skidrule.Client:
		var err error
		if answer, err = a.Check(ctx, r); err != nil {
			return nil, nil, err
		}
		p.data = dataOf(r.GetDesign(), r.GetOptions().GetCatalogue())
		p.solution, unsolved = a.Solve(ctx, solve)
	}
	if unsolved != nil {
		p.unsolved = plainFailure(unsolved, c.server)
	}
	return answer, p, nil
}

// dataOf gives the components of a design with the data of their parts; nothing where the design does not resolve here.
func dataOf(d *skidrulev1.Design, own *skidrulev1.Catalogue) map[string]*skidrulev1.Component {
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

// pages are the answers of an HTML report.
func pages(outcomes []outcome) (out []report.HTMLAnswer) {
	for _, o := range outcomes {
		if o.answer != nil {
			a := report.HTMLAnswer{Answer: *o.answer, Design: o.file.Design, Data: o.page.data, Solution: o.page.solution, Unsolved: o.page.unsolved}
			// The page counts what was met as well, which other formats leave out.
			a.Report = o.full
			out = append(out, a)
		}
	}
	return out
}
