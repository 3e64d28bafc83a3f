package skidrule

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"sort"
	"strings"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Editing is one editing session: a design that the server keeps while it is drawn, and its report. It belongs to one
// goroutine.
type Editing struct {
	stream interface {
		Send(*skidrulev1.EditDesignRequest) error
		Recv() (*skidrulev1.EditDesignResponse, error)
		CloseSend() error
	}
	cancel context.CancelFunc
	report *skidrulev1.Report
}

// Edit begins an editing session with a design. Close ends it, as does the end of the context. The error is a *RefusedError
// where the design cannot be checked.
func (c *Client) Edit(ctx context.Context, design *skidrulev1.Design, options *skidrulev1.CheckOptions) (*Editing, error) {
	ctx, cancel := context.WithCancel(ctx)
	stream, err := skidrulev1.NewCheckServiceClient(c.conn).EditDesign(ctx)
	if err != nil {
		cancel()
		return nil, explain(err)
	}
	e := &Editing{stream: stream, cancel: cancel}
	start := &skidrulev1.EditStart{Design: design, Options: options}
	a, err := e.ask(&skidrulev1.EditDesignRequest{Action: &skidrulev1.EditDesignRequest_Start{Start: start}})
	if err != nil {
		cancel()
		return nil, err
	}
	e.report = a.GetReport()
	return e, nil
}

// Report is the report about the design as it is now. It must not be changed.
func (e *Editing) Report() *skidrulev1.Report { return e.report }

// Apply makes edits together and gives what they changed; Report holds the report with it. Where the server refuses them the
// error is a *RefusedError, and design and report are as before.
func (e *Editing) Apply(edits ...*skidrulev1.Edit) (*skidrulev1.ReportChange, error) {
	a, err := e.ask(&skidrulev1.EditDesignRequest{Action: &skidrulev1.EditDesignRequest_Edits{Edits: &skidrulev1.EditList{Edits: edits}}})
	if err != nil {
		return nil, err
	}
	report, err := Changed(e.report, a.GetChange())
	if err != nil {
		return nil, err
	}
	e.report = report
	return a.GetChange(), nil
}

// Close ends the session.
func (e *Editing) Close() error {
	defer e.cancel()
	return e.stream.CloseSend()
}

func (e *Editing) ask(r *skidrulev1.EditDesignRequest) (*skidrulev1.EditDesignResponse, error) {
	// Where sending fails, receiving tells why.
	_ = e.stream.Send(r)
	a, err := e.stream.Recv()
	if err != nil {
		return nil, explain(err)
	}
	if refused := a.GetRefusal(); refused != nil {
		return nil, &RefusedError{refused}
	}
	return a, nil
}

// Changed gives the report that a change makes of the one before, which stays as it is. The error tells of a change that does
// not belong to the report.
func Changed(before *skidrulev1.Report, c *skidrulev1.ReportChange) (*skidrulev1.Report, error) {
	out := &skidrulev1.Report{
		DesignName: c.GetDesignName(), DesignRevision: c.GetDesignRevision(), Version: before.GetVersion(), Coverage: c.GetCoverage(), Cases: before.GetCases(),
		Assumptions: before.GetAssumptions(), Failures: before.GetFailures(), Cautions: before.GetCautions(), Questions: before.GetQuestions(),
	}
	if c.GetQuestions() != nil {
		out.Questions = c.GetQuestions().GetQuestions()
	}
	if c.GetCases() != nil {
		out.Cases = c.GetCases().GetCases()
	}
	if c.GetAssumptions() != nil {
		out.Assumptions = c.GetAssumptions().GetAssumptions()
	}
	if c.GetFailures() != nil {
		out.Failures = c.GetFailures().GetFailures()
	}
	out.Outcomes = changedOutcomes(before.GetOutcomes(), c)
	var err error
	out.Findings, err = changedFindings(before.GetFindings(), c)
	return out, err
}

func changedOutcomes(before []*skidrulev1.Outcome, c *skidrulev1.ReportChange) []*skidrulev1.Outcome {
	if len(c.GetAppeared())+len(c.GetChanged())+len(c.GetDisappeared()) == 0 {
		return before
	}
	gone, changed := map[string]bool{}, map[string]*skidrulev1.Outcome{}
	for _, o := range c.GetDisappeared() {
		gone[outcomeKey(o)] = true
	}
	for _, o := range c.GetChanged() {
		changed[outcomeKey(o)] = o
	}
	out := make([]*skidrulev1.Outcome, 0, len(before)+len(c.GetAppeared()))
	for _, o := range before {
		key := outcomeKey(o)
		if now := changed[key]; now != nil {
			o = now
		}
		if !gone[key] {
			out = append(out, o)
		}
	}
	out = append(out, c.GetAppeared()...)
	sort.SliceStable(out, func(i, j int) bool {
		a, b := out[i], out[j]
		return cmp.Or(cmp.Compare(a.RuleId, b.RuleId), cmp.Compare(a.Subject, b.Subject), cmp.Compare(a.Status, b.Status), slices.Compare(a.CaseIds, b.CaseIds)) < 0
	})
	return out
}

func outcomeKey(o *skidrulev1.Outcome) string {
	return o.GetRuleId() + "\x00" + o.GetSubject() + "\x00" + o.GetStatus().String() + "\x00" + strings.Join(o.GetCaseIds(), "\x00")
}

func changedFindings(before []*skidrulev1.Finding, c *skidrulev1.ReportChange) ([]*skidrulev1.Finding, error) {
	all := make(map[string]*skidrulev1.Finding, len(before))
	order := c.GetFindingOrder()
	for _, f := range before {
		all[f.GetFingerprint()] = f
	}
	for _, id := range c.GetFindingsDisappeared() {
		delete(all, id)
	}
	if len(order) == 0 {
		for _, f := range before {
			if all[f.GetFingerprint()] != nil {
				order = append(order, f.GetFingerprint())
			}
		}
	}
	for _, f := range slices.Concat(c.GetFindingsAppeared(), c.GetFindingsChanged()) {
		all[f.GetFingerprint()] = f
	}
	var out []*skidrulev1.Finding
	for _, id := range order {
		f := all[id]
		if f == nil {
			return nil, fmt.Errorf("the change names the finding %s, which the report does not have", id)
		}
		out = append(out, f)
	}
	return out, nil
}
