package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every verb that asks about one design finds the parts that the project file of its folder names, and does without them where it
// is told to.
func TestVerbsOfOneDesignReadTheProject(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	design, err := os.ReadFile(filepath.Join(root, "testdata/hatchery-side-stream/design.yaml"))
	require.NoError(t, err)
	text := strings.Replace(string(design), "part: demo/injector-40,", "part: own/injector,", 1)
	demo, err := os.ReadFile(filepath.Join(root, "internal/catalogue/demo.yaml"))
	require.NoError(t, err)
	require.NoError(t, os.Mkdir(filepath.Join(folder, "parts"), 0o755))
	for name, content := range map[string]string{
		"design.yaml": text, "parts/own.yaml": strings.Replace(strings.ReplaceAll(string(demo), "  demo/", "  own/"), "  own/injector-40:", "  own/injector:", 1),
		"skidrule-project.yaml": "skidrule_project: v1\ncatalogues: [parts]\n",
	} {
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), []byte(content), 0o644))
	}
	path := filepath.Join(folder, "design.yaml")
	for _, verb := range [][]string{
		{"solve", path, "--case", "normal", "--no-margins"}, {"draw", path}, {"commission", path, "--case", "normal"}, {"service", path},
		{"list", path, "valves"}, {"choose", path, "--for", "P-1", "--own-parts-only"},
	} {
		t.Run(verb[0], func(t *testing.T) {
			r := command(t, nil, verb...)
			assert.NotEqual(t, exitUnusable, r.code, r.stderr)
			assert.NotEmpty(t, r.stdout)
			r = command(t, nil, append(verb, "--no-project")...)
			assert.Equal(t, exitUnusable, r.code)
			assert.Contains(t, r.stderr, `no catalogue has the part "own/injector"`)
		})
	}
}
