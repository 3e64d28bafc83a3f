package quantity

import (
	"math"
	"math/big"
	"strings"
)

// lowestGauge is the lowest gauge pressure that is accepted, in Pa: no vacuum
// is deeper than the atmosphere at the site, and at the lowest dry land, about
// 430 m below sea level, that is near 106.6 kPa in the standard atmosphere of
// ISO 2533; weather adds a few per cent.
const lowestGauge = -110000

// Parse reads text as a quantity of dimension d and returns its SI value, in
// the unit that [Dimension.SI] names (a fraction as a number from 0 to 1). The
// value is correctly rounded. The error is always of type *[Error].
//
// Refused besides text that is not understood: another dimension, a plain
// pressure where gauge or absolute is needed (and gauge for absolute and the
// reverse, which differ by the site's atmospheric pressure), an absolute
// pressure or temperature below zero, a gauge pressure below -1.1 bar, a
// fraction outside 0 to 1, and a value that no finite float64 other than zero
// can hold.
func Parse(text string, d Dimension) (float64, error) {
	f, fault := fold(text)
	if fault != nil {
		return 0, fault
	}
	if !d.Valid() {
		return 0, f.fault(0, "no dimension to read it as", "")
	}
	v, fault := parse(f, d)
	if fault != nil {
		return 0, fault
	}
	return v, nil
}

func parse(f *folded, d Dimension) (float64, *Error) {
	start, end := f.trim(0, len(f.text))
	if start == end {
		return 0, f.fault(0, "empty", "write a number and a unit; "+fits(d))
	}
	var prefix string
	if d == FlowCoefficient { // "Kv 2.5" is as common as "2.5 Kv"
		for _, name := range []string{"Kv", "Cv"} {
			if strings.HasPrefix(f.text[start:end], name+" ") {
				prefix = name
				start = skipSpaces(f.text, start+len(name))
				break
			}
		}
	}
	n, fault := scanNumber(f, start, d)
	if fault != nil {
		return 0, fault
	}
	n.end = min(n.end, end) // trailing spaces are no unit
	var c conversion
	switch {
	case prefix != "" && n.end < end:
		return 0, f.fault(n.end, "a unit after "+quote(prefix+" "+n.text), "write "+n.text+" "+prefix)
	case prefix != "":
		c = conversion{scale: units.byName[prefix].scale}
	case n.end >= end && d != Ratio:
		return 0, f.fault(end, "a number without a unit", "write the unit of the "+d.Noun()+"; "+fits(d))
	default:
		c, fault = convert(f, n.end, end, d, n.text)
		if fault != nil {
			return 0, fault
		}
	}
	return c.apply(f, start, n, d)
}

// fitting lists the units to name in a message.
func fitting(d Dimension) string {
	if d == Ratio {
		return "none (a plain number) or %"
	}
	return strings.Join(d.Units(), ", ")
}

// fits suggests the units of a dimension.
func fits(d Dimension) string { return "units that fit: " + fitting(d) }

// conversion turns a number in some unit into the SI value: zero + scale × x,
// or for a mixture of gases a function of its own.
type conversion struct {
	scale   *big.Rat
	zero    *big.Rat // nil for 0
	mixture func(x *big.Rat) (*big.Rat, bool)
}

// apply converts n, checks the bounds of d and rounds.
func (c conversion) apply(f *folded, at int, n number, d Dimension) (float64, *Error) {
	v := new(big.Rat)
	if c.mixture != nil {
		var ok bool
		if v, ok = c.mixture(n.value); !ok {
			return 0, f.fault(at, "more of it than the whole gas", "write at most pure ozone")
		}
	} else {
		v.Mul(n.value, c.scale)
		if c.zero != nil {
			v.Add(v, c.zero)
		}
	}
	if fault := bounds(f, at, v, d); fault != nil {
		return 0, fault
	}
	x, _ := v.Float64()
	switch {
	case math.IsInf(x, 0):
		return 0, f.fault(at, "too large a number", "write a number between 1e-300 and 1e300")
	case x == 0 && v.Sign() != 0:
		return 0, f.fault(at, "too small a number to tell from 0", "write 0, or a number between 1e-300 and 1e300")
	case x == 0 && n.negative && n.value.Sign() == 0:
		return math.Copysign(0, -1), nil
	}
	return x, nil
}

var (
	one           = exact("1")
	lowestGaugeSI = new(big.Rat).SetInt64(lowestGauge)
)

// bounds refuses what cannot be in nature.
func bounds(f *folded, at int, si *big.Rat, d Dimension) *Error {
	switch d {
	case PressureAbsolute:
		if si.Sign() < 0 {
			return f.fault(at, "an absolute pressure below vacuum", "write 0 or more, or a gauge pressure where the field is one")
		}
	case PressureGauge:
		if si.Cmp(lowestGaugeSI) < 0 {
			return f.fault(at, "a vacuum deeper than the atmosphere (gauge pressure below -1.1 bar)", "write a gauge pressure above -1.1 bar(g)")
		}
	case Temperature:
		if si.Sign() < 0 {
			return f.fault(at, "a temperature below absolute zero (-273.15 degC)", "write a temperature from 0 K upward")
		}
	case MassFraction, MoleFraction:
		if si.Sign() < 0 || si.Cmp(one) > 0 {
			return f.fault(at, article(d.Noun())+" outside 0 to 100 %", "write a fraction of the whole")
		}
	}
	return nil
}

// convert finds the meaning of the unit in f.text[from:to] for dimension d.
// amount is the text of the number, for suggestions.
func convert(f *folded, from, to int, d Dimension, amount string) (conversion, *Error) {
	text := f.text[from:to]
	if i := strings.Index(text, " at "); i >= 0 {
		if d == GasFlow {
			return convertReference(f, from, from+i, to)
		}
		return conversion{}, f.fault(from+i+1, "a reference condition (\"at …\") belongs to a gas flow, and "+article(d.Noun())+" is wanted", "write the number and the unit only")
	}
	if d == MassFraction {
		if i := strings.LastIndex(text, " in "); i >= 0 {
			return convertMixture(f, from, from+i, to)
		}
	}
	if c, done, fault := convertFraction(f, from, to, d); done || fault != nil {
		return c, fault
	}
	if right := spelled(text); right != "" && wanted[d].dim == pressureVector {
		return conversion{}, f.fault(from, quote(text)+" reads as a product of units", "did you mean "+right+"?")
	}
	u, fault := units.parse(f, from, to)
	if fault != nil {
		fault.addUnits(d)
		return conversion{}, fault
	}
	if fault := fit(f, from, to, u, d, amount); fault != nil {
		return conversion{}, fault
	}
	c := conversion{scale: u.scale}
	if d == Temperature && u.solo != nil {
		c.zero = u.solo.zero
	}
	return c, nil
}

// addUnits appends the units that fit to the suggestion for an unknown unit.
func (e *Error) addUnits(d Dimension) {
	if strings.HasPrefix(e.Problem, "unknown unit") {
		if e.Suggestion != "" {
			e.Suggestion += " "
		}
		e.Suggestion += "units that fit " + article(d.Noun()) + ": " + fitting(d)
	}
}

// wanted gives the vector and pressure reference of each dimension, read from
// its SI unit.
var wanted = func() [dimensionEnd]unit {
	var all [dimensionEnd]unit
	for _, d := range Dimensions() {
		switch d {
		case Ratio, MassFraction, MoleFraction:
			continue // no vector
		}
		u, err := units.read(rows[d].si)
		if err != nil {
			panic("quantity: " + rows[d].name + ": " + err.Error())
		}
		all[d] = u
	}
	return all
}()

// fit refuses a unit that does not measure d, and says what it does measure.
func fit(f *folded, from, to int, u unit, d Dimension, amount string) *Error {
	w := wanted[d]
	text := f.text[from:to]
	example := func(unit string) string { return quote(amount + " " + unit) }
	fraction := d == Ratio || d == MassFraction || d == MoleFraction
	switch {
	case u.dim == pressureVector && w.dim == pressureVector && !fraction:
		return fitPressure(f, from, u, d, text, amount)
	case !fraction && u.dim == w.dim && (!u.gas || d == GasFlow):
		return nil
	case d == Ratio && u.dim == w.dim && !u.gas:
		return nil
	case d == GasFlow && u.dim == wanted[LiquidFlow].dim:
		return f.fault(from, "an actual volume flow without the temperature and pressure it is counted at",
			"write "+example("NL/min")+" or "+example("Nm3/h")+" if 0 °C and 101.325 kPa are meant, or "+
				quote(amount+" "+text+" at 20 degC, 1.01325 bar(a)"))
	case d == LiquidFlow && u.gas && u.dim == wanted[GasFlow].dim:
		return f.fault(from, quote(text)+" is a gas flow, and a liquid flow is wanted", fits(d))
	case d == MassFraction && (u.gas || u.dim == wanted[MassConcentration].dim):
		return f.fault(from, quote(text)+" is mass per volume, and a mass fraction is wanted",
			"for ozone in a feed gas write "+example("g/Nm3 in O2")+", "+example("g/Nm3 in air")+" or "+example("wt%"))
	case d == MassConcentration && u.gas:
		return f.fault(from, quote(text)+" is mass per normal volume of gas, and a mass concentration is wanted",
			"write mass per actual volume (mg/L, g/m3)")
	}
	return f.fault(from, quote(text)+" is "+article(describe(u))+", and "+article(d.Noun())+" is wanted", fits(d))
}

// spelled returns the spelling with a mark in parentheses for "bar g", "psi a"
// and the like, or nothing.
func spelled(text string) string {
	name, mark, _ := strings.Cut(text, " ")
	s := units.byName[name]
	if s == nil || s.dim != pressureVector {
		return ""
	}
	switch strings.TrimLeft(mark, " ") {
	case "g", "gauge":
		return name + "(g)"
	case "a", "abs", "absolute":
		return name + "(a)"
	}
	return ""
}

// describe names what u measures.
func describe(u unit) string {
	for _, d := range Dimensions() {
		switch d {
		case Ratio, MassFraction, MoleFraction, MolarMass:
			continue
		}
		if wanted[d].dim == u.dim && wanted[d].reference == u.reference {
			return d.Noun()
		}
	}
	switch {
	case u.gas:
		return "quantity of another kind (with a normal volume of gas)"
	case u.dim == wanted[MolarMass].dim:
		return MolarMass.Noun()
	case u.dim == vector{}:
		return "plain ratio"
	case u.dim == vector{baseAmount: 1}:
		return "quantity of substance"
	}
	return "quantity of another kind"
}

// fitPressure keeps gauge, absolute and difference apart.
func fitPressure(f *folded, from int, u unit, d Dimension, text, amount string) *Error {
	// A millipascal is no pressure of piping: the capital was meant.
	if u.solo != nil && u.solo.name == "mPa" {
		return f.fault(from, "mPa (millipascal) is too small to be meant", "did you mean MPa?")
	}
	w := wanted[d]
	if u.reference == w.reference {
		return nil
	}
	stem := text
	if u.solo != nil {
		stem = u.solo.name
	}
	mark := map[reference]string{referenceNone: "", referenceGauge: "(g)", referenceAbsolute: "(a)"}
	right := quote(amount + " " + stem + mark[w.reference])
	switch {
	case u.reference == referenceNone:
		return f.fault(from, "does not say whether "+quote(text)+" is gauge or absolute, and "+article(d.Noun())+" is wanted",
			"write "+right+" if it is "+article(d.Noun()))
	case w.reference == referenceNone:
		return f.fault(from, "a difference of pressure is neither gauge nor absolute", "write "+right)
	}
	other := PressureGauge
	if u.reference == referenceAbsolute {
		other = PressureAbsolute
	}
	return f.fault(from, article(other.Noun())+" where "+article(d.Noun())+" is wanted; the two differ by the atmospheric pressure at the site, which this text does not state",
		"write the pressure as it is marked on the part, in "+stem+mark[w.reference])
}
