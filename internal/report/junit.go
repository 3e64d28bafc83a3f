package report

import (
	"encoding/xml"
	"fmt"
	"io"
	"strings"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// The elements and attributes that every reader of JUnit's XML takes; there is no formal standard.

type junitSuites struct {
	XMLName xml.Name     `xml:"testsuites"`
	Suites  []junitSuite `xml:"testsuite"`
}

type junitSuite struct {
	Name     string      `xml:"name,attr"`
	Tests    int         `xml:"tests,attr"`
	Failures int         `xml:"failures,attr"`
	Errors   int         `xml:"errors,attr"`
	Skipped  int         `xml:"skipped,attr"`
	Time     string      `xml:"time,attr"`
	Cases    []junitCase `xml:"testcase"`
	Out      string      `xml:"system-out,omitempty"`
}

type junitCase struct {
	Class   string      `xml:"classname,attr"`
	Name    string      `xml:"name,attr"`
	Time    string      `xml:"time,attr"`
	Failure *junitWrong `xml:"failure"`
	Error   *junitWrong `xml:"error"`
	Skipped *junitWrong `xml:"skipped"`
}

type junitWrong struct {
	Message string `xml:"message,attr"`
	Type    string `xml:"type,attr,omitempty"`
	Text    string `xml:",chardata"`
}

// JUnit writes answers as JUnit's XML, a suite a design. A finding that fails the gate is a failure; a rule that went wrong, and
// one of severity error that could not be verified while the gate does not allow that, an error; a finding that is waived or
// stands in the baseline is skipped. Milder findings stand in the suite's output. A design that fails in nothing has one
// passing case. Class and name of a case are together unique.
func JUnit(w io.Writer, answers []Answer, unusable []Unusable, gate Gate) error {
	j := &junitWriter{gate: gate, taken: map[[2]string]int{}}
	for i := range answers {
		j.answer(&answers[i])
	}
	for i := range unusable {
		j.unusable(&unusable[i])
	}
	if _, err := io.WriteString(w, xml.Header); err != nil {
		return err
	}
	e := xml.NewEncoder(w)
	e.Indent("", "  ")
	if err := e.Encode(junitSuites{Suites: j.suites}); err != nil {
		return err
	}
	_, err := io.WriteString(w, "\n")
	return err
}

type junitWriter struct {
	gate   Gate
	suites []junitSuite
	taken  map[[2]string]int
}

// add puts a case into a suite under a name of its own: readers drop a later case of the same class and name.
func (j *junitWriter) add(s *junitSuite, c junitCase) {
	c.Time = "0"
	key := [2]string{c.Class, c.Name}
	j.taken[key]++
	for n := j.taken[key]; n > 1; n++ {
		name := fmt.Sprintf("%s (%d)", c.Name, n)
		if j.taken[[2]string{c.Class, name}] == 0 {
			c.Name = name
			j.taken[[2]string{c.Class, name}]++
			break
		}
	}
	s.Tests++
	switch {
	case c.Failure != nil:
		s.Failures++
	case c.Error != nil:
		s.Errors++
	case c.Skipped != nil:
		s.Skipped++
	}
	s.Cases = append(s.Cases, c)
}

// class is a rule id as readers group classes: by the part before the dot.
func class(ruleID string) string { return clean(strings.ReplaceAll(ruleID, "/", ".")) }

func (j *junitWriter) answer(a *Answer) {
	s := junitSuite{Name: clean(a.File), Time: "0"}
	var out []string
	for _, f := range a.Report.GetFindings() {
		c := junitCase{Class: class(f.GetRuleId()), Name: clean(a.File + ": " + thing(f.GetSubject()))}
		switch {
		case f.GetWaiver() != nil:
			c.Skipped = &junitWrong{Message: clean("waived: " + f.GetWaiver().GetReason())}
		case f.GetInBaseline():
			c.Skipped = &junitWrong{Message: "known: it stands in the baseline"}
		case f.GetSeverity() <= j.gate.Threshold:
			c.Failure = &junitWrong{Message: clean(f.GetMessage()), Type: severityWord(f.GetSeverity()), Text: findingText(a, f)}
		default:
			out = append(out, findingText(a, f))
			continue
		}
		j.add(&s, c)
	}
	for _, f := range a.Report.GetFailures() {
		j.trouble(&s, junitCase{Class: class(f.GetRuleId()), Name: clean(a.File + ": " + thing(f.GetSubject()))},
			"rule went wrong", f.GetMessage(), a.place(f.GetSubject())+": "+clean(f.GetRuleId()+" went wrong: "+f.GetMessage()))
	}
	for _, o := range openRules(a.Report) {
		if o.severity != skidrulev1.Severity_SEVERITY_ERROR {
			continue
		}
		things := strings.Join(o.things, ", ")
		j.trouble(&s, junitCase{Class: class(o.rule), Name: clean(a.File + ": data is missing")}, "not verifiable", "not verifiable of "+things,
			clean(a.File+": "+o.rule+" cannot be verified of "+things))
	}
	v := j.gate.Judge(a.Report)
	if v.Nothing {
		j.add(&s, junitCase{Class: "skidrule", Name: clean(a.File), Error: &junitWrong{Message: j.gate.Words(v), Type: "incomplete"}})
	} else if v.Decision == Passed {
		j.add(&s, junitCase{Class: "skidrule", Name: clean(a.File)})
	}
	out = append(out, j.gate.Words(v), coverageText(a.Report.GetCoverage()))
	if l := shortList(a.Report); len(l.Data) > 0 {
		out = append(out, clean(l.naming()))
	}
	s.Out = strings.Join(append(out, each(a.Report.GetCautions(), clean)...), "\n")
	j.suites = append(j.suites, s)
}

// trouble adds a case for what kept the gate from deciding: an error, or skipped where the gate allows it.
func (j *junitWriter) trouble(s *junitSuite, c junitCase, kind, message, text string) {
	if j.gate.AllowUnverified {
		c.Skipped = &junitWrong{Message: clean(kind + ": " + message)}
	} else {
		c.Error = &junitWrong{Message: clean(message), Type: kind, Text: text}
	}
	j.add(s, c)
}

func (j *junitWriter) unusable(u *Unusable) {
	s := junitSuite{Name: clean(u.File), Time: "0"}
	lines := each(u.Problems, ProblemLine)
	if u.More > 0 {
		lines = append(lines, fmt.Sprintf("and %d more", u.More))
	}
	message := "the design cannot be checked"
	if len(u.Problems) > 0 {
		message = clean(u.Problems[0].Message)
	}
	j.add(&s, junitCase{Class: "skidrule", Name: clean(u.File), Error: &junitWrong{Message: message, Type: "unusable design", Text: strings.Join(lines, "\n")}})
	j.suites = append(j.suites, s)
}

// findingText is a finding in plain lines: the place in GNU form, then the way, the numbers and the mending.
func findingText(a *Answer, f *skidrulev1.Finding) string {
	lines := []string{a.place(f.GetSubject()) + ": " + severityWord(f.GetSeverity()) + " " + clean(f.GetRuleId()+": "+f.GetMessage())}
	if len(f.GetPath()) > 0 {
		var tags []string
		for _, p := range f.GetPath() {
			t := clean(p.GetTag())
			switch p.GetRole() {
			case skidrulev1.StepRole_STEP_ROLE_BARRIER:
				t += " (barrier)"
			case skidrulev1.StepRole_STEP_ROLE_NOT_COUNTED:
				t += " (not counted)"
			}
			tags = append(tags, t)
		}
		lines = append(lines, "way: "+strings.Join(tags, " > "))
	}
	for _, n := range numbers(f.GetEvidence(), quantity.Metric) {
		lines = append(lines, n.Label+": "+n.text())
	}
	if f.GetMend() != "" {
		lines = append(lines, "to mend: "+clean(f.GetMend()))
	}
	return strings.Join(lines, "\n")
}
