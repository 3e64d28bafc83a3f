package unitop

import (
	"fmt"
	"math"

	"github.com/skidrule/skidrule/internal/fluid"
)

// MilligramMinutePerLitre is one mg min/L, the unit of CT in regulations, in
// kg s/m3.
const MilligramMinutePerLitre = 0.06

// Baffling factors T10/T of vessels.
// Source: US EPA, Disinfection Profiling and Benchmarking Guidance Manual,
// table of baffling factors; verified.
const (
	BafflingPoor     = 0.3 // single or multiple unbaffled inlets and outlets
	BafflingAverage  = 0.5 // baffled inlet or outlet with some baffles inside
	BafflingSuperior = 0.7 // perforated inlet baffle, serpentine inside
)

// T10 returns the time in s that all but a tenth of the water stays in a
// vessel at the least: ratio V / Q.
//
//   - volume: water volume in m3, above 0.
//   - flow: water flow in m3/s, above 0.
//   - ratio: T10/T, above 0 to 1, from a tracer test or a baffling class.
//
// Outside the range: an error.
//
// Source: US EPA, Disinfection Profiling and Benchmarking Guidance Manual,
// chapter on contact time.
func T10(volume, flow float64, ratio fluid.Range) (fluid.Range, error) {
	if err := positive("water volume", volume, 1e6, "m3"); err != nil {
		return fluid.Range{}, err
	}
	if err := positive("water flow", flow, 1e3, "m3/s"); err != nil {
		return fluid.Range{}, err
	}
	if err := positiveRange("T10/T", ratio, 1, ""); err != nil {
		return fluid.Range{}, err
	}
	return ratio.Scale(volume / flow), nil
}

// maxOzone is more dissolved ozone in kg/m3 than water can hold below 2 MPa.
const maxOzone = 50.0

// checkRange checks order and finiteness of a range and both ends of it.
func checkRange(name string, r fluid.Range, low, high float64, unit string) error {
	if err := r.Check(name); err != nil {
		return err
	}
	return within(limit{name, r.Low, low, high, unit}, limit{name, r.High, low, high, unit})
}

// positiveRange is [checkRange] from zero, which is not allowed itself.
func positiveRange(name string, r fluid.Range, high float64, unit string) error {
	if err := checkRange(name, r, 0, high, unit); err != nil {
		return err
	}
	return fluid.Positive(name, r.Low, unit)
}

// Organism is what disinfection is measured on.
type Organism int

// The organisms of the United States surface water rules.
const (
	Giardia         Organism = iota + 1 // Giardia lamblia cysts
	Virus                               // enteric viruses
	Cryptosporidium                     // Cryptosporidium oocysts
)

// String gives the name of the organism.
func (o Organism) String() string {
	switch o {
	case Giardia:
		return "Giardia"
	case Virus:
		return "virus"
	case Cryptosporidium:
		return "Cryptosporidium"
	}
	return fmt.Sprintf("Organism(%d)", int(o))
}

// ctEquation is log inactivation = a b^(degC) CT with CT in mg min/L.
type ctEquation struct{ a, b float64 }

// ctTable is the CT in mg min/L that a regulation asks for a log inactivation
// at the temperatures of ctColumns.
type ctTable struct {
	log float64
	ct  [6]float64
}

// ctColumns are the temperatures of the tables in degC; the first stands for
// all of 1 degC and below.
var ctColumns = [6]float64{1, 5, 10, 15, 20, 25}

// organismRules are equation and table of each organism.
//
// Source of the equations: US EPA 815-R-20-003 (2020), equations 4-4 to 4-7,
// as an independent open-source water library attributes them (cross-checked,
// not read in the manual). Source of the tables: US EPA 815-R-20-003, Table
// B-5 (Giardia, 3 log) and Table B-6 (virus, 4 log), every cell verified by a
// transcription of the manual. 40 CFR 141.74 prints 1.4 for Giardia at 10 degC
// (from memory) where the manual has 1.43, which asks for more.
var organismRules = map[Organism]struct {
	equation ctEquation
	table    *ctTable
	highest  float64 // log inactivation up to which the basis reaches
}{
	Giardia:         {ctEquation{1.038, 1.0741}, &ctTable{3, [6]float64{2.9, 1.9, 1.43, 0.95, 0.72, 0.48}}, 3},
	Virus:           {ctEquation{2.1744, 1.0726}, &ctTable{4, [6]float64{1.8, 1.2, 1.0, 0.6, 0.5, 0.3}}, 4},
	Cryptosporidium: {ctEquation{0.0397, 1.09757}, nil, 3},
}

// cryptosporidiumSpread is the relative uncertainty of the Cryptosporidium
// equation: the widest distance between it and the remembered cells of the
// table of 40 CFR 141.720(b), which could not be read.
const cryptosporidiumSpread = 0.05

// Inactivation is a calculated log inactivation. Credit is the regulator's to
// give; this is a calculation, not a credit.
type Inactivation struct {
	Organism     Organism
	Equation     fluid.Range // log by the closed-form equation
	HasTable     bool        // whether there is a table for this organism
	Table        fluid.Range // log by the table, column of the next lower temperature; zero without a table
	Interpolated fluid.Range // log by the table, linear between columns; zero without a table
	Binding      fluid.Range // the log to use: see Basis
	Basis        string      // which of the above is binding and why
	Beyond       bool        // true when Binding.High passes the log range of the basis: an extrapolation
}

// checkDisinfection returns an error unless the state of the water lies in the
// range of tables and equations.
func checkDisinfection(o Organism, t, ph float64) error {
	if _, ok := organismRules[o]; !ok {
		return fmt.Errorf("organism %v is not known: Giardia, virus or Cryptosporidium", o)
	}
	return within(
		limit{"water temperature", t, 273.15, 303.15, "K"},
		limit{"pH", ph, 6, 9, ""},
	)
}

// LogInactivation returns the log inactivation that ozone brings about,
// calculated from CT by the table (Giardia, virus) and by the equation.
//
//   - o: organism.
//   - t: water temperature, 273.15 to 303.15 K (0 to 30 degC).
//   - ph: 6 to 9.
//   - ct: CT in kg s/m3, not negative.
//
// Binding for Giardia and virus is the table of the regulation, at the column
// of the next lower temperature, log in proportion to CT (40 CFR 141.534): at
// 1 degC the equation would ask for CT 2.69 where the table asks 2.9. Above
// 25 degC the 25 degC column goes on. For Cryptosporidium the equation is
// binding, less 5 % at the low end. Outside the range: an error.
//
// The closed form over-predicts Giardia above CT of about 1 mg min/L and is
// conservative for virus, says a critical review of ozone disinfection.
//
// Source: see organismRules: US EPA 815-R-20-003, 40 CFR 141.74 and 141.720.
func LogInactivation(o Organism, t, ph float64, ct fluid.Range) (Inactivation, error) {
	if err := checkDisinfection(o, t, ph); err != nil {
		return Inactivation{}, err
	}
	if err := checkRange("CT", ct, 0, 1e6, "kg s/m3"); err != nil {
		return Inactivation{}, err
	}
	rule := organismRules[o]
	celsius := t - zeroCelsius
	mgmin := ct.Scale(1 / MilligramMinutePerLitre)
	in := Inactivation{Organism: o, Equation: mgmin.Scale(rule.equation.k10(celsius))}
	if rule.table == nil {
		in.Binding = fluid.Range{
			Low:  in.Equation.Low * (1 - cryptosporidiumSpread),
			Best: in.Equation.Best,
			High: in.Equation.High * (1 + cryptosporidiumSpread),
		}
		in.Basis = "equation of US EPA 815-R-20-003, within 5 % of the table of 40 CFR 141.720(b) as remembered; the table itself is binding in law"
	} else {
		in.HasTable = true
		in.Table = mgmin.Scale(rule.table.log / rule.table.lower(celsius))
		in.Interpolated = mgmin.Scale(rule.table.log / rule.table.linear(celsius))
		in.Binding = in.Table
		in.Basis = "CT table of US EPA 815-R-20-003 (40 CFR 141.74), column of the next lower temperature, log in proportion to CT; the equation is shown for comparison"
	}
	in.Beyond = in.Binding.High > rule.highest
	return in, nil
}

// k10 returns the log inactivation for one mg min/L at a temperature in degC.
func (e ctEquation) k10(celsius float64) float64 {
	return e.a * math.Pow(e.b, celsius)
}

// lower returns the CT at the column of the next lower temperature.
func (c *ctTable) lower(celsius float64) float64 {
	ct := c.ct[0]
	for i, t := range ctColumns {
		if celsius >= t {
			ct = c.ct[i]
		}
	}
	return ct
}

// linear returns the CT between the columns by straight lines; below the first
// and above the last column their values go on, as the tables say for the
// first and as is safe for the last.
func (c *ctTable) linear(celsius float64) float64 {
	for i := 1; i < len(ctColumns); i++ {
		if celsius <= ctColumns[i] {
			f := max(0, (celsius-ctColumns[i-1])/(ctColumns[i]-ctColumns[i-1]))
			return c.ct[i-1] + f*(c.ct[i]-c.ct[i-1])
		}
	}
	return c.ct[len(c.ct)-1]
}

// RequiredCT is the CT in kg s/m3 for a log inactivation.
type RequiredCT struct {
	Equation fluid.Range // by the closed-form equation; Cryptosporidium with its 5 %
	HasTable bool        // whether there is a table
	Table    float64     // by the table, column of the next lower temperature; zero without one
	Binding  fluid.Range // the CT to reach: table where there is one, else equation
}

// CTForLog returns the CT that a log inactivation asks for; the inverse of
// [LogInactivation] with the same basis.
//
//   - o: organism.
//   - t: water temperature, 273.15 to 303.15 K.
//   - ph: 6 to 9.
//   - log: log inactivation, above 0 to 3 (Giardia, Cryptosporidium) or 4
//     (virus), to which the published basis reaches.
//
// Outside the range: an error.
func CTForLog(o Organism, t, ph, log float64) (RequiredCT, error) {
	if err := checkDisinfection(o, t, ph); err != nil {
		return RequiredCT{}, err
	}
	rule := organismRules[o]
	if err := positive("log inactivation of "+o.String(), log, rule.highest, ""); err != nil {
		return RequiredCT{}, err
	}
	celsius := t - zeroCelsius
	equation := fluid.Exact(log / rule.equation.k10(celsius) * MilligramMinutePerLitre)
	if rule.table == nil {
		equation = fluid.Spread(equation.Best, cryptosporidiumSpread)
		return RequiredCT{Equation: equation, Binding: equation}, nil
	}
	table := log / rule.table.log * rule.table.lower(celsius) * MilligramMinutePerLitre
	return RequiredCT{Equation: equation, HasTable: true, Table: table, Binding: fluid.Exact(table)}, nil
}

// StirredLogInactivation returns the log inactivation of a row of equal, well
// stirred cells: n log10(1 + 2.303 k10 C T / n).
//
//   - o: organism, whose equation gives k10.
//   - t: water temperature, 273.15 to 303.15 K.
//   - ph: 6 to 9.
//   - residual: ozone in the cells in kg/m3, not negative.
//   - time: mean residence time of all cells together in s, not negative.
//   - cells: number of cells, 1 to 100.
//
// Outside the range: an error.
//
// Source: US EPA, LT2 Toolbox Guidance Manual (2010), chapter 11, CSTR method,
// formula from memory.
func StirredLogInactivation(o Organism, t, ph float64, residual fluid.Range, time float64, cells int) (fluid.Range, error) {
	if err := checkDisinfection(o, t, ph); err != nil {
		return fluid.Range{}, err
	}
	if err := checkRange("residual ozone", residual, 0, maxOzone, "kg/m3"); err != nil {
		return fluid.Range{}, err
	}
	if err := within(limit{"residence time", time, 0, 1e9, "s"}, limit{"number of cells", float64(cells), 1, 100, ""}); err != nil {
		return fluid.Range{}, err
	}
	k10 := organismRules[o].equation.k10(t - zeroCelsius)
	n := float64(cells)
	return residual.Map(func(c float64) float64 {
		return n * math.Log10(1+math.Ln10*k10*c*time/MilligramMinutePerLitre/n)
	}), nil
}
