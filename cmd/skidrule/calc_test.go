package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/calc"
)

var waterAt15 = []string{"calc", "water-properties", "temperature=15 degC", "pressure=1 bar(a)"}

func TestCalcListsEveryCalculation(t *testing.T) {
	t.Parallel()
	r := command(t, nil, "calc")
	require.Equal(t, exitPassed, r.code, r.stderr)
	for _, c := range calc.List() {
		assert.Regexp(t, `(?m)^`+c.Name+` +\S`, r.stdout)
	}
	var list struct {
		Calculations []struct{ Name, Formula string }
	}
	require.NoError(t, json.Unmarshal([]byte(command(t, nil, "calc", "--format", "json").stdout), &list))
	assert.Len(t, list.Calculations, len(calc.List()))
}

// What a calculation says about itself has what a person needs to run it, and the command that it shows runs.
func TestCalcShowsACommandThatRuns(t *testing.T) {
	t.Parallel()
	for _, c := range calc.List() {
		text := command(t, nil, "calc", c.Name).stdout
		for _, heading := range []string{"formula\n", "inputs\n", "outputs\n", "sources\n", "checked against\n", "to run it\n"} {
			assert.Contains(t, text, heading, c.Name)
		}
		if len(c.Checks) == 0 {
			continue
		}
		args := []string{"calc", c.Name}
		for key, value := range c.Checks[0].Inputs {
			args = append(args, key+"="+value)
			assert.Contains(t, text, key+"=", c.Name)
		}
		r := command(t, nil, args...)
		assert.Equal(t, exitPassed, r.code, "%s: %s", c.Name, r.stderr)
		for _, heading := range []string{"formula\n", "inputs\n", "results\n", "sources\n"} {
			assert.Contains(t, r.stdout, heading, c.Name)
		}
	}
}

// A calculation that reads a table shows one that it can be run with.
func TestCalcShowsATable(t *testing.T) {
	t.Parallel()
	text := command(t, nil, "calc", "injector-suction").stdout
	assert.Regexp(t, `(?s)=@table\.csv.*\nwith table\.csv\n  \S`, text)
	assert.NotContains(t, command(t, nil, "calc", "water-properties").stdout, "with table.csv")
}

func TestCalcRuns(t *testing.T) {
	t.Parallel()
	r := command(t, nil, waterAt15...)
	require.Equal(t, exitPassed, r.code, r.stderr)
	for _, want := range []string{"IAPWS", "temperature = 15 degC  [valid 0 degC to 100 degC]", "density = 999.1 kg/m3"} {
		assert.Contains(t, r.stdout, want)
	}
	assert.Contains(t, command(t, nil, append(waterAt15, "--units", "us")...).stdout, "temperature = 59 degF")
	var d calc.Document
	require.NoError(t, json.Unmarshal([]byte(command(t, nil, append(waterAt15, "--format", "json")...).stdout), &d))
	require.NotEmpty(t, d.Outputs)
	// IAPWS R7-97(2012), region 1, as tabulated: 999.1 kg/m3 at 15 degC.
	assert.InDelta(t, 999.10, *d.Outputs[0].Best, 0.02)
	low := command(t, nil, "calc", "tube-burst", "--format", "json")
	assert.Equal(t, exitPassed, low.code, low.stderr)
}

func TestCalcSweeps(t *testing.T) {
	t.Parallel()
	sweep := []string{"calc", "water-properties", "pressure=1 bar(a)", "--sweep", "temperature=5..30 degC", "--points", "6"}
	r := command(t, nil, sweep...)
	require.Equal(t, exitPassed, r.code, r.stderr)
	assert.Contains(t, r.stdout, "pressure = 1 bar(a)")
	assert.Contains(t, r.stdout, "temperature [degC]")
	rows, err := csv.NewReader(strings.NewReader(command(t, nil, append(sweep, "--format", "csv")...).stdout)).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 7)
	assert.Equal(t, "temperature [degC]", rows[0][0])
	assert.Equal(t, "5", rows[1][0])
	assert.Equal(t, "30", rows[6][0])
	assert.True(t, json.Valid([]byte(command(t, nil, append(sweep, "--format", "json")...).stdout)))

	folder := t.TempDir()
	for _, name := range []string{"curve.svg", "curve.png", "curve.csv"} {
		path := filepath.Join(folder, name)
		r := command(t, nil, append(sweep, "--result", "viscosity", "--output", path)...)
		require.Equal(t, exitPassed, r.code, r.stderr)
		assert.Empty(t, r.stdout)
	}
	svg := read(t, filepath.Join(folder, "curve.svg"))
	assert.Contains(t, svg, "<svg")
	assert.Contains(t, svg, "viscosity")
	data, err := os.ReadFile(filepath.Join(folder, "curve.png"))
	require.NoError(t, err)
	_, err = png.Decode(bytes.NewReader(data))
	assert.NoError(t, err)
}

func TestCalcReadsTablesOfFiles(t *testing.T) {
	t.Parallel()
	c, err := calc.Get("injector-suction")
	require.NoError(t, err)
	args, inline := []string{"calc", c.Name}, []string{"calc", c.Name}
	for key, value := range c.Checks[0].Inputs {
		inline = append(inline, key+"="+value)
		if key == "table" {
			value = "@" + write(t, "table.csv", value)
		}
		args = append(args, key+"="+value)
	}
	r := command(t, nil, args...)
	require.Equal(t, exitPassed, r.code, r.stderr)
	assert.Equal(t, command(t, nil, inline...), r)
}

func TestCalcRefuses(t *testing.T) {
	t.Parallel()
	refuses(t, []string{"calc"}, map[string][]string{
		`did you mean "water-properties"?`:      {"water-propertis"},
		`did you mean "temperature"?`:           {"water-properties", "temperatur=15 degC"},
		"not within 0 degC to 100 degC":         {"water-properties", "temperature=150 degC", "pressure=1 bar(a)"},
		"missing input":                         {"water-properties", "temperature=15 degC"},
		"is no input; inputs are written":       {"water-properties", "15 degC"},
		"given twice":                           {"water-properties", "temperature=15 degC", "temperature=16 degC"},
		"is for a sweep":                        {"water-properties", "temperature=15 degC", "pressure=1 bar(a)", "--format", "png"},
		"--points and --result are for a sweep": {"water-properties", "temperature=15 degC", "pressure=1 bar(a)", "--points", "5"},
		"--result are for a sweep; add --sweep": {"water-properties", "temperature=15 degC", "pressure=1 bar(a)", "--result", "density"},
		"written KEY=FIRST..LAST":               {"water-properties", "--sweep", "temperature"},
		"a sweep is written first..last":        {"water-properties", "pressure=1 bar(a)", "--sweep", "temperature=5 degC"},
		"swept and given a fixed value":         {"water-properties", "pressure=1 bar(a)", "temperature=5 degC", "--sweep", "temperature=5..6 degC"},
		"2 to 2000 are possible":                {"water-properties", "pressure=1 bar(a)", "--sweep", "temperature=5..6 degC", "--points", "2001"},
		`no output of water-properties "rho`:    {"water-properties", "pressure=1 bar(a)", "--sweep", "temperature=5..6 degC", "--format", "svg", "--result", "rho"},
		"no such file":                          {"injector-suction", "table=@none.csv"},
		"--units is":                            {"water-properties", "--units", "uk"},
	})
}

// A server calculates the same, byte for byte, good and bad.
func TestTheServerCalculatesTheSame(t *testing.T) {
	t.Parallel()
	address, stop := startServer(t)
	defer stop(os.Interrupt)
	table, err := calc.Get("injector-suction")
	require.NoError(t, err)
	injector := []string{"calc", table.Name}
	for key, value := range table.Checks[0].Inputs {
		injector = append(injector, key+"="+value)
	}
	sweep := []string{"calc", "water-properties", "pressure=1 bar(a)", "--sweep", "temperature=-5..30 degC"}
	answered := 0
	for _, args := range [][]string{
		{"calc"}, {"calc", "--format", "json"}, {"calc", "float-vent"}, {"calc", "nothing-of-the-sort"}, {"calc", "water-propertis"},
		waterAt15, append(waterAt15, "--units", "us"), append(waterAt15, "--format", "json"),
		injector, append(injector, "--format", "json"),
		sweep, append(sweep, "--format", "csv"), append(sweep, "--format", "json"), append(sweep, "--format", "svg"), append(sweep, "--points", "1"),
		{"calc", "water-properties", "temperature=150 degC", "pressure=1 bar(a)"}, {"calc", "water-properties", "temp=1"},
		{"calc", "water-properties", "temperature=15"}, {"calc", "dew-point", "--sweep", "nothing=1..2"},
	} {
		answered += sameAtServer(t, address, args...)
	}
	assert.Equal(t, 12, answered, "the others are refused")
}
