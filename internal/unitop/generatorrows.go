package unitop

import (
	"fmt"
	"slices"

	"github.com/skidrule/skidrule/internal/fluid"
)

// OutputRow is one measured point of an ozone generator.
type OutputRow struct {
	Flow    float64 // feed gas in mol/s
	Purity  float64 // mole fraction of oxygen in the feed gas
	Power   float64 // electrical power in W
	Coolant float64 // coolant temperature at the inlet in K
	Output  float64 // ozone in kg/s
}

// conditions are those of the row in the order of [OutputTable].
func (r *OutputRow) conditions() [4]float64 {
	return [4]float64{r.Flow, r.Purity, r.Power, r.Coolant}
}

// compareConditions orders points from the slowest condition to the fastest.
func compareConditions(a, b [4]float64) int { return slices.Compare(a[:], b[:]) }

// sortedRows are rows in the order of their conditions.
type sortedRows []OutputRow

// at gives the output at a point; false where no row has it.
func (s sortedRows) at(point [4]float64) (float64, bool) {
	i, found := slices.BinarySearchFunc(s, point, func(r OutputRow, p [4]float64) int { return compareConditions(r.conditions(), p) })
	if !found {
		return 0, false
	}
	return s[i].Output, true
}

// maxOutputRows bounds what is searched for slices.
const maxOutputRows = 1000

// OutputRows is the output of a generator as makers state it: rows in any
// order, either one for each combination of conditions, or slices that change
// one condition at a time from a common base. Safe for use by several
// goroutines.
type OutputRows struct {
	grid   *OutputTable // every combination; nil where the rows are slices
	base   [4]float64   // purity, power and coolant temperature common to the slices; flow unused
	slices [4]*OutputTable
}

// NewOutputRows sorts rows into a table of every combination or, where some are
// not there, into slices: the base is the purity, power and coolant
// temperature from which most rows differ in one of them at the most, and
// along each other condition those values count at which every flow of the
// base was measured.
//
// relError is the stated relative error, 0 to 0.5. No rows: an error that wraps
// [ErrNoTable]; two rows of one point: one that wraps [ErrContradiction].
func NewOutputRows(rows []OutputRow, relError float64) (*OutputRows, error) {
	if len(rows) == 0 {
		return nil, fmt.Errorf("generator output: %w: give rows of feed flow, purity, power, coolant temperature and output", ErrNoTable)
	}
	if len(rows) > maxOutputRows {
		return nil, fmt.Errorf("generator output of %d rows: %w: at most %d", len(rows), fluid.ErrOutOfRange, maxOutputRows)
	}
	for i := range rows {
		r := &rows[i]
		for _, x := range [5]float64{r.Flow, r.Purity, r.Power, r.Coolant, r.Output} {
			if err := fluid.Within("generator output row", x, 0, 1e9, ""); err != nil {
				return nil, fmt.Errorf("row %d: %w", i+1, err)
			}
		}
	}
	at := sortedRows(slices.Clone(rows))
	slices.SortFunc(at, func(a, b OutputRow) int { return compareConditions(a.conditions(), b.conditions()) })
	for i := range at[1:] {
		if key := at[i].conditions(); key == at[i+1].conditions() {
			return nil, &ContradictionError{Reason: fmt.Sprintf("generator output: two rows at %.6g mol/s, purity %.4g, %.6g W and %.5g K", key[0], key[1], key[2], key[3])}
		}
	}
	var axes [4]OutputAxis
	for k := range axes {
		axes[k] = distinctValues(rows, k)
	}
	o := &OutputRows{}
	if grid := tableOver(axes, at, relError); grid != nil {
		o.grid = grid
		return o, grid.check()
	}
	o.base = commonBase(rows)
	var flows OutputAxis
	for _, f := range axes[0] {
		if _, ok := at.at([4]float64{f, o.base[1], o.base[2], o.base[3]}); ok {
			flows = append(flows, f)
		}
	}
	for k := range o.slices {
		slice := [4]OutputAxis{flows, {o.base[1]}, {o.base[2]}, {o.base[3]}}
		if k > 0 {
			slice[k] = fullValues(axes[k], k, flows, o.base, at)
		}
		o.slices[k] = tableOver(slice, at, relError)
		if err := o.slices[k].check(); err != nil {
			return nil, err
		}
	}
	return o, nil
}

// distinctValues lists the values of one condition, rising.
func distinctValues(rows []OutputRow, axis int) OutputAxis {
	out := make(OutputAxis, len(rows))
	for i := range rows {
		out[i] = rows[i].conditions()[axis]
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// commonBase is the purity, power and coolant temperature from which most rows differ in one of the three at the most, the
// first such in the order of the rows.
func commonBase(rows []OutputRow) [4]float64 {
	count := map[[4]float64]int{}
	for i := range rows {
		count[[4]float64{0, rows[i].Purity, rows[i].Power, rows[i].Coolant}]++
	}
	most := -1
	var best [4]float64
	seen := map[[4]float64]bool{}
	for i := range rows {
		base := [4]float64{0, rows[i].Purity, rows[i].Power, rows[i].Coolant}
		if seen[base] {
			continue
		}
		seen[base] = true
		near := 0
		for other, n := range count {
			differ := 0
			for k := 1; k < 4; k++ {
				if other[k] != base[k] {
					differ++
				}
			}
			if differ <= 1 {
				near += n
			}
		}
		if near > most {
			most, best = near, base
		}
	}
	return best
}

// fullValues lists the values of a condition at which every flow was measured with the others at the base.
func fullValues(axis OutputAxis, k int, flows OutputAxis, base [4]float64, at sortedRows) OutputAxis {
	var out OutputAxis
	for _, x := range axis {
		full := true
		for _, f := range flows {
			key := base
			key[0], key[k] = f, x
			_, ok := at.at(key)
			full = full && ok
		}
		if full {
			out = append(out, x)
		}
	}
	return out
}

// tableOver gathers the outputs of every combination; nil where one is not there.
func tableOver(axes [4]OutputAxis, at sortedRows, relError float64) *OutputTable {
	t := &OutputTable{Flow: axes[0], Purity: axes[1], Power: axes[2], Coolant: axes[3], Error: relError}
	for _, f := range axes[0] {
		for _, y := range axes[1] {
			for _, p := range axes[2] {
				for _, c := range axes[3] {
					x, ok := at.at([4]float64{f, y, p, c})
					if !ok {
						return nil
					}
					if t.Output == nil {
						t.Output = make([]float64, 0, len(at)) // there are no more combinations than rows, or one is not there
					}
					t.Output = append(t.Output, x)
				}
			}
		}
	}
	return t
}

// At returns the output in kg/s at a point, by straight lines. Of slices the
// best value multiplies the effects of the conditions; the other end of the
// spread adds them, since they were not measured together. Outside the rows
// along any condition: an error that names it.
//
// Source: interpolation; no physics. Held by exact recovery of rows.
func (o *OutputRows) At(flow, purity, power, coolant float64) (fluid.Range, error) {
	x := [4]float64{flow, purity, power, coolant}
	if o.grid != nil {
		return o.grid.at(x)
	}
	base := o.base
	base[0] = flow
	b, err := o.slices[0].at(base)
	if err != nil {
		return fluid.Range{}, err
	}
	product, sum := b, b
	for k := 1; k < 4; k++ {
		point := base
		point[k] = x[k]
		s, err := o.slices[k].at(point)
		if err != nil {
			return fluid.Range{}, err
		}
		if b.Best <= 0 {
			continue
		}
		ratio := s.Best / b.Best
		extra := max(0, (s.High-s.Best)-(b.High-b.Best)*ratio)
		product, sum = product.Scale(ratio), sum.Add(fluid.Exact(s.Best-b.Best))
		product.Low, product.High = product.Low-extra, product.High+extra
		sum.Low, sum.High = sum.Low-extra, sum.High+extra
	}
	r := product.Envelope(sum)
	r.Low, r.High = max(0, r.Low), max(0, r.High)
	return r, nil
}

// Span returns the ends of a condition for which the rows give an output.
func (o *OutputRows) Span(axis OutputCondition) (low, high float64) {
	a := o.along(axis).axes()[axis].axis
	return a[0], a[len(a)-1]
}

// along is the table in which a condition changes.
func (o *OutputRows) along(axis OutputCondition) *OutputTable {
	if o.grid != nil {
		return o.grid
	}
	return o.slices[axis]
}

// OutputCondition names a condition of the rows.
type OutputCondition int

// The conditions.
const (
	ConditionFlow OutputCondition = iota
	ConditionPurity
	ConditionPower
	ConditionCoolant
)

// Trend tells how the output moves along a condition over all rows: 1 if it
// rises somewhere and falls nowhere, -1 if the other way round, 0 otherwise.
// Where it has a trend, the end of the rows bounds what lies beyond it.
func (o *OutputRows) Trend(axis OutputCondition) int {
	t := o.along(axis)
	axes := t.axes()
	rises, falls := false, false
	stride := 1
	for k := len(axes) - 1; k > int(axis); k-- {
		stride *= len(axes[k].axis)
	}
	n := len(axes[axis].axis)
	for i, x := range t.Output {
		if i/stride%n == 0 {
			continue
		}
		before := t.Output[i-stride]
		rises, falls = rises || x > before, falls || x < before
	}
	switch {
	case rises && !falls:
		return 1
	case falls && !rises:
		return -1
	}
	return 0
}
