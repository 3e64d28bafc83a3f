package answer

import (
	"context"
	"errors"

	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Sound refuses what no design file could state either, such as numbers that are not finite. It ends soon after the context.
func Sound(ctx context.Context, r *skidrulev1.CheckDesignRequest) error {
	if err := soundPart(ctx, "", r.GetDesign()); err != nil {
		return err
	}
	return soundPart(ctx, "options.catalogue.", r.GetOptions().GetCatalogue())
}

// soundPart looks at one message of a request; field is where it stands, with a point, and empty for the design. It may be nil.
func soundPart(ctx context.Context, field string, m proto.Message) error {
	if !m.ProtoReflect().IsValid() {
		return nil
	}
	err := designfile.Check(m, nil, designfile.Options{Stop: func() bool { return ctx.Err() != nil }})
	if ctx.Err() != nil {
		return ctx.Err()
	}
	var problems *designfile.Problems
	if !errors.As(err, &problems) {
		return err
	}
	wrong := &engine.RequestError{More: problems.More}
	for _, p := range problems.List {
		wrong.Violations = append(wrong.Violations, engine.Violation{Problem: plant.Problem{Path: field + p.Path, Message: p.Message, Suggestion: p.Suggestion}, InDesign: field == ""})
	}
	return wrong
}
