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
)

// startServer runs `serve` on a free port of this machine and gives its address. stop ends it and gives what it logged.
func startServer(t *testing.T, args ...string) (address string, stop func(os.Signal) string) {
	t.Helper()
	cmd := exec.Command(built, append([]string{"serve", "--listen", "127.0.0.1:0"}, args...)...)
	stderr, err := cmd.StderrPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() { cmd.Process.Kill() })
	lines := bufio.NewScanner(stderr)
	require.True(t, lines.Scan(), "the server says where it listens")
	m := regexp.MustCompile(`address=(\S+)`).FindStringSubmatch(lines.Text())
	require.NotNil(t, m, lines.Text())
	var rest strings.Builder
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		for lines.Scan() {
			rest.WriteString(lines.Text() + "\n")
		}
	}()
	return m[1], func(signal os.Signal) string {
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

// A server prints the same as the command alone, byte for byte, whether the design is good, bad or unusable.
func TestTheServerPrintsTheSame(t *testing.T) {
	t.Parallel()
	address, stop := startServer(t)
	unusable := write(t, "u.yaml", strings.Replace(read(t, "testdata/designs/clean.yaml"), "CV-1, CV-2", "CV-1, CV-7", 1))
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
		alone, asked := command(t, nil, args...), command(t, nil, append(args, "--server", address)...)
		assert.Equal(t, alone, asked, "%v", args)
	}
	alone := command(t, nil, "rules", "list")
	assert.Equal(t, alone, command(t, nil, "rules", "list", "--server", address))
	log := stop(syscall.SIGTERM)
	assert.Contains(t, log, "stopped")
	assert.NotContains(t, log, "CV-7", "the log holds nothing of designs")
}

func TestServerLimits(t *testing.T) {
	t.Parallel()
	address, stop := startServer(t, "--max-components", "3", "--log", "text")
	r := command(t, nil, "check", "testdata/designs/clean.yaml", "--server", address)
	assert.Equal(t, exitUnusable, r.code)
	assert.Contains(t, r.stderr, "7 components are given; the server allows 3")
	stop(os.Interrupt)
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
		"an argument":                  {"now"},
	} {
		r := command(t, nil, append([]string{"serve"}, args...)...)
		assert.Equal(t, exitUnusable, r.code, name)
		assert.NotEmpty(t, r.stderr, name)
	}
}
