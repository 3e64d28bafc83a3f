package service

import (
	"context"
	"net/http"
	"strings"
	"time"

	"connectrpc.com/connect"
	"connectrpc.com/otelconnect"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"
	"go.opentelemetry.io/contrib/instrumentation/google.golang.org/grpc/otelgrpc"
	"go.opentelemetry.io/otel/attribute"
	"go.opentelemetry.io/otel/exporters/otlp/otlptrace/otlptracegrpc"
	otelprometheus "go.opentelemetry.io/otel/exporters/prometheus"
	"go.opentelemetry.io/otel/metric"
	"go.opentelemetry.io/otel/propagation"
	sdkmetric "go.opentelemetry.io/otel/sdk/metric"
	"go.opentelemetry.io/otel/sdk/resource"
	sdktrace "go.opentelemetry.io/otel/sdk/trace"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/stats"

	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// scope names what of the telemetry is ours.
const scope = "github.com/skidrule/skidrule/internal/service"

// Telemetry gathers traces and metrics by the semantic conventions of OpenTelemetry for calls, and metrics of our own about
// checks. Neither holds anything of designs: labels are methods, codes and statuses of outcomes.
type Telemetry struct {
	traces     *sdktrace.TracerProvider
	metrics    *sdkmetric.MeterProvider
	registry   *prometheus.Registry
	components metric.Int64Histogram
	outcomes   metric.Int64Counter
	sessions   metric.Int64UpDownCounter
	calls      metric.Float64Histogram
}

// OTLP gives an exporter of traces to a collector that speaks OTLP over gRPC in plain text, as one on the same machine does.
func OTLP(ctx context.Context, address string) (sdktrace.SpanExporter, error) {
	return otlptracegrpc.New(ctx, otlptracegrpc.WithEndpoint(address), otlptracegrpc.WithInsecure())
}

// NewTelemetry prepares metrics, and traces where there is an exporter for them.
func NewTelemetry(exporter sdktrace.SpanExporter) (*Telemetry, error) {
	who := resource.NewSchemaless(attribute.String("service.name", "skidrule"), attribute.String("service.version", engine.Version()))
	t := &Telemetry{registry: prometheus.NewRegistry()}
	traces := []sdktrace.TracerProviderOption{sdktrace.WithResource(who)}
	if exporter != nil {
		traces = append(traces, sdktrace.WithBatcher(exporter))
	} else {
		traces = append(traces, sdktrace.WithSampler(sdktrace.NeverSample()))
	}
	t.traces = sdktrace.NewTracerProvider(traces...)
	reader, err := otelprometheus.New(otelprometheus.WithRegisterer(t.registry))
	if err != nil {
		return nil, err
	}
	t.metrics = sdkmetric.NewMeterProvider(sdkmetric.WithReader(reader), sdkmetric.WithResource(who))
	meter := t.metrics.Meter(scope)
	if t.components, err = meter.Int64Histogram("skidrule.check.components", metric.WithUnit("{component}"), metric.WithDescription("Components of the designs that were checked."),
		metric.WithExplicitBucketBoundaries(10, 30, 100, 300, 1000, 3000, 10000)); err != nil {
		return nil, err
	}
	if t.outcomes, err = meter.Int64Counter("skidrule.check.outcomes", metric.WithUnit("{outcome}"), metric.WithDescription("Pairs of rule and thing by the worst of their cases.")); err != nil {
		return nil, err
	}
	// The library for HTTP still measures by names that the conventions have left; those for gRPC and these are of today.
	if t.calls, err = meter.Float64Histogram("rpc.server.call.duration", metric.WithUnit("s"), metric.WithDescription("Measures the duration of an incoming Remote Procedure Call (RPC)."),
		metric.WithExplicitBucketBoundaries(0.005, 0.01, 0.025, 0.05, 0.075, 0.1, 0.25, 0.5, 0.75, 1, 2.5, 5, 7.5, 10)); err != nil {
		return nil, err
	}
	t.sessions, err = meter.Int64UpDownCounter("skidrule.sessions", metric.WithUnit("{session}"), metric.WithDescription("Editing sessions that are open."))
	return t, err
}

// Handler gives the metrics to Prometheus.
func (t *Telemetry) Handler() http.Handler {
	return promhttp.HandlerFor(t.registry, promhttp.HandlerOpts{MaxRequestsInFlight: 4})
}

// Close sends what was gathered.
func (t *Telemetry) Close(ctx context.Context) error {
	err := t.traces.Shutdown(ctx)
	if other := t.metrics.Shutdown(ctx); err == nil {
		err = other
	}
	return err
}

// watchedMethod tells whether calls of a method are traced and counted; those of tools and health checks are not.
func watchedMethod(method string) bool {
	return strings.HasPrefix(strings.TrimPrefix(method, "/"), "skidrule.")
}

var propagator = propagation.NewCompositeTextMapPropagator(propagation.TraceContext{})

// server gives what gathers from gRPC.
func (t *Telemetry) server() []grpc.ServerOption {
	if t == nil {
		return nil
	}
	return []grpc.ServerOption{grpc.StatsHandler(otelgrpc.NewServerHandler(otelgrpc.WithTracerProvider(t.traces), otelgrpc.WithMeterProvider(t.metrics),
		otelgrpc.WithPropagators(propagator), otelgrpc.WithFilter(func(i *stats.RPCTagInfo) bool { return watchedMethod(i.FullMethodName) })))}
}

// web gives what gathers from HTTP.
func (t *Telemetry) web() ([]connect.Interceptor, error) {
	if t == nil {
		return nil, nil
	}
	i, err := otelconnect.NewInterceptor(otelconnect.WithTracerProvider(t.traces), otelconnect.WithoutMetrics(),
		otelconnect.WithPropagator(propagator), otelconnect.WithTrustRemote(), otelconnect.WithoutServerPeerAttributes(), otelconnect.WithoutTraceEvents())
	return []connect.Interceptor{i}, err
}

// called measures one call over HTTP.
func (t *Telemetry) called(ctx context.Context, procedure string, begin time.Time, code codes.Code) {
	if t == nil || !watchedMethod(procedure) {
		return
	}
	list := []attribute.KeyValue{attribute.String("rpc.system.name", "connectrpc"), attribute.String("rpc.method", strings.TrimPrefix(procedure, "/"))}
	if code != codes.OK {
		word := connect.Code(code).String()
		list = append(list, attribute.String("rpc.response.status_code", word), attribute.String("error.type", word))
	}
	t.calls.Record(context.WithoutCancel(ctx), time.Since(begin).Seconds(), metric.WithAttributes(list...))
}

// checked counts one report.
func (t *Telemetry) checked(ctx context.Context, r *skidrulev1.Report) {
	if t == nil {
		return
	}
	c := r.GetCoverage()
	t.components.Record(ctx, int64(c.GetComponents()))
	for status, n := range map[string]int32{"met": c.GetMet(), "broken": c.GetBroken(), "not_verifiable": c.GetNotVerifiable(), "not_applicable": c.GetNotApplicable(), "failed": c.GetFailed()} {
		t.outcomes.Add(ctx, int64(n), metric.WithAttributes(attribute.String("skidrule.outcome.status", status)))
	}
}

// session counts an editing session that opens; what it gives counts that it closed.
func (t *Telemetry) session(ctx context.Context) func() {
	if t == nil {
		return func() {}
	}
	t.sessions.Add(ctx, 1)
	return func() { t.sessions.Add(context.WithoutCancel(ctx), -1) }
}
