package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// loopDemand is a demand in flags.
var loopDemand = []string{"new", "--name", "Loop A", "--water-flow", "90 m3/h", "--water-temperature", "12 degC", "--dose", "0.2 mg/L",
	"--supply-pressure", "1.1 bar(g)", "--return-pressure", "1 bar(g)", "--altitude", "340 m"}

func demand(more ...string) []string { return append(append([]string{}, loopDemand...), more...) }

// A draft goes through the command's own check: nothing is broken, and what is not verifiable is asked for in the file.
func TestNewIsChecked(t *testing.T) {
	t.Parallel()
	drafted := command(t, nil, demand()...)
	require.Equal(t, exitPassed, drafted.code, drafted.stderr)
	assert.True(t, strings.HasPrefix(drafted.stdout, "# A draft"))
	assert.Contains(t, drafted.stdout, "  # First barrier against water from the injector.\n  # asked: ")
	checked := command(t, []byte(drafted.stdout), "check", "-", "--allow-unverified")
	assert.Equal(t, exitPassed, checked.code, checked.stdout)
	assert.Equal(t, exitIncomplete, command(t, []byte(drafted.stdout), "check", "-").code)
	canonical := command(t, []byte(drafted.stdout), "convert", "-", "--to", "yaml")
	require.Equal(t, exitPassed, canonical.code, canonical.stderr)
	var plain []string
	for line := range strings.Lines(drafted.stdout) {
		if trimmed := strings.TrimSpace(line); trimmed != "" && !strings.HasPrefix(trimmed, "#") {
			plain = append(plain, line)
		}
	}
	var written []string
	for line := range strings.Lines(canonical.stdout) {
		if strings.TrimSpace(line) != "" {
			written = append(written, line)
		}
	}
	assert.Equal(t, strings.Join(written, ""), strings.Join(plain, ""), "a draft is laid out as the command writes design files")
}

// A file that is there stays as it is unless its loss is asked for; then standard output says what was drafted.
func TestNewKeepsFiles(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "loop.yaml")
	first := command(t, nil, demand("--output", path)...)
	require.Equal(t, exitPassed, first.code, first.stderr)
	for _, want := range []string{"Loop A: 48 components", "Why it has this shape", "water through the injector", "To be found out", "venturi_injector.performance: about 5.4 m3/h", "never rely on smell"} {
		assert.Contains(t, first.stdout, want)
	}
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, command(t, nil, demand()...).stdout, string(data))
	require.NoError(t, os.WriteFile(path, []byte("mine"), 0o600))
	kept := command(t, nil, demand("--output", path)...)
	assert.Equal(t, exitUnusable, kept.code)
	assert.Contains(t, kept.stderr, "is there already and stays as it is; --force replaces it")
	assert.Equal(t, "mine", read(t, path))
	require.Equal(t, exitPassed, command(t, nil, demand("--output", path, "--force")...).code)
	assert.Equal(t, string(data), read(t, path))
}

func TestNewRefuses(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		args []string
		want []string
	}{
		{[]string{"new"}, []string{"--water-flow: the water flow is not stated", "--supply-pressure:", "--altitude:", "--dose: neither a dose nor a target"}},
		{demand("--water-flow", "90 m"), []string{"--water-flow: "}},
		{demand("--dose", "50 mg/L"), []string{"--dose: a dose of 50 mg/L is above what dissolves", "ask for at most"}},
		{demand("--max-water-temperature", "60 degC"), []string{"--max-water-temperature: 60 degC is outside", "state 0 degC to 30 degC"}},
		{demand("--return-pressure", "2 bar(g)", "--no-pump"), []string{"--no-pump: water does not flow from a lower to a higher pressure", "raise the supply to"}},
		{demand("--circuit", "sideways"), []string{"--circuit: "}},
		{demand("--basis", "room_volumes=3 m3"), []string{`--basis room_volumes: unknown key "room_volumes"`, `"room_volume"`}},
		{demand("--basis", "room_volume"), []string{"is not KEY=VALUE"}},
		{demand("--basis", "altitude=3 m"), []string{"--basis altitude is stated twice"}},
		{demand("--format", "xml"), []string{`--format is "xml"`}},
		{demand("--parts", "mine"), []string{`--parts is "mine"`}},
		{demand("--parts", "own"), []string{"there is none"}},
		{demand("extra"), []string{"extra"}},
		{demand("--output", "/nowhere/at/all.yaml"), []string{"/nowhere/at"}},
	} {
		got := command(t, nil, c.args...)
		assert.Equal(t, exitUnusable, got.code, "%v", c.args)
		for _, want := range c.want {
			assert.Contains(t, got.stderr, want, "%v", c.args)
		}
		assert.Empty(t, got.stdout)
	}
}

func TestNewJSON(t *testing.T) {
	t.Parallel()
	var answer struct {
		Circuit   string
		Feed      string
		Text      string
		Reasons   []string
		Picks     []struct{ Tag, Part string }
		Questions []struct{ Path, Ask, Why, Wanted string }
		Sizes     []struct {
			Label string
			Value float64
		}
	}
	got := command(t, nil, demand("--format", "json")...)
	require.NoError(t, json.Unmarshal([]byte(got.stdout), &answer), got.stderr)
	assert.Equal(t, "DRAFT_CIRCUIT_SIDE_STREAM", answer.Circuit)
	assert.Equal(t, "DRAFT_FEED_CONCENTRATOR", answer.Feed)
	assert.Equal(t, command(t, nil, demand()...).stdout, answer.Text)
	assert.NotEmpty(t, answer.Reasons)
	assert.NotEmpty(t, answer.Questions)
	assert.NotEmpty(t, answer.Sizes)
	assert.Empty(t, answer.Picks)
	require.NoError(t, json.Unmarshal([]byte(command(t, nil, demand("--format", "json", "--parts", "demo", "--basis", "max_gas_to_liquid=0.25")...).stdout), &answer))
	assert.NotEmpty(t, answer.Picks)

	// Spaces around a datum of the basis are none of it.
	joined := command(t, nil, demand("--basis", "joined_to_drinking_water=true", "--basis", "room_volume=120 m3")...)
	require.Equal(t, exitPassed, joined.code, joined.stderr)
	assert.Contains(t, joined.stdout, "joined_to_drinking_water: true")
	assert.Equal(t, joined, command(t, nil, demand("--basis", " joined_to_drinking_water = true ", "--basis", "room_volume = 120 m3 ")...))
}

// The server drafts to the same bytes as the command alone, and refuses with the same words.
func TestNewAtTheServer(t *testing.T) {
	t.Parallel()
	address, stop := startServer(t)
	answered := 0
	for _, args := range [][]string{
		demand(),
		demand("--format", "json", "--parts", "demo"),
		demand("--format", "text", "--dose", "2 mg/L", "--giardia-log", "1", "--residual", "0.1 mg/L", "--units", "us"),
		demand("--dose", "50 mg/L"),
		{"new"},
	} {
		answered += sameAtServer(t, address, args...)
	}
	assert.Equal(t, 3, answered, "the others are refused")
	stop(syscall.SIGTERM)
}
