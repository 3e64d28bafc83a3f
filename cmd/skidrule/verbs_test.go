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

func TestExplain(t *testing.T) {
	t.Parallel()
	r := command(t, nil, "explain", "house/rated-for-five", "--rules", "testdata/rules")
	assert.Equal(t, exitPassed, r.code, r.stderr)
	assert.Contains(t, r.stdout, "must hold: check valves are rated for five bar")
	assert.Contains(t, r.stdout, "rule pack: rules")
	r = command(t, nil, "explain", "backflow/two-independent-bariers")
	assert.Equal(t, exitUnusable, r.code)
	assert.Contains(t, r.stderr, "did you mean backflow/two-independent-barriers?")
	r = command(t, nil, "explain", "backflow/two-independent-barriers", "--format", "json")
	assert.True(t, json.Valid([]byte(r.stdout)))
	assert.Equal(t, exitUnusable, command(t, nil, "explain", "a", "--server", "x", "--rules", "y").code)
}

func TestRulesList(t *testing.T) {
	r := command(t, nil, "rules", "list", "--rules", "testdata/rules", "--topic", "house")
	assert.Equal(t, exitPassed, r.code)
	assert.Contains(t, r.stdout, "error    house/rated-for-five  check valves are rated for five bar\n")
	assert.Contains(t, r.stdout, "2 rules;")
	assert.Contains(t, command(t, nil, "rules", "list").stdout, "backflow/two-independent-barriers")
	assert.Equal(t, exitUnusable, command(t, nil, "rules", "list", "--topic", "none").code)
}

func TestRulesTest(t *testing.T) {
	t.Parallel()
	r := command(t, nil, "rules", "test", "testdata/rules")
	assert.Equal(t, exitPassed, r.code, r.stdout+r.stderr)
	assert.Contains(t, r.stdout, "rules: 2, examples: 5, as expected: 5, not as expected: 0, rules without example: 0")

	folder := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(folder, "house"), 0o755))
	wrong := strings.Replace(read(t, "testdata/rules/house/rated-for-five.yaml"), "max_pressure: 2 bar(g)", "max_pressure: 20 bar(g)", 1)
	require.NoError(t, os.WriteFile(filepath.Join(folder, "house", "rated-for-five.yaml"), []byte(wrong), 0o644))
	r = command(t, nil, "rules", "test", folder)
	assert.Equal(t, exitFindings, r.code)
	assert.Contains(t, r.stdout, "house/rated-for-five.yaml:26:3: example too-little: expected broken, got met for components.CV-1\n")
	assert.Equal(t, exitUnusable, command(t, nil, "rules", "test", "testdata/golden").code)
	assert.Equal(t, exitPassed, command(t, nil, "rules", "test").code, "the built-in rules hold their examples")
}

func TestConvertLosesNothing(t *testing.T) {
	yaml := command(t, nil, "convert", "testdata/designs/broken.yaml")
	require.Equal(t, exitPassed, yaml.code, yaml.stderr)
	for form, name := range map[string]string{"json": "d.json", "wire-json": "d.json", "text": "d.txtpb", "binary": "d.binpb"} {
		there := command(t, nil, "convert", "testdata/designs/broken.yaml", "--to", form)
		require.Equal(t, exitPassed, there.code, there.stderr)
		back := command(t, []byte(there.stdout), "convert", "-", "--stdin-name", name)
		require.Equal(t, exitPassed, back.code, back.stderr)
		assert.Equal(t, yaml.stdout, back.stdout, form)
	}
}

func TestConvertTable(t *testing.T) {
	r := command(t, nil, "convert", "testdata/parts/injector.csv")
	require.Equal(t, exitPassed, r.code, r.stderr)
	golden(t, "injector.yaml", r.stdout)
	folder := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(folder, "i.yaml"), []byte(r.stdout), 0o644))
	b, err := bring([]string{folder}, nil)
	require.NoError(t, err)
	direct, err := bring([]string{"testdata/parts"}, nil)
	require.NoError(t, err)
	assert.EqualExportedValues(t, direct.catalogue.GetEntries()[0], b.catalogue.GetEntries()[0])
}

func TestConvertRefuses(t *testing.T) {
	t.Parallel()
	torn := write(t, "t.csv", "part,a\n")
	refuses(t, []string{"convert"}, map[string][]string{
		`--to is "xml"; it may be yaml`:                                     {"testdata/designs/broken.yaml", "--to", "xml"},
		"the name d.dwg tells no form; say it with --to":                    {"testdata/designs/broken.yaml", "--output", "d.dwg"},
		"none.yaml: no such file":                                           {"none.yaml"},
		"testdata: is a directory":                                          {"testdata"},
		`rated-for-five.yaml:1:1: the first key is "skidrule_rule"`:         {"testdata/rules/house/rated-for-five.yaml"},
		filepath.ToSlash(torn) + ":1:1: the file does not say what kind of": {torn},
	})
}

func TestVersion(t *testing.T) {
	var facts versionFacts
	require.NoError(t, json.Unmarshal([]byte(command(t, nil, "version", "--json").stdout), &facts))
	assert.NotEmpty(t, facts.Version)
	assert.Contains(t, command(t, nil, "version").stdout, "skidrule "+facts.Version)
}

func TestCompletion(t *testing.T) {
	for _, shell := range []string{"bash", "zsh", "fish", "powershell"} {
		assert.Contains(t, command(t, nil, "completion", shell).stdout, "skidrule", shell)
	}
	assert.Contains(t, command(t, nil, "__complete", "explain", "").stdout, "backflow/two-independent-barriers")
}

func TestGather(t *testing.T) {
	folder := t.TempDir()
	for name, content := range map[string]string{
		"b.yaml": "skidrule: v1\n", "a.yml": "# a comment\nskidrule: v1\n", "c.json": `{"skidrule": "v1"}`, "sub/d.yaml": "skidrule: v1\n", "sub/deep/e.yaml": "skidrule: v1\n",
		"parts.yaml": "skidrule_catalogue: v1\n", "other.yaml": "name: x\n", "readme.md": "skidrule: v1\n", ".hidden/f.yaml": "skidrule: v1\n",
	} {
		path := filepath.Join(folder, filepath.FromSlash(name))
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, []byte(content), 0o644))
	}
	t.Chdir(folder)
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"."}, "a.yml b.yaml c.json sub/d.yaml sub/deep/e.yaml"},
		{[]string{"sub", "./b.yaml", "b.yaml"}, "sub/d.yaml sub/deep/e.yaml b.yaml"},
		{[]string{"*.yaml"}, "b.yaml other.yaml parts.yaml"},
		{[]string{"**/*.yaml"}, "b.yaml other.yaml parts.yaml sub/d.yaml sub/deep/e.yaml"},
		{[]string{"sub/*/e.yaml"}, "sub/deep/e.yaml"},
		{[]string{"other.yaml", "-"}, "other.yaml in.yaml"},
	} {
		found, err := gather(c.args, bytes.NewReader(nil), "in.yaml")
		require.NoError(t, err)
		var names []string
		for _, in := range found {
			names = append(names, in.name)
		}
		assert.Equal(t, c.want, strings.Join(names, " "), "%v", c.args)
	}
	for _, bad := range []string{"none", "*.none", "[", ".hidden/x"} {
		_, err := gather([]string{bad}, nil, "")
		assert.Error(t, err, bad)
	}
}
