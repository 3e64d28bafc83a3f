package report_test

import (
	"bytes"
	"encoding/xml"
	"io"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func junit(t *testing.T, answers []report.Answer, bad []report.Unusable, gate report.Gate) []byte {
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, report.JUnit(&out, answers, bad, gate))
	return out.Bytes()
}

var tornFile = report.Unusable{File: "torn.yaml", More: 1, Problems: []designfile.Problem{{File: "torn.yaml", Line: 3, Column: 1, Message: "unknown key <x>", Suggestion: "did you mean name?"}}}

func TestJUnitIsAsItWas(t *testing.T) {
	golden(t, "loop.junit.xml", junit(t, []report.Answer{loop(t), clean(t)}, []report.Unusable{tornFile}, report.Gate{Threshold: errorSeverity}))
}

// clean is an answer in which everything is met.
func clean(t *testing.T) report.Answer {
	t.Helper()
	return report.Answer{File: "clean.yaml", Report: &skidrulev1.Report{DesignName: "Clean", Coverage: &skidrulev1.Coverage{Met: 4, Rules: 4}}}
}

// junitFile is what readers of JUnit's XML look at.
type junitFile struct {
	Suites []struct {
		Name     string `xml:"name,attr"`
		Tests    int    `xml:"tests,attr"`
		Failures int    `xml:"failures,attr"`
		Errors   int    `xml:"errors,attr"`
		Skipped  int    `xml:"skipped,attr"`
		Cases    []struct {
			Class   string `xml:"classname,attr"`
			Name    string `xml:"name,attr"`
			Failure *struct {
				Message string `xml:"message,attr"`
			} `xml:"failure"`
			Error *struct {
				Type string `xml:"type,attr"`
			} `xml:"error"`
			Skipped *struct{} `xml:"skipped"`
		} `xml:"testcase"`
	} `xml:"testsuite"`
}

// The XML keeps to the elements that every reader takes, its counts are those of its cases, and no case hides another.
func TestJUnitIsRead(t *testing.T) {
	allowed := map[string]bool{"testsuites": true, "testsuite": true, "testcase": true, "failure": true, "error": true, "skipped": true, "system-out": true}
	a, twin := loop(t), loop(t)
	twin.Report.Findings = append(twin.Report.Findings, proto.CloneOf(twin.Report.Findings[0]), proto.CloneOf(twin.Report.Findings[0]))
	for name, gate := range map[string]report.Gate{
		"errors":           {Threshold: errorSeverity},
		"notes":            {Threshold: skidrulev1.Severity_SEVERITY_NOTE},
		"allow unverified": {Threshold: errorSeverity, AllowUnverified: true},
	} {
		t.Run(name, func(t *testing.T) {
			// The same file twice, and a finding three times, as nobody should but somebody will.
			data := junit(t, []report.Answer{a, twin, clean(t)}, []report.Unusable{tornFile}, gate)
			for d := xml.NewDecoder(bytes.NewReader(data)); ; {
				token, err := d.Token()
				if err == io.EOF {
					break
				}
				require.NoError(t, err)
				if e, ok := token.(xml.StartElement); ok {
					assert.True(t, allowed[e.Name.Local], e.Name.Local)
				}
			}
			var f junitFile
			require.NoError(t, xml.Unmarshal(data, &f))
			require.Len(t, f.Suites, 4)
			seen := map[[2]string]bool{}
			for _, s := range f.Suites {
				assert.NotEmpty(t, s.Name)
				failures, errors, skipped := 0, 0, 0
				for _, c := range s.Cases {
					key := [2]string{c.Class, c.Name}
					assert.False(t, seen[key], "%v stands twice", key)
					seen[key] = true
					if c.Failure != nil {
						failures++
					}
					if c.Error != nil {
						errors++
					}
					if c.Skipped != nil {
						skipped++
					}
				}
				assert.Equal(t, []int{len(s.Cases), failures, errors, skipped}, []int{s.Tests, s.Failures, s.Errors, s.Skipped})
				assert.NotEmpty(t, s.Cases)
			}
			assert.Equal(t, 2+map[string]int{"notes": 3}[name], f.Suites[0].Failures)
			assert.Equal(t, map[bool]int{false: 2, true: 0}[gate.AllowUnverified], f.Suites[0].Errors, "a rule that went wrong, and one that could not be verified")
			assert.Equal(t, []int{1, 0, 0, 0}, []int{f.Suites[2].Tests, f.Suites[2].Failures, f.Suites[2].Errors, f.Suites[2].Skipped}, "a clean design has one passing case")
			assert.Equal(t, 1, f.Suites[3].Errors)
		})
	}
}

// A design of which nothing was verified is no passing one.
func TestJUnitOfNothing(t *testing.T) {
	var f junitFile
	require.NoError(t, xml.Unmarshal(junit(t, []report.Answer{{File: "x.yaml", Report: &skidrulev1.Report{Coverage: &skidrulev1.Coverage{NotApplicable: 3}}}}, nil, report.Gate{Threshold: errorSeverity}), &f))
	require.Len(t, f.Suites, 1)
	assert.Equal(t, 1, f.Suites[0].Errors)
	assert.ErrorContains(t, report.JUnit(brokenPipe{}, nil, nil, report.Gate{}), "closed")
}
