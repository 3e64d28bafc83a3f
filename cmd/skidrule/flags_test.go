package main

import (
	"encoding/json"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every flag stands in README.md, in an example of the help or in a recipe of CI, or a test here tries it: another one is not needed.
func TestEveryFlagIsShownOrTried(t *testing.T) {
	t.Parallel()
	known := read(t, root+"/README.md") + read(t, root+"/clients/ci/github-actions.yml")
	tests, err := filepath.Glob("*_test.go")
	require.NoError(t, err)
	for _, name := range tests {
		known += read(t, name)
	}
	var flags []string
	var walk func(*cobra.Command)
	walk = func(c *cobra.Command) {
		known += c.Example
		c.Flags().VisitAll(func(f *pflag.Flag) {
			flags = append(flags, f.Name)
			assert.Empty(t, f.Shorthand, "%s: a short form that the other verbs have not", c.CommandPath())
		})
		for _, sub := range c.Commands() {
			walk(sub)
		}
	}
	walk(newRoot(&surroundings{}))
	require.NotEmpty(t, flags)
	for _, name := range flags {
		assert.True(t, regexp.MustCompile(`--`+name+`[^a-z-]`).MatchString(known), "nobody shows, uses or tries --%s", name)
	}
}

// Every datum of a demand that has a flag of its own arrives in the draft.
func TestNewTakesEveryDatum(t *testing.T) {
	t.Parallel()
	has := func(args []string, wanted ...string) {
		t.Helper()
		r := command(t, nil, args...)
		require.Equal(t, exitPassed, r.code, r.stderr)
		for _, want := range wanted {
			assert.Contains(t, r.stdout, want)
		}
	}
	has(demand("--min-water-flow", "80 m3/h", "--max-water-flow", "95 m3/h", "--min-water-temperature", "8 degC", "--max-water-temperature", "16 degC",
		"--max-residual", "0.1 mg/L", "--ozone-demand", "0.05 mg/L", "--ozone-decay", "0.002 1/s", "--feed", "stored_oxygen", "--open-to-people",
		"--min-supply-pressure", "1 bar(g)", "--max-supply-pressure", "1.4 bar(g)", "--min-return-pressure", "0.9 bar(g)", "--max-return-pressure", "1.2 bar(g)"),
		"min_treated_flow: 80 m3/h", "max_treated_flow: 95 m3/h", "min_water_temperature: 8 degC", "max_water_temperature: 16 degC",
		"max_residual: 0.1 mg/L", "ozone_demand: 0.05 mg/L", "ozone_decay: 0.002 1/s", "gas_supply: {gas: oxygen, form: cylinder}", "open_to_people: true",
		"max_pressure: 1.4 bar(g)\n      min_pressure: 1 bar(g)", "max_pressure: 1.2 bar(g)\n      min_pressure: 0.9 bar(g)")
	target := []string{"new", "--water-flow", "12 m3/h", "--water-temperature", "12 degC", "--residual", "0.3 mg/L", "--supply-pressure", "1 bar(g)", "--return-pressure", "1 bar(g)"}
	has(append(target, "--atmospheric-pressure", "990 mbar(a)", "--virus-log", "2"), "atmospheric_pressure: 0.99 bar(a)", "target_log_virus: 2")
	has(append(target, "--altitude", "0 m", "--cryptosporidium-log", "0.5", "--circuit", "full_flow"), "target_log_cryptosporidium: 0.5")
}

// A search is cut short where --max-checks says, which is told and is exit code 3; --results bounds what is given.
func TestChooseIsBounded(t *testing.T) {
	t.Parallel()
	choose := func(args ...string) (code, choices int) {
		t.Helper()
		r := command(t, nil, append([]string{"choose", mainDemo, "--for", "INJ-1", "--by", "size", "--format", "json"}, args...)...)
		var answer struct{ Choices []json.RawMessage }
		require.NoError(t, json.Unmarshal([]byte(r.stdout), &answer), r.stderr)
		return r.code, len(answer.Choices)
	}
	code, choices := choose()
	assert.Equal(t, exitPassed, code)
	assert.Greater(t, choices, 1)
	code, one := choose("--results", "1")
	assert.Equal(t, exitPassed, code)
	assert.Equal(t, 1, one)
	code, _ = choose("--max-checks", "1")
	assert.Equal(t, exitIncomplete, code)
}

// The version is told by the verb and by the flag of the command alike.
func TestVersionFlag(t *testing.T) {
	t.Parallel()
	r := command(t, nil, "--version")
	assert.Equal(t, exitPassed, r.code)
	assert.Contains(t, command(t, nil, "version").stdout, strings.TrimPrefix(strings.TrimSpace(r.stdout), "skidrule version "))
}
