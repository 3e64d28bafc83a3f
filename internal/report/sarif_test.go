package report_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// sarifFile is the part of a SARIF log that tests look at.
type sarifFile struct {
	Runs []struct {
		Tool struct {
			Driver     struct{ Rules []struct{ ID string } }
			Extensions []struct {
				Name  string
				Rules []struct{ ID string }
			}
		}
		Invocations []struct {
			ExecutionSuccessful        bool
			ExitCode                   int
			ToolExecutionNotifications []struct {
				Descriptor struct{ ID string }
				Level      string
				Message    struct{ Text string }
				Locations  []sarifPlace
			}
		}
		Results []struct {
			RuleID    string
			RuleIndex *int
			Rule      *struct {
				Index         int
				ToolComponent struct{ Index int }
			}
			Kind, Level         string
			Message             struct{ Text string }
			Locations           []sarifPlace
			PartialFingerprints map[string]string
			CodeFlows           []struct{ ThreadFlows []struct{ Locations []any } }
			Suppressions        *[]map[string]any
			BaselineState       string
		}
	}
}

type sarifPlace struct {
	PhysicalLocation struct {
		ArtifactLocation struct{ URI string }
		Region           struct{ StartLine, StartColumn, EndLine, EndColumn int }
	}
	LogicalLocations []struct{ FullyQualifiedName string }
}

func readSARIF(t *testing.T, data []byte) sarifFile {
	t.Helper()
	var f sarifFile
	require.NoError(t, json.Unmarshal(data, &f))
	require.Len(t, f.Runs, 1)
	return f
}

// loopRules are the rules of which the loop answer speaks.
func loopRules(t *testing.T) []*skidrulev1.Rule {
	var rules []*skidrulev1.Rule
	seen := map[string]bool{}
	for _, f := range loop(t).Report.GetFindings() {
		if !seen[f.GetRuleId()] {
			seen[f.GetRuleId()] = true
			rules = append(rules, &skidrulev1.Rule{Id: f.GetRuleId(), Title: f.GetTitle(), Severity: f.GetSeverity(), Hazard: f.GetHazard(), Why: "It matters.", Mend: f.GetMend(), Sources: f.GetSources()})
		}
	}
	rules = append(rules, &skidrulev1.Rule{Id: "house/example", Title: "a rule of a pack", Severity: skidrulev1.Severity_SEVERITY_WARNING, Why: "The <house> wants *it*.", Pack: "house"},
		&skidrulev1.Rule{Id: "ratings/example-parts", Title: "parts are rated", Severity: errorSeverity, Why: "They burst."},
		&skidrulev1.Rule{Id: "process/example-flow", Title: "the flow is known", Severity: skidrulev1.Severity_SEVERITY_WARNING, Why: "It is asked for."})
	return rules
}

func sarif(t *testing.T, answers []report.Answer, bad []report.Unusable, o report.SARIFOptions) []byte {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, report.SARIF(&out, answers, bad, report.Gate{Threshold: errorSeverity}, o))
	return out.Bytes()
}

func TestSARIFIsAsItWas(t *testing.T) {
	bad := report.Unusable{File: "torn.yaml", More: 2, Problems: []designfile.Problem{{File: "torn.yaml", Line: 3, Column: 1, EndLine: 3, EndColumn: 5, Message: "unknown key", Suggestion: "did you mean name?"}}}
	golden(t, "loop.sarif", sarif(t, []report.Answer{loop(t)}, []report.Unusable{bad}, report.SARIFOptions{Rules: loopRules(t), Version: "v1.2.3", Category: "skidrule"}))
	golden(t, "loop-archive.sarif", sarif(t, []report.Answer{loop(t)}, nil, report.SARIFOptions{Rules: loopRules(t), Version: "v1-development", Archive: true}))
}

// schema of the OASIS standard, as a package of the npm registry ships it.
func sarifSchema(t *testing.T) (*jsonschema.Schema, bool) {
	t.Helper()
	path := filepath.Join("testdata", "sarif", "node_modules", "@microsoft", "jest-sarif", "lib", "schemas", "sarif-2.1.0-rtm.5.json")
	if _, err := os.Stat(path); err != nil {
		require.Empty(t, os.Getenv("CI"), "the schema of SARIF is not installed; say npm install in internal/report/testdata/sarif")
		t.Logf("%s is not installed; nothing is validated", path)
		return nil, false
	}
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	text, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	const name = "https://skidrule.invalid/sarif-schema-2.1.0.json"
	// The schema names itself by an address that nothing needs to be fetched from.
	delete(text.(map[string]any), "id")
	require.NoError(t, c.AddResource(name, text))
	schema, err := c.Compile(name)
	require.NoError(t, err)
	return schema, true
}

func assertValid(t *testing.T, schema *jsonschema.Schema, data []byte, what string) {
	t.Helper()
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	require.NoError(t, err, what)
	assert.NoError(t, schema.Validate(value), what)
}

// Every SARIF log keeps to the schema of the standard: the golden ones, and those of all designs of the demo.
func TestSARIFIsValid(t *testing.T) {
	schema, ok := sarifSchema(t)
	if !ok {
		return
	}
	goldens, err := filepath.Glob("testdata/*.sarif")
	require.NoError(t, err)
	require.Len(t, goldens, 2)
	for _, path := range goldens {
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		assertValid(t, schema, data, path)
	}
	e, err := builtIn()
	require.NoError(t, err)
	paths, err := filepath.Glob("../../testdata/mistakes/*/design.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, paths)
	var answers []report.Answer
	for _, path := range paths {
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		f, err := designfile.Read(path, data)
		require.NoError(t, err)
		r, err := e.Check(context.Background(), &skidrulev1.CheckDesignRequest{Design: f.Design})
		var wrong *engine.RequestError
		if errors.As(err, &wrong) {
			continue // one that cannot be asked about
		}
		require.NoError(t, err, path)
		answers = append(answers, report.Answer{File: path, Report: r, Positions: f.Positions})
	}
	data := sarif(t, answers, nil, report.SARIFOptions{Rules: rulesOf(e), Category: "demo", Archive: true})
	assertValid(t, schema, data, "the mistakes of the demo")
	assertSound(t, readSARIF(t, data))
	// The validator would tell a wrong log.
	broken := bytes.Replace(data, []byte(`"startLine": `), []byte(`"startLine": -`), 1)
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(broken))
	require.NoError(t, err)
	assert.Error(t, schema.Validate(value))
}

// assertSound demands what the schema does not say and consumers need.
func assertSound(t *testing.T, f sarifFile) {
	t.Helper()
	seen := map[string]bool{}
	for _, r := range f.Runs[0].Results {
		if r.Rule != nil {
			assert.Equal(t, r.RuleID, f.Runs[0].Tool.Extensions[r.Rule.ToolComponent.Index].Rules[r.Rule.Index].ID)
		} else if assert.NotNil(t, r.RuleIndex, r.RuleID) {
			assert.Equal(t, r.RuleID, f.Runs[0].Tool.Driver.Rules[*r.RuleIndex].ID)
		}
		assert.Equal(t, r.Kind == "fail", r.Level != "none", "only a failure has a level")
		require.Len(t, r.Locations, 1)
		p := r.Locations[0].PhysicalLocation
		assert.NotEmpty(t, p.ArtifactLocation.URI)
		assert.NotContains(t, p.ArtifactLocation.URI, `\`)
		assert.Positive(t, p.Region.StartLine)
		assert.Positive(t, p.Region.StartColumn)
		assert.True(t, p.Region.EndLine > p.Region.StartLine || p.Region.EndLine == p.Region.StartLine && p.Region.EndColumn > p.Region.StartColumn)
		require.Len(t, r.Locations[0].LogicalLocations, 1)
		key := r.RuleID + r.PartialFingerprints["primaryLocationLineHash"]
		assert.False(t, seen[key], "two results have the identity %s", key)
		seen[key] = true
		assert.LessOrEqual(t, len(r.CodeFlows), 1)
		for _, c := range r.CodeFlows {
			assert.Len(t, c.ThreadFlows, 1)
		}
	}
}

func TestSARIFForAnUpload(t *testing.T) {
	a := loop(t)
	f := readSARIF(t, sarif(t, []report.Answer{a}, nil, report.SARIFOptions{Rules: loopRules(t)}))
	assertSound(t, f)
	run := f.Runs[0]
	assert.Len(t, run.Results, len(a.Report.GetFindings())-1, "the waived finding stays out")
	assert.Len(t, run.Tool.Driver.Rules, 8, "rules that found nothing stand there too")
	require.Len(t, run.Tool.Extensions, 1)
	for _, r := range run.Results {
		assert.Equal(t, "fail", r.Kind)
		assert.Nil(t, r.Suppressions)
		assert.Empty(t, r.BaselineState)
	}
	assert.Equal(t, "components.OG-1", run.Results[0].Locations[0].LogicalLocations[0].FullyQualifiedName)
	assert.Len(t, run.Results[0].CodeFlows[0].ThreadFlows[0].Locations, len(a.Report.GetFindings()[0].GetPath()))
	require.Len(t, run.Invocations, 1)
	assert.False(t, run.Invocations[0].ExecutionSuccessful, "a rule went wrong")
	assert.Equal(t, 1, run.Invocations[0].ExitCode)
	var told []string
	for _, n := range run.Invocations[0].ToolExecutionNotifications {
		told = append(told, n.Descriptor.ID+" "+n.Level)
		require.Len(t, n.Locations, 1)
	}
	assert.Equal(t, []string{"rule-went-wrong error", "not-verified warning"}, told)
}

func TestSARIFForAnArchive(t *testing.T) {
	f := readSARIF(t, sarif(t, []report.Answer{loop(t)}, nil, report.SARIFOptions{Rules: loopRules(t), Archive: true}))
	assertSound(t, f)
	waived, known, open := 0, 0, 0
	for _, r := range f.Runs[0].Results {
		require.NotNil(t, r.Suppressions, "all have the list, or none")
		require.NotEmpty(t, r.BaselineState)
		for _, s := range *r.Suppressions {
			waived++
			assert.Equal(t, "external", s["kind"])
			assert.Contains(t, s["justification"], "replaced next month")
			assert.Len(t, s, 2, "no property that consumers choke on")
		}
		if r.BaselineState == "unchanged" {
			known++
		}
		if r.Kind == "open" {
			open++
		}
	}
	assert.Equal(t, []int{1, 1, 3}, []int{waived, known, open})
	r := loop(t)
	for _, f := range r.Report.GetFindings() {
		f.Waiver, f.InBaseline = nil, false
	}
	for _, x := range readSARIF(t, sarif(t, []report.Answer{r}, nil, report.SARIFOptions{Archive: true})).Runs[0].Results {
		assert.Nil(t, x.Suppressions)
		assert.Empty(t, x.BaselineState)
	}
}

// The identity of a finding outlives moved lines, other wording and other files beside it.
func TestSARIFIdentityOfFindings(t *testing.T) {
	identities := func(a report.Answer) map[string]string {
		out := map[string]string{}
		for _, r := range readSARIF(t, sarif(t, []report.Answer{a}, nil, report.SARIFOptions{})).Runs[0].Results {
			out[r.RuleID+" "+r.Locations[0].LogicalLocations[0].FullyQualifiedName] = r.PartialFingerprints["primaryLocationLineHash"] + " " + r.PartialFingerprints["skidruleFinding/v1"]
		}
		return out
	}
	before := loop(t)
	after := loop(t)
	data, err := os.ReadFile("testdata/loop.yaml")
	require.NoError(t, err)
	moved, err := designfile.Read("elsewhere.yaml", append([]byte("# moved\n\n"), data...))
	require.NoError(t, err)
	after.Positions, after.File = moved.Positions, "elsewhere.yaml"
	for _, f := range after.Report.GetFindings() {
		f.Message += " In other words."
	}
	assert.Equal(t, identities(before), identities(after))
}

func TestSARIFNamesOfFiles(t *testing.T) {
	for name, want := range map[string]string{
		"loop.yaml":                "loop.yaml",
		"./a/../drawn/loop.yaml":   "drawn/loop.yaml",
		"../loop.yaml":             "../loop.yaml",
		"a b/100%/ü#1?.yaml":       "a%20b/100%25/%C3%BC%231%3F.yaml",
		"c:loop.yaml":              "c%3Aloop.yaml",
		"/plant/drawn/loop.yaml":   "drawn/loop.yaml",
		"/linked/drawn/loop.yaml":  "drawn/loop.yaml",
		"/elsewhere/a b/loop.yaml": "file:///elsewhere/a%20b/loop.yaml",
	} {
		a := loop(t)
		a.File = name
		f := readSARIF(t, sarif(t, []report.Answer{a}, nil, report.SARIFOptions{Bases: []string{"/plant", "/linked"}}))
		assert.Equal(t, want, f.Runs[0].Results[0].Locations[0].PhysicalLocation.ArtifactLocation.URI)
	}
}

// Text of a design is text: no placeholder, no link, no control character.
func TestSARIFKeepsTextHarmless(t *testing.T) {
	a := loop(t)
	a.Report.Findings[0].Message = "see [here](https://example.org) and {0}\x1b[31m"
	a.Report.Findings[0].Related = []string{"components.IN]J"}
	data := sarif(t, []report.Answer{a}, nil, report.SARIFOptions{})
	text := readSARIF(t, data).Runs[0].Results[0].Message.Text
	assert.Equal(t, `see [here] (https://example.org) and {{0}}<U+001B>[31m Takes part: [IN\]J](1).`, text)
}

// What consumers would reject whole is cut, the worst stays, and the log says so.
func TestSARIFKeepsToTheLimitsOfConsumers(t *testing.T) {
	r := &skidrulev1.Report{Coverage: &skidrulev1.Coverage{Broken: 25002}}
	for i := range 25002 {
		f := &skidrulev1.Finding{RuleId: "a/b", Severity: skidrulev1.Severity_SEVERITY_NOTE, Subject: fmt.Sprintf("components.C-%d", i), Message: "m", Fingerprint: fmt.Sprintf("v1:%d", i)}
		if i == 25001 {
			f.Severity = errorSeverity
			for range 1500 {
				f.Path = append(f.Path, &skidrulev1.PathStep{Element: "components.C-1", Tag: "C-1", Kind: "tee"})
			}
		}
		r.Findings = append(r.Findings, f)
	}
	f := readSARIF(t, sarif(t, []report.Answer{{File: "large.yaml", Report: r}}, nil, report.SARIFOptions{}))
	run := f.Runs[0]
	require.Len(t, run.Results, 25000)
	assert.Equal(t, "error", run.Results[0].Level)
	assert.Len(t, run.Results[0].CodeFlows[0].ThreadFlows[0].Locations, 1000)
	n := run.Invocations[0].ToolExecutionNotifications
	assert.Contains(t, n[len(n)-1].Message.Text, "25000 worst of 25002")
}

func TestSARIFWithoutAnswers(t *testing.T) {
	bad := report.Unusable{File: "torn.yaml", Problems: []designfile.Problem{{File: "torn.yaml", Message: "is empty"}}}
	f := readSARIF(t, sarif(t, nil, []report.Unusable{bad}, report.SARIFOptions{}))
	assert.Empty(t, f.Runs[0].Results)
	assert.False(t, f.Runs[0].Invocations[0].ExecutionSuccessful)
	assert.Equal(t, 2, f.Runs[0].Invocations[0].ExitCode)
	assert.Contains(t, string(sarif(t, nil, nil, report.SARIFOptions{})), `"results": []`)
	assert.ErrorContains(t, report.SARIF(brokenPipe{}, nil, nil, report.Gate{}, report.SARIFOptions{}), "closed")
	// The answer itself stays as it was.
	a, b := loop(t), loop(t)
	sarif(t, []report.Answer{a}, nil, report.SARIFOptions{Archive: true})
	assert.True(t, proto.Equal(a.Report, b.Report))
	assert.Equal(t, 1, strings.Count(string(sarif(t, []report.Answer{a}, nil, report.SARIFOptions{Category: "x"})), `"id": "x/"`))
}
