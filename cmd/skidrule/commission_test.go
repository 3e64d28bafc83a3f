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

// A card says what every instrument should show, cautions first, with blanks.
func TestCommissionCard(t *testing.T) {
	t.Parallel()
	text := command(t, nil, "commission", mainDemo, "--case", "normal,pump_stopped,blower_lost")
	require.Equal(t, exitPassed, text.code, text.stderr)
	assert.Less(t, strings.Index(text.stdout, "never rely on smell"), strings.Index(text.stdout, "Case normal"))
	for _, want := range []string{"PI-1", "3.506 bar(g)", "0 to 6 bar(g)", "58 %", "INJ-1.suction", "no instrument", "Date ____", "Initials", "acts at -50 mbar(g)",
		"LT-1: dry; the drain is shut and passes no gas", "70 to 334.5 degC", "TSH-1: unknown, because no temperature of OG-1 is computed", "PI-1 above: ", "INJ-1: throat fouled", "cannot occur: "} {
		assert.Contains(t, text.stdout, want)
	}
	us := command(t, nil, "commission", mainDemo, "--case", "normal", "--units", "us")
	assert.Contains(t, us.stdout, "psi(g)")
	marked := command(t, nil, "commission", mainDemo, "--case", "normal", "--format", "markdown")
	assert.Contains(t, marked.stdout, "| `PI-1` | pressure at the motive inlet of INJ-1 | 3.506 bar(g) |")
	page := command(t, nil, "commission", mainDemo, "--case", "normal", "--format", "html")
	assert.Contains(t, page.stdout, "<th scope=\"row\">PI-1</th>")
	assert.Contains(t, page.stdout, "@media print")
	assert.NotContains(t, page.stdout, "<script")
	var card struct {
		Cases []struct {
			ID       string `json:"id"`
			Readings []struct {
				Tag  string   `json:"tag"`
				Best *float64 `json:"best"`
			} `json:"readings"`
		} `json:"cases"`
	}
	require.NoError(t, json.Unmarshal([]byte(command(t, nil, "commission", mainDemo, "--case", "normal", "--format", "json").stdout), &card))
	require.Equal(t, "PI-1", card.Cases[0].Readings[0].Tag)
	assert.InDelta(t, 350600, *card.Cases[0].Readings[0].Best, 300)
	whole := command(t, nil, "commission", mainDemo)
	require.Equal(t, exitPassed, whole.code, whole.stderr)
	for _, id := range []string{"low_flow", "high_flow", "feed_shut", "barrier_failed", "loss_of_power", "cold_destruct", "isolated"} {
		assert.Contains(t, whole.stdout, "Case "+id)
	}
}

// Readings by flag and by file tell the same.
func TestCommissionReadings(t *testing.T) {
	t.Parallel()
	sheet := filepath.Join(t.TempDir(), "monday.yaml")
	require.NoError(t, os.WriteFile(sheet, []byte("case: normal\nreadings:\n  PI-1: 3.5 bar\n  PI-2: {value: 1.5 bar, class: 1.6}\n  FM-1: 6 NL/min ± 5 %\n"), 0o644))
	byFlag := command(t, nil, "commission", mainDemo, "--reading", "PI-1=3.5 bar", "--reading", "PI-2=1.5 bar class 1.6", "--reading", "FM-1=6 NL/min +- 5 %")
	require.Equal(t, exitPassed, byFlag.code, byFlag.stderr)
	byFile := command(t, nil, "commission", mainDemo, "--readings", sheet)
	assert.Equal(t, byFlag, byFile)
	for _, want := range []string{"never rely on smell", "cannot decide: ", "PI-2: shows wrong", "stated class 1.6", "assumed: common practice, no source", "To read next", "Schwarz 1978"} {
		assert.Contains(t, byFlag.stdout, want)
	}
	for _, format := range []string{"markdown", "html", "json"} {
		r := command(t, nil, "commission", mainDemo, "--readings", sheet, "--format", format)
		require.Equal(t, exitPassed, r.code, r.stderr)
		assert.Contains(t, r.stdout, "PI-2: shows wrong", format)
	}
}

func TestCommissionRefuses(t *testing.T) {
	t.Parallel()
	sheet := filepath.Join(t.TempDir(), "bad.yaml")
	require.NoError(t, os.WriteFile(sheet, []byte("readings:\n  PI-1: 3.5\n"), 0o644))
	refuses(t, []string{"commission", mainDemo}, map[string][]string{
		`--reading "PI-1" is not TAG=VALUE, as PI-1="3.5 bar"`:                     {"--reading", "PI-1"},
		`"3.5" is no pressure, water flow or gas flow`:                             {"--reading", "PI-1=3.5"},
		"the design has no component PI-9; readings are taken at FM-1, PI-1, PI-2": {"--reading", "PI-9=1 bar"},
		"(reading of PI-9)": {"--reading", "PI-1=1 bar", "--reading", "PI-9=1 bar"},
		"FM-1 shows a gas flow, and a gauge pressure is given": {"--reading", "FM-1=1 bar"},
		"bad.yaml:2:9":                       {"--readings", sheet},
		"readings are taken in one":          {"--reading", "PI-1=1 bar", "--case", "normal,purge"},
		"no case \"monday\"":                 {"--reading", "PI-1=1 bar", "--case", "monday"},
		"the design has no case \"tuesday\"": {"--case", "tuesday"},
		"the case barrier_failed takes each barrier as failed in turn": {"--reading", "PI-1=1 bar", "--case", "barrier_failed"},
		"no such file":                     {"--readings", "nowhere.yaml"},
		`"pdf"`:                            {"--format", "pdf"},
		"no server answers at 127.0.0.1:1": {"--reading", "PI-1=1 bar", "--server", "127.0.0.1:1"},
	})
}

// A server gives the same bytes as the command alone.
func TestCommissionOverServer(t *testing.T) {
	t.Parallel()
	address, stop := startServer(t)
	defer stop(syscall.SIGTERM)
	answered := 0
	for _, args := range [][]string{
		{"commission", mainDemo, "--case", "normal,pump_stopped"},
		{"commission", mainDemo, "--case", "normal", "--format", "json"},
		{"commission", mainDemo, "--reading", "PI-1=3.5 bar", "--reading", "PI-2=1.1 bar"},
		{"commission", "../../testdata/twin-generator-manifold/design.yaml", "--reading", "PI-1=3.6 bar", "--format", "json"},
		{"commission", mainDemo, "--reading", "PI-9=3.5 bar"},
		{"commission", mainDemo, "--case", "nowhere"},
	} {
		answered += sameAtServer(t, address, args...)
	}
	assert.Equal(t, 4, answered, "the others are refused")
}
