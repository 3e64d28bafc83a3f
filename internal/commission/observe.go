package commission

import (
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Problem is something wrong with a reading.
type Problem struct {
	Index   int // of the reading; -1 for all of them
	Message string
}

// reading is a reading that was understood.
type reading struct {
	place
	at     int // index of the place among those of the case
	value  float64
	limit  float64
	source string
}

// observe reads what was sent; the problems say what cannot be used.
func (s *Skid) observe(list []*skidrulev1.SiteReading) ([]reading, []Problem) {
	var out []reading
	var problems []Problem
	bad := func(i int, format string, args ...any) {
		problems = append(problems, Problem{i, fmt.Sprintf(format, args...)})
	}
	if len(list) == 0 {
		bad(-1, "there are no readings; take at least one, at %s", s.known())
	}
	if len(list) > maxReadings {
		bad(-1, "%d readings are given, %d are allowed", len(list), maxReadings)
		return nil, problems
	}
	seen := map[string]bool{}
	for i, r := range list {
		q, wrong := s.resolve(r.GetPlace())
		if wrong != "" {
			bad(i, "%s", wrong)
			continue
		}
		if seen[q.label] {
			bad(i, "%s is read twice; give the readings of one moment", q.label)
			continue
		}
		seen[q.label] = true
		var value float64
		var dimension quantity.Dimension
		switch v := r.GetValue().(type) {
		case *skidrulev1.SiteReading_PressurePaGauge:
			value, dimension = v.PressurePaGauge, quantity.PressureGauge
		case *skidrulev1.SiteReading_LiquidFlowM3PerS:
			value, dimension = v.LiquidFlowM3PerS, quantity.LiquidFlow
		case *skidrulev1.SiteReading_GasFlowMolPerS:
			value, dimension = v.GasFlowMolPerS, quantity.GasFlow
		default:
			bad(i, "%s: no value is given", q.label)
			continue
		}
		if dimension != q.dimension {
			bad(i, "%s shows a %s, and a %s is given", q.label, q.dimension.Noun(), dimension.Noun())
			continue
		}
		if math.IsNaN(value) || math.IsInf(value, 0) {
			bad(i, "%s: the value is no finite number", q.label)
			continue
		}
		limit, source, err := q.limits(r, value)
		if err != nil {
			bad(i, "%s: %s", q.label, err)
			continue
		}
		out = append(out, reading{place: q, value: value, limit: limit, source: source})
	}
	return out, problems
}
