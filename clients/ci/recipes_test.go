// Package ci holds recipes for CI systems; this test runs their steps.
package ci

import (
	"encoding/json"
	"encoding/xml"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v4"
)

// Designs of which one passes, one has a finding, and one lacks data.
const (
	clean = "../../testdata/hatchery-side-stream/design.yaml"
	wrong = "../../testdata/mistakes/single-check-valve/design.yaml"
)

const open = `skidrule: v1
name: a drawing that has only begun
components:
  OG-1: {ozone_generator: {}}
lines: {}
`

// tools gives a folder with the command, as the step that installs it would leave it.
func tools(t *testing.T) string {
	t.Helper()
	folder := t.TempDir()
	out, err := exec.Command("go", "build", "-o", filepath.Join(folder, "skidrule"), "../../cmd/skidrule").CombinedOutput()
	require.NoError(t, err, "%s", out)
	return folder
}

// repository makes a git repository with one design, staged.
func repository(t *testing.T, design []byte) string {
	t.Helper()
	folder := t.TempDir()
	require.NoError(t, os.MkdirAll(filepath.Join(folder, "designs", "loop one"), 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(folder, "designs", "loop one", "loop.yaml"), design, 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(folder, "other.yaml"), []byte("a: 1\n"), 0o644))
	for _, args := range [][]string{{"init", "-q"}, {"add", "-A"}} {
		cmd := exec.Command("git", args...)
		cmd.Dir = folder
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, "%s", out)
	}
	return folder
}

// try runs the steps of a recipe and gives the exit code and what was said.
func try(t *testing.T, path, recipe, folder string) (int, string) {
	t.Helper()
	cmd := exec.Command("./try-steps.sh", recipe, folder)
	// A hook of the checkout, by which these tests may run, names the checkout's repository.
	own := slices.DeleteFunc(os.Environ(), func(e string) bool { return strings.HasPrefix(e, "GIT_DIR=") })
	cmd.Env = append(own, "PATH="+path+string(os.PathListSeparator)+os.Getenv("PATH"), "GITHUB_STEP_SUMMARY=")
	out, err := cmd.CombinedOutput()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		require.NoError(t, err)
	}
	return cmd.ProcessState.ExitCode(), string(out)
}

func TestRecipesDoWhatTheySay(t *testing.T) {
	path := tools(t)
	read := func(name string) []byte {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		return data
	}
	for _, c := range []struct {
		name   string
		design []byte
		// codes of the recipes for CI, which ask for everything, and of the hooks, which let missing data pass.
		ci, hook int
	}{
		{"clean", read(clean), 0, 0},
		{"wrong", read(wrong), 1, 1},
		{"unreadable", []byte("skidrule: v1\ncomponents: [\n"), 2, 2},
		{"open", []byte(open), 1, 1}, // a port that leads nowhere
	} {
		t.Run(c.name, func(t *testing.T) {
			folder := repository(t, c.design)
			code, said := try(t, path, "github-actions.yml", folder)
			assert.Equal(t, c.ci, code, said)
			assert.Contains(t, said, "-- check designs: ")
			assert.Contains(t, said, "-- show the summary: 0", "it is shown in any case")
			assert.True(t, json.Valid(read(filepath.Join(folder, "skidrule.sarif"))))
			assert.Contains(t, string(read(filepath.Join(folder, "step-summary.md"))), "## skidrule: ")
			code, said = try(t, path, "gitlab-ci.yml", folder)
			assert.Equal(t, c.ci, code, said)
			assert.NoError(t, xml.Unmarshal(read(filepath.Join(folder, "skidrule.xml")), new(any)))
			for _, hook := range []string{"pre-commit", "pre-commit-hooks.yaml"} {
				code, said = try(t, path, hook, folder)
				// xargs has a code of its own for a command that fails.
				assert.Equal(t, c.hook == 0, code == 0, "%s: %s", hook, said)
			}
		})
	}
	empty := t.TempDir()
	require.NoError(t, exec.Command("git", "-C", empty, "init", "-q").Run())
	code, said := try(t, path, "pre-commit", empty)
	assert.Zero(t, code, "a commit without designs: %s", said)
	code, said = try(t, path, "README.md", empty)
	assert.Equal(t, 2, code, said)
}

// A hook sees what will be committed, not what lies in the folder.
func TestHookChecksWhatIsStaged(t *testing.T) {
	path := tools(t)
	right, err := os.ReadFile(clean)
	require.NoError(t, err)
	bad, err := os.ReadFile(wrong)
	require.NoError(t, err)
	folder := repository(t, bad)
	require.NoError(t, os.WriteFile(filepath.Join(folder, "designs", "loop one", "loop.yaml"), right, 0o644))
	code, said := try(t, path, "pre-commit", folder)
	assert.NotZero(t, code, said)
	assert.Contains(t, said, "designs/loop one/loop.yaml:48:3: error backflow/two-independent-barriers")
}

// The recipes are YAML, and use only flags that the command has.
func TestRecipesAreWellFormed(t *testing.T) {
	help, err := exec.Command(filepath.Join(tools(t), "skidrule"), "check", "--help").Output()
	require.NoError(t, err)
	for _, name := range []string{"github-actions.yml", "gitlab-ci.yml", "pre-commit-hooks.yaml", "pre-commit"} {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		if filepath.Ext(name) != "" {
			var value any
			require.NoError(t, yaml.Unmarshal(data, &value), name)
		}
		calls := regexp.MustCompile(`skidrule check[^\n]*`).FindAllString(string(data), -1)
		require.NotEmpty(t, calls, name)
		for _, call := range calls {
			for _, flag := range regexp.MustCompile(`--[a-z][a-z-]+`).FindAllString(call, -1) {
				assert.Contains(t, string(help), flag+" ", name)
			}
		}
	}
}
