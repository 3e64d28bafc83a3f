package main

import (
	"context"
	"errors"
	"slices"

	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/report"
	"github.com/skidrule/skidrule/internal/service"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// pageParts is what an HTML report shows beside the outcomes.
type pageParts struct {
	ctx     context.Context
	answers []report.HTMLAnswer
	options report.HTMLOptions
}

// page asks for what an HTML report needs; nothing where none is wanted.
func (f *checkFlags) page(ctx context.Context, c *checking, outcomes []outcome, out []target) (*pageParts, error) {
	if !slices.ContainsFunc(out, func(t target) bool { return t.format == "html" }) {
		return nil, nil
	}
	p := &pageParts{ctx: ctx, options: report.HTMLOptions{Date: f.date, Units: f.look.system()}}
	var err error
	if p.options.Rules, err = f.askedRules(ctx, c.asker, c.rules); err != nil {
		return nil, err
	}
	for _, o := range outcomes {
		if o.answer == nil {
			continue
		}
		// The page counts what was met as well, which other formats leave out.
		options := proto.CloneOf(o.site.options)
		options.View = skidrulev1.ReportView_REPORT_VIEW_FULL
		full, err := c.asker.Check(ctx, &skidrulev1.CheckDesignRequest{Design: o.design, Options: options})
		if err != nil {
			return nil, errors.New(plainFailure(err, f.server))
		}
		a := report.HTMLAnswer{Answer: *o.answer, Design: o.design, Data: dataOf(o.design, o.site.brought.catalogue)}
		a.Report = full
		request := &skidrulev1.SolveDesignRequest{Design: o.design, Catalogue: options.GetCatalogue(), CaseIds: f.cases, SkipMargins: true}
		if a.Solution, err = solveWith(ctx, c.asker, request); err != nil {
			// The page is of use without it, and says why there is none.
			a.Unsolved = plainFailure(err, f.server)
		}
		// What was written to a baseline just now is known here too.
		for _, f := range o.answer.Report.GetFindings() {
			if f.GetInBaseline() {
				mark(full, []string{f.GetFingerprint()})
			}
		}
		p.answers = append(p.answers, a)
	}
	return p, nil
}

// solveWith solves where the asker asks.
func solveWith(ctx context.Context, a asker, request *skidrulev1.SolveDesignRequest) (*skidrulev1.Solution, error) {
	switch a := a.(type) {
	case *engine.Engine:
		answer, err := service.SolveDesign(ctx, a, request)
		return answer.GetSolution(), err
	case *skidrule.Client:
		return a.Solve(ctx, request)
	}
	return nil, nil
}

// dataOf gives the components of a design with the data of their parts; nothing where the design does not resolve here.
func dataOf(d *skidrulev1.Design, own *skidrulev1.Catalogue) map[string]*skidrulev1.Component {
	var catalogues plant.Catalogues
	for _, c := range []*skidrulev1.Catalogue{own, catalogue.Demo()} {
		if c == nil {
			continue
		}
		parts, problems := plant.Index(c)
		if len(problems) > 0 {
			return nil
		}
		catalogues = append(catalogues, parts)
	}
	p, problems := plant.Resolve(d, catalogues)
	if len(problems) > 0 {
		return nil
	}
	data := map[string]*skidrulev1.Component{}
	for i := range p.Components {
		data[p.Components[i].Tag] = p.Components[i].Data
	}
	return data
}
