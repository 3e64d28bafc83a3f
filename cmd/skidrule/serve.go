package main

import (
	"fmt"
	"log/slog"
	"net"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/sync/errgroup"

	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/service"
)

// defaultListen is reached from this machine alone. The port is ours by choice; nothing else stands behind the number.
const defaultListen = "127.0.0.1:7433"

// serveFlags are the flags of serve.
type serveFlags struct {
	listen, http, log          string
	certificate, key, clientCA string
	tokens, metrics, otlp      string
	origins                    []string
	plaintext, reflection      bool
	stop                       time.Duration
	limits                     service.Limits
}

func newServe(s *surroundings) *cobra.Command {
	f := &serveFlags{limits: service.DefaultLimits()}
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Answer designs over gRPC, and JSON over HTTP",
		Long: `serve answers designs, batches of them, editing sessions, rules, calculations and drawings over gRPC, with health for each
service. With --http it answers the same as JSON over HTTP and as gRPC-Web on a second address. It listens on this machine
alone unless told otherwise, and there offers reflection to tools as well. Files of certificates and tokens are read again
when they change. SIGTERM and SIGINT let running calls end.`,
		Example: `  skidrule serve
  skidrule check loop.yaml --server ` + defaultListen + `
  skidrule serve --http 127.0.0.1:7480 --origin https://plans.example
  skidrule serve --listen 0.0.0.0:7433 --tls-cert server.pem --tls-key server.key --client-ca clients.pem --tokens tokens.txt`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return serve(cmd, f, s) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.listen, "listen", defaultListen, "`address` to listen on; port 0 takes a free one")
	flags.StringVar(&f.http, "http", "", "`address` to answer JSON over HTTP and gRPC-Web on as well")
	flags.StringSliceVar(&f.origins, "origin", nil, "`origins` of web pages that may call over HTTP, as https://plans.example; may be repeated")
	flags.StringVar(&f.certificate, "tls-cert", "", "`FILE` with the server's certificate in PEM; encrypts both addresses")
	flags.StringVar(&f.key, "tls-key", "", "`FILE` with the key of the certificate")
	flags.StringVar(&f.clientCA, "client-ca", "", "`FILE` with the authorities of client certificates; callers need one then")
	flags.StringVar(&f.tokens, "tokens", "", "`FILE` with bearer tokens, one a line; callers need one then")
	flags.StringVar(&f.metrics, "metrics", "", "`address` to give metrics on, at /metrics for Prometheus")
	flags.StringVar(&f.otlp, "otlp", "", "`address` of a collector on this machine to send traces to, by OTLP over gRPC")
	flags.BoolVar(&f.reflection, "reflection", false, "offer reflection on an address that other machines reach")
	flags.BoolVar(&f.plaintext, "plaintext", false, "listen without encryption on an address that other machines reach")
	flags.StringVar(&f.log, "log", "text", "format of the log on standard error: text or json")
	flags.DurationVar(&f.stop, "stop-time", 10*time.Second, "longest `time` that a stopping server waits for running calls")
	flags.IntVar(&f.limits.MessageBytes, "max-message-bytes", f.limits.MessageBytes, "longest request in `bytes`")
	flags.IntVar(&f.limits.Components, "max-components", f.limits.Components, "most components in a design")
	flags.IntVar(&f.limits.Lines, "max-lines", f.limits.Lines, "most lines in a design")
	flags.IntVar(&f.limits.SiteRules, "max-site-rules", f.limits.SiteRules, "most rules that a request may bring")
	flags.DurationVar(&f.limits.Time, "max-time", f.limits.Time, "longest `time` for a request")
	flags.IntVar(&f.limits.Sessions, "max-sessions", f.limits.Sessions, "most editing sessions open at once")
	return cmd
}

func serve(cmd *cobra.Command, f *serveFlags, s *surroundings) error {
	if err := oneOf("log", f.log, "text", "json"); err != nil {
		return err
	}
	for _, l := range []struct {
		name  string
		given int64
		least int64
	}{
		{"max-message-bytes", int64(f.limits.MessageBytes), 1}, {"max-components", int64(f.limits.Components), 1}, {"max-lines", int64(f.limits.Lines), 1},
		{"max-site-rules", int64(f.limits.SiteRules), 0}, {"max-sessions", int64(f.limits.Sessions), 0},
		{"max-time", int64(f.limits.Time), 1}, {"stop-time", int64(f.stop), 0},
	} {
		if l.given < l.least {
			return fmt.Errorf("--%s is %s; it must be %s", l.name, cmd.Flag(l.name).Value, []string{"at least zero", "above zero"}[l.least])
		}
	}
	log := slog.New(slog.NewTextHandler(s.Err, nil))
	if f.log == "json" {
		log = slog.New(slog.NewJSONHandler(s.Err, nil))
	}
	o := service.Options{Limits: f.limits, StopTime: f.stop, Log: log, Origins: f.origins}
	if err := f.secure(&o); err != nil {
		return err
	}
	see, err := f.telemetry(cmd.Context(), &o)
	if err != nil {
		return err
	}
	defer see.close()
	listener, loopback, err := f.open(f.listen)
	if err != nil {
		return err
	}
	defer listener.Close()
	o.Reflection = loopback || f.reflection
	var web net.Listener
	if f.http != "" {
		if web, _, err = f.open(f.http); err != nil {
			return err
		}
		defer web.Close()
	}
	e, err := engine.New()
	if err != nil {
		return err
	}
	log.Info("listening", slog.String("address", listener.Addr().String()), slog.String("version", engine.Version()), slog.Int("rules", len(e.Book().IDs())))
	server := service.New(e, o)
	group, ctx := errgroup.WithContext(cmd.Context())
	group.Go(func() error { return server.Serve(ctx, listener) })
	if web != nil {
		log.Info("listening for HTTP", slog.String("address", web.Addr().String()))
		group.Go(func() error { return server.ServeWeb(ctx, web) })
	}
	if see.listener != nil {
		log.Info("listening for metrics", slog.String("address", see.listener.Addr().String()))
		group.Go(func() error { return see.serve(ctx) })
	}
	return group.Wait()
}

// secure reads the files of certificates and tokens.
func (f *serveFlags) secure(o *service.Options) error {
	if f.certificate != "" || f.key != "" || f.clientCA != "" {
		c, err := service.LoadCertificates(f.certificate, f.key, f.clientCA, o.Log)
		if err != nil {
			return fmt.Errorf("--tls-cert, --tls-key, --client-ca: %w", err)
		}
		o.TLS = c.Config()
	}
	if f.tokens != "" {
		t, err := service.LoadTokens(f.tokens, o.Log)
		if err != nil {
			return fmt.Errorf("--tokens: %w", err)
		}
		o.Tokens = t
	}
	return nil
}

// open listens on an address, if its calls are encrypted or stay on this machine, or plain text was asked for.
func (f *serveFlags) open(address string) (net.Listener, bool, error) {
	listener, err := net.Listen("tcp", address)
	if err != nil {
		return nil, false, err
	}
	loopback := service.Loopback(listener.Addr())
	if !loopback && !f.plaintext && f.certificate == "" {
		listener.Close()
		return nil, false, fmt.Errorf("other machines reach %s, and designs would travel unencrypted; listen on %s, name --tls-cert and --tls-key, or add --plaintext if something else protects the way", address, defaultListen)
	}
	return listener, loopback, nil
}
