package engine

import (
	"context"
	"errors"
	"slices"
	"sort"

	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Checker answers one request.
type Checker func(context.Context, *skidrulev1.CheckDesignRequest) (*skidrulev1.Report, error)

// Compare checks two revisions and tells what changed. Errors are those of Check; the paths of a *RequestError begin with
// old_design or new_design where one of the designs is unusable.
func (e *Engine) Compare(ctx context.Context, request *skidrulev1.CompareDesignsRequest) (*skidrulev1.Comparison, error) {
	return Compare(ctx, request, e.Check)
}

// Compare is the method of that name with another way of checking.
func Compare(ctx context.Context, request *skidrulev1.CompareDesignsRequest, check Checker) (*skidrulev1.Comparison, error) {
	options := &skidrulev1.CheckOptions{}
	if request.GetOptions() != nil {
		options = proto.CloneOf(request.GetOptions())
	}
	options.View = skidrulev1.ReportView_REPORT_VIEW_FULL
	ctx = KeepingRules(ctx)
	before, err := checkRevision(ctx, "old_design", request.GetOldDesign(), options, check)
	if err != nil {
		return nil, err
	}
	after, err := checkRevision(ctx, "new_design", request.GetNewDesign(), options, check)
	if err != nil {
		return nil, err
	}
	return CompareReports(before, after), nil
}

func checkRevision(ctx context.Context, field string, d *skidrulev1.Design, o *skidrulev1.CheckOptions, check Checker) (*skidrulev1.Report, error) {
	if d == nil {
		return nil, Refuse(field, "", "the request has no such design")
	}
	report, err := check(ctx, &skidrulev1.CheckDesignRequest{Design: d, Options: o})
	var wrong *RequestError
	if errors.As(err, &wrong) {
		placed := &RequestError{More: wrong.More}
		for _, v := range wrong.Violations {
			if v.InDesign {
				v.Path, v.InDesign = field+"."+v.Path, false
			}
			placed.Violations = append(placed.Violations, v)
		}
		return nil, placed
	}
	return report, err
}

// pair is a rule and a thing.
type pair struct{ rule, subject string }

// pairState is what a report says of a pair.
type pairState struct {
	worst   skidrulev1.OutcomeStatus
	missing []string
	// open are the cases in which data is missing; "" stands for a rule that knows no cases.
	open map[string]bool
}

func statesOf(r *skidrulev1.Report) map[pair]*pairState {
	out := map[pair]*pairState{}
	for _, o := range r.GetOutcomes() {
		key := pair{o.GetRuleId(), o.GetSubject()}
		s := out[key]
		if s == nil {
			s = &pairState{worst: o.GetStatus(), open: map[string]bool{}}
			out[key] = s
		}
		if rulebook.StatusRank[o.GetStatus()] > rulebook.StatusRank[s.worst] {
			s.worst = o.GetStatus()
		}
		if o.GetStatus() == skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE {
			s.missing = append(s.missing, o.GetMissing()...)
			for _, id := range casesOr(o.GetCaseIds()) {
				s.open[id] = true
			}
		}
	}
	for _, s := range out {
		sort.Strings(s.missing)
		s.missing = slices.Compact(s.missing)
	}
	return out
}

// casesOr stands an empty id for no cases.
func casesOr(ids []string) []string {
	if len(ids) == 0 {
		return []string{""}
	}
	return ids
}

// CompareReports tells what changed between reports in the full view about two revisions of a design. Outcomes that are met say that a
// finding is mended and not merely out of sight.
func CompareReports(before, after *skidrulev1.Report) *skidrulev1.Comparison {
	was, is := statesOf(before), statesOf(after)
	c := &skidrulev1.Comparison{
		OldDesign: &skidrulev1.ComparedDesign{Name: before.GetDesignName(), Revision: before.GetDesignRevision(), Coverage: before.GetCoverage()},
		NewDesign: &skidrulev1.ComparedDesign{Name: after.GetDesignName(), Revision: after.GetDesignRevision(), Coverage: after.GetCoverage()},
		Version:   after.GetVersion(), Failures: after.GetFailures(), Cautions: after.GetCautions(),
	}
	had := map[string]bool{}
	for _, f := range before.GetFindings() {
		had[f.GetFingerprint()] = true
	}
	has := map[string]bool{}
	for _, f := range after.GetFindings() {
		has[f.GetFingerprint()] = true
		if had[f.GetFingerprint()] {
			c.UnchangedFindings = append(c.UnchangedFindings, f)
		} else {
			c.NewFindings = append(c.NewFindings, compared(f, was))
		}
	}
	for _, f := range before.GetFindings() {
		if !has[f.GetFingerprint()] {
			c.GoneFindings = append(c.GoneFindings, compared(f, is))
		}
	}
	for _, o := range after.GetOutcomes() {
		if o.GetStatus() != skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE {
			continue
		}
		old := was[pair{o.GetRuleId(), o.GetSubject()}]
		fresh := slices.DeleteFunc(slices.Clone(casesOr(o.GetCaseIds())), func(id string) bool { return old != nil && old.open[id] })
		if len(fresh) == 0 {
			continue
		}
		open := proto.CloneOf(o)
		if len(o.GetCaseIds()) > 0 {
			open.CaseIds = fresh
		}
		c.NewlyUnverified = append(c.NewlyUnverified, open)
	}
	return c
}

// compared is a finding with what the other revision says of the same pair.
func compared(f *skidrulev1.Finding, other map[pair]*pairState) *skidrulev1.ComparedFinding {
	out := &skidrulev1.ComparedFinding{Finding: f}
	if s := other[pair{f.GetRuleId(), f.GetSubject()}]; s != nil {
		out.OtherStatus, out.OtherMissing = s.worst, s.missing
	}
	return out
}
