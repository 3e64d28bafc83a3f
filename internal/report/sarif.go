package report

import (
	"fmt"
	"io"
	"net/url"
	"path"
	"path/filepath"
	"strings"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// SARIFOptions say what a SARIF log holds beside the findings.
type SARIFOptions struct {
	// Rules are all that were asked, whether they found something or not.
	Rules []*skidrulev1.Rule
	// Version of the program.
	Version string
	// Bases are names of the folder that absolute paths of files are made relative to: one folder may have several by links.
	Bases []string
	// Category tells this run from others about the same revision, so that one upload does not replace another; empty means none.
	Category string
	// Archive keeps what an upload leaves out: waived findings with their reason, the state of each finding against the baseline,
	// and outcomes that are met, open or do not apply, as far as the report has them.
	Archive bool
}

// Limits of consumers of SARIF: what they reject or cut off.
const (
	sarifMaxResults   = 25000
	sarifMaxSteps     = 1000
	sarifMaxLocations = 100
)

const sarifSchema = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"

// SARIF writes answers as one run of a SARIF 2.1.0 log. Lines and columns count from 1, columns in code points. Paths are
// relative with forward slashes where they lie below the base. What could not be checked or verified is told in the
// notifications of the invocation, which never passes for a success then.
func SARIF(w io.Writer, answers []Answer, unusable []Unusable, gate Gate, o SARIFOptions) error {
	s := &sarifWriter{options: o, rules: newRuleTable(o.Rules, o.Version), artifact: map[string]int{}, seen: map[string]int{}}
	s.run = sarifRun{ColumnKind: "unicodeCodePoints", Results: []sarifResult{}, Properties: sarifCoverage{Designs: []sarifDesign{}}}
	s.invocation = sarifInvocation{Successful: true}
	verdicts, worst := gate.judgeAll(answers)
	for i := range answers {
		s.answer(&answers[i], verdicts[i].Decision)
	}
	for i := range unusable {
		s.unusable(&unusable[i])
	}
	s.limit()
	s.marks()
	s.run.Tool = s.rules.tool
	if o.Category != "" {
		s.run.Automation = &sarifAutomation{ID: strings.TrimRight(clean(o.Category), "/") + "/"}
	}
	s.run.Properties.Cautions = cautions(answers)
	// The exit codes are those of the command.
	s.invocation.ExitCode, s.invocation.ExitText = [...]int{0, 3, 1}[worst], worst.String()
	if len(unusable) > 0 {
		s.invocation.ExitCode, s.invocation.ExitText = 2, "unusable"
	}
	s.run.Invocations = []sarifInvocation{s.invocation}
	return writeJSON(w, sarifLog{Schema: sarifSchema, Version: "2.1.0", Runs: []sarifRun{s.run}})
}

// sarifWriter puts a run together.
type sarifWriter struct {
	options    SARIFOptions
	rules      *ruleTable
	run        sarifRun
	invocation sarifInvocation
	artifact   map[string]int // by URI
	seen       map[string]int // by fingerprint
	// source is the finding behind each result, nil for an outcome.
	source []*skidrulev1.Finding
}

func (s *sarifWriter) answer(a *Answer, decision Decision) {
	r := a.Report
	s.file(a.File)
	for _, f := range r.GetFindings() {
		if f.GetWaiver() != nil && !s.options.Archive {
			continue
		}
		s.run.Results = append(s.run.Results, s.finding(a, f))
		s.source = append(s.source, f)
	}
	if s.options.Archive {
		for _, o := range r.GetOutcomes() {
			if result, ok := s.outcome(a, o); ok {
				s.run.Results = append(s.run.Results, result)
				s.source = append(s.source, nil)
			}
		}
	}
	for _, f := range r.GetFailures() {
		s.invocation.Successful = false
		n := s.notify("error", noticeFailed, f.GetRuleId()+" of "+thing(f.GetSubject())+" went wrong and says nothing: "+f.GetMessage(), s.location(a, f.GetSubject()))
		if index, other := s.rules.reference(f.GetRuleId()); other != nil {
			n.Rule = other
		} else if index != nil {
			n.Rule = &sarifReference{ID: f.GetRuleId(), Index: index}
		}
	}
	c, l := r.GetCoverage(), shortList(r)
	if c.GetNotVerifiable() > 0 {
		level, state := "note", "the report names no datum that would decide them"
		if c.GetErrorNotVerifiable() > 0 {
			level = "warning"
		}
		if len(l.Data) > 0 {
			state = l.naming()
		}
		s.notify(level, noticeOpen, fmt.Sprintf("%s: %s could not be verified, %d of severity error; %s", a.File, count(int(c.GetNotVerifiable()), "outcome", "outcomes"), c.GetErrorNotVerifiable(), state),
			s.location(a, "design"))
	}
	s.run.Properties.Designs = append(s.run.Properties.Designs, sarifDesign{File: s.uri(a.File), Verdict: decision.String(), Met: c.GetMet(), Broken: c.GetBroken(),
		NotVerifiable: c.GetNotVerifiable(), NotApplicable: c.GetNotApplicable(), Failed: c.GetFailed(), State: each(l.Data, clean), Unsolved: clean(c.GetUnsolvedBecause())})
}

// notify adds a notification, which holds until the next one is added.
func (s *sarifWriter) notify(level string, kind int, text string, locations ...sarifLocation) *sarifNotification {
	list := append(s.invocation.Notifications, sarifNotification{Level: level, Descriptor: notice(kind), Message: sarifMessage{inSARIF(text)}, Locations: locations})
	s.invocation.Notifications = list
	return &list[len(list)-1]
}

func (s *sarifWriter) unusable(u *Unusable) {
	s.invocation.Successful = false
	s.file(u.File)
	for _, p := range u.Problems {
		region := sarifRegion{1, 1, 1, 2}
		if p.Line > 0 {
			region = regionOf(p.Line, p.Column, p.EndLine, p.EndColumn)
		}
		text := p.Message
		if p.Suggestion != "" {
			text += "; " + p.Suggestion
		}
		s.notify("error", noticeUnusable, text, sarifLocation{Physical: sarifPhysical{s.file(u.File), region}})
	}
	if u.More > 0 {
		s.notify("error", noticeUnusable, u.File+": and "+count(u.More, "problem", "problems")+" more")
	}
}

// limit keeps the worst results where consumers would reject them all, and says so.
func (s *sarifWriter) limit() {
	n := len(s.run.Results)
	if n <= sarifMaxResults {
		return
	}
	order := make([]int, 0, n)
	for _, level := range []string{"error", "warning", "note", "none"} {
		for i := range s.run.Results {
			if s.run.Results[i].Level == level {
				order = append(order, i)
			}
		}
	}
	results, source := make([]sarifResult, sarifMaxResults), make([]*skidrulev1.Finding, sarifMaxResults)
	for to, from := range order[:sarifMaxResults] {
		results[to], source[to] = s.run.Results[from], s.source[from]
	}
	s.run.Results, s.source = results, source
	s.notify("warning", noticeCut, fmt.Sprintf("the %d worst of %d results stand here; the json report has all", sarifMaxResults, n))
}

// marks sets suppressions and states against a baseline: on all results or on none, as the standard demands. They stand in
// archives alone, since consumers of uploads show suppressed results as open ones.
func (s *sarifWriter) marks() {
	if !s.options.Archive {
		return
	}
	anyWaived, anyKnown := false, false
	for _, f := range s.source {
		anyWaived, anyKnown = anyWaived || f.GetWaiver() != nil, anyKnown || f.GetInBaseline()
	}
	for i := range s.run.Results {
		f := s.source[i]
		if anyWaived {
			list := []sarifSuppression{}
			if w := f.GetWaiver(); w != nil {
				list = append(list, sarifSuppression{"external", clean(waiverText(w))})
			}
			s.run.Results[i].Suppressions = &list
		}
		if anyKnown {
			s.run.Results[i].Baseline = "new"
			if f.GetInBaseline() {
				s.run.Results[i].Baseline = "unchanged"
			}
		}
	}
}

// file gives the place of a file among the artifacts.
func (s *sarifWriter) file(name string) sarifArtifactLocation {
	uri := s.uri(name)
	i, have := s.artifact[uri]
	if !have {
		i = len(s.run.Artifacts)
		s.artifact[uri] = i
		s.run.Artifacts = append(s.run.Artifacts, sarifArtifact{Location: sarifArtifactLocation{URI: uri}, Roles: []string{"analysisTarget"}})
	}
	return sarifArtifactLocation{URI: uri, Index: &i}
}

// uri spells a file name as a URI reference: relative with forward slashes below the base, absolute elsewhere.
func (s *sarifWriter) uri(name string) string {
	for _, base := range s.options.Bases {
		if relative, err := filepath.Rel(base, name); err == nil && filepath.IsAbs(name) && !strings.HasPrefix(filepath.ToSlash(relative), "../") {
			name = relative
		}
	}
	if filepath.IsAbs(name) {
		u := url.URL{Scheme: "file", Path: "/" + strings.TrimPrefix(filepath.ToSlash(name), "/")}
		return u.String()
	}
	parts := strings.Split(path.Clean(filepath.ToSlash(name)), "/")
	for i, p := range parts {
		// A colon in the first segment would read as a scheme.
		parts[i] = strings.ReplaceAll(url.PathEscape(p), ":", "%3A")
	}
	return strings.Join(parts, "/")
}

// Notices are the kinds of notification.
const (
	noticeFailed = iota
	noticeOpen
	noticeUnusable
	noticeCut
)

func sarifNotices() []sarifDescriptor {
	return []sarifDescriptor{
		noticeFailed:   {ID: "rule-went-wrong", Short: &sarifText{Text: "A rule went wrong and says nothing."}},
		noticeOpen:     {ID: "not-verified", Short: &sarifText{Text: "Data is missing that would decide outcomes."}},
		noticeUnusable: {ID: "unusable-design", Short: &sarifText{Text: "A design could not be checked."}},
		noticeCut:      {ID: "results-left-out", Short: &sarifText{Text: "There are more results than consumers take."}},
	}
}

func notice(kind int) *sarifReference {
	return &sarifReference{ID: sarifNotices()[kind].ID, Index: &kind}
}

// inSARIF makes text fit for a message: no control characters, braces doubled since single ones are placeholders, and
// nothing that reads as a link.
func inSARIF(s string) string {
	return strings.NewReplacer("{", "{{", "}", "}}", "](", "] (").Replace(clean(s))
}
