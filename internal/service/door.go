package service

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"time"

	"connectrpc.com/connect"
	"github.com/rs/cors"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// webService answers over HTTP what checkService answers over gRPC.
type webService struct{ *checkService }

// CheckDesigns checks a batch.
func (s webService) CheckDesigns(ctx context.Context, stream *connect.BidiStream[skidrulev1.CheckDesignsRequest, skidrulev1.CheckDesignsResponse]) error {
	return s.checkDesigns(ctx, webStream[skidrulev1.CheckDesignsRequest, skidrulev1.CheckDesignsResponse]{stream})
}

// EditDesign keeps a design while it is drawn.
func (s webService) EditDesign(ctx context.Context, stream *connect.BidiStream[skidrulev1.EditDesignRequest, skidrulev1.EditDesignResponse]) error {
	return s.editDesign(ctx, webStream[skidrulev1.EditDesignRequest, skidrulev1.EditDesignResponse]{stream})
}

// webStream names the end of a stream as gRPC does.
type webStream[In, Out any] struct {
	*connect.BidiStream[In, Out]
}

// Recv reads one request; the error is io.EOF at the end.
func (s webStream[In, Out]) Recv() (*In, error) {
	in, err := s.Receive()
	if errors.Is(err, io.EOF) {
		return nil, io.EOF
	}
	return in, err
}

// description is made for the first who asks.
var description = sync.OnceValues(OpenAPI)

// web is the handler of the HTTP port: JSON, gRPC-Web and gRPC by the media type of the request.
func (s *Server) web(o Options) http.Handler {
	mux := http.NewServeMux()
	traced, err := o.Telemetry.web()
	if err != nil {
		// Instruments have fixed names, of which none is wrong.
		panic(err)
	}
	options := []connect.HandlerOption{
		// The transport lets somewhat longer messages in, so that the answer can say what was given and what is allowed.
		connect.WithReadMaxBytes(2 * o.Limits.MessageBytes),
		connect.WithInterceptors(append(traced, &calls{o.Limits, s.log, o.Tokens, o.Telemetry})...),
	}
	for _, d := range s.doors() {
		mux.Handle(d.web(options...))
	}
	mux.HandleFunc("GET /openapi.json", func(w http.ResponseWriter, _ *http.Request) {
		// Only a service that the program does not have is an error.
		document, err := description()
		if err != nil {
			http.Error(w, "no description", http.StatusInternalServerError)
			return
		}
		w.Header().Set("Content-Type", "application/json")
		w.Write(document)
	})
	mux.HandleFunc("GET /healthz", func(w http.ResponseWriter, _ *http.Request) {
		select {
		case <-s.stopping:
			http.Error(w, "stopping", http.StatusServiceUnavailable)
		default:
			io.WriteString(w, "serving\n")
		}
	})
	if len(o.Origins) == 0 {
		return mux
	}
	return cors.New(cors.Options{
		AllowedOrigins: o.Origins,
		AllowedMethods: []string{http.MethodGet, http.MethodPost},
		AllowedHeaders: []string{"Content-Type", "Authorization", "Connect-Protocol-Version", "Connect-Timeout-Ms", "Grpc-Timeout", "X-Grpc-Web", "X-User-Agent"},
		ExposedHeaders: []string{"Grpc-Status", "Grpc-Message", "Grpc-Status-Details-Bin"},
		MaxAge:         int((2 * time.Hour).Seconds()),
	}).Handler(mux)
}

// ServeWeb answers JSON over HTTP and gRPC-Web until the context ends, then lets running calls end for the stop time. The
// listener is closed when it returns.
func (s *Server) ServeWeb(ctx context.Context, listener net.Listener) error {
	protocols := &http.Protocols{}
	protocols.SetHTTP1(true)
	protocols.SetHTTP2(true)
	protocols.SetUnencryptedHTTP2(true)
	server := &http.Server{
		Handler: s.handler, Protocols: protocols, TLSConfig: s.tls, ErrorLog: slog.NewLogLogger(s.log.Handler(), slog.LevelDebug),
		ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 5 * time.Minute, MaxHeaderBytes: 64 << 10,
		HTTP2: &http.HTTP2Config{MaxConcurrentStreams: maxStreams},
	}
	serve := func() error { return server.Serve(listener) }
	if s.tls != nil {
		serve = func() error { return server.ServeTLS(listener, "", "") }
	}
	err := serveUntil(ctx, serve, func() {
		s.sayStopping()
		limit, cancel := context.WithTimeout(context.WithoutCancel(ctx), s.stop)
		defer cancel()
		if server.Shutdown(limit) != nil {
			server.Close()
		}
	})
	if errors.Is(err, http.ErrServerClosed) {
		return nil
	}
	return err
}
