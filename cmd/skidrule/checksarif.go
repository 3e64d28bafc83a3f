package main

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// sarif gives what a SARIF log needs beside the answers.
func (f *checkFlags) sarif(outcomes []outcome, asked []*skidrulev1.Rule) report.SARIFOptions {
	o := report.SARIFOptions{Version: engine.Version(), Category: f.category, Archive: f.archive, Rules: asked}
	if slices.ContainsFunc(outcomes, func(o outcome) bool { return o.answer != nil && len(o.site.options.GetWaivers()) > 0 }) {
		// Findings about waivers are told whatever --only and --skip say.
		o.Rules = slices.Concat(asked, engine.WaiverRules())
	}
	if folder, err := os.Getwd(); err == nil {
		o.Bases = []string{folder}
		if real, err := filepath.EvalSymlinks(folder); err == nil {
			o.Bases = append(o.Bases, real)
		}
	}
	return o
}

// askedRules are the rules that a run asks, built-in ones of this process or of the server and those of the sites.
func (f *checkFlags) askedRules(ctx context.Context, a asker, site []*skidrulev1.Rule) ([]*skidrulev1.Rule, error) {
	var rules []*skidrulev1.Rule
	switch a := a.(type) {
	case *engine.Engine:
		for _, r := range a.Book().Rules() {
			rules = append(rules, r.Rule)
		}
	case *skidrule.Client:
		list, err := a.Rules(ctx, "")
		if err != nil {
			return nil, errors.New(plainFailure(err, f.server))
		}
		rules = list
	}
	return slices.DeleteFunc(append(rules, site...), func(r *skidrulev1.Rule) bool { return !f.asked.Asks(r.GetId()) }), nil
}
