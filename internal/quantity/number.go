package quantity

import (
	"math/big"
	"strconv"
	"strings"
)

// maxExponent bounds the power of ten of a number; a float64 ends near 308,
// and units may shift it by a few tens.
const maxExponent = 400

// number is the decimal number at the head of a text.
type number struct {
	value    *big.Rat
	negative bool // also for "-0", whose sign the rational value cannot hold
	text     string
	end      int // where the unit begins, spaces skipped
}

// scanNumber reads a number from position i of f, that of a quantity of d.
func scanNumber(f *folded, i int, d Dimension) (number, *Error) {
	s := f.text
	start := i
	var n number
	if i < len(s) && (s[i] == '+' || s[i] == '-') {
		n.negative = s[i] == '-'
		i++
	}
	whole := i
	i = skipDigits(s, i)
	digits := i - whole
	if i < len(s) && s[i] == '.' {
		i++
		frac := i
		i = skipDigits(s, i)
		if i == frac {
			return n, f.fault(frac-1, "a decimal point without digits after it", "write 5 or 5.0")
		}
		digits += i - frac
	}
	if digits == 0 {
		return n, noNumber(f, start, d)
	}
	mantissa := i
	exponent := 0
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		j := i + 1
		if j < len(s) && (s[j] == '+' || s[j] == '-') {
			j++
		}
		if j < len(s) && digit(s[j]) {
			k := skipDigits(s, j)
			// More than four digits cannot be in range; Atoi cannot fail on fewer.
			if k-j > 4 {
				return n, f.fault(start, "a number out of range", "write a number between 1e-300 and 1e300")
			}
			exponent, _ = strconv.Atoi(s[i+1 : k])
			i = k
		}
	}
	if exponent > maxExponent || exponent < -maxExponent {
		return n, f.fault(start, "a number out of range", "write a number between 1e-300 and 1e300")
	}
	if err := afterNumber(f, start, i); err != nil {
		return n, err
	}
	v, ok := new(big.Rat).SetString(s[start:mantissa])
	if !ok {
		return n, noNumber(f, start, d)
	}
	ten := new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(max(exponent, -exponent))), nil)
	if exponent < 0 {
		v.Quo(v, new(big.Rat).SetInt(ten))
	} else {
		v.Mul(v, new(big.Rat).SetInt(ten))
	}
	n.value = v
	n.text = s[start:i]
	n.end = skipSpaces(s, i)
	return n, nil
}

// noNumber explains a text that does not begin with a decimal number.
func noNumber(f *folded, i int, d Dimension) *Error {
	rest := strings.ToLower(strings.TrimLeft(f.text[i:], "+-"))
	for _, word := range []string{"nan", "inf"} {
		if strings.HasPrefix(rest, word) && (len(rest) == len(word) || !letter(rest[len(word)]) || strings.HasPrefix(rest, "infinity")) {
			return f.fault(i, "not a finite number", "write a finite number, or leave the datum out when it is not known")
		}
	}
	return f.fault(i, "no number before the unit", "write a number and a unit: "+fits(d))
}

// afterNumber refuses marks that other habits put inside a number. start and i
// bound the number that was read.
func afterNumber(f *folded, start, i int) *Error {
	s := f.text
	if i >= len(s) {
		return nil
	}
	next := byte(0)
	if i+1 < len(s) {
		next = s[i+1]
	}
	switch c := s[i]; {
	case c == ',' && digit(next):
		return f.fault(i, "a comma in a number", "write the decimal mark as a point and no thousands mark: 1234.5")
	case (c == '_' || c == '\'') && digit(next):
		return f.fault(i, "a thousands mark in a number", "write 1234.5 without marks between the digits")
	case c == '.':
		return f.fault(i, "a second decimal point", "write 1234.5 without thousands marks")
	case (c == 'x' || c == 'X') && strings.TrimLeft(s[start:i], "+-") == "0":
		return f.fault(start, "a hexadecimal number", "write a decimal number")
	case c == '-' && digit(next):
		return f.fault(i, "a range where one number is wanted", "write one number")
	case c == '/' && digit(next):
		return f.fault(i, "a fraction where a decimal number is wanted", "write 0.5 for 1/2; only sizes such as \"1/2 in\" may be fractions")
	case c == '^':
		return f.fault(i, "an exponent on the number", "write a power of ten as in 1e3")
	case c == '+' || c == '\'' || c == ',' || c == '_':
		return f.fault(i, "unexpected "+quote(string(c))+" after the number", "write a number, a space and a unit")
	}
	if s[i] != ' ' {
		return nil
	}
	j := skipSpaces(s, i)
	if j == len(s) || !digit(s[j]) {
		return nil
	}
	// "5 1/h" is five per hour; any other digit after a space is a second number.
	if s[j] == '1' && (j+1 == len(s) || s[j+1] == '/') && !(j+2 < len(s) && digit(s[j+2])) {
		return nil
	}
	if k := skipDigits(s, j); k < len(s) && s[k] == '/' {
		return f.fault(j, "a fraction where a decimal number is wanted", "write 1.5 for 1 1/2; only sizes such as \"1 1/2 in\" may be fractions")
	}
	return f.fault(j, "a second number, or a space inside a number", "write 1234.5 without spaces between the digits")
}
