package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Faults of a design file end with exit code 2 and their place.
func TestBadDesigns(t *testing.T) {
	good := read(t, "testdata/designs/clean.yaml")
	for _, c := range []struct {
		name, from, to string
		place, want    string
	}{
		{"unknown kind", "{ozone_generator: {}}", "{ozone_generater: {}}", "6:10", "ozone_generator"},
		{"unknown port", "OG-1.ozone_gas", "OG-1.ozon_gas", "14:17", "ozone_gas"},
		{"unknown unit", "max_pressure: 10 bar(g)", "max_pressure: 10 baar(g)", "7:", "baar"},
		{"pressure without a reference", "max_pressure: 10 bar(g)", "max_pressure: 10 bar", "7:", "gauge"},
		{"a bare number", "max_pressure: 10 bar(g)", "max_pressure: 10", "7:", "bar(g)"},
		{"not a number", "max_pressure: 10 bar(g)", "max_pressure: NaN bar(g)", "7:", "finite"},
		{"infinite", "max_pressure: 10 bar(g)", "max_pressure: 1e999 bar(g)", "7:", ""},
		{"below vacuum", "max_pressure: 10 bar(g)", "max_pressure: -3 bar(g)", "7:", ""},
		{"absurd", "max_pressure: 10 bar(g)", "max_pressure: 1e12 bar(g)", "7:", ""},
		{"a route through nothing", "CV-1, CV-2, INJ-1", "CV-1, CV-7, INJ-1", "14:", "CV-7"},
		{"two components of one tag", "CV-1: {check_valve", "CV-2: {check_valve", "8:3", "CV-2"},
		{"an unknown part", "OG-1: {ozone_generator: {}}", "OG-1: {part: demo/no-such-part}", "6:", "demo/no-such-part"},
		{"a part of the wrong kind", "OG-1: {ozone_generator: {}}", "OG-1: {part: demo/check-poppet-8, ozone_generator: {}}", "6:", "is a check valve"},
		{"an unknown key", "revision: B", "revison: B", "3:1", "revision"},
		{"another version", "skidrule: v1", "skidrule: v9", "1:11", "v1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			require.Contains(t, good, c.from)
			file := write(t, "d.yaml", strings.Replace(good, c.from, c.to, 1))
			r := command(t, nil, house(file)...)
			assert.Equal(t, exitUnusable, r.code, r.stdout)
			assert.Empty(t, r.stdout)
			assert.Regexp(t, "(?m)^"+regexp.QuoteMeta(filepath.ToSlash(file)+":"+c.place), r.stderr)
			assert.Contains(t, r.stderr, c.want)
		})
	}
}

// Every fault of a file comes in one go.
func TestAllFaultsAtOnce(t *testing.T) {
	file := write(t, "d.yaml", strings.NewReplacer("10 bar(g)", "10 baar", "revision", "revison", "ozone_generator", "ozone_generater").Replace(read(t, "testdata/designs/clean.yaml")))
	r := command(t, nil, house(file)...)
	assert.Equal(t, 4, strings.Count(r.stderr, filepath.ToSlash(file)+":"), r.stderr)
}

// Faults of the drawing are findings, not unusable input.
func TestFaultsOfTheDrawingAreFindings(t *testing.T) {
	file := write(t, "d.yaml", "skidrule: v1\nname: a loop without a source\ncomponents:\n  P-1: {pump: {}}\n  CV-1: {check_valve: {}}\nlines:\n  W-1: {route: [P-1, CV-1, P-1]}\n")
	r := command(t, nil, "check", file)
	assert.Contains(t, []int{exitFindings, exitIncomplete}, r.code, r.stderr)
	assert.Contains(t, r.stdout, "2 components, 1 line;")
}

// Faults of a rule are placed in its file; one that shows only when the rule is asked is named in the report.
func TestBadRules(t *testing.T) {
	good := read(t, "testdata/rules/house/rated-for-five.yaml")
	const condition = "it.max_pressure >= param.least_rating"
	for _, c := range []struct {
		name, condition string
		code            int
		want            string
	}{
		{"does not compile", "it.max_pressure >=", exitUnusable, "rated-for-five.yaml:8:"},
		{"unknown function", "frobnicate(it.max_pressure)", exitUnusable, "frobnicate"},
		{"unknown fact", "it.maximum_pressure >= param.least_rating", exitUnusable, "maximum_pressure"},
		{"pressure against a number", "it.max_pressure > 5", exitUnusable, "pressure_gauge"},
		{"too long", strings.Repeat(condition+" && ", 400) + condition, exitUnusable, "limit"},
		{"divides by zero", "1 / 0 == 1", exitIncomplete, "division by zero"},
		{"divides by zero beside missing data", "1 / 0 == 1 && " + condition, exitIncomplete, "division by zero"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			folder := t.TempDir()
			require.NoError(t, os.Mkdir(filepath.Join(folder, "house"), 0o755))
			require.Contains(t, good, condition)
			require.NoError(t, os.WriteFile(filepath.Join(folder, "house", "rated-for-five.yaml"), []byte(strings.Replace(good, condition, c.condition, 1)), 0o644))
			r := command(t, nil, "check", "--rules", folder, "--only", "house", "testdata/designs/clean.yaml")
			assert.Equal(t, c.code, r.code, r.stdout+r.stderr)
			assert.Contains(t, r.stdout+r.stderr, c.want)
			r = command(t, nil, "rules", "test", folder)
			assert.NotZero(t, r.code)
		})
	}
}

// A rule of the house may not take the id of a built-in one, nor two the same.
func TestRulesOfOneID(t *testing.T) {
	folder := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(folder, "backflow"), 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(folder, "backflow", "two-independent-barriers.yaml"), []byte(read(t, "../../rules/backflow/two-independent-barriers.yaml")), 0o644))
	r := command(t, nil, "check", "--rules", folder, "testdata/designs/clean.yaml")
	assert.Equal(t, exitUnusable, r.code, r.stdout)
	assert.Contains(t, r.stderr, "a built-in rule has the id backflow/two-independent-barriers")
	assert.Contains(t, r.stderr, "two-independent-barriers.yaml:2:5")
	r = command(t, nil, "check", "--rules", "testdata/rules", "--rules", "testdata/rules", "testdata/designs/clean.yaml")
	assert.Equal(t, exitUnusable, r.code)
	assert.NotEmpty(t, r.stderr)
}

// panicking stands for an engine that goes wrong with one design.
type panicking struct{ asker }

func (p panicking) Check(ctx context.Context, r *skidrulev1.CheckDesignRequest) (*skidrulev1.Report, error) {
	if strings.Contains(r.GetDesign().GetName(), "mended") {
		panic("index out of range\nwith a second line")
	}
	return p.asker.Check(ctx, r)
}

// A panic spoils one design, in one line, and not the others.
func TestPanicOfTheEngine(t *testing.T) {
	engine, stop, err := newAsker(&serverFlags{})
	require.NoError(t, err)
	defer stop()
	c := &checking{asker: panicking{engine}}
	here := &site{options: &skidrulev1.CheckOptions{}, brought: &brought{}}
	out, err := c.all(context.Background(), []input{{name: "testdata/designs/clean.yaml", site: here}, {name: "testdata/designs/open.yaml", site: here}}, nil)
	require.NoError(t, err)
	require.NotNil(t, out[0].unusable)
	assert.Contains(t, out[0].unusable.Problems[0].Message, "internal error")
	assert.NotContains(t, out[0].unusable.Problems[0].Message, "\n")
	assert.NotNil(t, out[1].answer)
}

// A panic anywhere else ends with one line and exit code 2, and without a stack.
func TestPanicOfTheProgram(t *testing.T) {
	var stderr bytes.Buffer
	code := run(context.Background(), []string{"version"}, &surroundings{Out: brokenWriter{}, Err: &stderr, Env: os.Getenv})
	assert.Equal(t, exitUnusable, code)
	assert.Equal(t, 1, strings.Count(stderr.String(), "\n"), stderr.String())
	assert.Contains(t, stderr.String(), "internal error")
}

type brokenWriter struct{}

func (brokenWriter) Write([]byte) (int, error) { panic("the writer\nis broken") }

// An interrupted run says so and does not pass.
func TestInterruptedRun(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	var stdout, stderr bytes.Buffer
	code := run(ctx, []string{"check", "testdata/designs/clean.yaml"}, &surroundings{Out: &stdout, Err: &stderr, Env: os.Getenv})
	assert.Equal(t, exitUnusable, code)
	assert.Empty(t, stdout.String())
	assert.Contains(t, stderr.String(), "stopped")
}
