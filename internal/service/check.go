package service

import (
	"context"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// checkService answers designs.
type checkService struct {
	skidrulev1.UnimplementedCheckServiceServer
	engine *engine.Engine
	limits Limits
}

// CheckDesign checks one design.
func (s *checkService) CheckDesign(ctx context.Context, r *skidrulev1.CheckDesignRequest) (*skidrulev1.CheckDesignResponse, error) {
	if err := s.limits.request(r); err != nil {
		return nil, err
	}
	if err := sound(r); err != nil {
		return nil, err
	}
	report, err := s.engine.Check(ctx, r)
	if err != nil {
		return nil, err
	}
	return &skidrulev1.CheckDesignResponse{Report: report}, nil
}

// sound refuses what no design file could state either, such as numbers that are not finite.
func sound(r *skidrulev1.CheckDesignRequest) error {
	if r.GetDesign() != nil {
		if err := designfile.Check(r.GetDesign(), nil, designfile.Options{}); err != nil {
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
