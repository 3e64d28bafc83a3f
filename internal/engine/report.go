package engine

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"sort"
	"strings"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Cautions hold for every answer, a clean one too.
func Cautions() []string {
	return []string{
		"Ozone harms at concentrations at which its smell is no longer noticed: never rely on smell.",
		"Oxygen-rich gas makes ordinary things burn fiercely; the oxygen-poor exhaust of a concentrator suffocates.",
		"Water and gas under pressure injure.",
		"This list aids a review. It replaces no hazard study, no local code and no licensed engineer, and a design without findings is not thereby safe.",
	}
}

// reporter puts a report together from outcomes.
type reporter struct {
	until    context.Context
	world    *fact.World
	answers  []*rulebook.Answer
	outcomes []*rulebook.Outcome
	options  *skidrulev1.CheckOptions
	asked    []int32
	rules    []*rulebook.Compiled
}

// ended tells that nobody waits for the report any more.
func (r *reporter) ended() bool { return r.until.Err() != nil }

// report puts it together. It ends soon after the context, with its error.
func (r *reporter) report() (*skidrulev1.Report, error) {
	_, span := Stage(r.until, "report")
	defer span.End()
	p := r.world.Plant
	out := &skidrulev1.Report{
		DesignName: p.Design.GetName(), DesignRevision: p.Design.GetRevision(), Version: Version(), Cautions: Cautions(),
	}
	for i := range r.world.Cases {
		c := &r.world.Cases[i]
		if c.Excluded != "" || slices.Contains(r.asked, int32(i)) {
			out.Cases = append(out.Cases, &skidrulev1.CaseSummary{Id: c.ID, Title: c.Title, ExcludedBecause: c.Excluded})
		}
	}
	for _, a := range r.answers {
		for i := range a.Outcomes {
			r.outcomes = append(r.outcomes, &a.Outcomes[i])
		}
	}
	for _, o := range r.outcomes {
		if r.ended() {
			return nil, r.until.Err()
		}
		switch o.Status {
		case skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN:
			out.Findings = append(out.Findings, r.finding(o))
		case skidrulev1.OutcomeStatus_OUTCOME_STATUS_FAILED:
			out.Failures = append(out.Failures, &skidrulev1.RuleFailure{RuleId: o.Rule.Rule.GetId(), Subject: r.subject(o), Message: o.Failure})
		}
		if shows(r.options.GetView(), o.Status) {
			out.Outcomes = append(out.Outcomes, r.outcome(o))
		}
	}
	out.Findings = mergeFindings(out.Findings)
	out.Findings = append(out.Findings, r.waive(out.Findings)...)
	r.markKnown(out.Findings)
	sortFindings(out.Findings)
	r.link(out.Findings)
	out.Findings = causesFirst(out.Findings)
	if r.ended() {
		return nil, r.until.Err()
	}
	sort.SliceStable(out.Outcomes, func(i, j int) bool {
		a, b := out.Outcomes[i], out.Outcomes[j]
		return cmp.Or(cmp.Compare(a.RuleId, b.RuleId), cmp.Compare(a.Subject, b.Subject), cmp.Compare(a.Status, b.Status), slices.Compare(a.CaseIds, b.CaseIds)) < 0
	})
	sort.SliceStable(out.Failures, func(i, j int) bool {
		a, b := out.Failures[i], out.Failures[j]
		return cmp.Or(cmp.Compare(a.RuleId, b.RuleId), cmp.Compare(a.Subject, b.Subject)) < 0
	})
	out.Coverage = r.coverage()
	countCovered(out)
	out.Assumptions = r.assumptions()
	out.Questions = r.questions()
	if r.ended() {
		return nil, r.until.Err()
	}
	return out, nil
}

// subject is the element path of the thing that an outcome is about.
func (r *reporter) subject(o *rulebook.Outcome) string { return o.Rule.SubjectPath(r.world, o.Subject) }

func (r *reporter) caseIDs(o *rulebook.Outcome) []string {
	var ids []string
	for _, i := range o.Cases {
		ids = append(ids, r.world.Cases[i].ID)
	}
	return ids
}

func (r *reporter) outcome(o *rulebook.Outcome) *skidrulev1.Outcome {
	return &skidrulev1.Outcome{
		RuleId: o.Rule.Rule.GetId(), Subject: r.subject(o), CaseIds: r.caseIDs(o), Status: o.Status,
		Missing: rulebook.Paths(o.Missing, r.world.Plant), Assumed: rulebook.Paths(o.Assumed, r.world.Plant), Evidence: o.Evidence, Severity: o.Rule.Severity, Hazard: o.Rule.Rule.GetHazard(),
	}
}

func (r *reporter) finding(o *rulebook.Outcome) *skidrulev1.Finding {
	rule := o.Rule.Rule
	f := &skidrulev1.Finding{
		RuleId: rule.GetId(), Title: rule.GetTitle(), Severity: o.Rule.Severity, Hazard: rule.GetHazard(),
		Subject: r.subject(o), CaseIds: r.caseIDs(o), Message: o.Message, Path: r.steps(o.Path), Evidence: o.Evidence,
		Why: rule.GetWhy(), Mend: rule.GetMend(), Sources: rule.GetSources(), Assumed: rulebook.Paths(o.Assumed, r.world.Plant),
	}
	f.Fingerprint = fingerprint(f.RuleId, f.Subject)
	return f
}

// fingerprint identifies a finding by its rule and thing alone, so that it survives moved lines, changed order, changed
// numbers and changed wording.
func fingerprint(ruleID, subject string) string {
	sum := sha256.Sum256([]byte("v1\x00" + ruleID + "\x00" + subject))
	return "v1:" + hex.EncodeToString(sum[:12])
}

func (r *reporter) steps(path fact.Path) []*skidrulev1.PathStep {
	p := r.world.Plant
	var out []*skidrulev1.PathStep
	for _, s := range path {
		step := &skidrulev1.PathStep{Role: s.Role, Note: s.Note}
		if s.Component >= 0 {
			c := &p.Components[s.Component]
			step.Element, step.Tag, step.Kind = "components."+c.Tag, c.Tag, c.Kind.String()
		} else {
			l := &p.Lines[s.Line]
			step.Element, step.Tag, step.Kind = "lines."+l.Tag, l.Tag, serviceWord(l)
		}
		out = append(out, step)
	}
	return out
}

func serviceWord(l *plant.Line) string {
	if l.Data.GetService() == skidrulev1.Service_SERVICE_UNSPECIFIED {
		return "line"
	}
	return designfile.EnumWord(l.Data.GetService())
}

// mergeFindings makes one finding of those of one rule and thing that differ only in their cases or assumptions.
func mergeFindings(fs []*skidrulev1.Finding) []*skidrulev1.Finding {
	byIdentity := map[string]*skidrulev1.Finding{}
	out := fs[:0]
	for _, f := range fs {
		if have := byIdentity[f.Fingerprint]; have != nil {
			have.CaseIds = append(have.CaseIds, f.CaseIds...)
			have.Assumed = append(have.Assumed, f.Assumed...)
			sort.Strings(have.Assumed)
			have.Assumed = slices.Compact(have.Assumed)
			continue
		}
		byIdentity[f.Fingerprint] = f
		out = append(out, f)
	}
	return out
}

func sortFindings(fs []*skidrulev1.Finding) {
	sort.SliceStable(fs, func(i, j int) bool {
		a, b := fs[i], fs[j]
		return cmp.Or(cmp.Compare(a.Severity, b.Severity), cmp.Compare(hazardRank(a.Hazard), hazardRank(b.Hazard)),
			cmp.Compare(a.RuleId, b.RuleId), cmp.Compare(a.Subject, b.Subject)) < 0
	})
}

// hazardRank puts findings without a hazard behind those with one.
func hazardRank(h skidrulev1.Hazard) int {
	if h == skidrulev1.Hazard_HAZARD_UNSPECIFIED {
		return len(skidrulev1.Hazard_name)
	}
	return int(h)
}

// link marks findings that are only consequences of others: their rule says of which rules, and both share an element.
func (r *reporter) link(fs []*skidrulev1.Finding) {
	consequence := map[string][]string{}
	for _, o := range r.outcomes {
		rule := o.Rule.Rule
		consequence[rule.GetId()] = rule.GetConsequenceOf()
	}
	// The findings that touch an element, by their places, ascending: large plants have thousands of findings, few of which meet.
	touching := map[string][]int{}
	own := make([][]string, len(fs))
	for i, f := range fs {
		own[i] = elements(f)
		for _, e := range own[i] {
			touching[e] = append(touching[e], i)
		}
	}
	for i, f := range fs {
		if r.ended() {
			return
		}
		causes := consequence[f.RuleId]
		if len(causes) == 0 {
			continue
		}
		first := len(fs)
		for _, e := range own[i] {
			for _, j := range touching[e] {
				if j >= first {
					break
				}
				if j != i && slices.Contains(causes, fs[j].RuleId) {
					first = j
				}
			}
		}
		if first < len(fs) {
			f.ConsequenceOf = fs[first].Fingerprint
		}
	}
}

// causesFirst puts each finding that is only a consequence behind the one that it follows from.
func causesFirst(fs []*skidrulev1.Finding) []*skidrulev1.Finding {
	behind := map[string][]*skidrulev1.Finding{}
	for _, f := range fs {
		behind[f.ConsequenceOf] = append(behind[f.ConsequenceOf], f)
	}
	out, told := make([]*skidrulev1.Finding, 0, len(fs)), map[string]bool{}
	var tell func(list []*skidrulev1.Finding)
	tell = func(list []*skidrulev1.Finding) {
		for _, f := range list {
			if !told[f.Fingerprint] {
				told[f.Fingerprint] = true
				out = append(out, f)
				tell(behind[f.Fingerprint])
			}
		}
	}
	tell(behind[""])
	// Findings that name each other as cause are reached from no first one.
	tell(fs)
	return out
}

// elements lists what a finding is about and passes through, with repeats.
func elements(f *skidrulev1.Finding) []string {
	out := make([]string, 0, 2+len(f.Path)+len(f.Related))
	out = append(out, f.Subject)
	if component, _, port := strings.Cut(f.Subject, ".ports."); port {
		out = append(out, component)
	}
	for _, s := range f.Path {
		out = append(out, s.Element)
	}
	return append(out, f.Related...)
}

// coverage counts pairs of rule and thing by the worst of their cases.
func (r *reporter) coverage() *skidrulev1.Coverage {
	p := r.world.Plant
	c := &skidrulev1.Coverage{Rules: int32(len(r.rules)), Components: int32(len(p.Components)), Lines: int32(len(p.Lines)), UnsolvedBecause: r.world.Unsolved()}
	for _, a := range r.answers {
		c.Met += int32(a.Pairs[skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET])
		c.Broken += int32(a.Pairs[skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN])
		c.NotVerifiable += int32(a.Pairs[skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE])
		c.NotApplicable += int32(a.Pairs[skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_APPLICABLE])
		c.Failed += int32(a.Pairs[skidrulev1.OutcomeStatus_OUTCOME_STATUS_FAILED])
	}
	last := (*rulebook.Outcome)(nil)
	for _, o := range r.outcomes {
		if o.Status != skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE || o.Rule.Severity != skidrulev1.Severity_SEVERITY_ERROR {
			continue
		}
		if last == nil || last.Rule != o.Rule || last.Subject != o.Subject {
			c.ErrorNotVerifiable++
		}
		last = o
	}
	return c
}

// assumptions tells how the design's assumptions were used.
func (r *reporter) assumptions() []*skidrulev1.AssumptionUse {
	uses := map[string]int32{}
	for _, o := range r.outcomes {
		for _, ref := range o.Assumed {
			uses[ref.Path(r.world.Plant)]++
		}
	}
	var out []*skidrulev1.AssumptionUse
	for _, a := range r.world.Plant.Design.GetAssumptions() {
		out = append(out, &skidrulev1.AssumptionUse{
			Path: a.GetPath(), Low: a.Low, High: a.High, Reason: a.GetReason(), AssumedBy: a.GetAssumedBy(), Outcomes: uses[a.GetPath()],
			Dimension: plant.DimensionAt(a.GetPath()).Name(),
		})
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Path < out[j].Path })
	return out
}

// questions lists the missing data, that which would decide the most outcomes first.
func (r *reporter) questions() []*skidrulev1.Question {
	byRef := map[fact.Ref]*skidrulev1.Question{}
	for _, o := range r.outcomes {
		if o.Status != skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE {
			continue
		}
		for _, ref := range o.Missing {
			q := byRef[ref]
			if q == nil {
				q = &skidrulev1.Question{Path: ref.Path(r.world.Plant)}
				byRef[ref] = q
			}
			q.Outcomes++
			if o.Rule.Severity == skidrulev1.Severity_SEVERITY_ERROR {
				q.ErrorOutcomes++
			}
		}
	}
	out := make([]*skidrulev1.Question, 0, len(byRef))
	for _, q := range byRef {
		out = append(out, q)
	}
	sort.Slice(out, func(i, j int) bool {
		a, b := out[i], out[j]
		return cmp.Or(cmp.Compare(b.ErrorOutcomes, a.ErrorOutcomes), cmp.Compare(b.Outcomes, a.Outcomes), cmp.Compare(a.Path, b.Path)) < 0
	})
	return out
}
