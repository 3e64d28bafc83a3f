package suggest

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Limits of the search; common practice, no source.
const (
	maxFindings   = 50
	maxCandidates = 200 // for one finding
	maxParts      = 40  // of one kind
	// maxWork bounds all candidates of one file, each counted with the components that it is checked with.
	maxWork = 400_000
)

// Request asks for proposals.
type Request struct {
	// Name of the file, for patches.
	Name string
	// File as it was read, and its content.
	File *designfile.File
	Data []byte
	// Options of the check.
	Options *skidrulev1.CheckOptions
	// Report about the file in the full view, where these options gave one already; asked for where it is nil.
	Report *skidrulev1.Report
	// Check answers requests.
	Check engine.Checker
	// Catalogues hold the parts that may be taken, the first before the others.
	Catalogues []*skidrulev1.Catalogue
}

// Proposal is one edit that mends a finding. Those of one file follow each other: each is a change of the file as the ones
// before it leave it.
type Proposal struct {
	// Finding that it mends.
	Finding *skidrulev1.Finding
	// Words say what is changed.
	Words string
	// Edits of the file.
	Edits []designfile.TextEdit
	// Patch is the change as a unified diff.
	Patch string
	// Status that the rule has of the thing afterwards; unspecified where the thing is gone.
	Status skidrulev1.OutcomeStatus
	// Missing are the data that the check asks for afterwards and did not ask for before.
	Missing []string
	// New are the errors and warnings that the change leads to, such as a trip that a trap wants.
	New []*skidrulev1.Finding
}

// Result is the proposals about one file.
type Result struct {
	Proposals []Proposal
	// Open are findings for which nothing was found.
	Open []*skidrulev1.Finding
	// Text is the file with all proposals made.
	Text []byte
	// Unedited tells that the file is in a form whose layout could not be kept, so that nothing was tried.
	Unedited bool
	// CutShort tells that the design is too large to try everything.
	CutShort bool
}

// Mender looks for edits of one file.
type Mender struct {
	request    Request
	catalogues plant.Catalogues
	first      *state
}

// Open checks the file of a request, whose options are taken in the full view. The error is that of the check, or says what is wrong
// with the catalogues.
func Open(ctx context.Context, r Request) (*Mender, error) {
	m := &Mender{request: r}
	m.request.Options = &skidrulev1.CheckOptions{}
	if r.Options != nil {
		m.request.Options = proto.CloneOf(r.Options)
	}
	m.request.Options.View = skidrulev1.ReportView_REPORT_VIEW_FULL
	for _, c := range r.Catalogues {
		index, problems := plant.Index(c)
		if len(problems) > 0 {
			return nil, problems
		}
		m.catalogues = append(m.catalogues, index)
	}
	var err error
	m.first, err = m.state(ctx, r.File, r.Data, r.Report)
	return m, err
}

// Text is the file that edits are of, without a byte order mark.
func (m *Mender) Text() []byte { return m.first.text }

// Propose looks for edits that mend the findings of the file, worst first. Files in another form than YAML get none, since their layout
// could not be kept. The error is that of a check.
func (m *Mender) Propose(ctx context.Context) (*Result, error) {
	state := m.first
	result := &Result{Unedited: state.editor == nil}
	left := state.budget()
	asked := map[string]bool{}
	for n := 0; n < maxFindings; n++ {
		f := state.next(asked)
		if f == nil {
			break
		}
		asked[f.GetFingerprint()] = true
		best, err := state.mend(ctx, f, &left)
		if err != nil {
			return nil, err
		}
		if best == nil {
			result.Open = append(result.Open, f)
			continue
		}
		result.Proposals = append(result.Proposals, best.proposal)
		if state, err = m.state(ctx, best.file, best.text, best.report); err != nil {
			return nil, err
		}
	}
	result.Text, result.CutShort = state.text, left <= 0 || state.next(asked) != nil
	return result, nil
}

// state is a file between two proposals.
type state struct {
	request Request
	text    []byte
	file    *designfile.File
	editor  *designfile.Editor // nil where the form is not edited
	plant   *plant.Plant
	report  *skidrulev1.Report
}

// state begins with a file and the report about it; nil where that is still to be asked for.
func (m *Mender) state(ctx context.Context, file *designfile.File, text []byte, report *skidrulev1.Report) (*state, error) {
	s := &state{request: m.request, text: text, file: file, report: report}
	s.editor, _ = designfile.NewEditor(file)
	if s.editor != nil {
		s.text = s.editor.Text()
	}
	if report == nil {
		var err error
		if s.report, err = m.request.Check(ctx, &skidrulev1.CheckDesignRequest{Design: file.Design, Options: m.request.Options}); err != nil {
			return nil, err
		}
	}
	p, problems := plant.Resolve(file.Design, m.catalogues)
	if len(problems) == 0 {
		s.plant = p
	}
	return s, nil
}

// budget is how many candidates may be tried.
func (s *state) budget() int { return maxWork / max(1, len(s.file.Design.GetComponents())) }

// next is the worst finding that was not asked about, is neither waived nor known, and is an error or a warning.
func (s *state) next(asked map[string]bool) *skidrulev1.Finding {
	for _, f := range s.report.GetFindings() {
		if !asked[f.GetFingerprint()] && f.GetSeverity() <= skidrulev1.Severity_SEVERITY_WARNING && !f.GetInBaseline() && engine.MayStandInBaseline(f) {
			return f
		}
	}
	return nil
}

// trial is a candidate with what came of it.
type trial struct {
	proposal Proposal
	text     []byte
	file     *designfile.File
	report   *skidrulev1.Report
}

// mend tries candidates group by group and takes the best of the first group that has one: one that leaves the rule met
// before one that leaves a question, then the one that asks for the fewest data, then the first.
// left counts the candidates that may still be tried.
func (s *state) mend(ctx context.Context, f *skidrulev1.Finding, left *int) (*trial, error) {
	if s.editor == nil || s.plant == nil {
		return nil, nil
	}
	var best *trial
	tried := 0
	// settled tells that nothing better can come.
	try := func(c *candidate) (gone, settled bool, err error) {
		if tried++; tried > maxCandidates || *left <= 0 {
			return false, true, nil
		}
		*left--
		t, gone, err := s.try(ctx, f, c)
		if t != nil && (best == nil || t.better(best)) {
			best = t
		}
		return gone, best != nil && best.met() && len(best.proposal.Missing)+len(best.proposal.New) == 0, err
	}
	for _, group := range s.candidates(f) {
		for _, c := range group {
			gone, settled, err := try(c)
			// A bare part leaves questions; one of a catalogue may answer them.
			for i := 0; i < len(c.parts) && gone && !settled && err == nil; i++ {
				_, settled, err = try(c.parts[i])
			}
			if settled || err != nil {
				return best, err
			}
		}
		if best != nil {
			return best, nil
		}
	}
	return nil, nil
}

// met tells whether the rule holds, or has nothing to hold of any more.
func (t *trial) met() bool {
	return t.proposal.Status != skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE
}

func (t *trial) better(u *trial) bool {
	if t.met() != u.met() {
		return t.met()
	}
	return cmp.Or(cmp.Compare(len(t.proposal.New), len(u.proposal.New)), cmp.Compare(len(t.proposal.Missing), len(u.proposal.Missing))) < 0
}

// try makes a candidate's edits and checks the design again, first with the rule alone, then with all. It gives nil where the
// finding stays, something new is wrong, or data is missing of things that the candidate did not touch; gone tells that the finding
// would be.
func (s *state) try(ctx context.Context, f *skidrulev1.Finding, c *candidate) (t *trial, gone bool, err error) {
	text, err := designfile.ApplyEdits(s.text, c.edits)
	if err != nil {
		return nil, false, ctx.Err()
	}
	file, err := designfile.Read(s.request.Name, text)
	if err != nil {
		return nil, false, ctx.Err()
	}
	alone := proto.CloneOf(s.request.Options)
	alone.Only, alone.Skip, alone.Waivers = []string{f.GetRuleId()}, nil, nil
	alone.View = skidrulev1.ReportView_REPORT_VIEW_FULL
	first, err := s.request.Check(ctx, &skidrulev1.CheckDesignRequest{Design: file.Design, Options: alone})
	if err != nil {
		return nil, false, ctx.Err()
	}
	if slices.ContainsFunc(first.GetFindings(), func(g *skidrulev1.Finding) bool { return g.GetFingerprint() == f.GetFingerprint() }) {
		return nil, false, nil
	}
	report, err := s.request.Check(ctx, &skidrulev1.CheckDesignRequest{Design: file.Design, Options: s.request.Options})
	if err != nil {
		return nil, false, ctx.Err()
	}
	comparison := engine.CompareReports(s.report, report)
	p := Proposal{Finding: f, Words: c.words, Edits: c.edits}
	if !s.accepted(comparison, f, c, &p) {
		return nil, true, nil
	}
	p.Patch = Unified(s.request.Name, s.text, c.edits)
	return &trial{p, text, file, report}, true, nil
}

// accepted judges what a candidate changed.
func (s *state) accepted(m *skidrulev1.Comparison, f *skidrulev1.Finding, c *candidate, p *Proposal) bool {
	for _, g := range m.GetNewFindings() {
		if g.GetFinding().GetSeverity() > skidrulev1.Severity_SEVERITY_WARNING {
			continue
		}
		if rulebook.Topic(g.GetFinding().GetRuleId()) != c.leadsTo {
			return false
		}
		p.New = append(p.New, g.GetFinding())
	}
	if len(m.GetFailures()) > len(s.report.GetFailures()) {
		return false
	}
	gone := false
	for _, g := range m.GetGoneFindings() {
		if g.GetFinding().GetFingerprint() != f.GetFingerprint() {
			continue
		}
		gone = true
		p.Status = g.GetOtherStatus()
	}
	switch p.Status {
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET:
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE:
		// Of a part that is put in, data may be missing; a part that is chosen must decide.
		if c.mustDecide {
			return false
		}
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_APPLICABLE, skidrulev1.OutcomeStatus_OUTCOME_STATUS_UNSPECIFIED:
		// That a rule no longer applies mends nothing, unless what it was about was taken out or shut for good.
		if !c.takesOut {
			return false
		}
	default:
		return false
	}
	for _, o := range m.GetNewlyUnverified() {
		for _, path := range o.GetMissing() {
			if !c.putsIn && !c.touches(path) {
				return false
			}
			p.Missing = append(p.Missing, path)
		}
	}
	slices.Sort(p.Missing)
	p.Missing = slices.Compact(p.Missing)
	return gone
}

// candidate is an edit that may mend a finding.
type candidate struct {
	words string
	edits []designfile.TextEdit
	// touched are element paths of what is put in or exchanged; data may be missing of them afterwards.
	touched []string
	// takesOut tells that the thing may be gone, or the rule no longer apply, afterwards.
	takesOut bool
	// putsIn tells that a part is put in, whose unstated data may leave unknown whatever depends on it.
	putsIn bool
	// leadsTo is the topic of findings that may be new, since the change asks for more than one edit can give.
	leadsTo string
	// mustDecide tells that a question in place of the finding is not enough.
	mustDecide bool
	// parts are the same change with parts of a catalogue.
	parts []*candidate
}

func (c *candidate) touches(path string) bool {
	return slices.ContainsFunc(c.touched, func(t string) bool { return path == t || strings.HasPrefix(path, t+".") })
}

// add appends a candidate whose edits could all be made.
func add(list []*candidate, c *candidate, ok bool) []*candidate {
	if ok {
		return append(list, c)
	}
	return list
}

// freeTag gives an unused tag with a prefix.
func (s *state) freeTag(prefix string) string {
	for n := 1; ; n++ {
		tag := fmt.Sprintf("%s-%d", prefix, n)
		_, component := s.plant.FindComponent(tag)
		_, line := s.plant.FindLine(tag)
		if !component && !line {
			return tag
		}
	}
}
