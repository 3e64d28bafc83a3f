package main

import (
	"encoding/json"
	"encoding/xml"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Several formats come out of one run, and the exit code stays the same.
func TestFormatsForCI(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	sarif, junit, markdown := filepath.Join(folder, "r.sarif"), filepath.Join(folder, "r.xml"), filepath.Join(folder, "r.md")
	r := command(t, nil, house("testdata/designs/broken.yaml", "--output", "sarif="+sarif, "--output", "junit="+junit, "--output", "markdown="+markdown)...)
	assert.Equal(t, exitFindings, r.code, r.stderr)
	assert.Contains(t, r.stdout, "error house/rated-for-five")
	assert.True(t, json.Valid([]byte(read(t, sarif))))
	assert.NoError(t, xml.Unmarshal([]byte(read(t, junit)), new(any)))
	assert.True(t, strings.HasPrefix(read(t, markdown), "## skidrule: not passed\n"))
	for _, format := range []string{"sarif", "junit", "markdown"} {
		one := command(t, nil, house("testdata/designs/broken.yaml", "--format", format)...)
		assert.Equal(t, exitFindings, one.code)
		assert.Equal(t, read(t, map[string]string{"sarif": sarif, "junit": junit, "markdown": markdown}[format]), one.stdout)
		assert.Equal(t, exitUnusable, command(t, nil, house("nowhere.yaml", "--format", format)...).code)
		r := command(t, nil, house("testdata/designs/broken.yaml", write(t, "torn.yaml", "skidrule: v1\ncomponents: []\n"), "--format", format)...)
		assert.Equal(t, exitUnusable, r.code)
		assert.Contains(t, r.stdout, "house/rated-for-five", "%s: the other design is reported", format)
		assert.Contains(t, r.stdout, "torn.yaml", format)
	}
}

// A SARIF log has the rules that were asked, those of a pack in an extension, and relative paths whatever was typed.
func TestSARIFOfTheCommand(t *testing.T) {
	t.Parallel()
	type sarifLog struct {
		Runs []struct {
			Tool struct {
				Driver     struct{ Rules []struct{ ID string } }
				Extensions []struct {
					Name  string
					Rules []struct{ ID string }
				}
			}
			AutomationDetails struct{ ID string }
			Artifacts         []struct{ Location struct{ URI string } }
			Results           []struct{ Kind string }
		}
	}
	read := func(args ...string) sarifLog {
		var log sarifLog
		require.NoError(t, json.Unmarshal([]byte(command(t, nil, append(args, "--format", "sarif")...).stdout), &log))
		require.Len(t, log.Runs, 1)
		return log
	}
	folder, err := os.Getwd()
	require.NoError(t, err)
	log := read(house(filepath.Join(folder, "testdata/designs/open.yaml"))...).Runs[0]
	assert.Empty(t, log.Tool.Driver.Rules)
	require.Len(t, log.Tool.Extensions, 1)
	assert.Equal(t, "rules", log.Tool.Extensions[0].Name)
	assert.Len(t, log.Tool.Extensions[0].Rules, 2)
	assert.Equal(t, "testdata/designs/open.yaml", log.Artifacts[0].Location.URI)
	assert.Equal(t, "skidrule/", log.AutomationDetails.ID)
	assert.Empty(t, log.Results)
	log = read(house("testdata/designs/open.yaml", "--archive", "--category", "side stream")...).Runs[0]
	assert.NotEmpty(t, log.Results)
	assert.Equal(t, "side stream/", log.AutomationDetails.ID)
	log = read("check", "testdata/designs/open.yaml", "--only", "backflow", "--skip", "backflow/check-valve-forward").Runs[0]
	require.NotEmpty(t, log.Tool.Driver.Rules)
	for _, r := range log.Tool.Driver.Rules {
		assert.True(t, strings.HasPrefix(r.ID, "backflow/"), r.ID)
		assert.NotEqual(t, "backflow/check-valve-forward", r.ID)
	}
}

// A server gives the same SARIF as the command alone.
func TestSARIFOfAServer(t *testing.T) {
	t.Parallel()
	address, stop := startServer(t)
	defer stop(os.Interrupt)
	assert.Equal(t, 1, sameAtServer(t, address, "check", "testdata/designs/broken.yaml", "--format", "sarif"))
}
