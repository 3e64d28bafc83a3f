package main

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The tables name ports, lines, balances, extremes and margins; numbers of CSV are SI.
func TestSolveTables(t *testing.T) {
	t.Parallel()
	text := command(t, nil, "solve", mainDemo, "--case", "normal,feed_shut")
	require.Equal(t, exitPassed, text.code, text.stderr)
	for _, want := range []string{"Case normal", "Case feed_shut", "INJ-1.suction", "-0.7 bar(g)", "Balance:", "Highest and lowest over these cases", "Grade line", "Margins:"} {
		assert.Contains(t, text.stdout, want)
	}
	table := command(t, nil, "solve", mainDemo, "--case", "normal", "--format", "csv")
	rows, err := csv.NewReader(strings.NewReader(table.stdout)).ReadAll()
	require.NoError(t, err)
	found := false
	for _, r := range rows {
		if r[1] == "RM-2.process" && r[5] == "pressure_gauge" {
			found = true
			assert.Equal(t, []string{"100000", "100000", "100000"}, r[7:10])
		}
	}
	assert.True(t, found)
	var solution struct {
		Cases []struct{ ID string } `json:"cases"`
	}
	require.NoError(t, json.Unmarshal([]byte(command(t, nil, "solve", mainDemo, "--case", "normal", "--format", "json", "--no-margins").stdout), &solution))
	require.Len(t, solution.Cases, 1)
	assert.Equal(t, "normal", solution.Cases[0].ID)
}

// Results that wait for much data point to it, so that the tables stay readable and each set is named once.
func TestSolveNamesMissingDataOnce(t *testing.T) {
	t.Parallel()
	loop := write(t, "loop.yaml", readmeDesign(t))
	text := command(t, nil, "solve", loop, "--case", "normal,pump_stopped", "--no-margins")
	require.Equal(t, exitPassed, text.code, text.stderr)
	assert.Regexp(t, `(?m)^  INJ-1.suction +gas +unknown +unknown +missing: set 1 of the data below$`, text.stdout)
	assert.Equal(t, 1, strings.Count(text.stdout, "  set 1: "), text.stdout)
	_, sets, ok := strings.Cut(text.stdout, "Missing data that leaves results unknown")
	require.True(t, ok)
	assert.Contains(t, sets, "components.INJ-1.venturi_injector.performance_suction_pressure")
	for line := range strings.Lines(text.stdout) {
		assert.Less(t, len(line), 140, line)
	}
	table := command(t, nil, "solve", loop, "--case", "normal", "--no-margins", "--format", "csv")
	assert.Regexp(t, `INJ-1.suction,,,gas,pressure_gauge,Pa,,,,"missing components`, table.stdout, "a row of CSV stands alone")
}

func TestSolvePlots(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	args := []string{"solve", mainDemo, "--no-margins", "--case", "normal"}
	for _, name := range []string{"P-1", "INJ-1", "W-1"} {
		args = append(args, "--plot", name+"="+filepath.Join(folder, name+".svg"))
	}
	got := command(t, nil, args...)
	require.Equal(t, exitPassed, got.code, got.stderr)
	for name, want := range map[string]string{"P-1": "system", "INJ-1": "outlet pressure", "W-1": "Pressure along W-1"} {
		data, err := os.ReadFile(filepath.Join(folder, name+".svg"))
		require.NoError(t, err)
		assert.Contains(t, string(data), "<svg")
		assert.Contains(t, string(data), want)
	}
	line := filepath.Join(folder, "cases.svg")
	got = command(t, nil, "solve", mainDemo, "--no-margins", "--plot", "W-1="+line)
	require.Equal(t, exitPassed, got.code, got.stderr)
	data, err := os.ReadFile(line)
	require.NoError(t, err)
	texts := regexp.MustCompile(`>([^<>]+)</text>`).FindAllStringSubmatch(string(data), -1)
	named := map[string]int{}
	shared := false
	for _, text := range texts {
		names := strings.Split(strings.TrimSuffix(text[1], ","), ", ")
		shared = shared || len(names) > 1
		for _, name := range names {
			named[name]++
		}
	}
	for _, name := range []string{"normal", "low_flow", "high_flow", "pump_stopped", "generator_off", "cold_destruct"} {
		assert.Equal(t, 1, named[name], "%s among %v", name, texts)
	}
	assert.True(t, shared, "cases that differ elsewhere only share a curve: %v", texts)

	bad := command(t, nil, "solve", mainDemo, "--no-margins", "--plot", "P-9="+filepath.Join(folder, "x.svg"))
	assert.Equal(t, exitUnusable, bad.code)
	assert.Contains(t, bad.stderr, `there is no plot "P-9"; there are INJ-1, P-1`)
}

func TestSolveRefuses(t *testing.T) {
	t.Parallel()
	refuses(t, []string{"solve", mainDemo}, map[string][]string{
		`the design has no case "nowhere"`: {"--case", "nowhere"},
		"is not NAME=FILE":                 {"--plot", "P-1"},
		"--format":                         {"--format", "xml"},
	})
}

// The server solves to the same bytes as the command alone.
func TestSolveAtTheServer(t *testing.T) {
	t.Parallel()
	address, stop := startServer(t)
	answered := 0
	for _, args := range [][]string{
		{"solve", mainDemo, "--case", "normal,pump_stopped"},
		{"solve", "../../testdata/cylinder-pressure-fed/design.yaml", "--format", "json", "--case", "normal"},
		{"solve", "../../testdata/networks/looped-grid/design.yaml", "--format", "csv"},
		{"solve", mainDemo, "--case", "nowhere"},
	} {
		answered += sameAtServer(t, address, args...)
	}
	assert.Equal(t, 3, answered, "the others are refused")
	stop(syscall.SIGTERM)
}
