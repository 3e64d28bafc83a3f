package unitop

import (
	"fmt"
	"math"
	"sort"
)

// OutletForSuction returns the outlet pressure in Pa absolute at which the
// injector draws the wanted flow of the table's gas (mol/s, 0 or more) at an
// inlet and a suction pressure (Pa absolute). Between rows the flow is linear in
// the outlet pressure, so every solution is found exactly. A flow that the table
// does not reach wraps [ErrNoSolution]; more than one outlet pressure, or a
// plateau at that flow, wraps [ErrTwoRoots] and lists them.
func (in *Injector) OutletForSuction(inlet, suction, flow float64) (float64, error) {
	if err := within(limit{"wanted suction flow", flow, 0, 1e5, "mol/s"}); err != nil {
		return 0, err
	}
	a, b, w, err := in.between(inlet)
	if err != nil {
		return 0, err
	}
	low, high := outletSpan(a, b, w)
	nodes := in.outletNodes(a, b, low, high)
	read := func(p float64) (float64, error) {
		s, err := in.Suction(inlet, math.Min(high, math.Max(low, p)), suction)
		return s.Flow, err
	}
	return solveAlong(nodes, read, flow, fmt.Sprintf("suction flow of %.6g mol/s at inlet %.6g Pa", flow, inlet), "outlet")
}

// outletNodes returns the outlet pressures between which the joined reading is
// linear: the rows of both curves, moved to the span at the inlet pressure.
func (in *Injector) outletNodes(a, b *injectorCurve, low, high float64) []float64 {
	nodes := []float64{low, high}
	for _, c := range []*injectorCurve{a, b} {
		first, last := c.outlet[0], c.outlet[len(c.outlet)-1]
		for _, p := range c.outlet {
			nodes = append(nodes, lerp(low, high, (p-first)/(last-first)))
		}
	}
	return distinct(nodes, high-low)
}

// distinct sorts the nodes and drops those that differ by rounding only.
func distinct(nodes []float64, span float64) []float64 {
	sort.Float64s(nodes)
	kept := nodes[:1]
	for _, p := range nodes[1:] {
		if p-kept[len(kept)-1] > 1e-12*span {
			kept = append(kept, p)
		}
	}
	return kept
}

// inletSamples is the number of pieces into which the inlet pressure between
// two curves is cut when solutions are looked for. Along the inlet the joined
// reading is smooth between the places where a row is passed, so two solutions
// closer than a piece could be missed; each piece is then 1/200 of the step
// between two curves.
const inletSamples = 200

// maxInletNodes bounds the pieces of a table of very many inlet pressures.
const maxInletNodes = 20000

// InletForSuction returns the inlet pressure in Pa absolute at which the
// injector draws the wanted flow of the table's gas (mol/s) at an outlet and a
// suction pressure (Pa absolute). Solutions are bracketed on 200 pieces between
// each two inlet pressures of the table (fewer when the table has more than 100
// of them) and refined by bisection. Errors as for
// [Injector.OutletForSuction].
func (in *Injector) InletForSuction(outlet, suction, flow float64) (float64, error) {
	if err := within(
		limit{"wanted suction flow", flow, 0, 1e5, "mol/s"},
		limit{"outlet pressure", outlet, 0, 1e8, "Pa absolute"},
	); err != nil {
		return 0, err
	}
	wanted := fmt.Sprintf("suction flow of %.6g mol/s at outlet %.6g Pa", flow, outlet)
	pieces := max(1, min(inletSamples, maxInletNodes/len(in.curves)))
	var nodes []float64
	for i := range in.curves {
		nodes = append(nodes, in.curves[i].inlet)
		if i+1 == len(in.curves) {
			break
		}
		for k := 1; k < pieces; k++ {
			nodes = append(nodes, lerp(in.curves[i].inlet, in.curves[i+1].inlet, float64(k)/float64(pieces)))
		}
	}
	var covered []float64
	for _, p := range nodes {
		if low, high, err := in.OutletSpan(p); err == nil && outlet >= low && outlet <= high {
			covered = append(covered, p)
		}
	}
	if len(covered) == 0 {
		low, high := math.Inf(1), math.Inf(-1)
		for i := range in.curves {
			c := &in.curves[i]
			low, high = math.Min(low, c.outlet[0]), math.Max(high, c.outlet[len(c.outlet)-1])
		}
		return 0, newInjectorRange(AxisOutlet, outlet, low, high)
	}
	read := func(p float64) (float64, error) {
		low, high, err := in.OutletSpan(p)
		if err != nil {
			return 0, err
		}
		s, err := in.Suction(p, math.Min(high, math.Max(low, outlet)), suction)
		return s.Flow, err
	}
	return solveAlong(covered, read, flow, wanted, "inlet")
}

// solveAlong looks for every place where the reading passes the wanted flow
// between nodes, and refines each by bisection. Neighbouring nodes at exactly
// the wanted flow are one plateau, reported by its two ends.
func solveAlong(nodes []float64, read func(float64) (float64, error), flow float64, wanted, axis string) (float64, error) {
	values := make([]float64, len(nodes))
	least, most := math.Inf(1), math.Inf(-1)
	for i, p := range nodes {
		v, err := read(p)
		if err != nil {
			return 0, err
		}
		values[i] = v
		least, most = math.Min(least, v), math.Max(most, v)
	}
	// Readings that differ by rounding only are the same flow.
	same := func(v float64) bool { return math.Abs(v-flow) <= 1e-12*math.Max(most, 1e-12) }
	var roots []float64
	for i := 0; i < len(nodes); i++ {
		if same(values[i]) {
			start := i
			for i+1 < len(nodes) && same(values[i+1]) {
				i++
			}
			roots = append(roots, nodes[start])
			if i > start {
				roots = append(roots, nodes[i])
			}
		}
		if i+1 < len(nodes) && !same(values[i]) && !same(values[i+1]) && (values[i] < flow) != (values[i+1] < flow) {
			root, err := bisect(nodes[i], nodes[i+1], values[i] < flow, read, flow)
			if err != nil {
				return 0, err
			}
			roots = append(roots, root)
		}
	}
	switch len(roots) {
	case 0:
		return 0, &NoSolutionError{Wanted: wanted, Reach: fmt.Sprintf("the table gives %.6g to %.6g mol/s for %s pressures of %.6g to %.6g Pa",
			least, most, axis, nodes[0], nodes[len(nodes)-1])}
	case 1:
		return roots[0], nil
	default:
		return 0, &TwoRootsError{Wanted: wanted, Roots: roots, Unit: "Pa absolute " + axis + " pressure"}
	}
}

// bisect refines one solution between two nodes.
func bisect(low, high float64, rising bool, read func(float64) (float64, error), flow float64) (float64, error) {
	for range 200 {
		mid := low + (high-low)/2
		if mid <= low || mid >= high {
			break
		}
		v, err := read(mid)
		if err != nil {
			return 0, err
		}
		if (v < flow) == rising {
			low = mid
		} else {
			high = mid
		}
	}
	return low + (high-low)/2, nil
}

// SuctionLimit is where an injector stops drawing.
type SuctionLimit struct {
	Outlet float64 // Pa absolute, highest outlet pressure with suction, at the inlet pressure asked for
	Ratio  float64 // Outlet over inlet, both absolute
	Seen   bool    // the table holds a row without suction, so the limit lies inside it; otherwise it is only known to be at least this
}

// Limit returns the highest outlet pressure at which the injector still draws
// gas at an inlet pressure (Pa absolute), at the table's own suction pressure.
func (in *Injector) Limit(inlet float64) (SuctionLimit, error) {
	a, b, w, err := in.between(inlet)
	if err != nil {
		return SuctionLimit{}, err
	}
	low, high := outletSpan(a, b, w)
	nodes := in.outletNodes(a, b, low, high)
	// The flow is linear between nodes, so it ends at the node after the last
	// one that draws.
	last := -1
	for i, p := range nodes {
		if in.read(a, b, w, math.Min(high, math.Max(low, p)), low, high).Flow > 0 {
			last = i
		}
	}
	if last < 0 {
		return SuctionLimit{}, &NoSolutionError{
			Wanted: fmt.Sprintf("suction at inlet %.6g Pa", inlet),
			Reach:  "the table holds no suction at any outlet pressure there",
		}
	}
	limit := SuctionLimit{Seen: last+1 < len(nodes), Outlet: nodes[min(last+1, len(nodes)-1)]}
	limit.Ratio = limit.Outlet / inlet
	return limit, nil
}
