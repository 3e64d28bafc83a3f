package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// house asks two rules of the tests' own, whose answers do not change when built-in rules are added.
func house(args ...string) []string {
	return append([]string{"check", "--rules", "testdata/rules", "--only", "house"}, args...)
}

func TestCheckPrintsWhatItDid(t *testing.T) {
	r := command(t, nil, house("testdata/designs")...)
	golden(t, "check.txt", r.stdout)
	assert.Equal(t, exitFindings, r.code)
	assert.Empty(t, r.stderr, "no progress and no notes where nobody looks")
	r = command(t, nil, house("testdata/designs/broken.yaml", "--units", "us")...)
	golden(t, "check-us.txt", r.stdout)
}

func TestExitCodes(t *testing.T) {
	for _, c := range []struct {
		name string
		args []string
		want int
	}{
		{"clean", house("testdata/designs/clean.yaml"), exitPassed},
		{"a finding", house("testdata/designs/broken.yaml"), exitFindings},
		{"data missing", house("testdata/designs/open.yaml"), exitIncomplete},
		{"data missing, allowed", house("testdata/designs/open.yaml", "--allow-unverified"), exitPassed},
		{"a finding beats missing data", house("testdata/designs/broken.yaml", "--allow-unverified"), exitFindings},
		{"a warning below the threshold", house("testdata/designs/broken.yaml", "--skip", "house/rated-for-five"), exitPassed},
		{"a warning at the threshold", house("testdata/designs/broken.yaml", "--skip", "house/rated-for-five", "--fail-on", "warning"), exitFindings},
		{"the worst of several", house("testdata/designs/clean.yaml", "testdata/designs/open.yaml"), exitIncomplete},
		{"nothing verified", house("testdata/designs/clean.yaml", "--skip", "house"), exitIncomplete},
		{"one file unreadable", house("testdata/designs/clean.yaml", "nowhere.yaml"), exitUnusable},
		{"no argument", []string{"check"}, exitUnusable},
		{"unknown flag", []string{"check", "--nope"}, exitUnusable},
		{"unknown verb", []string{"chekc"}, exitUnusable},
		{"unknown threshold", house("testdata/designs/clean.yaml", "--fail-on", "fatal"), exitUnusable},
		{"unknown units", house("testdata/designs/clean.yaml", "--units", "imperial"), exitUnusable},
		{"unknown colour", house("testdata/designs/clean.yaml", "--color", "yes"), exitUnusable},
		{"unknown format", house("testdata/designs/clean.yaml", "--format", "xml"), exitUnusable},
		{"unknown rule", []string{"check", "testdata/designs/clean.yaml", "--only", "backflw"}, exitUnusable},
		{"unknown case", house("testdata/designs/clean.yaml", "--case", "pump_stoped"), exitUnusable},
		{"empty folder", []string{"check", "testdata/golden"}, exitUnusable},
		{"pattern without match", []string{"check", "testdata/**/*.none"}, exitUnusable},
		{"help", []string{"check", "--help"}, exitPassed},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r := command(t, nil, c.args...)
			assert.Equal(t, c.want, r.code, "%s%s", r.stdout, r.stderr)
			if c.want == exitUnusable {
				assert.NotEmpty(t, r.stderr, "an error says what is wrong")
			}
		})
	}
}

func TestAllowUnverifiedIsSaidInTheReport(t *testing.T) {
	r := command(t, nil, house("testdata/designs/open.yaml", "--allow-unverified")...)
	assert.Contains(t, strings.Join(strings.Fields(r.stdout), " "), "--allow-unverified accepts it: 2 outcomes of severity error could not be verified")
	r = command(t, nil, house("testdata/designs/open.yaml", "--allow-unverified", "--format", "json")...)
	assert.Contains(t, r.stdout, `"allow_unverified": true`)
}

func TestUnreadableFilesSpoilNoOthers(t *testing.T) {
	torn := write(t, "torn.yaml", "skidrule: v1\ncomponents: [\n")
	r := command(t, nil, house("testdata/designs/clean.yaml", torn, "testdata/designs/open.yaml")...)
	assert.Equal(t, exitUnusable, r.code)
	assert.Contains(t, r.stdout, "testdata/designs/clean.yaml: passed")
	assert.Contains(t, r.stdout, "testdata/designs/open.yaml: incomplete")
	assert.Contains(t, r.stderr, filepath.ToSlash(torn)+":")
	r = command(t, nil, house("testdata/designs/clean.yaml", torn, "--format", "json")...)
	var file struct {
		Gate     struct{ Decision string }
		Answers  []struct{ File string }
		Unusable []struct {
			File     string
			Problems []struct{ Line int }
		}
	}
	require.NoError(t, json.Unmarshal([]byte(r.stdout), &file))
	assert.Equal(t, "unusable", file.Gate.Decision)
	require.Len(t, file.Unusable, 1)
	assert.Positive(t, file.Unusable[0].Problems[0].Line)
	assert.Len(t, file.Answers, 1)
}

func TestStandardInput(t *testing.T) {
	t.Parallel()
	design := []byte(read(t, "testdata/designs/broken.yaml"))
	r := command(t, design, house("-", "--stdin-name", "drawn/loop.yaml")...)
	assert.Equal(t, exitFindings, r.code)
	assert.Contains(t, r.stdout, "drawn/loop.yaml:7:3: error house/rated-for-five\n")
	assert.Contains(t, command(t, design, house("-")...).stdout, "stdin:7:3: error")
	assert.Equal(t, exitUnusable, command(t, nil, house("-")...).code, "an empty design is no design")
}

// The same design in any form gives the same findings.
func TestEveryFormIsChecked(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	for _, name := range []string{"d.json", "d.txtpb", "d.binpb"} {
		path := filepath.Join(folder, name)
		require.Equal(t, exitPassed, command(t, nil, "convert", "testdata/designs/broken.yaml", "--output", path).code)
		r := command(t, nil, house(path)...)
		assert.Equal(t, exitFindings, r.code, r.stderr)
		assert.Contains(t, r.stdout, "CV-1 is rated for 3 bar(g) only.")
	}
}

func TestOutputs(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	text, asJSON := filepath.Join(folder, "r.txt"), filepath.Join(folder, "r.json")
	alone := command(t, nil, house("testdata/designs/broken.yaml")...)
	r := command(t, nil, house("testdata/designs/broken.yaml", "--output", text, "--output", "json="+asJSON)...)
	assert.Equal(t, exitFindings, r.code)
	assert.Empty(t, r.stdout, "the report went to the file")
	assert.Equal(t, alone.stdout, read(t, text))
	assert.True(t, json.Valid([]byte(read(t, asJSON))))
	r = command(t, nil, house("testdata/designs/broken.yaml", "--output", "json="+asJSON)...)
	assert.Equal(t, alone.stdout, r.stdout, "FORMAT=FILE writes beside standard output")
	for name, args := range map[string][]string{
		"no such folder": {"--output", filepath.Join(folder, "none", "r.txt")},
		"twice":          {"--output", text, "--output", asJSON},
		"one file twice": {"--output", "json=" + text, "--output", text},
		"no name":        {"--output", "json="},
	} {
		r := command(t, nil, house(append(args, "testdata/designs/broken.yaml")...)...)
		assert.Equal(t, exitUnusable, r.code, name)
		assert.NotEmpty(t, r.stderr, name)
	}
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	assert.Len(t, entries, 2, "no temporary file is left")
}

func TestColours(t *testing.T) {
	env := func(values map[string]string) func(string) string {
		return func(name string) string { return values[name] }
	}
	pipe := &bytes.Buffer{}
	for _, c := range []struct {
		name string
		flag string
		env  map[string]string
		want bool
	}{
		{"a pipe", "auto", nil, false},
		{"forced", "auto", map[string]string{"FORCE_COLOR": "1"}, true},
		{"forced by the other name", "auto", map[string]string{"CLICOLOR_FORCE": "1"}, true},
		{"not forced", "auto", map[string]string{"FORCE_COLOR": "0"}, false},
		{"NO_COLOR goes before force", "auto", map[string]string{"NO_COLOR": "1", "FORCE_COLOR": "1"}, false},
		{"the flag goes before NO_COLOR", "always", map[string]string{"NO_COLOR": "1"}, true},
		{"the flag goes before force", "never", map[string]string{"FORCE_COLOR": "1"}, false},
	} {
		assert.Equal(t, c.want, colours(c.flag, pipe, env(c.env)), c.name)
	}
	assert.Contains(t, command(t, nil, house("testdata/designs/broken.yaml", "--color", "always")...).stdout, "\x1b[")
	assert.NotContains(t, command(t, nil, house("testdata/designs/broken.yaml")...).stdout, "\x1b[")
	assert.True(t, unicodeLocale(env(nil)))
	assert.False(t, unicodeLocale(env(map[string]string{"LC_ALL": "C", "LANG": "en_GB.UTF-8"})))
}

func TestProgressBar(t *testing.T) {
	assert.Equal(t, "checking 3 of 12 ["+strings.Repeat("=", 10)+strings.Repeat(" ", 30)+"]", bar(3, 12, 80))
	for columns := 1; columns < 90; columns++ {
		assert.Less(t, len(bar(7, 9, columns)), columns+1)
	}
	assert.Nil(t, newProgress(&bytes.Buffer{}, 100, false), "no bar where nobody looks")
	var p *progress
	p.step()
	p.finish()
}

func TestPartsOfTheHouse(t *testing.T) {
	t.Parallel()
	design := write(t, "d.yaml", strings.NewReplacer("CV-1: {check_valve: {}, max_pressure: 3 bar(g)}", "CV-1: {part: house/check-valve}",
		"INJ-1: {venturi_injector: {}}", "INJ-1: {part: house/injector-25}", "CV-9: {check_valve: {}}", "CV-9: {check_valve: {}, max_pressure: 9 bar(g)}").Replace(read(t, "testdata/designs/broken.yaml")))
	r := command(t, nil, house(design, "--catalogue", "testdata/parts")...)
	assert.Equal(t, exitPassed, r.code, r.stdout+r.stderr)
	page := command(t, nil, house(design, "--catalogue", "testdata/parts", "--format", "html")...)
	assert.Equal(t, exitPassed, page.code, page.stderr)
	assert.NotContains(t, page.stdout, "no catalogue has the part", "the cases of the page are solved with the parts")
	r = command(t, nil, house(design)...)
	assert.Equal(t, exitUnusable, r.code)
	assert.Contains(t, r.stderr, "d.yaml:7:", "the part is not known without the catalogue")

	// A part that stands twice is an error at the second place, which names the first.
	folder := t.TempDir()
	for _, name := range []string{"a.yaml", "b.yaml"} {
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), []byte(read(t, "testdata/parts/parts.yaml")), 0o644))
	}
	r = command(t, nil, house(design, "--catalogue", folder)...)
	assert.Equal(t, exitUnusable, r.code)
	assert.Contains(t, r.stderr, "b.yaml:5:3: the part house/check-valve stands in ")
	assert.Contains(t, r.stderr, "a.yaml:5:3 too")

	// Everything wrong with the catalogues comes at once.
	require.NoError(t, os.WriteFile(filepath.Join(folder, "c.yaml"), []byte(strings.ReplaceAll(read(t, "testdata/parts/parts.yaml"), "10 bar(g)", "10 barg of")), 0o644))
	r = command(t, nil, house(design, "--catalogue", folder)...)
	assert.Contains(t, r.stderr, "b.yaml:5:3:")
	assert.Contains(t, r.stderr, "c.yaml:9:")
	assert.Equal(t, exitUnusable, command(t, nil, house(design, "--catalogue", "testdata/golden")...).code)
	assert.Equal(t, exitUnusable, command(t, nil, house(design, "--catalogue", design)...).code)
}
