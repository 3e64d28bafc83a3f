package service

import (
	"context"
	"crypto/tls"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials"
	"google.golang.org/grpc/health"
	"google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/keepalive"
	"google.golang.org/grpc/reflection"

	"github.com/skidrule/skidrule/internal/engine"
)

// Options of a server.
type Options struct {
	Limits Limits
	// StopTime is the longest that a stopping server waits for calls to end.
	StopTime time.Duration
	// Reflection lets tools ask which services there are.
	Reflection bool
	// Log gets a line for each call; nil discards them.
	Log *slog.Logger
	// Tokens that callers need; nil lets everybody call.
	Tokens *Tokens
	// TLS encrypts; nil leaves the ways in plain text.
	TLS *tls.Config
	// Telemetry gathers traces and metrics; nil gathers none.
	Telemetry *Telemetry
	// Origins are the web pages' origins from which browsers may call over HTTP, as "https://example.org"; none for no page.
	Origins []string
}

// maxStreams is the most calls at once on one connection.
const maxStreams = 256

// Server answers calls on a listener.
type Server struct {
	grpc   *grpc.Server
	health *health.Server
	stop   time.Duration
	log    *slog.Logger
	tls    *tls.Config
	// handler answers over HTTP.
	handler http.Handler
	core    core
	check   *checkService
	// stopping is closed when the server begins to stop.
	stopping chan struct{}
	once     sync.Once
}

// New prepares a server for an engine.
func New(e *engine.Engine, o Options) *Server {
	log := o.Log
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	// Serving over HTTP writes into its configuration; the caller's may serve another door at the same time.
	s := &Server{health: health.NewServer(), stop: o.StopTime, log: log, tls: o.TLS.Clone(), stopping: make(chan struct{})}
	s.core, s.check = core{e, o.Limits}, newCheckService(e, o, log, s.stopping)
	s.handler = s.web(o)
	called := &calls{o.Limits, log, o.Tokens, nil}
	secure := o.Telemetry.server()
	if s.tls != nil {
		secure = append(secure, grpc.Creds(credentials.NewTLS(s.tls)))
	}
	s.grpc = grpc.NewServer(append(secure,
		// The transport lets somewhat longer messages in, so that the answer can say what was given and what is allowed.
		grpc.MaxRecvMsgSize(2*o.Limits.MessageBytes),
		grpc.MaxConcurrentStreams(maxStreams),
		grpc.KeepaliveEnforcementPolicy(keepalive.EnforcementPolicy{MinTime: 30 * time.Second, PermitWithoutStream: true}),
		grpc.UnaryInterceptor(called.unary),
		grpc.StreamInterceptor(called.stream),
	)...)
	for _, d := range s.doors() {
		d.grpc(s.grpc)
	}
	grpc_health_v1.RegisterHealthServer(s.grpc, s.health)
	for name := range s.grpc.GetServiceInfo() {
		s.health.SetServingStatus(name, grpc_health_v1.HealthCheckResponse_SERVING)
	}
	if o.Reflection {
		reflection.Register(s.grpc)
	}
	return s
}

// Serve answers calls until the context ends, then lets running calls end for the stop time and cuts off the rest. The
// listener is closed when it returns.
func (s *Server) Serve(ctx context.Context, listener net.Listener) error {
	err := serveUntil(ctx, func() error { return s.grpc.Serve(listener) }, s.shutDown)
	if errors.Is(err, grpc.ErrServerStopped) {
		return nil
	}
	return err
}

// serveUntil serves until that ends by itself, or until the context has ended and what stops it is done.
func serveUntil(ctx context.Context, serve func() error, stop func()) error {
	stopped := make(chan struct{})
	keep := context.AfterFunc(ctx, func() {
		defer close(stopped)
		stop()
	})
	err := serve()
	if !keep() {
		<-stopped
	}
	return err
}

// sayStopping tells health checks and open streams that the server goes.
func (s *Server) sayStopping() {
	s.once.Do(func() {
		s.health.Shutdown()
		close(s.stopping)
	})
}

// shutDown tells callers that the server goes, waits for running calls, and cuts off those that take too long.
func (s *Server) shutDown() {
	s.log.Info("stopping", slog.Duration("at_most", s.stop))
	s.sayStopping()
	graceful := make(chan struct{})
	go func() {
		defer close(graceful)
		s.grpc.GracefulStop()
	}()
	timer := time.NewTimer(s.stop)
	defer timer.Stop()
	select {
	case <-graceful:
	case <-timer.C:
		s.log.Warn("calls were cut off")
		s.grpc.Stop()
		<-graceful
	}
	s.log.Info("stopped")
}

// Loopback tells whether an address is reached from this machine alone.
func Loopback(address net.Addr) bool {
	switch a := address.(type) {
	case *net.TCPAddr:
		return a.IP.IsLoopback()
	case *net.UnixAddr:
		return true
	}
	return false
}
