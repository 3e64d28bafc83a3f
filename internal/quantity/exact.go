package quantity

import (
	"math"
	"math/big"
	"strconv"
	"strings"
)

// tidy is the number of significant digits up to which a number looks like one
// that a person wrote.
const tidy = 6

// Exact returns a text that [Parse] turns into the bit-identical si, a value in
// the SI unit of d. It is the shortest number in the unit that looks most like
// what a person wrote: metric, the SI unit, another unit or a US customary one,
// the first in which six digits suffice; where none does, the metric or the SI
// unit, whichever takes fewer digits.
//
// A value that Parse refuses (below vacuum, outside 0 to 1, not finite) has a
// text as well, which Parse refuses. A value that is not of any dimension is
// printed as a bare number.
func Exact(si float64, d Dimension) string {
	if s, bad := unprintable(si); bad {
		return s
	}
	if !d.Valid() {
		return strconv.FormatFloat(si, 'g', -1, 64)
	}
	p := printings()[d]
	value := new(big.Rat).SetFloat64(si)
	if si == 0 && (p.metric[0].zero == nil || math.Signbit(si)) {
		number := "0"
		if math.Signbit(si) {
			number = "-0"
		}
		if p.metric[0].zero != nil {
			return join(number, p.si.unit) // -0 K has no sign on another scale
		}
		return join(number, d.atZero(Metric))
	}
	natural := choose(p.metric, d.atZero(Metric), value)
	metric := append([]scaled{natural}, p.metric...)
	for _, group := range [][]scaled{metric, {p.si}, p.also, p.us} {
		if t, ok := fewest(group, value, si, tidy); ok {
			return join(t.text, t.unit)
		}
	}
	// Seventeen digits always suffice in the SI unit, which is the last resort.
	t, _ := fewest([]scaled{natural, p.si}, value, si, 17)
	return join(t.text, t.unit)
}

// printed is a number in a unit that reads back as it should.
type printed struct {
	text   string
	unit   string
	digits int
}

// fewest returns the printing with the fewest digits, at most most, among the
// units of a group. Of equals the first of the group wins, and behind it a
// whole number: 6 months rather than 0.5 years.
func fewest(group []scaled, value *big.Rat, si float64, most int) (printed, bool) {
	var best printed
	lowest := math.MaxInt
	for i, u := range group {
		var p printed
		var ok bool
		if u.zero != nil {
			p, ok = u.byPlaces(value, si, most)
		} else {
			p, ok = u.byDigits(value, si, most)
		}
		if !ok {
			continue
		}
		cost := 2 * p.digits
		if i > 0 && strings.Contains(p.text, ".") {
			cost++
		}
		if cost < lowest {
			best, lowest = p, cost
		}
	}
	return best, best.text != ""
}

// reads reports whether number in u rounds to si, exactly as Parse does it.
func (u scaled) reads(number *big.Rat, si float64) bool {
	v := new(big.Rat).Mul(number, u.scale)
	if u.zero != nil {
		v.Add(v, u.zero)
	}
	x, _ := v.Float64()
	return x == si
}

// byPlaces finds the fewest decimal places on a scale with a zero of its own,
// where rounding to significant digits would print noise near the zero.
func (u scaled) byPlaces(value *big.Rat, si float64, most int) (printed, bool) {
	x := u.in(value)
	if f, _ := x.Float64(); math.Abs(f) > 1e15 {
		return printed{}, false
	}
	for places := 0; places <= 17; places++ {
		text := x.FloatString(places)
		digits := len(strings.TrimLeft(strings.NewReplacer("-", "", ".", "").Replace(text), "0"))
		if digits > most {
			return printed{}, false
		}
		if u.reads(exact(text), si) {
			text = trimZeros(text)
			if text == "-0" {
				text = "0"
			}
			return printed{text, u.unit, max(digits, 1)}, true
		}
	}
	return printed{}, false
}

// byDigits finds the fewest significant digits.
func (u scaled) byDigits(value *big.Rat, si float64, most int) (printed, bool) {
	x := u.in(value)
	if x.Sign() == 0 {
		return printed{"0", u.unit, 1}, true
	}
	// Up to 15 digits at most one number of that length reads back as si, so
	// that rounding to 15 digits finds the shortest. Near the smallest float64
	// the numbers lie further apart and fewer digits may do.
	steps := []int{15, 16, 17}
	if math.Abs(si) < 1e-290 {
		steps = []int{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17}
	}
	for _, n := range steps {
		digits, exponent := round(x, n)
		if len(digits) > most {
			if n >= 15 {
				return printed{}, false
			}
			continue
		}
		text := decimal(digits, exponent, x.Sign() < 0)
		number, ok := new(big.Rat).SetString(text)
		if ok && u.reads(number, si) && exponent >= -maxExponent && exponent-len(digits)+1 >= -maxExponent && exponent <= maxExponent {
			return printed{text, u.unit, len(digits)}, true
		}
	}
	return printed{}, false
}

var ten = big.NewInt(10)

// round returns x, which is not 0, rounded to n significant digits without
// trailing zeros, and the power of ten of the first digit.
func round(x *big.Rat, n int) (digits string, exponent int) {
	a := new(big.Rat).Abs(x)
	// A first guess of the exponent from the lengths, then corrected.
	exponent = int(math.Floor(float64(a.Num().BitLen()-a.Denom().BitLen()) * math.Log10(2)))
	for {
		scaledBy := new(big.Rat).SetInt(new(big.Int).Exp(ten, big.NewInt(int64(max(n-1-exponent, exponent-n+1))), nil))
		v := new(big.Rat)
		if n-1-exponent >= 0 {
			v.Mul(a, scaledBy)
		} else {
			v.Quo(a, scaledBy)
		}
		digits = v.FloatString(0)
		switch {
		case len(digits) > n:
			exponent++
		case len(digits) < n:
			exponent--
		default:
			return trimRightZeros(digits), exponent
		}
	}
}

func trimRightZeros(s string) string {
	if t := strings.TrimRight(s, "0"); t != "" {
		return t
	}
	return "0"
}

// decimal writes digits × 10^(exponent - len(digits) + 1), plainly where that
// is short.
func decimal(digits string, exponent int, negative bool) string {
	sign := ""
	if negative {
		sign = "-"
	}
	switch {
	case exponent >= 0 && exponent < 15:
		if len(digits) <= exponent+1 {
			return sign + digits + strings.Repeat("0", exponent+1-len(digits))
		}
		return sign + digits[:exponent+1] + "." + digits[exponent+1:]
	case exponent < 0 && exponent >= -5:
		return sign + "0." + strings.Repeat("0", -exponent-1) + digits
	}
	text := sign + digits[:1]
	if len(digits) > 1 {
		text += "." + digits[1:]
	}
	return text + "e" + strconv.Itoa(exponent)
}
