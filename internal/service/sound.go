package service

import (
	"context"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// sound refuses what no design file could state either, such as numbers that are not finite.
func sound(ctx context.Context, r *skidrulev1.CheckDesignRequest) error {
	if r.GetDesign() != nil {
		if err := soundDesign(ctx, r.GetDesign()); err != nil {
			return err
		}
	}
	given := r.GetOptions().GetCatalogue()
	if given == nil {
		return nil
	}
	err := designfile.Check(given, nil, designfile.Options{})
	if problems, ok := err.(*designfile.Problems); ok {
		request := &engine.RequestError{Violations: fromProblems(problems)}
		for i := range request.Violations {
			v := &request.Violations[i]
			v.InDesign, v.Path = false, "options.catalogue."+v.Path
		}
		return request
	}
	return err
}

// soundPiece is how many elements are looked at between two looks at the context: some milliseconds of work.
const soundPiece = 500

// soundDesign looks at a large design piece by piece, so that it stops soon after the context ends. A piece with a problem has
// the whole looked at, whose answer then tells of all of them.
func soundDesign(ctx context.Context, d *skidrulev1.Design) error {
	whole := func() error { return designfile.Check(d, nil, designfile.Options{}) }
	if len(d.GetComponents())+len(d.GetLines()) <= soundPiece {
		return whole()
	}
	tags := make(map[string]*skidrulev1.Component, len(d.GetComponents()))
	for _, c := range d.GetComponents() {
		tags[c.GetTag()] = c
	}
	lines := make(map[string]bool, len(d.GetLines()))
	for _, l := range d.GetLines() {
		lines[l.GetTag()] = true
	}
	if len(tags) < len(d.GetComponents()) || len(lines) < len(d.GetLines()) {
		return whole()
	}
	pieces := []*skidrulev1.Design{{
		Name: d.GetName(), Revision: d.GetRevision(), Description: d.GetDescription(), Basis: d.GetBasis(), Cases: d.GetCases(),
		Assumptions: d.GetAssumptions(), Catalogue: d.GetCatalogue(),
	}}
	for all := d.GetComponents(); len(all) > 0; all = all[min(soundPiece, len(all)):] {
		pieces = append(pieces, &skidrulev1.Design{Components: all[:min(soundPiece, len(all))]})
	}
	for all := d.GetLines(); len(all) > 0; all = all[min(soundPiece, len(all)):] {
		piece := &skidrulev1.Design{Lines: all[:min(soundPiece, len(all))]}
		piece.Components = turning(piece.Lines, tags)
		pieces = append(pieces, piece)
	}
	for _, p := range pieces {
		if err := ctx.Err(); err != nil {
			return err
		}
		if designfile.Check(p, nil, designfile.Options{}) != nil {
			return whole()
		}
	}
	return nil
}

// turning gives the components that lines enter and leave by one port: whether they can depends on their kind.
func turning(lines []*skidrulev1.Line, tags map[string]*skidrulev1.Component) []*skidrulev1.Component {
	var out []*skidrulev1.Component
	told := map[string]bool{}
	for _, l := range lines {
		for _, stop := range l.GetRoute() {
			c := tags[stop.GetTag()]
			if c != nil && stop.GetEnter() != "" && stop.GetEnter() == stop.GetLeave() && !told[stop.GetTag()] {
				told[stop.GetTag()] = true
				out = append(out, c)
			}
		}
	}
	return out
}
