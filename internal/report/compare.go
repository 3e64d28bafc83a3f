package report

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"google.golang.org/protobuf/proto"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Compared is a comparison of two revisions with the files that they stand in. The reports of the answers are not used.
type Compared struct {
	Old, New   Answer
	Comparison *skidrulev1.Comparison
}

// CompareText writes a comparison for reading: new findings in full, the others in one line each.
func CompareText(w io.Writer, c *Compared, gate Gate, style Style) error {
	p := newPage(w, style)
	m := c.Comparison
	p.paragraph(c.Old.File+" → "+c.New.File+":", bold, revisionText(m.GetOldDesign())+" against "+revisionText(m.GetNewDesign()), plain)
	p.paragraph("Findings:", plain, fmt.Sprintf("%d new, %d gone, %d unchanged", len(m.GetNewFindings()), len(m.GetGoneFindings()), len(m.GetUnchangedFindings())), plain)
	told := map[string]bool{}
	for i, f := range m.GetNewFindings() {
		p.blank()
		if i == 0 {
			p.line(p.ink(bold, "New:"))
		}
		p.finding(&c.New, f.GetFinding(), nil, !told[f.GetFinding().GetRuleId()])
		told[f.GetFinding().GetRuleId()] = true
		p.wrapped("    ", "before: ", faint, otherText(f))
	}
	p.gone(c)
	p.unchanged(c)
	p.newlyUnverified(m)
	p.failures(&c.New, m.GetFailures())
	p.blank()
	p.paragraph("Before:", plain, coverageText(m.GetOldDesign().GetCoverage()), plain)
	p.paragraph("Now:", plain, coverageText(m.GetNewDesign().GetCoverage()), plain)
	p.cautions(m.GetCautions())
	p.blank()
	v := gate.JudgeComparison(m)
	p.paragraph(c.New.File+":", plain, gate.comparisonWords(v), v.Decision.ink())
	return p.err
}

func revisionText(d *skidrulev1.ComparedDesign) string {
	return revised(cmp.Or(d.GetName(), nameless), d.GetRevision())
}

// otherText says what the other revision says of a finding's rule and thing.
func otherText(f *skidrulev1.ComparedFinding) string {
	switch f.GetOtherStatus() {
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_UNSPECIFIED:
		return "the rule was not asked of such a thing"
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET:
		return "the rule was met"
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_APPLICABLE:
		return "the rule did not apply"
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE:
		return "it could not be verified, for want of " + things(f.GetOtherMissing())
	}
	return "the rule went wrong"
}

// goneText says why a finding is gone.
func goneText(f *skidrulev1.ComparedFinding) string {
	switch f.GetOtherStatus() {
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_UNSPECIFIED:
		return "there is no such thing any more"
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET:
		return "the rule is met"
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_APPLICABLE:
		return "the rule does not apply any more"
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE:
		return "not mended but no longer verifiable, for want of " + things(f.GetOtherMissing())
	}
	return "not mended: the rule went wrong"
}

func (p *page) gone(c *Compared) {
	for i, f := range c.Comparison.GetGoneFindings() {
		if i == 0 {
			p.blank()
			p.line(p.ink(bold, "Gone:"))
		}
		g := f.GetFinding()
		p.wrapped("  ", c.Old.place(g.GetSubject())+": ", faint, severityWord(g.GetSeverity())+" "+g.GetRuleId()+" of "+thing(g.GetSubject())+": "+goneText(f))
	}
}

func (p *page) unchanged(c *Compared) {
	for i, f := range c.Comparison.GetUnchangedFindings() {
		if i == 0 {
			p.blank()
			p.line(p.ink(bold, "Unchanged:"))
		}
		p.wrapped("  ", c.New.place(f.GetSubject())+": ", faint, severityWord(f.GetSeverity())+" "+f.GetRuleId()+" of "+thing(f.GetSubject())+covered(f)+": "+f.GetMessage())
	}
}

func (p *page) newlyUnverified(m *skidrulev1.Comparison) {
	list := openRules(&skidrulev1.Report{Outcomes: m.GetNewlyUnverified()})
	if len(list) == 0 {
		return
	}
	var missing []string
	for _, o := range m.GetNewlyUnverified() {
		missing = append(missing, o.GetMissing()...)
	}
	slices.Sort(missing)
	p.blank()
	p.line(p.ink(bold, "No longer verifiable, or new and not verifiable:"))
	for _, o := range list {
		p.hung("  ", severityWord(o.severity)+" ", severityInk(o.severity), o.rule+": "+strings.Join(o.things, ", "), plain)
	}
	p.wrapped("  ", "not stated: ", faint, things(slices.Compact(missing)))
}

// jsonComparison is the file that CompareJSON writes.
type jsonComparison struct {
	Version    string          `json:"skidrule_comparison"`
	Gate       jsonGate        `json:"gate"`
	Text       string          `json:"text"`
	OldFile    string          `json:"old_file"`
	NewFile    string          `json:"new_file"`
	Comparison json.RawMessage `json:"comparison"`
}

// CompareJSON writes a comparison for programs: the JSON of the Comparison message with its fields spelt as in the schema.
// Numbers have six significant digits. The same comparison gives the same bytes.
func CompareJSON(w io.Writer, c *Compared, gate Gate) error {
	short := proto.CloneOf(c.Comparison)
	all := &skidrulev1.Report{Findings: slices.Clone(short.GetUnchangedFindings()), Outcomes: short.GetNewlyUnverified()}
	for _, f := range append(slices.Clone(short.GetNewFindings()), short.GetGoneFindings()...) {
		all.Findings = append(all.Findings, f.GetFinding())
	}
	shorten(all)
	raw, err := wire(short)
	if err != nil {
		return err
	}
	v := gate.JudgeComparison(c.Comparison)
	return writeJSON(w, jsonComparison{Version: JSONVersion, Gate: jsonGate{severityWord(gate.Threshold), gate.AllowUnverified, v.Decision.String()},
		Text: gate.comparisonWords(v), OldFile: c.Old.File, NewFile: c.New.File, Comparison: raw})
}
