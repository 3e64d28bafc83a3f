package main

import (
	"context"
	"fmt"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/answer"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// withPage checks a design and finds what an HTML report shows of it beside.
func (c *checking) withPage(ctx context.Context, r *skidrulev1.CheckDesignRequest) (*skidrulev1.Report, *answer.Page, error) {
	switch a := c.asker.(type) {
	case *engine.Engine:
		return answer.CheckForPage(ctx, a, r)
	case *skidrule.Client:
		report, err := a.Check(ctx, r)
		if err != nil {
			return nil, nil, err
		}
		p := &answer.Page{Data: answer.PartData(r.GetDesign(), r.GetOptions().GetCatalogue())}
		p.Solution, p.Unsolved = a.Solve(ctx, answer.SolutionFor(r))
		return report, p, nil
	}
	return nil, nil, fmt.Errorf("no page comes from %T", c.asker)
}

// pages are the answers of an HTML report.
func pages(outcomes []outcome, server string) (out []report.HTMLAnswer) {
	for _, o := range outcomes {
		if o.answer != nil {
			a := report.HTMLAnswer{Answer: *o.answer, Design: o.file.Design, Data: o.page.Data, Solution: o.page.Solution}
			if o.page.Unsolved != nil {
				a.Unsolved = plainFailure(o.page.Unsolved, server)
			}
			// The page counts what was met as well, which other formats leave out.
			a.Report = o.full
			out = append(out, a)
		}
	}
	return out
}
