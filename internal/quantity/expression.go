package quantity

import (
	"math/big"
	"slices"
	"strconv"
	"strings"
)

// reference says against what a pressure is counted.
type reference uint8

const (
	referenceNone     reference = iota // a difference, or not a pressure
	referenceGauge                     // above the atmosphere at the site
	referenceAbsolute                  // above vacuum
)

// unit is the meaning of a unit expression.
type unit struct {
	scale     *big.Rat
	dim       vector
	reference reference
	solo      *symbol // the symbol, where the unit is one symbol alone
	gas       bool    // a gas volume at a reference condition takes part
}

// marks may follow a pressure unit.
var marks = []struct {
	text string
	says reference
}{
	{"(g)", referenceGauge}, {"(gauge)", referenceGauge},
	{"(a)", referenceAbsolute}, {"(abs)", referenceAbsolute}, {"(absolute)", referenceAbsolute},
}

// attached lists the pressure units that take a bare g or a: barg, psia.
var attached = []string{"bar", "mbar", "psi", "Pa", "hPa", "kPa", "MPa"}

// read reads a unit expression that is written in this package.
func (c *catalogue) read(expression string) (unit, error) {
	f, err := fold(expression)
	if err != nil {
		return unit{}, err
	}
	u, err := c.parse(f, 0, len(f.text))
	if err != nil {
		return unit{}, err
	}
	return u, nil
}

// parse reads the unit expression in f.text[from:to].
func (c *catalogue) parse(f *folded, from, to int) (unit, *Error) {
	p := &expression{catalogue: c, f: f, pos: from, end: to}
	u, err := p.product()
	if err != nil {
		return u, err
	}
	if p.pos < p.end {
		return u, p.unexpected(p.pos)
	}
	if u.reference != referenceNone && p.factors > 1 {
		return u, f.fault(from, "a gauge or absolute pressure inside a compound unit", "write the plain pressure unit: differences of pressure are neither")
	}
	if p.factors > 1 {
		u.solo = nil
	}
	return u, nil
}

// expression is a reader of one unit expression. Its depth is bounded by the
// length of the text.
type expression struct {
	*catalogue
	f       *folded
	pos     int
	end     int
	factors int
}

// peek returns the next character that is not a space, or 0 at the end.
func (p *expression) peek() byte {
	p.pos = skipSpaces(p.f.text[:p.end], p.pos)
	if p.pos < p.end {
		return p.f.text[p.pos]
	}
	return 0
}

func (p *expression) unexpected(at int) *Error {
	return p.f.fault(at, "unexpected "+quote(p.f.text[at:at+1])+" in the unit", "write a unit such as kg/h, m2 or J/(mol K)")
}

func (p *expression) tooHigh(at int) *Error {
	return p.f.fault(at, "an exponent out of range", "write exponents between -9 and 9")
}

// product reads factors with at most one division, which must come last.
func (p *expression) product() (unit, *Error) {
	u, err := p.factor()
	if err != nil {
		return u, err
	}
	divided := -1
	for {
		c := p.peek()
		at := p.pos
		switch {
		case c == 0 || c == ')':
			return u, nil
		case c == '*' || c == '.' || c == '/':
			p.pos++
			if c == '/' && divided >= 0 {
				return u, p.f.fault(at, "a second / in a unit, which is ambiguous", "write the divisor in parentheses: J/(mol K)")
			}
		case letter(c) || c == '(' || c == '1':
		default:
			return u, p.unexpected(at)
		}
		if c != '/' && divided >= 0 {
			return u, p.f.fault(at, "a product after / in a unit, which is ambiguous", "write the divisor in parentheses: J/(mol K)")
		}
		g, err := p.factor()
		if err != nil {
			return u, err
		}
		if c == '/' {
			divided = at
			g = g.power(-1)
		}
		joined, ok := u.times(g)
		if !ok {
			return u, p.tooHigh(at)
		}
		u = joined
	}
}

// factor reads a parenthesis, the number 1, or a symbol with its exponent.
func (p *expression) factor() (unit, *Error) {
	c := p.peek()
	at := p.pos
	switch {
	case c == 0:
		return unit{}, p.f.fault(at, "a unit that ends too early", "write a unit after the mark")
	case c == '(':
		p.pos++
		u, err := p.product()
		if err != nil {
			return u, err
		}
		if p.peek() != ')' {
			return u, p.f.fault(at, "a parenthesis that is not closed", "write both ( and )")
		}
		p.pos++
		p.factors++
		return u, nil
	case c == '1' && (p.pos+1 >= p.end || !digit(p.f.text[p.pos+1]) && !letter(p.f.text[p.pos+1])):
		p.pos++
		p.factors++
		return unit{scale: big.NewRat(1, 1)}, nil
	case !letter(c):
		return unit{}, p.unexpected(at)
	}
	for p.pos < p.end && (letter(p.f.text[p.pos]) || digit(p.f.text[p.pos])) {
		p.pos++
	}
	p.factors++
	return p.symbol(at, p.f.text[at:p.pos])
}

// symbol resolves a word that begins at position at: a name, a name with an
// exponent, or a pressure unit with a bare g or a.
func (p *expression) symbol(at int, word string) (unit, *Error) {
	if s := p.byName[word]; s != nil {
		u := unit{scale: s.scale, dim: s.dim, solo: s, gas: s.gas}
		p.mark(&u)
		if u.reference != referenceNone {
			return u, nil
		}
		return p.exponent(u, at, "")
	}
	name := strings.TrimRight(word, "0123456789")
	if s := p.byName[name]; s != nil {
		return p.exponent(unit{scale: s.scale, dim: s.dim, solo: s, gas: s.gas}, at, word[len(name):])
	}
	if stem := word[:len(word)-1]; slices.Contains(attached, stem) {
		s := p.byName[stem]
		switch word[len(word)-1] {
		case 'g':
			return unit{scale: s.scale, dim: s.dim, solo: s, reference: referenceGauge}, nil
		case 'a':
			return unit{scale: s.scale, dim: s.dim, solo: s, reference: referenceAbsolute}, nil
		}
	}
	return unit{}, p.unknown(at, word)
}

// mark reads "(g)" or "(a)" behind a pressure unit.
func (p *expression) mark(u *unit) {
	if u.solo == nil || u.dim != pressureVector {
		return
	}
	s := p.f.text[:p.end]
	at := skipSpaces(s, p.pos)
	for _, m := range marks {
		if strings.HasPrefix(s[at:], m.text) {
			u.reference, p.pos = m.says, at+len(m.text)
			return
		}
	}
}

// pressureVector is kg/(m s2).
var pressureVector = vector{baseMass: 1, baseLength: -1, baseTime: -2}

// exponent applies the digits already read with a word, or "^2", "-1", "^-1"
// behind it.
func (p *expression) exponent(u unit, at int, digits string) (unit, *Error) {
	if digits == "" {
		s := p.f.text[:p.end]
		i := p.pos
		if i < len(s) && s[i] == '^' {
			i++
		}
		j := i
		if j < len(s) && s[j] == '-' {
			j++
		}
		k := skipDigits(s, j)
		switch {
		case k > j:
			digits = s[i:k]
			p.pos = k
		case i > p.pos || j > i:
			return u, p.f.fault(p.pos, "an exponent without a number", "write m2 or m^2")
		default:
			return u, nil
		}
	}
	n, err := strconv.Atoi(digits)
	if err != nil || n == 0 || n > 9 || n < -9 {
		return u, p.tooHigh(at)
	}
	v := u.power(n)
	if n != 1 {
		v.solo = nil
		p.factors++ // no longer a symbol alone
	}
	for _, e := range v.dim {
		if e > maxPower || e < -maxPower {
			return u, p.tooHigh(at)
		}
	}
	return v, nil
}

// maxPower bounds the exponents of the bases; it keeps int8 sums far from
// overflow.
const maxPower = 30

// power returns u to the n, for n between -9 and 9 and not 0.
func (u unit) power(n int) unit {
	v := unit{scale: big.NewRat(1, 1), gas: u.gas, solo: u.solo, reference: u.reference}
	for range max(n, -n) {
		v.scale.Mul(v.scale, u.scale)
	}
	if n < 0 {
		v.scale.Inv(v.scale)
	}
	for i, e := range u.dim {
		v.dim[i] = int8(max(min(int(e)*n, 127), -127))
	}
	return v
}

// times returns the product, and whether its exponents are in range.
func (u unit) times(w unit) (unit, bool) {
	v := unit{scale: new(big.Rat).Mul(u.scale, w.scale), gas: u.gas || w.gas, reference: max(u.reference, w.reference)}
	for i := range v.dim {
		e := int(u.dim[i]) + int(w.dim[i])
		if e > maxPower || e < -maxPower {
			return u, false
		}
		v.dim[i] = int8(e)
	}
	return v, true
}
