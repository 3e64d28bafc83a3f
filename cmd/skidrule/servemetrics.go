package main

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"time"

	sdktrace "go.opentelemetry.io/otel/sdk/trace"

	"github.com/skidrule/skidrule/internal/service"
)

// telemetry is where metrics and traces of a server go. Its parts are nil where nobody asked for them.
type telemetry struct {
	gathered *service.Telemetry
	listener net.Listener
}

// telemetry prepares what --metrics and --otlp ask for.
func (f *serveFlags) telemetry(ctx context.Context, o *service.Options) (*telemetry, error) {
	t := &telemetry{}
	if f.metrics == "" && f.otlp == "" {
		return t, nil
	}
	var exporter sdktrace.SpanExporter
	var err error
	if f.otlp != "" {
		if exporter, err = service.OTLP(ctx, f.otlp); err != nil {
			return nil, fmt.Errorf("--otlp %s: %w", f.otlp, err)
		}
	}
	if t.gathered, err = service.NewTelemetry(exporter); err != nil {
		return nil, err
	}
	o.Telemetry = t.gathered
	if f.metrics != "" {
		if t.listener, _, err = f.open(f.metrics); err != nil {
			t.close()
			return nil, err
		}
	}
	return t, nil
}

// serve gives metrics until the context ends.
func (t *telemetry) serve(ctx context.Context) error {
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", t.gathered.Handler())
	server := &http.Server{Handler: mux, ReadHeaderTimeout: 10 * time.Second, WriteTimeout: 30 * time.Second, MaxHeaderBytes: 16 << 10}
	stop := context.AfterFunc(ctx, func() { server.Close() })
	defer stop()
	if err := server.Serve(t.listener); !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}

// close sends what was gathered, for a few seconds at most.
func (t *telemetry) close() {
	if t.listener != nil {
		t.listener.Close()
	}
	if t.gathered != nil {
		ctx, cancel := context.WithTimeout(context.Background(), 3*time.Second)
		defer cancel()
		// A collector that is not there must not keep a server from stopping.
		_ = t.gathered.Close(ctx)
	}
}
