package main

import (
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Drawing, solving and the verbs that show rules read the project file as a check does: parts, rules and changes of them.
func TestEveryVerbReadsTheProjectFile(t *testing.T) {
	t.Parallel()
	folder := siteFolder(t, strings.Replace(siteProject, "{reason: one spare fits all}",
		"{severity: note, reason: one spare fits all}\n  backflow/two-independent-barriers: {severity: warning, reason: a second review looks at it}", 1))
	project := filepath.Join(folder, projectName)
	design := filepath.Join(folder, "designs/deep/own.yaml")
	require.NoError(t, exec.Command("cp", "testdata/designs/broken.yaml", design).Run())

	r := command(t, nil, "rules", "list", "--project", project)
	require.Equal(t, exitPassed, r.code, r.stderr)
	assert.Regexp(t, `(?m)^note +house/rated-for-five `, r.stdout)
	assert.Regexp(t, `(?m)^warning +backflow/two-independent-barriers `, r.stdout)
	assert.NotContains(t, command(t, nil, "rules", "list").stdout, "house/", "no project file stands above this folder")
	r = command(t, nil, "explain", "backflow/two-independent-barriers", "--project", project)
	require.Equal(t, exitPassed, r.code, r.stderr)
	assert.Contains(t, r.stdout, "severity: warning")
	assert.Regexp(t, `At this site\n  \S+`+projectName+`:\d+:\d+: severity warning in place of error, because: a second review looks at it\n`, r.stdout)
	assert.NotContains(t, command(t, nil, "explain", "backflow/two-independent-barriers", "--no-project").stdout, "At this site")

	// By itself the file of the folder that the command runs in is taken, or of one above.
	cmd := exec.Command(built, "explain", "house/rated-for-five")
	cmd.Dir = filepath.Join(folder, "designs/deep")
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
	assert.Contains(t, string(out), "severity note in place of error, because: one spare fits all")

	for _, verb := range []string{"draw", "solve"} {
		with := command(t, nil, verb, design)
		assert.Equal(t, exitPassed, with.code, "%s: %s", verb, with.stderr)
		assert.Equal(t, with, command(t, nil, verb, design, "--project", project))
	}
	found := command(t, nil, "draw", design, "--findings")
	require.Equal(t, exitPassed, found.code, found.stderr)
	assert.NotEqual(t, found.stdout, command(t, nil, "draw", design, "--findings", "--no-project").stdout, "findings of rules of the site are drawn")
}

// A project file that is wrong is refused at its place by every verb that reads it.
func TestEveryVerbRefusesABadProjectFile(t *testing.T) {
	t.Parallel()
	folder := siteFolder(t, "skidrule_project: v1\nrule_changes:\n  backflow/no-such-rule: {severity: note, reason: none}\n")
	project, design := filepath.Join(folder, projectName), filepath.Join(folder, "designs/deep/broken.yaml")
	for _, args := range [][]string{{"rules", "list", "--project", project}, {"explain", "backflow/two-independent-barriers", "--project", project}} {
		r := command(t, nil, args...)
		assert.Equal(t, exitUnusable, r.code, args)
		assert.Contains(t, r.stderr, projectName+":3:3: ", args)
		assert.Contains(t, r.stderr, `there is no rule "backflow/no-such-rule"`, args)
	}
	for _, verb := range []string{"draw", "solve", "check"} {
		r := command(t, nil, verb, design, "--project", project, "--no-project")
		assert.Equal(t, exitUnusable, r.code, verb)
		assert.Contains(t, r.stderr, "take one of them", verb)
	}
	r := command(t, nil, "rules", "list", "--server", "127.0.0.1:1", "--project", project)
	assert.Equal(t, exitUnusable, r.code)
	assert.Contains(t, r.stderr, "take one of them")
}
