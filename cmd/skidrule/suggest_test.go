package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestSuggest asks for a patch that another program applies, after which the finding is gone.
func TestSuggest(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	design := filepath.Join(folder, "design.yaml")
	require.NoError(t, os.WriteFile(design, []byte(read(t, "../../testdata/mistakes/check-valve-reversed/design.yaml")), 0o644))
	file := filepath.Join(folder, "mend.patch")
	r := command(t, nil, "check", design, "--suggest="+file, "--format", "json")
	assert.Equal(t, exitFindings, r.code, r.stderr)
	patch := read(t, file)
	assert.Contains(t, patch, "# proposal: turn the check valve CV-2 in line G-2 round\n# afterwards: the finding is gone\n")

	cmd := exec.Command("git", "apply", "-p"+levels(design), file)
	cmd.Dir, cmd.Env = folder, append(os.Environ(), "GIT_CEILING_DIRECTORIES="+filepath.Dir(folder))
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
	r = command(t, nil, "check", design, "--only", "backflow/check-valve-forward", "--suggest")
	assert.Equal(t, exitPassed, r.code, r.stdout+r.stderr)
	assert.Contains(t, r.stdout, "design.yaml: nothing to mend\n")

	r = command(t, nil, "check", design, "--write-baseline", filepath.Join(folder, "known"), "--suggest")
	assert.Equal(t, exitPassed, r.code, r.stdout+r.stderr)
	assert.Contains(t, r.stdout, "design.yaml: nothing to mend\n", "what was taken as known is left alone")

	r = command(t, nil, "check", design, "--suggest", "--format", "json")
	assert.Equal(t, exitUnusable, r.code)
	assert.Contains(t, r.stderr, "write --suggest=FILE")
}

// levels counts the folders in the name of a patched file, and the letter before them.
func levels(name string) string {
	n := 1
	for folder := filepath.Dir(name); folder != filepath.Dir(folder); folder = filepath.Dir(folder) {
		n++
	}
	return string(rune('0'+n/10)) + string(rune('0'+n%10))
}

// Files in a form that edits are not written for are told as such.
func TestSuggestTellsWhatItCannotEdit(t *testing.T) {
	t.Parallel()
	text := strings.ReplaceAll(read(t, "../../testdata/mistakes/blockable-vent/design.yaml"), "\n", "\r\n")
	r := command(t, nil, "check", write(t, "design.yaml", text), "--suggest")
	assert.Equal(t, exitFindings, r.code, r.stderr)
	assert.Contains(t, r.stdout, "edits are proposed for YAML with plain line feeds alone")
	assert.NotContains(t, r.stdout, "@@")
}

// TestSuggestOverTheWire asks that a server's answers lead to the same patch.
func TestSuggestOverTheWire(t *testing.T) {
	t.Parallel()
	address, stop := startServer(t)
	defer stop(os.Interrupt)
	args := []string{"check", "../../testdata/mistakes/blockable-vent", "--suggest"}
	here, there := command(t, nil, args...), command(t, nil, append(args, "--server", address)...)
	assert.Equal(t, here, there)
	assert.Contains(t, here.stdout, "# proposal: lock the hand valve HV-9 open")
}

// TestSafeEditsStandInSARIF makes the edit that stands in the log, as an editor would, and asks that the finding is gone.
func TestSafeEditsStandInSARIF(t *testing.T) {
	t.Parallel()
	text := read(t, "../../testdata/mistakes/check-valve-reversed/design.yaml")
	design := write(t, "design.yaml", text)
	r := command(t, nil, "check", design, "--suggest", "--format", "sarif")
	assert.Equal(t, exitFindings, r.code, r.stderr)
	var log struct {
		Runs []struct {
			Results []struct {
				RuleID string
				Fixes  []struct {
					ArtifactChanges []struct {
						Replacements []struct {
							DeletedRegion   struct{ StartLine, StartColumn, EndLine, EndColumn int }
							InsertedContent struct{ Text string }
						}
					}
				}
			}
		}
	}
	require.NoError(t, json.Unmarshal([]byte(r.stdout), &log), "no patch stands behind the log")
	made := 0
	for _, result := range log.Runs[0].Results {
		if result.RuleID != "backflow/check-valve-forward" {
			continue
		}
		require.Len(t, result.Fixes, 1)
		lines := strings.SplitAfter(text, "\n")
		for _, p := range result.Fixes[0].ArtifactChanges[0].Replacements {
			require.Equal(t, p.DeletedRegion.StartLine, p.DeletedRegion.EndLine)
			line := []rune(lines[p.DeletedRegion.StartLine-1])
			lines[p.DeletedRegion.StartLine-1] = string(line[:p.DeletedRegion.StartColumn-1]) + p.InsertedContent.Text + string(line[p.DeletedRegion.EndColumn-1:])
			made++
		}
		mended := write(t, "design.yaml", strings.Join(lines, ""))
		r := command(t, nil, "check", mended, "--only", "backflow/check-valve-forward")
		assert.Equal(t, exitPassed, r.code, r.stdout+r.stderr)
	}
	assert.Positive(t, made)
	assert.NotContains(t, command(t, nil, "check", design, "--format", "sarif").stdout, `"fixes"`, "nobody asked for them")
}
