package calc

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"maps"
	"math"
	"strconv"
	"strings"

	"github.com/skidrule/skidrule/internal/quantity"
)

// Bounds on the number of points of a sweep.
const (
	minSweepPoints = 2
	maxSweepPoints = 2000

	// maxSweepRows bounds points times rows of tables, since each point reads
	// the tables again.
	maxSweepRows = 500000
)

// SweepPoint is one point of a sweep: a result, or the reason why there is none.
type SweepPoint struct {
	X      float64 // SI value of the swept input
	Result *Result // nil when Err is set
	Err    error   // why there is no result at this point
}

// Sweep is a calculation evaluated along one input.
type Sweep struct {
	Calculation *Calculation
	Input       Input
	Points      []SweepPoint // by rising position from the first end to the second
}

// SweepOver evaluates the calculation of that name at n evenly spaced values
// (2 to 2000) of the input key from one SI value to another; the other inputs
// are fixed. A point without a result keeps its error. If no point has a result
// the error of the first is returned.
func SweepOver(name string, inputs Inputs, key string, from, to float64, n int) (*Sweep, error) {
	return SweepUntil(context.Background(), name, inputs, key, from, to, n)
}

// SweepUntil is [SweepOver], and returns the error of ctx where that ends
// before the last point.
func SweepUntil(ctx context.Context, name string, inputs Inputs, key string, from, to float64, n int) (*Sweep, error) {
	c, err := Get(name)
	if err != nil {
		return nil, err
	}
	in, ok := c.Input(key)
	if !ok {
		return nil, c.unknownInput(key)
	}
	switch {
	case in.Kind != Number:
		return nil, fmt.Errorf("%w: %s of %s is no number", ErrSweep, key, name)
	case n < minSweepPoints || n > maxSweepPoints:
		return nil, fmt.Errorf("%w: %d points; %d to %d are possible", ErrSweep, n, minSweepPoints, maxSweepPoints)
	case math.IsNaN(from) || math.IsInf(from, 0) || math.IsNaN(to) || math.IsInf(to, 0):
		return nil, fmt.Errorf("%w: ends %g and %g: %w", ErrSweep, from, to, ErrNotFinite)
	case from == to:
		return nil, fmt.Errorf("%w: both ends are %s", ErrSweep, formatSI(from, in.Dimension))
	}
	rows := 0
	for _, table := range inputs.Tables {
		rows += len(table)
	}
	if rows*n > maxSweepRows {
		return nil, fmt.Errorf("%w: %d points with tables of %d rows; points times rows may be %d", ErrSweep, n, rows, maxSweepRows)
	}
	if _, given := inputs.Numbers[key]; given {
		return nil, fmt.Errorf("%w: %s is swept and given a fixed value", ErrSweep, key)
	}
	s := &Sweep{Calculation: c, Input: in}
	failed := 0
	for i := range n {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		// The last point is the end itself, free of rounding.
		x := from + (to-from)*float64(i)/float64(n-1)
		if i == n-1 {
			x = to
		}
		at := inputs
		at.Numbers = maps.Clone(inputs.Numbers)
		if at.Numbers == nil {
			at.Numbers = map[string]float64{}
		}
		at.Numbers[key] = x
		r, err := c.Run(at)
		if err != nil {
			failed++
		}
		s.Points = append(s.Points, SweepPoint{X: x, Result: r, Err: err})
	}
	if failed == n {
		return nil, fmt.Errorf("%w: no point has a result; the first: %w", ErrSweep, s.Points[0].Err)
	}
	return s, nil
}

// ReadSpan reads the ends of a sweep as "2 bar(g)..6 bar(g)"; a unit that
// stands only at the end goes for both.
func (c *Calculation) ReadSpan(key, text string) (from, to float64, err error) {
	in, ok := c.Input(key)
	if !ok {
		return 0, 0, c.unknownInput(key)
	}
	if in.Kind != Number {
		return 0, 0, fmt.Errorf("%w: %s of %s is no number", ErrSweep, key, c.Name)
	}
	a, b, found := strings.Cut(text, "..")
	a, b = strings.TrimSpace(a), strings.TrimSpace(b)
	if !found || a == "" || b == "" || len(text) > maxTextBytes {
		return 0, 0, &InputError{Calculation: c.Name, Key: key, Kind: ErrBadText, Reason: "a sweep is written first..last, each with its unit"}
	}
	to, err = quantity.Parse(b, in.Dimension)
	if err != nil {
		return 0, 0, &InputError{Calculation: c.Name, Key: key, Kind: ErrBadText, Reason: err.Error(), Cause: err}
	}
	from, err = quantity.Parse(a, in.Dimension)
	if err != nil {
		if i := strings.IndexByte(b, ' '); i >= 0 {
			if x, again := quantity.Parse(a+b[i:], in.Dimension); again == nil {
				return x, to, nil
			}
		}
		return 0, 0, &InputError{Calculation: c.Name, Key: key, Kind: ErrBadText, Reason: err.Error(), Cause: err}
	}
	return from, to, nil
}

// CSV returns the sweep as a table with a header line: the swept input, then
// low, best and high of each number (or the word), each in its preferred unit of
// the system, then the error of a point without result. Numbers have six digits.
func (s *Sweep) CSV(system quantity.System) ([]byte, error) {
	var buf bytes.Buffer
	w := csv.NewWriter(&buf)
	x := scaleOf(s.Input.Dimension, system)
	header := []string{x.label(s.Input.Key)}
	scales := make([]scale, len(s.Calculation.Outputs))
	for i, out := range s.Calculation.Outputs {
		if out.Dimension == 0 {
			header = append(header, out.Key)
			continue
		}
		scales[i] = scaleOf(out.Dimension, system)
		for _, end := range []string{"_low", "_best", "_high"} {
			header = append(header, scales[i].label(out.Key+end))
		}
	}
	if err := w.Write(append(header, "error")); err != nil {
		return nil, err
	}
	for _, p := range s.Points {
		if err := w.Write(s.record(p, x, scales)); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return buf.Bytes(), w.Error()
}

func (s *Sweep) record(p SweepPoint, x scale, scales []scale) []string {
	number := func(v float64) string { return strconv.FormatFloat(v, 'g', 6, 64) }
	record := []string{number(x.of(p.X))}
	for i, out := range s.Calculation.Outputs {
		if out.Dimension == 0 {
			word := ""
			if p.Result != nil {
				word, _ = p.Result.Word(out.Key)
			}
			record = append(record, word)
			continue
		}
		cells := []string{"", "", ""}
		if p.Result != nil {
			if r, ok := p.Result.Number(out.Key); ok {
				cells = []string{number(scales[i].of(r.Low)), number(scales[i].of(r.Best)), number(scales[i].of(r.High))}
			}
		}
		record = append(record, cells...)
	}
	if p.Err != nil {
		return append(record, p.Err.Error())
	}
	return append(record, "")
}
