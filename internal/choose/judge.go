package choose

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"strings"
	"sync/atomic"

	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// counters count checks.
type counters struct{ open, missing atomic.Int64 }

// failure is one reason why an assignment does not do.
type failure struct {
	pair
	severity skidrulev1.Severity
	cases    []string
	message  string
	evidence []*skidrulev1.Evidence
	// missing are data that the rule lacks; then it is not broken but cannot be verified.
	missing []string
}

func (f *failure) reason() *skidrulev1.RejectReason {
	return &skidrulev1.RejectReason{RuleId: f.rule, Subject: f.subject, CaseIds: f.cases, Message: f.message, Evidence: f.evidence, Missing: f.missing}
}

// about gives the slot that an element path belongs to.
func (c *chooser) about(path string) (int, bool) {
	path, _, _ = strings.Cut(path, " at ")
	rest, ok := strings.CutPrefix(path, "components.")
	if !ok {
		return 0, false
	}
	tag, _, _ := strings.Cut(rest, ".")
	i, ok := c.slotOf[tag]
	return i, ok
}

// lacks tells whether a path names a datum that the part which a slot has in an assignment does not state. Rules also name a table
// that is stated and ends before the state that they ask about; that may be another state once more is known.
func (c *chooser) lacks(path string, assignment []int) bool {
	i, about := c.about(path)
	if !about || assignment[i] == open {
		return false
	}
	p := c.slots[i].parts[assignment[i]]
	_, rest, _ := strings.Cut(strings.TrimPrefix(path, "components."), ".")
	keys := strings.Split(rest, ".")
	return rest != "" && keys[0] != "ports" && !states(p.component.ProtoReflect(), keys) && !states(p.entry.GetData().ProtoReflect(), keys)
}

// states tells whether a message states the datum that keys lead to.
func states(m protoreflect.Message, keys []string) bool {
	for i, k := range keys {
		f := designfile.FieldByKey(m.Descriptor(), k)
		switch {
		case f == nil:
			// Not a datum that a part could state.
			return true
		case !m.Has(f):
			return false
		case i == len(keys)-1:
			return true
		case f.Message() == nil || f.IsList():
			return true
		}
		m = m.Get(f).Message()
	}
	return true
}

// grave tells findings that bar a choice: errors and warnings that are neither accepted nor known.
func (c *chooser) grave(f *skidrulev1.Finding) bool {
	return f.GetSeverity() <= skidrulev1.Severity_SEVERITY_WARNING && !c.waived(f)
}

// waived tells findings that a waiver or the baseline of the request covers.
func (c *chooser) waived(f *skidrulev1.Finding) bool {
	if f.GetWaiver() != nil || f.GetInBaseline() {
		return true
	}
	o := c.request.GetOptions()
	if slices.Contains(o.GetBaseline(), f.GetFingerprint()) {
		return true
	}
	return slices.ContainsFunc(o.GetWaivers(), func(w *skidrulev1.Waiver) bool {
		return w.GetRuleId() == f.GetRuleId() && (w.GetSubject() == f.GetSubject() || "components."+w.GetSubject() == f.GetSubject() || "lines."+w.GetSubject() == f.GetSubject())
	})
}

// accepts tells whether the request accepts that all of these data are missing.
func (c *chooser) accepts(missing []string) bool {
	for _, path := range missing {
		if !slices.ContainsFunc(c.request.GetAccept(), func(a string) bool { return path == a || strings.HasPrefix(path, a+".") }) {
			return false
		}
	}
	return true
}

// aboutWaivers are the rules that judge waivers and no design.
var aboutWaivers = func() map[string]bool {
	out := map[string]bool{}
	for _, r := range engine.WaiverRules() {
		out[r.GetId()] = true
	}
	return out
}()

// takesWorst are rules that take the worst of a part which is not stated, and do not wait until it is: a valve that may stand open or
// closed is taken to close. What they find counts only once every slot has its part.
var takesWorst = map[string]bool{"ratings/shut-in-liquid-relieved": true}

// failures reads from a report why an assignment does not do, worst first. Where it is not the whole design that was asked,
// only that counts which holds whatever else is found.
func (c *chooser) failures(r *skidrulev1.Report, assignment []int, whole bool) []*failure {
	isOpen := func(path string) bool {
		i, ok := c.about(path)
		return ok && assignment[i] == open
	}
	var out []*failure
	for _, f := range r.GetFindings() {
		key := pair{f.GetRuleId(), f.GetSubject()}
		if !whole && takesWorst[f.GetRuleId()] {
			continue
		}
		if !c.grave(f) || c.standing[key] || aboutWaivers[f.GetRuleId()] || isOpen(f.GetSubject()) {
			continue
		}
		out = append(out, &failure{pair: key, severity: f.GetSeverity(), cases: f.GetCaseIds(), message: f.GetMessage(), evidence: f.GetEvidence()})
	}
	for _, f := range r.GetFailures() {
		if !isOpen(f.GetSubject()) && whole {
			out = append(out, &failure{pair: pair{f.GetRuleId(), f.GetSubject()}, severity: skidrulev1.Severity_SEVERITY_ERROR, message: f.GetMessage()})
		}
	}
	for _, o := range r.GetOutcomes() {
		key := pair{o.GetRuleId(), o.GetSubject()}
		if o.GetStatus() != skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE || o.GetSeverity() > skidrulev1.Severity_SEVERITY_WARNING {
			continue
		}
		if _, about := c.about(o.GetSubject()); !about && !c.concerned[key] {
			continue
		}
		if len(o.GetMissing()) > 0 && c.accepts(o.GetMissing()) {
			continue
		}
		if !whole && (len(o.GetMissing()) == 0 || isOpen(o.GetSubject()) || slices.ContainsFunc(o.GetMissing(), func(path string) bool {
			// Only a datum that one of the chosen parts lacks holds whatever the others are.
			return !c.lacks(path, assignment)
		})) {
			continue
		}
		message := "cannot be verified; not stated: " + strings.Join(o.GetMissing(), ", ")
		if len(o.GetMissing()) == 0 {
			message = "cannot be verified"
		}
		out = append(out, &failure{pair: key, severity: o.GetSeverity(), cases: o.GetCaseIds(), message: message, missing: o.GetMissing()})
	}
	slices.SortStableFunc(out, func(a, b *failure) int {
		return cmp.Or(cmp.Compare(a.severity, b.severity), cmp.Compare(len(a.missing), len(b.missing)))
	})
	return out
}

// unusable turns the refusal of an assignment into a failure: a part whose ports do not fit the lines.
func unusable(err error) ([]*failure, error) {
	var request *engine.RequestError
	if !errors.As(err, &request) || len(request.Violations) == 0 {
		return nil, err
	}
	v := request.Violations[0]
	return []*failure{{pair: pair{"", v.Path}, severity: skidrulev1.Severity_SEVERITY_ERROR, message: v.Message}}, nil
}

// partly checks an assignment with open slots.
func (c *chooser) partly(ctx context.Context, assignment []int, stated bool, only, cases []string, views map[int]*view) ([]*failure, []*skidrulev1.OutcomeMargin, error) {
	c.checked.open.Add(1)
	r := c.check(assignment, false, only, cases, views)
	r.Options.StatedOnly = r.Options.StatedOnly || stated
	report, margins, err := c.engine.CheckOpen(ctx, r, c.byMargin() && stated)
	if err != nil {
		list, err := unusable(err)
		return list, nil, err
	}
	return c.failures(report, assignment, false), margins, nil
}

// wholly checks an assignment without open slots.
func (c *chooser) wholly(ctx context.Context, assignment []int) (*skidrulev1.Report, []*failure, error) {
	report, err := c.engine.Check(ctx, c.check(assignment, true, nil, nil, nil))
	if err != nil {
		list, err := unusable(err)
		return nil, list, err
	}
	return report, c.failures(report, assignment, true), nil
}

// outside tells failures for data of which none belongs to a slot.
func (c *chooser) outside(f *failure) bool {
	return len(f.missing) > 0 && !slices.ContainsFunc(f.missing, func(path string) bool { _, about := c.about(path); return about })
}

// leaveUndecided tells in the answer what no part decides.
func (c *chooser) leaveUndecided(list []*failure) {
	for _, f := range list {
		c.answer.Undecided = append(c.answer.Undecided, &skidrulev1.Outcome{
			RuleId: f.rule, Subject: f.subject, CaseIds: f.cases, Status: skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE, Missing: f.missing, Severity: f.severity,
		})
	}
}
