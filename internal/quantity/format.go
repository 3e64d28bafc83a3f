package quantity

import (
	"math"
	"math/big"
	"slices"
	"strconv"
	"strings"
	"sync"
)

// scaled is a unit that values can be printed in, ready for arithmetic.
type scaled struct {
	unit  string
	min   float64
	scale *big.Rat
	zero  *big.Rat // nil for 0
}

// printing holds the printable units of one dimension.
type printing struct {
	metric, us []scaled // larger units first
	also       []scaled
	si         scaled
}

// printings is built at first use: it reads every unit of the table once.
var printings = sync.OnceValue(func() [dimensionEnd]printing {
	var all [dimensionEnd]printing
	for _, d := range Dimensions() {
		r := rows[d]
		p := &all[d]
		p.metric = resolve(d, r.metric)
		p.us = resolve(d, r.us)
		for _, u := range r.also {
			p.also = append(p.also, resolve(d, []shown{{u, 0}})...)
		}
		p.si = resolve(d, []shown{{r.si, 0}})[0]
	}
	return all
})

// resolve reads units and sorts them, larger first; mixtures, whose scale is
// not one factor, are left out.
func resolve(d Dimension, list []shown) []scaled {
	var all []scaled
	for _, s := range list {
		f, fault := fold(s.unit)
		if fault != nil {
			panic("quantity: " + fault.Error())
		}
		c, fault := convert(f, 0, len(f.text), d, "1")
		if fault != nil {
			panic("quantity: " + d.Name() + ": " + fault.Error())
		}
		if c.mixture == nil {
			all = append(all, scaled{s.unit, s.min, c.scale, c.zero})
		}
	}
	slices.SortStableFunc(all, func(a, b scaled) int { return b.scale.Cmp(a.scale) })
	return all
}

// in returns the value si counted in u.
func (u scaled) in(si *big.Rat) *big.Rat {
	v := new(big.Rat)
	if u.zero != nil {
		v.Sub(si, u.zero)
		return v.Quo(v, u.scale)
	}
	return v.Quo(si, u.scale)
}

// choose returns the unit of the list that people would use for si: the
// largest in which the number is not too small, or the preferred one for zero.
func choose(list []scaled, preferred string, si *big.Rat) scaled {
	if si.Sign() == 0 {
		for _, u := range list {
			if u.unit == preferred {
				return u
			}
		}
	}
	for _, u := range list {
		if x, _ := u.in(si).Float64(); math.Abs(x) >= u.min*(1-1e-9) {
			return u
		}
	}
	return list[len(list)-1]
}

// Format returns si, a value in the SI unit of d, as text for people: about
// four significant digits, in a unit of the system that suits the size of the
// value. [Parse] reads the text, up to the rounding (which may carry a
// temperature near absolute zero below it). A value that is not finite is
// printed as "not a number" or "infinite", which Parse refuses; a value that is
// not of any dimension is printed as a bare number.
func Format(si float64, d Dimension, system System) string {
	if s, bad := unprintable(si); bad {
		return s
	}
	if !d.Valid() {
		return significant(si)
	}
	p := printings()[d]
	list := p.metric
	if system == US {
		list = p.us
	}
	value := new(big.Rat).SetFloat64(si)
	u := choose(list, d.atZero(system), value)
	x, _ := u.in(value).Float64()
	if math.IsInf(x, 0) {
		u, x = p.si, si
	}
	if u.zero != nil && math.Abs(x) < 1e-9 {
		// 273.15 has no exact binary form: what is left of it on a shifted scale is rounding, not temperature.
		x = 0
	}
	return join(significant(x), u.unit)
}

func unprintable(si float64) (string, bool) {
	switch {
	case math.IsNaN(si):
		return "not a number", true
	case math.IsInf(si, 1):
		return "infinite", true
	case math.IsInf(si, -1):
		return "-infinite", true
	}
	return "", false
}

// significant rounds x to four significant digits, but never before the
// decimal point of a number below a million, and trims zeros.
func significant(x float64) string {
	switch a := math.Abs(x); {
	case a == 0:
		return "0"
	case a >= 999.95 && a < 999999.5:
		return strconv.FormatFloat(math.Round(x), 'f', 0, 64)
	case a >= 1e6 || a < 1e-4:
		return trimExponent(strconv.FormatFloat(x, 'e', 3, 64))
	default:
		digits := 3 - int(math.Floor(math.Log10(a)))
		return trimZeros(strconv.FormatFloat(x, 'f', max(digits, 0), 64))
	}
}

func trimZeros(s string) string {
	if !strings.Contains(s, ".") {
		return s
	}
	return strings.TrimRight(strings.TrimRight(s, "0"), ".")
}

// trimExponent turns "1.200e-07" into "1.2e-7".
func trimExponent(s string) string {
	mantissa, exponent, _ := strings.Cut(s, "e")
	n, err := strconv.Atoi(exponent)
	if err != nil {
		return s
	}
	return trimZeros(mantissa) + "e" + strconv.Itoa(n)
}

// join puts number and unit together. One month is not "1 months".
func join(number, unit string) string {
	switch {
	case unit == "":
		return number
	case (unit == "months" || unit == "years") && number == "1":
		unit = strings.TrimSuffix(unit, "s")
	}
	return number + " " + unit
}
