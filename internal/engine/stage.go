package engine

import (
	"context"

	"go.opentelemetry.io/otel/trace"
)

// Stage begins a span for a stage of a check, below the span that the context carries. Where there is none it costs next to
// nothing.
func Stage(ctx context.Context, name string) (context.Context, trace.Span) {
	return trace.SpanFromContext(ctx).TracerProvider().Tracer("github.com/skidrule/skidrule/internal/engine").Start(ctx, name)
}
