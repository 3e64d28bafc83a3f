package service

import (
	"context"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// sound refuses what no design file could state either, such as numbers that are not finite. It ends soon after the context.
func sound(ctx context.Context, r *skidrulev1.CheckDesignRequest) error {
	until := designfile.Options{Stop: func() bool { return ctx.Err() != nil }}
	if r.GetDesign() != nil {
		err := designfile.Check(r.GetDesign(), nil, until)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			return err
		}
	}
	given := r.GetOptions().GetCatalogue()
	if given == nil {
		return nil
	}
	err := designfile.Check(given, nil, until)
	if ctx.Err() != nil {
		return ctx.Err()
	}
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
