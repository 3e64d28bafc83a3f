package report_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/encoding/prototext"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/quantity"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

const errorSeverity = skidrulev1.Severity_SEVERITY_ERROR

// loop is an answer with everything that a report can hold.
func loop(t *testing.T) report.Answer {
	t.Helper()
	data, err := os.ReadFile("testdata/loop.yaml")
	require.NoError(t, err)
	file, err := designfile.Read("loop.yaml", data)
	require.NoError(t, err)
	data, err = os.ReadFile("testdata/loop.txtpb")
	require.NoError(t, err)
	r := &skidrulev1.Report{}
	require.NoError(t, prototext.Unmarshal(data, r))
	return report.Answer{File: "loop.yaml", Report: r, Positions: file.Positions}
}

func TestTextIsAsItWas(t *testing.T) {
	for name, style := range map[string]report.Style{
		"loop.txt":        {},
		"loop-narrow.txt": {Width: 56, ASCII: true, Units: quantity.US},
		"loop-colour.txt": {Colour: true},
	} {
		t.Run(name, func(t *testing.T) {
			var out bytes.Buffer
			require.NoError(t, report.Text(&out, []report.Answer{loop(t)}, report.Gate{Threshold: errorSeverity}, style))
			golden(t, name, out.Bytes())
			assert.Equal(t, style.Colour, strings.Contains(out.String(), "\x1b["))
			if style.ASCII {
				assert.NotContains(t, out.String(), "→")
			}
		})
	}
}

// Colour adds nothing but codes: without them the text is the same.
func TestNothingIsSaidByColourAlone(t *testing.T) {
	var plain, coloured bytes.Buffer
	gate := report.Gate{Threshold: errorSeverity}
	require.NoError(t, report.Text(&plain, []report.Answer{loop(t)}, gate, report.Style{}))
	require.NoError(t, report.Text(&coloured, []report.Answer{loop(t)}, gate, report.Style{Colour: true}))
	assert.Equal(t, plain.String(), stripCodes(coloured.String()))
}

func stripCodes(s string) string {
	for {
		from := strings.Index(s, "\x1b[")
		if from < 0 {
			return s
		}
		s = s[:from] + s[from+strings.IndexByte(s[from:], 'm')+1:]
	}
}

// Lines stay within the page, but for words that are longer than a line and the places in front, which editors read.
func TestTextKeepsToTheWidth(t *testing.T) {
	for _, width := range []int{40, 60, 80, 120} {
		var out bytes.Buffer
		require.NoError(t, report.Text(&out, []report.Answer{loop(t)}, report.Gate{Threshold: errorSeverity}, report.Style{Width: width}))
		for line := range strings.Lines(out.String()) {
			line = strings.TrimRight(line, "\n")
			if strings.HasPrefix(line, "loop.yaml:") {
				continue
			}
			assert.LessOrEqual(t, len([]rune(line)), max(width, 70), "%q", line)
			if width >= 80 {
				assert.LessOrEqual(t, len([]rune(line)), width, "%q", line)
			}
			assert.Equal(t, strings.TrimRight(line, " "), line, "no blanks at the end")
		}
	}
}

func TestJSONIsAsItWas(t *testing.T) {
	var out bytes.Buffer
	bad := report.Unusable{File: "torn.yaml", Problems: []designfile.Problem{{File: "torn.yaml", Line: 3, Column: 1, Message: "unknown key", Suggestion: "did you mean name?"}}}
	require.NoError(t, report.JSON(&out, []report.Answer{loop(t)}, []report.Unusable{bad}, report.Gate{Threshold: errorSeverity}))
	golden(t, "loop.json", out.Bytes())
}

// The report inside the JSON report is the Report message again, and every path that it names has its place.
func TestJSONHoldsTheWholeReport(t *testing.T) {
	a := loop(t)
	want := proto.CloneOf(a.Report)
	*want.Findings[2].Evidence[0].ValueHigh = 331235 // six significant digits
	var out bytes.Buffer
	require.NoError(t, report.JSON(&out, []report.Answer{a}, nil, report.Gate{Threshold: errorSeverity}))
	var file struct {
		Version string `json:"skidrule_report"`
		Answers []struct {
			Report    json.RawMessage
			Positions map[string]struct{ Line, Column int }
		}
	}
	require.NoError(t, json.Unmarshal(out.Bytes(), &file))
	assert.Equal(t, report.JSONVersion, file.Version)
	got := &skidrulev1.Report{}
	require.NoError(t, protojson.Unmarshal(file.Answers[0].Report, got))
	assert.True(t, proto.Equal(want, got))
	for _, path := range []string{"components.OG-1", "components.XV-1.max_pressure", "lines.W-2 at CT-1.inlet", "lines.G-1"} {
		assert.Positive(t, file.Answers[0].Positions[path].Line, path)
	}
	assert.Equal(t, 331234.5678, loop(t).Report.GetFindings()[2].GetEvidence()[0].GetValueHigh(), "the answer itself is not rounded")
}

func TestNoFindingIsLost(t *testing.T) {
	var out bytes.Buffer
	a := loop(t)
	require.NoError(t, report.Text(&out, []report.Answer{a}, report.Gate{Threshold: errorSeverity}, report.Style{Width: 200}))
	for _, f := range a.Report.GetFindings() {
		assert.Equal(t, 1, strings.Count(out.String(), f.GetMessage()), f.GetMessage())
	}
}

func TestTextFromADesignIsHarmless(t *testing.T) {
	a := loop(t)
	a.File = "a\x1b]0;title\x07.yaml"
	a.Report.DesignName = "name\x1b[31m\nwith \u202e more"
	a.Report.Findings[0].Message = "red \x1b[31m alert\r\nsecond"
	a.Report.Findings[0].Path[0].Note = "\x9b2J"
	var out bytes.Buffer
	require.NoError(t, report.Text(&out, []report.Answer{a}, report.Gate{Threshold: errorSeverity}, report.Style{}))
	assert.NotContains(t, out.String(), "\x1b")
	assert.NotContains(t, out.String(), "\u202e")
	assert.NotContains(t, out.String(), "\r")
	assert.Contains(t, out.String(), "<U+001B>")
}

func TestGate(t *testing.T) {
	met := &skidrulev1.Coverage{Met: 3}
	finding := func(s skidrulev1.Severity) *skidrulev1.Report {
		return &skidrulev1.Report{Findings: []*skidrulev1.Finding{{Severity: s}}, Coverage: &skidrulev1.Coverage{Met: 3, Broken: 1}}
	}
	warning := skidrulev1.Severity_SEVERITY_WARNING
	for _, c := range []struct {
		name   string
		gate   report.Gate
		report *skidrulev1.Report
		want   report.Decision
		words  string
	}{
		{"all met", report.Gate{Threshold: errorSeverity}, &skidrulev1.Report{Coverage: met}, report.Passed, "passed"},
		{"a finding", report.Gate{Threshold: errorSeverity}, finding(errorSeverity), report.Broken, "1 finding of severity error"},
		{"one below the threshold", report.Gate{Threshold: errorSeverity}, finding(warning), report.Passed, "passed"},
		{"one at the threshold", report.Gate{Threshold: warning}, finding(warning), report.Broken, "warning or worse"},
		{"a waived finding", report.Gate{Threshold: errorSeverity}, &skidrulev1.Report{
			Findings: []*skidrulev1.Finding{{Severity: errorSeverity, Waiver: &skidrulev1.Waiver{}}}, Coverage: met}, report.Passed, "passed"},
		{"a known finding", report.Gate{Threshold: errorSeverity}, &skidrulev1.Report{
			Findings: []*skidrulev1.Finding{{Severity: errorSeverity, InBaseline: true}}, Coverage: met}, report.Passed, "passed"},
		{"data missing", report.Gate{Threshold: errorSeverity}, &skidrulev1.Report{Coverage: &skidrulev1.Coverage{Met: 1, ErrorNotVerifiable: 2}},
			report.Incomplete, "2 outcomes of severity error could not be verified"},
		{"data missing for a warning", report.Gate{Threshold: errorSeverity}, &skidrulev1.Report{Coverage: &skidrulev1.Coverage{Met: 1, NotVerifiable: 2}}, report.Passed, "passed"},
		{"data missing, allowed", report.Gate{Threshold: errorSeverity, AllowUnverified: true}, &skidrulev1.Report{Coverage: &skidrulev1.Coverage{Met: 1, ErrorNotVerifiable: 2}},
			report.Passed, "--allow-unverified accepts it"},
		{"a failed rule", report.Gate{Threshold: errorSeverity}, &skidrulev1.Report{Failures: []*skidrulev1.RuleFailure{{}}, Coverage: met}, report.Incomplete, "1 rule went wrong"},
		{"nothing verified", report.Gate{Threshold: errorSeverity, AllowUnverified: true}, &skidrulev1.Report{Coverage: &skidrulev1.Coverage{NotApplicable: 9}}, report.Incomplete, "nothing was verified"},
		{"a finding and data missing", report.Gate{Threshold: errorSeverity}, &skidrulev1.Report{
			Findings: []*skidrulev1.Finding{{Severity: errorSeverity}}, Coverage: &skidrulev1.Coverage{Broken: 1, ErrorNotVerifiable: 1}}, report.Broken, "besides, 1 outcome"},
	} {
		t.Run(c.name, func(t *testing.T) {
			v := c.gate.Judge(c.report)
			assert.Equal(t, c.want, v.Decision)
			assert.Contains(t, c.gate.Words(v), c.words)
		})
	}
}

func TestRuleTextIsAsItWas(t *testing.T) {
	r := &skidrulev1.Rule{
		Id: "house/rated-for-five", Title: "check valves are rated for five bar", Severity: errorSeverity, Hazard: skidrulev1.Hazard_HAZARD_OVERPRESSURE,
		Subject: skidrulev1.RuleSubject_RULE_SUBJECT_COMPONENT, Kinds: []string{"check_valve"}, Cases: []string{"normal"}, AppliesWhen: "it.in_gas",
		Condition: "it.max_pressure >= param.least", Why: "One spare fits every place.", Mend: "Take one of a higher rating.", Pack: "house",
		Parameters:    []*skidrulev1.RuleParameter{{Name: "least", Description: "least rating", Value: "5 bar(g)", Source: "common practice, no source"}},
		Sources:       []*skidrulev1.RuleSource{{Text: "common practice, no source", Status: skidrulev1.SourceStatus_SOURCE_STATUS_COMMON_PRACTICE}},
		Examples:      []*skidrulev1.RuleExample{{Name: "not-stated", Expect: skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE, Missing: "components.CV-1.max_pressure"}},
		CannotOccur:   []*skidrulev1.ImpossibleOutcome{{Outcome: skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_APPLICABLE, Reason: "every valve has a rating."}},
		ConsequenceOf: []string{"house/other"},
	}
	var out bytes.Buffer
	require.NoError(t, report.Explain(&out, r, report.Style{}))
	golden(t, "explain.txt", out.Bytes())
	out.Reset()
	require.NoError(t, report.Rules(&out, []*skidrulev1.Rule{r}, report.Style{}))
	assert.Contains(t, out.String(), "error  house/rated-for-five  check valves are rated for five bar\n")
	out.Reset()
	require.NoError(t, report.RulesJSON(&out, []*skidrulev1.Rule{r}))
	assert.Contains(t, out.String(), `"id": "house/rated-for-five"`)
}

// brokenPipe fails like a pager that was closed.
type brokenPipe struct{}

func (brokenPipe) Write([]byte) (int, error) { return 0, errors.New("closed") }

func TestAWriterThatFailsIsToldOf(t *testing.T) {
	assert.ErrorContains(t, report.Text(brokenPipe{}, []report.Answer{loop(t)}, report.Gate{}, report.Style{}), "closed")
	assert.ErrorContains(t, report.JSON(brokenPipe{}, []report.Answer{loop(t)}, nil, report.Gate{}), "closed")
}
