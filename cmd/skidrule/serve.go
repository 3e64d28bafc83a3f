package main

import (
	"fmt"
	"log/slog"
	"net"
	"time"

	"github.com/spf13/cobra"

	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/service"
)

// defaultListen is reached from this machine alone. The port is ours by choice; nothing else stands behind the number.
const defaultListen = "127.0.0.1:7433"

// serveFlags are the flags of serve.
type serveFlags struct {
	listen, log string
	plaintext   bool
	stop        time.Duration
	limits      service.Limits
}

func newServe(s *surroundings) *cobra.Command {
	f := &serveFlags{limits: service.DefaultLimits()}
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Answer designs over gRPC",
		Long: `serve answers CheckDesign, ListRules and GetRule over gRPC, with health for each service. It listens on this machine
alone unless told otherwise, and there offers reflection to tools as well. SIGTERM and SIGINT let running calls end.`,
		Example: `  skidrule serve
  skidrule check loop.yaml --server ` + defaultListen,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return serve(cmd, f, s) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.listen, "listen", defaultListen, "`address` to listen on; port 0 takes a free one")
	flags.BoolVar(&f.plaintext, "plaintext", false, "listen without encryption on an address that other machines reach")
	flags.StringVar(&f.log, "log", "text", "format of the log on standard error: text or json")
	flags.DurationVar(&f.stop, "stop-time", 10*time.Second, "longest `time` that a stopping server waits for running calls")
	flags.IntVar(&f.limits.MessageBytes, "max-message-bytes", f.limits.MessageBytes, "longest request in `bytes`")
	flags.IntVar(&f.limits.Components, "max-components", f.limits.Components, "most components in a design")
	flags.IntVar(&f.limits.Lines, "max-lines", f.limits.Lines, "most lines in a design")
	flags.IntVar(&f.limits.SiteRules, "max-site-rules", f.limits.SiteRules, "most rules that a request may bring")
	flags.DurationVar(&f.limits.Time, "max-time", f.limits.Time, "longest `time` for a request")
	return cmd
}

func serve(cmd *cobra.Command, f *serveFlags, s *surroundings) error {
	if err := oneOf("log", f.log, "text", "json"); err != nil {
		return err
	}
	for name, n := range map[string]int{"max-message-bytes": f.limits.MessageBytes, "max-components": f.limits.Components, "max-lines": f.limits.Lines} {
		if n <= 0 {
			return fmt.Errorf("--%s is %d; it must be above zero", name, n)
		}
	}
	log := slog.New(slog.NewTextHandler(s.Err, nil))
	if f.log == "json" {
		log = slog.New(slog.NewJSONHandler(s.Err, nil))
	}
	listener, err := net.Listen("tcp", f.listen)
	if err != nil {
		return err
	}
	loopback := service.Loopback(listener.Addr())
	if !loopback && !f.plaintext {
		listener.Close()
		return fmt.Errorf("other machines reach %s, and designs would travel unencrypted; listen on %s, or add --plaintext if something else protects the way", f.listen, defaultListen)
	}
	e, err := engine.New()
	if err != nil {
		listener.Close()
		return err
	}
	log.Info("listening", slog.String("address", listener.Addr().String()), slog.String("version", engine.Version()), slog.Int("rules", len(e.Book().IDs())))
	return service.New(e, service.Options{Limits: f.limits, StopTime: f.stop, Reflection: loopback, Log: log}).Serve(cmd.Context(), listener)
}
