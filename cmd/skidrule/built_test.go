package main

import (
	"bytes"
	"errors"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write golden files anew")

// mainDemo is the demo that most tests ask about.
const mainDemo = "../../testdata/hatchery-side-stream/design.yaml"

// built is the path of the command under test.
var built string

// TestMain builds the command once, as a user has it.
func TestMain(m *testing.M) {
	flag.Parse()
	os.Exit(func() int {
		folder, err := os.MkdirTemp("", "skidrule")
		if err != nil {
			panic(err)
		}
		defer os.RemoveAll(folder)
		built = filepath.Join(folder, "skidrule")
		if out, err := exec.Command("go", "build", "-o", built, ".").CombinedOutput(); err != nil {
			os.Stderr.Write(out)
			return 1
		}
		return m.Run()
	}())
}

// ran is what a command left behind.
type ran struct {
	code           int
	stdout, stderr string
}

// command runs the built command in a folder.
func command(t *testing.T, stdin []byte, args ...string) ran {
	t.Helper()
	cmd := exec.Command(built, args...)
	var stdout, stderr bytes.Buffer
	cmd.Stdin, cmd.Stdout, cmd.Stderr = bytes.NewReader(stdin), &stdout, &stderr
	cmd.Env = append(os.Environ(), "NO_COLOR=", "FORCE_COLOR=", "CLICOLOR_FORCE=")
	err := cmd.Run()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		require.NoError(t, err)
	}
	return ran{cmd.ProcessState.ExitCode(), stdout.String(), stderr.String()}
}

// refuses asks that a verb refuses arguments with the words that stand before them, and prints nothing else.
func refuses(t *testing.T, verb []string, cases map[string][]string) {
	t.Helper()
	for want, args := range cases {
		r := command(t, nil, slices.Concat(verb, args)...)
		assert.Equal(t, exitUnusable, r.code, "%v", args)
		assert.Contains(t, r.stderr, want, "%v", args)
		assert.Empty(t, r.stdout, "%v", args)
	}
}

// golden compares output with a golden file.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", "golden", name)
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}

// write puts a file into a folder of the test's own and gives its name.
func write(t *testing.T, name, content string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, []byte(content), 0o644))
	return path
}

func read(t *testing.T, path string) string {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(data)
}
