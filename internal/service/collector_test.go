package service_test

import (
	"context"
	"io"
	"net"
	"net/http/httptest"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	coltracepb "go.opentelemetry.io/proto/otlp/collector/trace/v1"
	commonpb "go.opentelemetry.io/proto/otlp/common/v1"
	tracepb "go.opentelemetry.io/proto/otlp/trace/v1"
	"google.golang.org/grpc"
	"google.golang.org/grpc/metadata"
	"google.golang.org/protobuf/encoding/protojson"

	"github.com/skidrule/skidrule/internal/service"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// collector takes traces as a collector of OpenTelemetry does, and keeps them.
type collector struct {
	coltracepb.UnimplementedTraceServiceServer
	mu       sync.Mutex
	resource map[string]string
	spans    []*tracepb.Span
}

func (c *collector) Export(_ context.Context, r *coltracepb.ExportTraceServiceRequest) (*coltracepb.ExportTraceServiceResponse, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, of := range r.GetResourceSpans() {
		c.resource = attributes(of.GetResource().GetAttributes())
		for _, s := range of.GetScopeSpans() {
			c.spans = append(c.spans, s.GetSpans()...)
		}
	}
	return &coltracepb.ExportTraceServiceResponse{}, nil
}

func attributes(list []*commonpb.KeyValue) map[string]string {
	out := map[string]string{}
	for _, a := range list {
		out[a.GetKey()] = a.GetValue().GetStringValue()
	}
	return out
}

// startCollector listens on a free port of this machine.
func startCollector(t *testing.T) (*collector, string) {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	c, server := &collector{}, grpc.NewServer()
	coltracepb.RegisterTraceServiceServer(server, c)
	done := make(chan struct{})
	go func() {
		defer close(done)
		_ = server.Serve(listener)
	}()
	t.Cleanup(func() {
		server.Stop()
		<-done
	})
	return c, listener.Addr().String()
}

// Traces reach a collector over OTLP: each call with a span for every stage below it, at both doors, as part of the caller's own
// trace, and with nothing of the design.
func TestTracesReachACollector(t *testing.T) {
	collected, address := startCollector(t)
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	exporter, err := service.OTLP(ctx, address)
	require.NoError(t, err)
	telemetry, err := service.NewTelemetry(exporter)
	require.NoError(t, err)
	o := options()
	o.Telemetry = telemetry
	e := smallEngine(t)
	conn, web := serve(t, e, o), serveWeb(t, e, o)
	d := design(t)
	d.Name = "a secret name"

	const traceID, parentID = "0af7651916cd43dd8448eb211c80319c", "b7ad6b7169203331"
	const parent = "00-" + traceID + "-" + parentID + "-01"
	traced := metadata.AppendToOutgoingContext(ctx, "traceparent", parent)
	_, err = skidrulev1.NewCheckServiceClient(conn).CheckDesign(traced, &skidrulev1.CheckDesignRequest{Design: d})
	require.NoError(t, err)
	_, err = skidrulev1.NewSolveServiceClient(conn).SolveDesign(traced, &skidrulev1.SolveDesignRequest{Design: d})
	require.NoError(t, err)
	_, err = skidrulev1.NewDrawingServiceClient(conn).DrawDesign(traced, &skidrulev1.DrawDesignRequest{Design: d})
	require.NoError(t, err)
	_, err = skidrulev1.NewCheckServiceClient(conn).CheckDesign(traced, &skidrulev1.CheckDesignRequest{})
	require.Error(t, err)
	body, err := protojson.Marshal(&skidrulev1.CheckDesignRequest{Design: d})
	require.NoError(t, err)
	post(t, web, checkDesign, string(body), map[string]string{"traceparent": parent})
	require.NoError(t, telemetry.Close(ctx))

	collected.mu.Lock()
	defer collected.mu.Unlock()
	assert.Equal(t, "skidrule", collected.resource["service.name"])
	assert.NotEmpty(t, collected.resource["service.version"])
	type call struct {
		name   string
		failed bool
		stages map[string]bool
	}
	calls := map[string]*call{}
	for _, s := range collected.spans {
		assert.Equal(t, traceID, hexOf(s.GetTraceId()), s.GetName())
		assert.GreaterOrEqual(t, s.GetEndTimeUnixNano(), s.GetStartTimeUnixNano())
		assert.NotContains(t, s.String(), "secret")
		if s.GetKind() == tracepb.Span_SPAN_KIND_SERVER {
			assert.Equal(t, parentID, hexOf(s.GetParentSpanId()), "a call is part of its caller's trace")
			assert.NotEmpty(t, attributes(s.GetAttributes())["rpc.method"], s.GetName())
			calls[hexOf(s.GetSpanId())] = &call{s.GetName(), s.GetStatus().GetCode() == tracepb.Status_STATUS_CODE_ERROR, map[string]bool{}}
		}
	}
	for _, s := range collected.spans {
		if c := calls[hexOf(s.GetParentSpanId())]; c != nil {
			c.stages[s.GetName()] = true
		}
	}
	stages := map[string][]string{
		"CheckDesign": {"look at the form", "resolve", "choose rules", "ask rules", "report"},
		"SolveDesign": {"look at the form", "resolve", "solve", "margins"},
		"DrawDesign":  {"look at the form", "draw"},
	}
	seen := map[string]int{}
	for _, c := range calls {
		method := c.name[strings.LastIndex(c.name, "/")+1:]
		seen[method]++
		if len(c.stages) <= 2 && method == "CheckDesign" {
			// The call without a design ends where that is noticed.
			seen["refused"]++
			continue
		}
		for _, stage := range stages[method] {
			assert.True(t, c.stages[stage], "%s: %s of %v", c.name, stage, c.stages)
		}
	}
	assert.Equal(t, map[string]int{"CheckDesign": 3, "SolveDesign": 1, "DrawDesign": 1, "refused": 1}, seen)
}

func hexOf(b []byte) string {
	const digits = "0123456789abcdef"
	var s strings.Builder
	for _, x := range b {
		s.WriteByte(digits[x>>4])
		s.WriteByte(digits[x&15])
	}
	return s.String()
}

// A collector that is not there costs no call anything.
func TestNoCollector(t *testing.T) {
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	exporter, err := service.OTLP(ctx, "127.0.0.1:1")
	require.NoError(t, err)
	telemetry, err := service.NewTelemetry(exporter)
	require.NoError(t, err)
	o := options()
	o.Telemetry = telemetry
	conn := serve(t, smallEngine(t), o)
	begin := time.Now()
	_, err = skidrulev1.NewCheckServiceClient(conn).CheckDesign(ctx, &skidrulev1.CheckDesignRequest{Design: design(t)})
	require.NoError(t, err)
	assert.Less(t, time.Since(begin), 10*time.Second)
	short, stop := context.WithTimeout(ctx, 100*time.Millisecond)
	defer stop()
	_ = telemetry.Close(short)
}

// The page for Prometheus names calls by the semantic conventions of OpenTelemetry, with their unit, and holds nothing of callers
// and designs.
func TestMetricsByTheConventions(t *testing.T) {
	telemetry, err := service.NewTelemetry(nil)
	require.NoError(t, err)
	o := options()
	o.Telemetry = telemetry
	e := smallEngine(t)
	conn, web := serve(t, e, o), serveWeb(t, e, o)
	ctx := context.Background()
	_, err = skidrulev1.NewCheckServiceClient(conn).CheckDesign(ctx, &skidrulev1.CheckDesignRequest{Design: design(t)})
	require.NoError(t, err)
	_, err = skidrulev1.NewCheckServiceClient(conn).CheckDesign(ctx, &skidrulev1.CheckDesignRequest{})
	require.Error(t, err)
	body, err := protojson.Marshal(&skidrulev1.CheckDesignRequest{Design: design(t)})
	require.NoError(t, err)
	post(t, web, checkDesign, string(body), nil)
	post(t, web, checkDesign, "{}", nil)
	// Every label but those of the instruments' own names, in order, of the counts of calls.
	own := regexp.MustCompile(`otel_scope_\w+="[^"]*",?`)
	var counts []string
	// A call is counted when the server has done with it, which may be after its caller has the answer.
	require.EventuallyWithT(t, func(c *assert.CollectT) {
		page := httptest.NewRecorder()
		telemetry.Handler().ServeHTTP(page, httptest.NewRequest("GET", "/metrics", nil))
		text, err := io.ReadAll(page.Body)
		require.NoError(c, err)
		counts = nil
		for line := range strings.Lines(string(text)) {
			if strings.HasPrefix(line, "rpc_") {
				assert.True(t, strings.HasPrefix(line, "rpc_server_call_duration_seconds"), line)
			}
			if strings.HasPrefix(line, "rpc_server_call_duration_seconds_count") {
				counts = append(counts, own.ReplaceAllString(strings.TrimSpace(line), ""))
			}
		}
		assert.GreaterOrEqual(c, len(counts), 4)
	}, 5*time.Second, 10*time.Millisecond)
	const method = `rpc_method="skidrule.v1.CheckService/CheckDesign"`
	assert.ElementsMatch(t, []string{
		`rpc_server_call_duration_seconds_count{` + method + `,rpc_response_status_code="INVALID_ARGUMENT",rpc_system_name="grpc"} 1`,
		`rpc_server_call_duration_seconds_count{` + method + `,rpc_response_status_code="OK",rpc_system_name="grpc"} 1`,
		`rpc_server_call_duration_seconds_count{` + method + `,rpc_system_name="connectrpc"} 1`,
		`rpc_server_call_duration_seconds_count{error_type="invalid_argument",` + method + `,rpc_response_status_code="invalid_argument",rpc_system_name="connectrpc"} 1`,
	}, counts)
}
