package report_test

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/report"
)

// A safe edit stands with its finding alone, in a log that keeps to the schema; its regions count code points, and one of no length
// puts text in.
func TestSARIFFixes(t *testing.T) {
	a := loop(t)
	first := a.Report.GetFindings()[0].GetFingerprint()
	text := []byte("skidrule: v1\nname: Kühlteich\nlines:\n  G-2: {title: Größe °, route: [A, CV-2, B]}\n")
	at := strings.Index(string(text), "CV-2")
	a.Fixes = map[string]report.Fix{first: report.NewFix("turn {CV-2} round", text, []designfile.TextEdit{
		{From: at, To: at + 4, Old: "CV-2", New: "CV-2.outlet>inlet"}, {From: at, To: at, New: "# "}})}
	data := sarif(t, []report.Answer{a}, nil, report.SARIFOptions{Rules: loopRules(t)})
	if schema, ok := sarifSchema(t); ok {
		assertValid(t, schema, data, "a log with a fix")
	}
	var log struct {
		Runs []struct {
			Results []struct {
				PartialFingerprints map[string]string
				Fixes               []struct {
					Description     struct{ Text string }
					ArtifactChanges []struct {
						ArtifactLocation struct{ URI string }
						Replacements     []struct {
							DeletedRegion   struct{ StartLine, StartColumn, EndLine, EndColumn int }
							InsertedContent struct{ Text string }
						}
					}
				}
			}
		}
	}
	require.NoError(t, json.Unmarshal(data, &log))
	found := 0
	for _, r := range log.Runs[0].Results {
		if !strings.HasPrefix("v1:"+r.PartialFingerprints["skidruleFinding/v1"], first+":") {
			assert.Empty(t, r.Fixes)
			continue
		}
		found++
		require.Len(t, r.Fixes, 1)
		assert.Equal(t, "turn {{CV-2}} round", r.Fixes[0].Description.Text)
		change := r.Fixes[0].ArtifactChanges[0]
		assert.NotEmpty(t, change.ArtifactLocation.URI)
		column := 1 + len([]rune("  G-2: {title: Größe °, route: [A, "))
		require.Len(t, change.Replacements, 2)
		for i, width := range []int{4, 0} {
			region := change.Replacements[i].DeletedRegion
			assert.Equal(t, [4]int{4, column, 4, column + width}, [4]int{region.StartLine, region.StartColumn, region.EndLine, region.EndColumn})
		}
		assert.Equal(t, "CV-2.outlet>inlet", change.Replacements[0].InsertedContent.Text)
	}
	assert.Equal(t, 1, found)
}
