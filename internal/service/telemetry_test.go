package service_test

import (
	"context"
	"io"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	sdktrace "go.opentelemetry.io/otel/sdk/trace"
	"go.opentelemetry.io/otel/sdk/trace/tracetest"
	"google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/protobuf/encoding/protojson"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/service"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// kept keeps spans although their provider was shut down.
type kept struct{ *tracetest.InMemoryExporter }

func (kept) Shutdown(context.Context) error { return nil }

var _ sdktrace.SpanExporter = kept{}

// Each call has a span with one for each stage below it, and counts in the metrics; neither holds anything of the design.
func TestTelemetry(t *testing.T) {
	spans := kept{tracetest.NewInMemoryExporter()}
	telemetry, err := service.NewTelemetry(spans)
	require.NoError(t, err)
	o := options()
	o.Telemetry = telemetry
	e := smallEngine(t)
	conn, web := serve(t, e, o), serveWeb(t, e, o)
	d := design(t)
	d.Name = "a secret name"
	request := &skidrulev1.CheckDesignRequest{Design: d}
	ctx := context.Background()
	_, err = skidrule.New(conn).Check(ctx, request)
	require.NoError(t, err)
	_, err = grpc_health_v1.NewHealthClient(conn).Check(ctx, &grpc_health_v1.HealthCheckRequest{})
	require.NoError(t, err)
	editing, err := skidrule.New(conn).Edit(ctx, d, nil)
	require.NoError(t, err)
	body, err := protojson.Marshal(request)
	require.NoError(t, err)
	post(t, web, checkDesign, string(body), nil)

	page := httptest.NewRecorder()
	telemetry.Handler().ServeHTTP(page, httptest.NewRequest("GET", "/metrics", nil))
	text, err := io.ReadAll(page.Body)
	require.NoError(t, err)
	metrics := string(text)
	assert.Regexp(t, `rpc_server_[a-z_]*duration[a-z_]*_count\{[^}]*CheckDesign[^}]*\} \d`, metrics)
	assert.Regexp(t, `skidrule_check_components_count(\{[^}]*\})? 3`, metrics)
	assert.Regexp(t, `skidrule_check_outcomes_total\{[^}]*skidrule_outcome_status="broken"[^}]*\} [1-9]`, metrics)
	assert.Regexp(t, `skidrule_sessions(\{[^}]*\})? 1`, metrics)
	assert.NotContains(t, metrics, "Health")
	assert.NotContains(t, metrics, "secret")
	require.NoError(t, editing.Close())

	require.NoError(t, telemetry.Close(ctx))
	calls := map[string]string{}
	stages := map[string]map[string]bool{}
	for _, s := range spans.GetSpans() {
		id := s.SpanContext.SpanID().String()
		if s.SpanKind.String() == "server" {
			calls[id] = s.Name
			assert.Contains(t, s.Name, "skidrule.v1.CheckService/")
		}
		parent := s.Parent.SpanID().String()
		if stages[parent] == nil {
			stages[parent] = map[string]bool{}
		}
		stages[parent][s.Name] = true
		for _, a := range s.Attributes {
			assert.NotContains(t, a.Value.String(), "secret")
		}
	}
	require.GreaterOrEqual(t, len(calls), 2, "one call over gRPC and one over HTTP")
	for id, name := range calls {
		for _, stage := range []string{"look at the form", "resolve", "choose rules", "ask rules", "report"} {
			assert.True(t, stages[id][stage], "%s: %s of %v", name, stage, stages[id])
		}
	}
}
