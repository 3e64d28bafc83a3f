package unitop

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"

	"github.com/skidrule/skidrule/internal/fluid"
)

// InjectorRow is one measured point of a venturi injector.
type InjectorRow struct {
	InletPressure  float64 // Pa absolute, motive inlet
	OutletPressure float64 // Pa absolute, below InletPressure
	MotiveFlow     float64 // m3/s; read only when the table says that it is stated
	SuctionFlow    float64 // mol/s of the table's gas, 0 or more
}

// SuctionPoint is one point of a suction curve: what the injector draws at a
// suction pressure, at one fixed inlet and outlet pressure.
type SuctionPoint struct {
	Pressure float64 // Pa absolute at the suction port
	Flow     float64 // mol/s of the table's gas; only ratios between points count
}

// InjectorTable is what a maker or a test bench states of an injector.
type InjectorTable struct {
	Rows            []InjectorRow
	MotiveStated    bool           // every row's MotiveFlow counts
	SuctionPressure float64        // Pa absolute at the suction port while the rows were measured
	GasMolarMass    float64        // kg/mol of the gas drawn while measuring; 0.0289652 for dry air
	GasTemperature  float64        // K of that gas at the suction port
	SuctionCurve    []SuctionPoint // empty when not stated; then only SuctionPressure can be asked for
	ReadingError    float64        // relative uncertainty of the stated flows, 0 to 0.5
}

// Limits on a table, so that checking it stays cheap.
const (
	maxInjectorRows = 2000
	maxSuctionCurve = 1000
)

// suctionTolerance is the relative difference within which a suction pressure
// counts as the table's own.
const suctionTolerance = 1e-6

// Injector is a checked table, ready to be read. It is safe for use by several
// goroutines.
type Injector struct {
	table  InjectorTable
	curves []injectorCurve // by rising inlet pressure
	curve  []SuctionPoint  // by rising pressure
}

// injectorCurve is the rows of one inlet pressure by rising outlet pressure.
type injectorCurve struct {
	inlet           float64
	outlet          []float64
	suction, motive []float64
	residual        []float64 // leave-one-out residual of the suction flow at each row
}

// NewInjector checks a table. Rows are read as one curve for each inlet
// pressure, so each needs at least two outlet pressures; pressures repeated with
// another flow are a contradiction. No rows: an error that wraps [ErrNoTable].
//
// Source: ISO 15873:2002 asks for tables of this kind (inlet, suction and outlet
// pressure and flow); the reading is interpolation, no physics.
func NewInjector(table InjectorTable) (*Injector, error) {
	if len(table.Rows) == 0 {
		return nil, fmt.Errorf("injector: %w: give rows of inlet pressure, outlet pressure and suction flow", ErrNoTable)
	}
	if len(table.Rows) > maxInjectorRows || len(table.SuctionCurve) > maxSuctionCurve {
		return nil, fmt.Errorf("injector table of %d rows and %d suction points: %w: at most %d and %d",
			len(table.Rows), len(table.SuctionCurve), fluid.ErrOutOfRange, maxInjectorRows, maxSuctionCurve)
	}
	if err := positive("table suction pressure", table.SuctionPressure, 1e7, "Pa absolute"); err != nil {
		return nil, err
	}
	if err := within(
		limit{"molar mass of the table's gas", table.GasMolarMass, 0.002, 0.3, "kg/mol"},
		limit{"temperature of the table's gas", table.GasTemperature, 200, 500, "K"},
		limit{"reading error of the table", table.ReadingError, 0, 0.5, ""},
	); err != nil {
		return nil, err
	}
	rows := slices.Clone(table.Rows)
	for i, r := range rows {
		if err := checkInjectorRow(r, table.MotiveStated); err != nil {
			return nil, fmt.Errorf("injector row %d: %w", i+1, err)
		}
	}
	slices.SortStableFunc(rows, func(a, b InjectorRow) int {
		return cmp.Or(cmp.Compare(a.InletPressure, b.InletPressure), cmp.Compare(a.OutletPressure, b.OutletPressure))
	})
	table.Rows = rows
	in := &Injector{table: table}
	if err := in.buildCurves(); err != nil {
		return nil, err
	}
	if err := in.buildSuctionCurve(); err != nil {
		return nil, err
	}
	return in, nil
}

func checkInjectorRow(r InjectorRow, motive bool) error {
	if err := positive("inlet pressure", r.InletPressure, 1e8, "Pa absolute"); err != nil {
		return err
	}
	if err := positive("outlet pressure", r.OutletPressure, 1e8, "Pa absolute"); err != nil {
		return err
	}
	if r.OutletPressure >= r.InletPressure {
		return &ContradictionError{Reason: fmt.Sprintf("outlet pressure %.6g Pa is not below inlet pressure %.6g Pa", r.OutletPressure, r.InletPressure)}
	}
	if motive {
		if err := positive("motive flow", r.MotiveFlow, 1e3, "m3/s"); err != nil {
			return err
		}
	}
	return within(limit{"suction flow", r.SuctionFlow, 0, 1e5, "mol/s"})
}

// buildCurves splits the sorted rows into curves, whose columns share their memory.
func (in *Injector) buildCurves() error {
	rows := in.table.Rows
	columns := make([]float64, 4*len(rows))
	column := func(n int) (c []float64) {
		c, columns = columns[:n:n], columns[n:]
		return c
	}
	for first, last := 0, 0; first < len(rows); first = last {
		for last = first + 1; last < len(rows) && rows[last].InletPressure == rows[first].InletPressure; last++ {
		}
		n := last - first
		c := injectorCurve{inlet: rows[first].InletPressure, outlet: column(n), suction: column(n), motive: column(n), residual: column(n)}
		for i, r := range rows[first:last] {
			if i > 0 && c.outlet[i-1] == r.OutletPressure {
				return &ContradictionError{Reason: fmt.Sprintf(
					"inlet %.6g Pa and outlet %.6g Pa stand in two rows (%.4g and %.4g mol/s)",
					r.InletPressure, r.OutletPressure, c.suction[i-1], r.SuctionFlow)}
			}
			c.outlet[i], c.suction[i], c.motive[i] = r.OutletPressure, r.SuctionFlow, r.MotiveFlow
		}
		in.curves = append(in.curves, c)
	}
	for i := range in.curves {
		c := &in.curves[i]
		if len(c.outlet) < 2 {
			return fmt.Errorf("injector: %w: inlet pressure %.6g Pa has one outlet pressure only; a curve needs two", ErrNoTable, c.inlet)
		}
		c.leaveOneOut()
	}
	return nil
}

// leaveOneOut fills the residuals: how far each inner row lies from the line
// between its neighbours. An end row takes the residual of the row next to it.
func (c *injectorCurve) leaveOneOut() {
	n := len(c.outlet)
	for i := 1; i < n-1; i++ {
		w := (c.outlet[i] - c.outlet[i-1]) / (c.outlet[i+1] - c.outlet[i-1])
		line := c.suction[i-1] + w*(c.suction[i+1]-c.suction[i-1])
		c.residual[i] = math.Abs(c.suction[i] - line)
	}
	c.residual[0], c.residual[n-1] = c.residual[1], c.residual[n-2]
}

// buildSuctionCurve sorts and checks the suction curve; it must hold the
// table's own suction pressure, else the two cannot be tied together.
func (in *Injector) buildSuctionCurve() error {
	if len(in.table.SuctionCurve) == 0 {
		return nil
	}
	curve := slices.Clone(in.table.SuctionCurve)
	slices.SortStableFunc(curve, func(a, b SuctionPoint) int { return cmp.Compare(a.Pressure, b.Pressure) })
	for i, p := range curve {
		if err := positive("suction pressure of the suction curve", p.Pressure, 1e7, "Pa absolute"); err != nil {
			return err
		}
		if err := within(limit{"flow of the suction curve", p.Flow, 0, 1e5, "mol/s"}); err != nil {
			return err
		}
		if i > 0 && curve[i-1].Pressure == p.Pressure {
			return &ContradictionError{Reason: fmt.Sprintf("suction pressure %.6g Pa stands in the suction curve twice", p.Pressure)}
		}
	}
	in.curve = curve
	at, _, err := in.curveFlow(in.table.SuctionPressure)
	if err != nil {
		return fmt.Errorf("suction curve does not hold the suction pressure of the table: %w", err)
	}
	if at <= 0 {
		return &ContradictionError{Reason: fmt.Sprintf(
			"the suction curve draws nothing at %.6g Pa, where the table was measured", in.table.SuctionPressure)}
	}
	return nil
}

// curveFlow reads the suction curve and its slope at a suction pressure.
func (in *Injector) curveFlow(p float64) (flow, slope float64, err error) {
	n := len(in.curve)
	if n == 0 {
		return 0, 0, fmt.Errorf("suction pressure %.6g Pa differs from %.6g Pa of the table: %w: no suction curve is stated", p, in.table.SuctionPressure, ErrNoTable)
	}
	low, high := in.curve[0].Pressure, in.curve[n-1].Pressure
	if !(p >= low && p <= high) {
		return 0, 0, newInjectorRange(AxisSuction, p, low, high)
	}
	if n == 1 {
		return in.curve[0].Flow, 0, nil
	}
	i := sort.Search(n, func(i int) bool { return in.curve[i].Pressure >= p })
	i = max(i, 1)
	a, b := in.curve[i-1], in.curve[i]
	slope = (b.Flow - a.Flow) / (b.Pressure - a.Pressure)
	return a.Flow + slope*(p-a.Pressure), slope, nil
}

// InjectorAxis names the pressure that lies outside the table.
type InjectorAxis string

// The three pressures of an injector.
const (
	AxisInlet   InjectorAxis = "inlet pressure"
	AxisOutlet  InjectorAxis = "outlet pressure"
	AxisSuction InjectorAxis = "suction pressure"
)

// InjectorRangeError says on which side of the table a pressure lies. It wraps
// fluid.ErrOutOfRange (fluid.ErrNotFinite for a value that is not finite).
type InjectorRangeError struct {
	Axis      InjectorAxis
	Above     bool    // above High; otherwise below Low
	Value     float64 // Pa absolute
	Low, High float64 // Pa absolute, what the table holds there
	Kind      error
}

func newInjectorRange(axis InjectorAxis, value, low, high float64) *InjectorRangeError {
	e := &InjectorRangeError{Axis: axis, Above: value > high, Value: value, Low: low, High: high, Kind: fluid.ErrOutOfRange}
	if math.IsNaN(value) || math.IsInf(value, 0) {
		e.Kind = fluid.ErrNotFinite
	}
	return e
}

// Error names the side and the span.
func (e *InjectorRangeError) Error() string {
	side := "below"
	if e.Above {
		side = "above"
	}
	return fmt.Sprintf("injector %s %.6g Pa is %s the table, which holds %.6g to %.6g Pa: %v", e.Axis, e.Value, side, e.Low, e.High, e.Kind)
}

// Unwrap gives the kind.
func (e *InjectorRangeError) Unwrap() error { return e.Kind }

// InletSpan returns the lowest and highest inlet pressure of the table in Pa
// absolute.
func (in *Injector) InletSpan() (low, high float64) {
	return in.curves[0].inlet, in.curves[len(in.curves)-1].inlet
}

// OutletSpan returns the lowest and highest outlet pressure in Pa absolute that
// the table covers at an inlet pressure; between two curves the ends are
// interpolated.
func (in *Injector) OutletSpan(inlet float64) (low, high float64, err error) {
	a, b, w, err := in.between(inlet)
	if err != nil {
		return 0, 0, err
	}
	low, high = outletSpan(a, b, w)
	return low, high, nil
}

// SuctionSpan returns the suction pressures in Pa absolute that can be asked
// for: the suction curve's, or only the table's own.
func (in *Injector) SuctionSpan() (low, high float64) {
	if n := len(in.curve); n > 0 {
		return in.curve[0].Pressure, in.curve[n-1].Pressure
	}
	return in.table.SuctionPressure, in.table.SuctionPressure
}

func outletSpan(a, b *injectorCurve, w float64) (low, high float64) {
	return lerp(a.outlet[0], b.outlet[0], w), lerp(a.outlet[len(a.outlet)-1], b.outlet[len(b.outlet)-1], w)
}

func lerp(a, b, w float64) float64 { return a + w*(b-a) }

// between returns the curves below and above an inlet pressure and the weight
// of the upper one; on a curve both are that curve.
func (in *Injector) between(inlet float64) (a, b *injectorCurve, w float64, err error) {
	low, high := in.InletSpan()
	if !(inlet >= low && inlet <= high) {
		return nil, nil, 0, newInjectorRange(AxisInlet, inlet, low, high)
	}
	i := sort.Search(len(in.curves), func(i int) bool { return in.curves[i].inlet >= inlet })
	if in.curves[i].inlet == inlet {
		return &in.curves[i], &in.curves[i], 0, nil
	}
	a, b = &in.curves[i-1], &in.curves[i]
	return a, b, (inlet - a.inlet) / (b.inlet - a.inlet), nil
}
