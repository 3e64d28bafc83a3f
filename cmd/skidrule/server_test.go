package main

import (
	"bufio"
	"os"
	"os/exec"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/health/grpc_health_v1"
	"google.golang.org/grpc/reflection/grpc_reflection_v1"
	"google.golang.org/grpc/status"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/designfile"
)

// startServer runs `serve` on a free port of this machine and gives its address. stop ends it and gives what it logged.
func startServer(t *testing.T, args ...string) (address string, stop func(os.Signal) string) {
	t.Helper()
	addresses, stop := serving(t, 1, args...)
	return addresses[0], stop
}

// startDoors runs `serve` with all of its addresses on free ports of this machine.
func startDoors(t *testing.T) (grpcAddress, httpAddress, metricsAddress string) {
	t.Helper()
	addresses, stop := serving(t, 3, "--http", "127.0.0.1:0", "--metrics", "127.0.0.1:0", "--otlp", "127.0.0.1:1")
	t.Cleanup(func() { stop(os.Interrupt) })
	return addresses[0], addresses[1], addresses[2]
}

// serving runs `serve` and gives the n addresses at which it says that it listens.
func serving(t *testing.T, n int, args ...string) (addresses []string, stop func(os.Signal) string) {
	t.Helper()
	cmd := exec.Command(built, append([]string{"serve", "--listen", "127.0.0.1:0"}, args...)...)
	stderr, err := cmd.StderrPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() { cmd.Process.Kill() })
	lines := bufio.NewScanner(stderr)
	for len(addresses) < n && lines.Scan() {
		if m := regexp.MustCompile(`address=(\S+)`).FindStringSubmatch(lines.Text()); m != nil {
			addresses = append(addresses, m[1])
		}
	}
	require.Len(t, addresses, n, "the server says where it listens")
	var rest strings.Builder
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		for lines.Scan() {
			rest.WriteString(lines.Text() + "\n")
		}
	}()
	return addresses, func(signal os.Signal) string {
		t.Helper()
		require.NoError(t, cmd.Process.Signal(signal))
		select {
		case <-ended:
		case <-time.After(10 * time.Second):
			t.Fatal("the server does not stop")
		}
		assert.NoError(t, cmd.Wait(), "a server that is told to stop ends well")
		return rest.String()
	}
}

// sameAtServer asks that a server prints the same as the command alone, and tells whether that was an answer (1) or a refusal (0).
func sameAtServer(t *testing.T, address string, args ...string) int {
	t.Helper()
	alone := command(t, nil, args...)
	assert.Equal(t, alone, command(t, nil, append(args, "--server", address)...), "%v", args)
	if alone.code == exitUnusable {
		return 0
	}
	return 1
}

// A server prints the same as the command alone, byte for byte, whether the design is good, bad or unusable.
func TestTheServerPrintsTheSame(t *testing.T) {
	t.Parallel()
	address, stop := startServer(t)
	unusable := write(t, "u.yaml", strings.Replace(read(t, "testdata/designs/clean.yaml"), "CV-1, CV-2", "CV-1, CV-7", 1))
	answered := 0
	for _, args := range [][]string{
		{"check", "testdata/designs"},
		{"check", "testdata/designs", "--format", "json"},
		{"check", "../../testdata/mistakes/single-check-valve"},
		{"check", "../../testdata", "--format", "json"},
		house("testdata/designs/broken.yaml", "--case", "pump_stopped,normal"),
		house("testdata/designs/broken.yaml", "--catalogue", "testdata/parts", "--units", "us", "--color", "always"),
		{"check", unusable},
		{"check", "testdata/designs/clean.yaml", "--only", "nothing"},
		{"explain", "backflow/two-independent-barriers"},
		{"explain", "backflow/two-independent-bariers"},
	} {
		answered += sameAtServer(t, address, args...)
	}
	assert.Equal(t, 7, answered, "the others are refused")
	alone := command(t, nil, "rules", "list")
	assert.Equal(t, alone, command(t, nil, "rules", "list", "--server", address))
	log := stop(syscall.SIGTERM)
	assert.Contains(t, log, "stopped")
	assert.NotContains(t, log, "CV-7", "the log holds nothing of designs")
}

// A server refuses what is beyond its limits, and says what was given and what is allowed.
func TestServerLimits(t *testing.T) {
	t.Parallel()
	address, stop := startServer(t, "--max-components", "7", "--max-lines", "4", "--max-site-rules", "1", "--log", "text")
	defer stop(os.Interrupt)
	small, stopSmall := startServer(t, "--max-message-bytes", "200", "--max-components", "3")
	defer stopSmall(os.Interrupt)
	hasty, stopHasty := startServer(t, "--max-time", "1ns")
	defer stopHasty(os.Interrupt)
	clean := read(t, "testdata/designs/clean.yaml")
	component := write(t, "component.yaml", strings.Replace(clean, "components:\n", "components:\n  TE-1: {tee: {}}\n", 1))
	line := write(t, "line.yaml", strings.Replace(clean, "lines:\n", "lines:\n  W-3: {route: [WI-1, WO-1]}\n", 1))
	refuses(t, []string{"check"}, map[string][]string{
		"8 components are given; the server allows 7":    {component, "--server", address},
		"5 lines are given; the server allows 4":         {line, "--server", address},
		"2 site rules are given; the server allows 1":    {"testdata/designs/clean.yaml", "--rules", "testdata/rules", "--server", address},
		"message bytes are given; the server allows 200": {"testdata/designs/clean.yaml", "--server", small},
		"the check took longer than allowed":             {"testdata/designs/clean.yaml", "--server", hasty},
	})
}

// No more editing sessions are open at once than --max-sessions says.
func TestServerBoundsSessions(t *testing.T) {
	t.Parallel()
	address, stop := startServer(t, "--max-sessions", "1")
	defer stop(os.Interrupt)
	client, err := skidrule.Dial(address)
	require.NoError(t, err)
	defer client.Close()
	f, err := designfile.Read("clean.yaml", []byte(read(t, "testdata/designs/clean.yaml")))
	require.NoError(t, err)
	first, err := client.Edit(t.Context(), f.Design, nil)
	require.NoError(t, err)
	_, err = client.Edit(t.Context(), f.Design, nil)
	var limit *skidrule.LimitError
	require.ErrorAs(t, err, &limit)
	assert.Equal(t, "editing_sessions", limit.What)
	require.NoError(t, first.Close())
}

// A caller that stays on the line keeps a stopping server no longer than --stop-time.
func TestServerStopsInTime(t *testing.T) {
	t.Parallel()
	address, stop := startServer(t, "--stop-time", "50ms")
	watch, err := grpc_health_v1.NewHealthClient(plain(t, address)).Watch(t.Context(), &grpc_health_v1.HealthCheckRequest{})
	require.NoError(t, err)
	_, err = watch.Recv()
	require.NoError(t, err)
	begin := time.Now()
	log := stop(syscall.SIGTERM)
	assert.Less(t, time.Since(begin), 8*time.Second, "without the flag it is ten")
	assert.Contains(t, log, "calls were cut off")
}

// On an address that other machines reach a server listens unencrypted only where --plaintext says so, and shows its services only
// with --reflection.
func TestServerOnAnOpenAddress(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		args  []string
		shows bool
	}{
		{[]string{"--listen", "0.0.0.0:0", "--plaintext"}, false},
		{[]string{"--listen", "0.0.0.0:0", "--plaintext", "--reflection"}, true},
	} {
		address, stop := startServer(t, c.args...)
		address = "127.0.0.1" + address[strings.LastIndex(address, ":"):]
		alone := command(t, nil, "explain", "backflow/two-independent-barriers")
		assert.Equal(t, alone, command(t, nil, "explain", "backflow/two-independent-barriers", "--server", address))
		stream, err := grpc_reflection_v1.NewServerReflectionClient(plain(t, address)).ServerReflectionInfo(t.Context())
		require.NoError(t, err)
		_ = stream.Send(&grpc_reflection_v1.ServerReflectionRequest{MessageRequest: &grpc_reflection_v1.ServerReflectionRequest_ListServices{}})
		answer, err := stream.Recv()
		if c.shows {
			require.NoError(t, err)
			assert.NotEmpty(t, answer.GetListServicesResponse().GetService())
			require.NoError(t, stream.CloseSend())
		} else {
			assert.Equal(t, codes.Unimplemented, status.Code(err), "%v", err)
		}
		stop(syscall.SIGTERM)
	}
}

// plain is a connection in plain text.
func plain(t *testing.T, address string) *grpc.ClientConn {
	t.Helper()
	conn, err := grpc.NewClient(address, grpc.WithTransportCredentials(insecure.NewCredentials()))
	require.NoError(t, err)
	t.Cleanup(func() { conn.Close() })
	return conn
}

func TestNoServer(t *testing.T) {
	r := command(t, nil, "check", "testdata/designs/clean.yaml", "--server", "127.0.0.1:1")
	assert.Equal(t, exitUnusable, r.code)
	assert.Contains(t, r.stderr, "no server answers at 127.0.0.1:1")
	assert.NotContains(t, r.stderr, "rpc error")
}

func TestServeRefuses(t *testing.T) {
	for name, args := range map[string][]string{
		"other machines in plain text": {"--listen", "0.0.0.0:0"},
		"a bad address":                {"--listen", "nowhere"},
		"a log of no form":             {"--log", "xml"},
		"a limit of nothing":           {"--max-components", "0"},
		"no time":                      {"--max-time", "0s"},
		"fewer than no sessions":       {"--max-sessions", "-1"},
		"an argument":                  {"now"},
	} {
		r := command(t, nil, append([]string{"serve"}, args...)...)
		assert.Equal(t, exitUnusable, r.code, name)
		assert.NotEmpty(t, r.stderr, name)
	}
}
