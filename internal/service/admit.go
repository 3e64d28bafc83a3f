package service

import (
	"context"

	"go.opentelemetry.io/otel/codes"

	"github.com/skidrule/skidrule/internal/answer"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// core is what services about one design have in common.
type core struct {
	engine *engine.Engine
	limits Limits
}

// admit refuses a request that is larger than allowed or of which what is looked at is not sound.
func (l Limits) admit(ctx context.Context, check, look *skidrulev1.CheckDesignRequest) error {
	if err := l.request(check); err != nil {
		return err
	}
	ctx, span := engine.Stage(ctx, "look at the form")
	defer span.End()
	err := answer.Sound(ctx, look)
	if err != nil {
		span.SetStatus(codes.Error, codeOf(err).String())
	}
	return err
}

// admitted answers a request if the check of the same design would be admitted.
func admitted[Q, A any](ctx context.Context, c core, check *skidrulev1.CheckDesignRequest, r Q, told func(context.Context, *engine.Engine, Q) (A, error)) (A, error) {
	if err := c.limits.admit(ctx, check, check); err != nil {
		var none A
		return none, err
	}
	return told(ctx, c.engine, r)
}
