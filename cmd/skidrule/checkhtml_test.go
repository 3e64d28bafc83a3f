package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const brokenDemo = "../../testdata/mistakes/single-check-valve/design.yaml"

// A page comes from this process and from a server with the same bytes, and leaves the other formats as they are.
func TestCheckWritesAPage(t *testing.T) {
	t.Parallel()
	address, stop := startServer(t)
	defer stop(os.Interrupt)
	page := filepath.Join(t.TempDir(), "report.html")
	plain := command(t, nil, "check", brokenDemo, "--format", "json")
	both := command(t, nil, "check", brokenDemo, "--format", "json", "--output", "html="+page, "--date", "2026-01-15")
	assert.Equal(t, plain, both)
	alone := read(t, page)
	assert.Contains(t, alone, "2026-01-15")
	assert.Contains(t, alone, `data-tag="CV-1"`)
	r := command(t, nil, "check", brokenDemo, "--format", "html", "--date", "2026-01-15", "--server", address)
	assert.Equal(t, exitFindings, r.code, r.stderr)
	assert.Equal(t, alone, r.stdout)
	r = command(t, nil, "check", brokenDemo, write(t, "torn.yaml", "skidrule: v1\ncomponents: []\n"), "--format", "html", "--units", "us")
	assert.Equal(t, exitUnusable, r.code)
	assert.Contains(t, r.stdout, "could not be checked")
	require.Contains(t, r.stdout, "psi")
}

func TestDraw(t *testing.T) {
	t.Parallel()
	address, stop := startServer(t)
	defer stop(os.Interrupt)
	plain := []string{"draw", brokenDemo}
	for _, args := range [][]string{
		plain, {"draw", brokenDemo, "--findings", "--elevations", "--theme", "dark", "--date", "2026-01-15"}, {"draw", brokenDemo, "--format", "png", "--dpi", "40"},
		{"draw", brokenDemo, "--case", "pump_stopped", "--units", "us"}, {"draw", brokenDemo, "--case", "blower_lost"}, {"draw", brokenDemo, "--case", "none"},
		{"draw", brokenDemo, "--finding", "backflow/two-independent-barriers"}, {"draw", brokenDemo, "--finding", "no/such-rule"},
		{"draw", write(t, "torn.yaml", "skidrule: v1\nlines: {W-1: {route: [A-1, B-1]}}\n")},
	} {
		sameAtServer(t, address, args...)
	}
	r := command(t, nil, plain...)
	require.Equal(t, exitPassed, r.code, r.stderr)
	assert.Contains(t, r.stdout, "<svg")
	assert.NotContains(t, r.stdout, "Marked things")
	found := command(t, nil, "draw", brokenDemo, "--findings").stdout
	assert.Contains(t, found, "Marked things")
	assert.Contains(t, found, `class="sk-item sk-hot" data-tag="CV-1"`)
	assert.NotContains(t, r.stdout, "EL 1.3")
	assert.Contains(t, command(t, nil, "draw", brokenDemo, "--elevations").stdout, "EL 1.3")

	solved := command(t, nil, "draw", brokenDemo, "--case", "normal").stdout
	assert.Contains(t, solved, "m3/h</text>")
	assert.Contains(t, solved, "bar(g)</text>")
	assert.Contains(t, solved, ">normal</text>")

	folder := t.TempDir()
	r = command(t, nil, "draw", "../../testdata/twin-generator-manifold/design.yaml", "--output", filepath.Join(folder, "twin.svg"))
	require.Equal(t, exitPassed, r.code, r.stderr)
	sheets, err := filepath.Glob(filepath.Join(folder, "twin-*.svg"))
	require.NoError(t, err)
	assert.Greater(t, len(sheets), 1)
	r = command(t, nil, "draw", "../../testdata/twin-generator-manifold/design.yaml")
	assert.Equal(t, exitUnusable, r.code)
	assert.Contains(t, r.stderr, "name a file with --output")
	refuses(t, plain, map[string][]string{
		"--format is":      {"--format", "pdf"},
		"--theme is":       {"--theme", "blue"},
		"--dpi is 5000":    {"--dpi", "5000"},
		"--sheet-capacity": {"--sheet-capacity", "-1"},
		"no finding is":    {"--finding", "no/such-rule"},
		"no such file":     {"--catalogue", "none"},
	})
}
