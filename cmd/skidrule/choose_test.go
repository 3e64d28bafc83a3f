package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// openDemo is the main demo with its generator, power supply and injector left open.
func openDemo(t *testing.T) string {
	t.Helper()
	text := read(t, mainDemo)
	for _, change := range [][2]string{
		{"OG-1: {part: demo/generator-30v, ", "OG-1: {"},
		{"PSU-1: {part: demo/supply-450, ", "PSU-1: {power_supply: {}, "},
		{"INJ-1: {part: demo/injector-40, ", "INJ-1: {venturi_injector: {}, "},
	} {
		require.Contains(t, text, change[0])
		text = strings.Replace(text, change[0], change[1], 1)
	}
	return text
}

// Open slots are found by themselves, in a design that comes by standard input; the design that is written has the parts, keeps its
// comments, and passes.
func TestChooseFillsADesign(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "chosen.yaml")
	r := command(t, []byte(openDemo(t)), "choose", "-", "--write", path)
	require.Equal(t, exitPassed, r.code, r.stderr+r.stdout)
	for _, want := range []string{"1. 400 W", "demo/generator-30v", "demo/supply-450", "demo/injector-40-m", "Why nothing smaller:", "sizing/injector-feeds-generator", "Every combination is accounted for.", "never rely on smell"} {
		assert.Contains(t, r.stdout, want)
	}
	written, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Contains(t, string(written), "# The main stays under pressure when the side-stream pump stops.")
	assert.Contains(t, string(written), "part: demo/injector-40-m")
	assert.Equal(t, exitPassed, command(t, written, "check", "-").code)

	// Written to standard output the design stands alone, so that another command can read it.
	piped := command(t, []byte(openDemo(t)), "choose", "-", "--write", "-")
	require.Equal(t, exitPassed, piped.code, piped.stderr)
	assert.Equal(t, string(written), piped.stdout)
}

// A server gives the same bytes.
func TestChooseAtAServer(t *testing.T) {
	t.Parallel()
	address, stop := startServer(t)
	defer stop(os.Interrupt)
	for _, format := range []string{"text", "json"} {
		args := []string{"choose", mainDemo, "--for", "PSU-1,INJ-1", "--by", "margin", "--format", format}
		alone := command(t, nil, args...)
		assert.Equal(t, exitPassed, alone.code, alone.stderr)
		assert.Equal(t, alone, command(t, nil, append(args, "--server", address)...))
	}
}

// What cannot be chosen is told with its reason, and the exit code tells it apart.
func TestChooseFindsNothing(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(folder, "own.yaml"), []byte(`skidrule_catalogue: v1
name: own parts
origin: invented
entries:
  own/supply-200:
    title: power supply, 200 W
    data: {service_interval: 24 months, wearing_parts: [fan], power_supply: {drives_cell_types: [demo-cell-30], power_class: P1, rated_power: 200 W, max_cells: 1, min_output: 10 %}}
`), 0o644))
	none := command(t, nil, "choose", mainDemo, "--for", "PSU-1", "--catalogue", folder, "--own-parts-only", "--write", filepath.Join(folder, "out.yaml"))
	assert.Equal(t, exitFindings, none.code)
	assert.Contains(t, none.stdout, "No combination of these parts meets every rule")
	assert.Contains(t, oneLine(none.stdout), "OG-1 takes 400 W, and its power supplies have 200 W for it")
	assert.Contains(t, none.stderr, "no design was written")
	assert.NoFileExists(t, filepath.Join(folder, "out.yaml"))

	unknown := strings.Replace(openDemo(t), "length: 6 m, loss_coefficient: 4, high_point: 1.1 m", "loss_coefficient: 4, high_point: 1.1 m", 1)
	asked := command(t, []byte(unknown), "choose", "-")
	assert.Equal(t, exitIncomplete, asked.code, asked.stderr)
	assert.Contains(t, asked.stdout, "lines.W-1.length")
	assert.Contains(t, asked.stdout, "--accept")

	wrong := command(t, nil, "choose", mainDemo, "--for", "P-9")
	assert.Equal(t, exitUnusable, wrong.code)
	assert.Contains(t, wrong.stderr, `the design has no component "P-9"`)
	assert.Equal(t, exitUnusable, command(t, nil, "choose", mainDemo, "--for", "P-1", "--by", "price").code)
}
