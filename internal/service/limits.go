package service

import (
	"context"
	"fmt"
	"runtime"
	"time"

	"google.golang.org/protobuf/proto"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Limits bound what one request may demand.
type Limits struct {
	// MessageBytes is the longest request.
	MessageBytes int
	// Components and Lines are the most that a design may have, RouteStops the most stops of all its lines together.
	Components, Lines, RouteStops int
	// Cases is the most operating cases that a design may state.
	Cases int
	// CatalogueEntries is the most parts that come with a request, in the design or beside it.
	CatalogueEntries int
	// SiteRules is the most rules that come with a request.
	SiteRules int
	// Time is the longest that a request may take; in a stream, each request of it.
	Time time.Duration
	// InFlight is the most designs of one batch that are worked on at once; below 1 counts as 1.
	InFlight int
	// Edits is the most edits that one request of an editing session may have.
	Edits int
	// Sessions is the most editing sessions that are open at once.
	Sessions int
}

// DefaultLimits are ample for plants of many trains: common practice, no source.
func DefaultLimits() Limits {
	return Limits{
		MessageBytes: 16 << 20, Components: 10_000, Lines: 10_000, RouteStops: 50_000, Cases: 200,
		CatalogueEntries: 50_000, SiteRules: 1000, Time: time.Minute, InFlight: runtime.GOMAXPROCS(0), Edits: 1000, Sessions: 64,
	}
}

// limitError tells that a request is larger than allowed.
type limitError struct {
	// What is limited, in lower_snake.
	What           string
	Given, Allowed int
}

// Error names what was given and what is allowed.
func (e *limitError) Error() string {
	return fmt.Sprintf("%s: %d given, %d allowed", e.What, e.Given, e.Allowed)
}

// size refuses a message that is too long.
func (l Limits) size(m proto.Message) error {
	if n := proto.Size(m); n > l.MessageBytes {
		return &limitError{"message_bytes", n, l.MessageBytes}
	}
	return nil
}

// request refuses a check that asks for too much.
func (l Limits) request(r *skidrulev1.CheckDesignRequest) error {
	d, o := r.GetDesign(), r.GetOptions()
	stops := 0
	for _, line := range d.GetLines() {
		stops += len(line.GetRoute())
	}
	for _, c := range []limitError{
		{"components", len(d.GetComponents()), l.Components},
		{"lines", len(d.GetLines()), l.Lines},
		{"route_stops", stops, l.RouteStops},
		{"cases", len(d.GetCases()), l.Cases},
		{"catalogue_entries", len(d.GetCatalogue()) + len(o.GetCatalogue().GetEntries()), l.CatalogueEntries},
		{"site_rules", len(o.GetSiteRules()), l.SiteRules},
	} {
		if c.Given > c.Allowed {
			return &c
		}
	}
	return nil
}

// timed bounds the time of one request.
func (l Limits) timed(ctx context.Context) (context.Context, context.CancelFunc) {
	if l.Time <= 0 {
		return context.WithCancel(ctx)
	}
	return context.WithTimeout(ctx, l.Time)
}
