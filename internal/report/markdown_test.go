package report_test

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func markdown(t *testing.T, answers ...report.Answer) string {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, report.Markdown(&out, answers, nil, report.Gate{Threshold: errorSeverity}, quantity.Metric))
	return out.String()
}

func TestMarkdownIsAsItWas(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t, report.Markdown(&out, []report.Answer{loop(t), clean(t)}, []report.Unusable{tornFile}, report.Gate{Threshold: errorSeverity}, quantity.Metric))
	golden(t, "loop.md", out.Bytes())
	assert.ErrorContains(t, report.Markdown(brokenPipe{}, nil, nil, report.Gate{}, quantity.Metric), "closed")
}

// A reader in a hurry finds the verdict and the counts before anything else, and nothing unfolded is long.
func TestMarkdownSaysTheMostImportantFirst(t *testing.T) {
	lines := strings.Split(markdown(t, loop(t)), "\n")
	assert.Equal(t, "## skidrule: not passed", lines[0])
	assert.Equal(t, "**2 errors, 1 warning, 2 notes; 3 outcomes not verifiable**, in 1 design.", lines[2])
	folded, open := 0, 0
	for _, l := range lines {
		folded += strings.Count(l, "<details>") - strings.Count(l, "</details>")
		if folded == 0 {
			open++
		}
	}
	assert.Zero(t, folded, "what is opened is closed")
	assert.Less(t, open, 60)
}

// The list of data to state decides most of what is open, with no datum that it does not need.
func TestMarkdownListsTheLeastDataToState(t *testing.T) {
	a := loop(t)
	a.Report.Questions = nil // the list comes from the outcomes
	text := markdown(t, a)
	assert.Contains(t, text, "**To state, so that 2 of 3 open outcomes can be decided (a short list, chosen greedily):**\n\n- `components.XV-1.max_pressure` at 6:3, written like `10 bar(g)`\n")
	open := skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE
	r := &skidrulev1.Report{Coverage: &skidrulev1.Coverage{Met: 1}}
	for i := range 9 {
		// Eight outcomes wait for one datum; the ninth needs thirteen more, which most of them can do without.
		o := &skidrulev1.Outcome{RuleId: fmt.Sprintf("a/b-%d", i), Subject: "design", Status: open, Missing: []string{"basis.altitude"}}
		if i == 8 {
			for k := range 13 {
				o.Missing = append(o.Missing, fmt.Sprintf("components.C-%d.elevation", k))
			}
		}
		r.Outcomes = append(r.Outcomes, o)
	}
	text = markdown(t, report.Answer{File: "x.yaml", Report: r})
	assert.Contains(t, text, "**To state, so that 8 of 9 open outcomes can be decided (a short list, chosen greedily):**\n\n- `basis.altitude`, written like `340 m`\n\n<details>")
}

// Text from a design makes no markup, calls nobody and leads nowhere.
func TestMarkdownFromADesignIsHarmless(t *testing.T) {
	a := loop(t)
	evil := "**x** <img src=y> [l](https://example.org) @somebody #12 `c` | z </details>\n## head"
	a.File, a.Report.DesignName, a.Report.Findings[0].Title, a.Report.Findings[0].Mend = evil, evil, evil, evil
	a.Report.Findings[0].Message = evil + ". See " + evil
	a.Report.Findings[0].Path[0].Tag, a.Report.Findings[0].Evidence[0].Label = evil, evil
	text := markdown(t, a)
	// What stands as code or is escaped is no markup.
	outside := regexp.MustCompile("\\\\[[:punct:]]|`[^`\n]*`").ReplaceAllString(text, "")
	for _, bad := range []string{"<img", "@s", " #1", "\n## head", "[l](", "**x"} {
		assert.NotContains(t, outside, bad)
	}
	assert.Equal(t, strings.Count(outside, "<details>"), strings.Count(outside, "</details>"))
}

// A comment has a length that hosts take; what does not fit is counted and the cautions still come.
func TestMarkdownKeepsToTheLengthOfAComment(t *testing.T) {
	a := loop(t)
	for i := range 3000 {
		a.Report.Findings = append(a.Report.Findings, &skidrulev1.Finding{RuleId: "a/b", Severity: skidrulev1.Severity_SEVERITY_NOTE, Subject: "design", Message: fmt.Sprintf("Note %d.", i), Fingerprint: fmt.Sprint(i)})
	}
	text := markdown(t, a)
	assert.Less(t, len([]rune(text)), 65536)
	assert.Contains(t, text, "sections are left out for length")
	assert.Contains(t, text, "Ozone harms.")
	assert.Contains(t, text, "3002 notes")
}
