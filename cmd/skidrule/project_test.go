package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// siteFolder makes a folder with designs, site rules and a project file.
func siteFolder(t *testing.T, project string) string {
	t.Helper()
	folder := t.TempDir()
	for _, sub := range []string{"designs/deep", "rules/house", "parts"} {
		require.NoError(t, os.MkdirAll(filepath.Join(folder, sub), 0o755))
	}
	put := func(name, content string) {
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), []byte(content), 0o644))
	}
	put("designs/deep/broken.yaml", read(t, "testdata/designs/broken.yaml"))
	put("rules/house/rated-for-five.yaml", read(t, "testdata/rules/house/rated-for-five.yaml"))
	put("parts/parts.yaml", read(t, "testdata/parts/parts.yaml"))
	if project != "" {
		put(projectName, project)
	}
	return folder
}

const siteProject = `skidrule_project: v1
rules: [rules]
catalogues: [parts]
rule_changes:
  house/rated-for-five: {reason: one spare fits all}
waivers:
  # Two valves are on order.
  - {rule: house/rated-for-five, thing: CV-1, reason: the new one is on order, accepted_by: plant safety, expires: 2026-06-30}
`

func TestProjectFileIsFoundUpward(t *testing.T) {
	t.Parallel()
	folder := siteFolder(t, siteProject)
	design := filepath.Join(folder, "designs/deep/broken.yaml")
	args := []string{"check", design, "--only", "house", "--allow-unverified"}
	r := command(t, nil, append(args, "--today", "2026-06-30")...)
	assert.Equal(t, exitPassed, r.code, r.stdout+r.stderr)
	assert.Contains(t, r.stdout, "waived: the new one is on order, accepted by plant safety, until 2026-06-30")
	r = command(t, nil, append(args, "--today", "2026-07-01")...)
	assert.Equal(t, exitFindings, r.code)
	assert.Contains(t, r.stdout, "Its waiver expired on 2026-06-30.")
	assert.Contains(t, r.stdout, "warning waivers/expired")
	r = command(t, nil, "explain", "waivers/expired")
	assert.Equal(t, exitPassed, r.code, r.stderr)
	r = command(t, nil, append(args, "--today", "soon")...)
	assert.Equal(t, exitUnusable, r.code)
	r = command(t, nil, append(args, "--no-project")...)
	assert.Contains(t, r.stderr, "there is no rule and no topic", "without the project there are no house rules")

	// A repository below the project is none of its business.
	require.NoError(t, os.Mkdir(filepath.Join(folder, "designs/.git"), 0o755))
	assert.Equal(t, exitUnusable, command(t, nil, args...).code)
	named := command(t, nil, append(args, "--project", filepath.Join(folder, projectName), "--today", "2026-01-01")...)
	assert.Equal(t, exitPassed, named.code, named.stderr)
}

func TestProjectChangesRules(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ from, to, says string }{
		"parameter": {"{reason: one spare fits all}", "{parameters: {least_rating: 2 bar(g)}, reason: small house}", "no finding"},
		"severity":  {"{reason: one spare fits all}", "{severity: note, reason: small house}", "note house/rated-for-five"},
		"off":       {"{reason: one spare fits all}", "{severity: off, reason: small house}", "no finding"},
	} {
		t.Run(name, func(t *testing.T) {
			without, _, _ := strings.Cut(siteProject, "waivers:")
			folder := siteFolder(t, strings.Replace(without, c.from, c.to, 1))
			r := command(t, nil, "check", filepath.Join(folder, "designs"), "--only", "house")
			assert.Contains(t, r.stdout, c.says, r.stderr)
		})
	}
}

// TestProjectFilesThatAreWrong asks for the place of what is wrong.
func TestProjectFilesThatAreWrong(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ from, to, place, says string }{
		"unknown key":             {"waivers:", "wavers:", ":6:1:", `did you mean "waivers"?`},
		"unknown rule":            {"rule: house/rated-for-five, thing", "rule: house/rated-for-fife, thing", ":8:12", "did you mean house/rated-for-five?"},
		"unknown rule in changes": {"  house/rated-for-five: {", "  house/rated-for-fife: {", ":5:3", "did you mean house/rated-for-five?"},
		"no reason":               {"reason: the new one is on order, ", "", ":8:5", "the waiver has no reason"},
		"lowered without reason":  {"{reason: one spare fits all}", "{severity: note}", ":5:3", "lowered without a reason"},
		"no such folder":          {"rules: [rules]", "rules: [rulez]", ":2:9", "no such file"},
		"another header":          {"skidrule_project: v1", "skidrule_project: v2", ":1:19", "v1"},
		"malformed pattern":       {"thing: CV-1", `thing: CV-1, design: "["`, ":8:", "malformed"},
	} {
		t.Run(name, func(t *testing.T) {
			require.Contains(t, siteProject, c.from)
			folder := siteFolder(t, strings.Replace(siteProject, c.from, c.to, 1))
			r := command(t, nil, "check", filepath.Join(folder, "designs"), "--only", "house")
			assert.Equal(t, exitUnusable, r.code, r.stdout)
			assert.Contains(t, r.stderr, projectName+c.place)
			assert.Contains(t, r.stderr, c.says)
		})
	}
}

// TestFlagsAreNotPlacedInTheProjectFile asks that what is wrong with a flag is not told as if the project file said it.
func TestFlagsAreNotPlacedInTheProjectFile(t *testing.T) {
	t.Parallel()
	r := command(t, nil, "check", filepath.Join(siteFolder(t, siteProject), "designs"), "--only", "hous")
	assert.Equal(t, exitUnusable, r.code, r.stdout)
	assert.Contains(t, r.stderr, `there is no rule and no topic "hous"`)
	assert.NotContains(t, r.stderr, projectName)
}

// TestProjectWaiversForOneDesign asks that a waiver of another design is neither used nor called unused.
func TestProjectWaiversForOneDesign(t *testing.T) {
	t.Parallel()
	for design, waived := range map[string]bool{"designs/deep/broken.yaml": true, "designs/**/*.yaml": true, "designs/other.yaml": false} {
		folder := siteFolder(t, strings.Replace(siteProject, "thing: CV-1", "thing: CV-1, design: "+design, 1))
		r := command(t, nil, "check", filepath.Join(folder, "designs"), "--only", "house", "--today", "2026-01-01")
		assert.Equal(t, waived, strings.Contains(r.stdout, "waived: "), design)
		assert.NotContains(t, r.stdout, "waivers/unused", design)
	}
}

// TestProjectOverTheWire asks that a server gives the same bytes.
func TestProjectOverTheWire(t *testing.T) {
	t.Parallel()
	address, stop := startServer(t)
	defer stop(os.Interrupt)
	folder := siteFolder(t, siteProject)
	baseline := filepath.Join(folder, "known.txt")
	design := filepath.Join(folder, "designs/deep/broken.yaml")
	require.Equal(t, exitPassed, command(t, nil, "check", design, "--only", "house", "--allow-unverified", "--today", "2026-07-01", "--write-baseline", baseline).code)
	for _, args := range [][]string{
		{"check", design, "--format", "json", "--today", "2026-01-01"},
		{"check", design, "--format", "json", "--today", "2026-07-01"},
		{"check", design, "--only", "house", "--format", "sarif", "--archive", "--today", "2026-01-01"},
		{"check", design, "--baseline", baseline, "--today", "2026-07-01"},
		{"compare", "testdata/designs/clean.yaml", design, "--format", "json", "--today", "2026-01-01"},
		{"compare", design, "testdata/designs/clean.yaml"},
	} {
		assert.Equal(t, 1, sameAtServer(t, address, args...), "%v", args)
	}
}

func TestCompareVerb(t *testing.T) {
	t.Parallel()
	args := func(more ...string) []string {
		return append([]string{"compare", "--rules", "testdata/rules", "--only", "house"}, more...)
	}
	r := command(t, nil, args("testdata/designs/clean.yaml", "testdata/designs/broken.yaml")...)
	assert.Equal(t, exitFindings, r.code, r.stderr)
	assert.Contains(t, r.stdout, "New:\ntestdata/designs/broken.yaml:7:3: error house/rated-for-five")
	assert.Contains(t, r.stdout, "before: the rule was met")
	r = command(t, nil, args("testdata/designs/broken.yaml", "testdata/designs/clean.yaml")...)
	assert.Equal(t, exitPassed, r.code, r.stdout)
	assert.Contains(t, r.stdout, "Gone:\n  testdata/designs/broken.yaml:7:3: error house/rated-for-five of CV-1: the rule is met")
	r = command(t, []byte(read(t, "testdata/designs/broken.yaml")), args("-", "testdata/designs/broken.yaml", "--format", "json")...)
	assert.Equal(t, exitPassed, r.code, r.stdout)
	var file struct {
		Gate       struct{ Decision string }
		Comparison struct {
			Unchanged []any `json:"unchanged_findings"`
			New       []any `json:"new_findings"`
		}
	}
	require.NoError(t, json.Unmarshal([]byte(r.stdout), &file))
	assert.Equal(t, "passed", file.Gate.Decision)
	assert.NotEmpty(t, file.Comparison.Unchanged)
	assert.Empty(t, file.Comparison.New)

	// Without its data the finding is gone, but not mended.
	bare := write(t, "bare.yaml", strings.Replace(read(t, "testdata/designs/broken.yaml"), ", max_pressure: 3 bar(g)}\n  CV-9", "}\n  CV-9", 1))
	r = command(t, nil, args("testdata/designs/broken.yaml", bare)...)
	assert.Equal(t, exitIncomplete, r.code, r.stdout)
	assert.Contains(t, r.stdout, "not mended but no longer")

	unusable := write(t, "u.yaml", strings.Replace(read(t, "testdata/designs/clean.yaml"), "CV-1, CV-2", "CV-1, CV-7", 1))
	r = command(t, nil, args(unusable, "testdata/designs/clean.yaml")...)
	assert.Equal(t, exitUnusable, r.code)
	assert.Regexp(t, `u\.yaml:\d+:\d+: .*CV-7`, r.stderr)
	assert.Equal(t, exitUnusable, command(t, nil, args("testdata/designs", "testdata/designs/clean.yaml")...).code)
}

func TestBaselineFile(t *testing.T) {
	t.Parallel()
	folder := siteFolder(t, "")
	design, file := filepath.Join(folder, "designs/deep/broken.yaml"), filepath.Join(folder, "known.txt")
	args := []string{"check", design, "--rules", "testdata/rules", "--only", "house", "--allow-unverified"}
	require.Equal(t, exitFindings, command(t, nil, args...).code)
	r := command(t, nil, append(args, "--write-baseline", file)...)
	assert.Equal(t, exitPassed, r.code, r.stdout+r.stderr)
	content := read(t, file)
	assert.Contains(t, content, "designs/deep/broken.yaml\thouse/rated-for-five\tcomponents.CV-1\tv1:")
	assert.NotRegexp(t, `:\d+:\d+`, content, "no line numbers")
	r = command(t, nil, append(args, "--baseline", file)...)
	assert.Equal(t, exitPassed, r.code, r.stdout)
	assert.Contains(t, r.stdout, "known: it stands in the baseline")

	// Elements in another order, and another number, change nothing.
	text := read(t, design)
	moved := strings.Replace(strings.Replace(text, "  CV-1: {check_valve: {}, max_pressure: 3 bar(g)}\n", "", 1), "  INJ-1", "  # moved\n  CV-1: {check_valve: {}, max_pressure: 2.5 bar(g)}\n  INJ-1", 1)
	require.NoError(t, os.WriteFile(design, []byte(moved), 0o644))
	assert.Equal(t, exitPassed, command(t, nil, append(args, "--baseline", file)...).code)

	// A new finding fails, and a baseline that is there already does not take it in by itself.
	worse := strings.Replace(text, "CV-9: {check_valve: {}}", "CV-9: {check_valve: {}, max_pressure: 1 bar(g)}", 1)
	require.NoError(t, os.WriteFile(design, []byte(worse), 0o644))
	assert.Equal(t, exitFindings, command(t, nil, append(args, "--baseline", file)...).code)
	assert.Equal(t, exitFindings, command(t, nil, append(args, "--write-baseline", file)...).code)
	assert.Equal(t, content, read(t, file))
	assert.Equal(t, exitPassed, command(t, nil, append(args, "--write-baseline", file, "--grow-baseline")...).code)
	assert.Contains(t, read(t, file), "components.CV-9")

	// What is mended is told, and taken out; a rule that was not asked says nothing.
	require.NoError(t, os.WriteFile(design, []byte(strings.ReplaceAll(worse, "CV-1: {check_valve: {}, max_pressure: 3 bar(g)}", "CV-1: {check_valve: {}, max_pressure: 9 bar(g)}")), 0o644))
	r = command(t, nil, append(args, "--baseline", file)...)
	assert.Contains(t, r.stderr, "mended: house/rated-for-five of components.CV-1 in designs/deep/broken.yaml")
	assert.Empty(t, command(t, nil, append(args, "--baseline", file, "--skip", "house/rated-for-five")...).stderr)
	r = command(t, nil, append(args, "--write-baseline", file)...)
	assert.Contains(t, r.stderr, "1 removed as mended")
	assert.NotContains(t, read(t, file), "components.CV-1\t")

	for name, wrong := range map[string]string{"header.txt": "something\n", "entry.txt": baselineHeader + "\na b c\n", "empty.txt": ""} {
		path := filepath.Join(folder, name)
		require.NoError(t, os.WriteFile(path, []byte(wrong), 0o644))
		r := command(t, nil, append(args, "--baseline", path)...)
		assert.Equal(t, exitUnusable, r.code, name)
		assert.Contains(t, r.stderr, name+":")
	}
}
