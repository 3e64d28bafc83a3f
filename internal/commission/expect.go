package commission

import (
	"math"
	"strings"

	"github.com/skidrule/skidrule/internal/operate"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// expect gives what a place should show, or why that is not known with the data that are missing for it. A value beyond a table or a
// curve is not known.
func (s *Skid) expect(at int, q *place, f found) (span operate.Span, because string, missing []string) {
	missing = s.paths(f.missing)
	switch {
	case len(missing) > 0 && !f.known:
		return span, "unknown, because " + strings.Join(missing, ", ") + " " + isNot(missing) + " stated", missing
	case !f.known && f.why != "":
		return span, "unknown, because " + f.why, nil
	case !f.known:
		return span, "unknown, because nothing is computed of it in the case " + s.world.Cases[at].ID, nil
	case len(f.beyond) > 0:
		beyond := s.paths(f.beyond)
		return span, "unknown, because the state lies beyond " + strings.Join(beyond, ", "), beyond
	case q.way >= 0 && f.note != "":
		return span, "unknown, because " + f.note, nil
	}
	if q.way >= 0 {
		f.span = operate.Span{Low: rested(f.span.Low), Best: rested(f.span.Best), High: rested(f.span.High)}
	}
	return f.span, "", nil
}

// rested takes a flow that no meter shows, in m3/s or mol/s, as none: what rounding leaves of it.
func rested(q float64) float64 {
	if math.Abs(q) < 1e-8 {
		return 0
	}
	return q
}

func isNot(list []string) string {
	if len(list) == 1 {
		return "is not"
	}
	return "are not"
}

// row makes the row of a place.
func (s *Skid) row(at int, q *place, st *operate.State) *skidrulev1.ExpectedReading {
	f := q.at(st)
	span, because, missing := s.expect(at, q, f)
	c := &s.plant.Components[q.component]
	out := &skidrulev1.ExpectedReading{Tag: q.label, Title: c.Data.GetTitle(), Shows: q.shows, NoInstrument: !q.instrument, Dimension: q.dimension.Name(),
		RangeLow: q.rangeLow, RangeHigh: q.rangeHigh, UnknownBecause: because, Missing: missing, Assumed: s.paths(f.assumed)}
	if len(q.rangeMissing) > 0 {
		out.Notes = append(out.Notes, strings.Join(q.rangeMissing, ", ")+" "+isNot(q.rangeMissing)+" stated, so that it is not known where in its span it reads")
	}
	if because != "" {
		return out
	}
	out.Low, out.Best, out.High = &span.Low, &span.Best, &span.High
	if q.way < 0 && f.note != "" {
		out.Notes = append(out.Notes, f.note)
	}
	if q.rangeLow != nil && q.rangeHigh != nil && *q.rangeHigh > *q.rangeLow {
		low, high := (span.Low-*q.rangeLow)/(*q.rangeHigh-*q.rangeLow), (span.High-*q.rangeLow)/(*q.rangeHigh-*q.rangeLow)
		out.SpanLowRatio, out.SpanHighRatio = &low, &high
		switch {
		case low < 0 && high > 1:
			out.Notes = append(out.Notes, "both ends lie outside its range")
		case high > 1:
			out.Notes = append(out.Notes, "above its range: the pointer stands at the upper stop or beyond")
		case low < 0:
			out.Notes = append(out.Notes, "below its range: the pointer stands at the lower stop")
		}
		if q.way >= 0 && (high > 1 || low < 0) {
			out.Notes = []string{"outside its range"}
		}
	}
	return out
}
