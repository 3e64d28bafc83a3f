package session

import (
	"context"

	"google.golang.org/protobuf/proto"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Checker answers a request. The second design is the part of the request's design that edits could have made malformed,
// since all of it was checked before; nil for all of it.
type Checker func(context.Context, *skidrulev1.CheckDesignRequest, *skidrulev1.Design) (*skidrulev1.Report, error)

// Session is one design that is being edited. It belongs to one caller and is not safe for concurrent use.
type Session struct {
	check   Checker
	design  *skidrulev1.Design
	options *skidrulev1.CheckOptions
	last    *snapshot
	version int64
}

// Start checks a design and begins a session with it. The session owns design and options from then on. The error is the
// checker's.
func Start(ctx context.Context, check Checker, design *skidrulev1.Design, options *skidrulev1.CheckOptions) (*Session, *skidrulev1.Report, error) {
	report, err := check(ctx, &skidrulev1.CheckDesignRequest{Design: design, Options: options}, nil)
	if err != nil {
		return nil, nil, err
	}
	last, err := snapshotOf(report)
	if err != nil {
		return nil, nil, err
	}
	return &Session{check: check, design: design, options: options, last: last}, report, nil
}

// Version counts the lists of edits that the design has taken; 0 where there is no session.
func (s *Session) Version() int64 {
	if s == nil {
		return 0
	}
	return s.version
}

// Design gives a copy of the design as it is now.
func (s *Session) Design() *skidrulev1.Design { return proto.CloneOf(s.design) }

// Apply makes edits in their order and tells what they changed of the report. Where one of them cannot be made, or the design
// could not be checked with them, the design stays as it was and the error is an *EditError or the checker's.
func (s *Session) Apply(ctx context.Context, edits []*skidrulev1.Edit) (*skidrulev1.ReportChange, error) {
	d := newDraft(s.design)
	for i, e := range edits {
		if err := d.edit(e); err != nil {
			return nil, err.in(i)
		}
	}
	report, err := s.check(ctx, &skidrulev1.CheckDesignRequest{Design: d.design, Options: s.options}, d.touched(s.design))
	if err != nil {
		return nil, err
	}
	next, err := snapshotOf(report)
	if err != nil {
		return nil, err
	}
	change := next.since(s.last)
	s.design, s.last = d.design, next
	s.version++
	return change, nil
}
