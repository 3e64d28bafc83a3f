package quantity

import (
	"fmt"
	"math/big"
	"slices"
	"strconv"
	"strings"
)

// SizeSystem is a way to name the size of pipes, tubes and hoses.
type SizeSystem uint8

// The systems of sizes. The zero value is none of them.
const (
	_       SizeSystem = iota
	NPS                // nominal pipe size: a designation in inches that measures nothing
	DN                 // nominal diameter: a designation without unit, ISO 6708
	TubeOD             // outside diameter of a tube, measured
	HoseID             // inside diameter of a hose, measured
	sizeEnd            // after the last one
)

// String returns "NPS", "DN", "OD" or "ID", as sizes are written.
func (s SizeSystem) String() string {
	if s == 0 || s >= sizeEnd {
		return "no size system"
	}
	return [...]string{"", "NPS", "DN", "OD", "ID"}[s]
}

// NominalSize is the size of a connection, in its own system.
type NominalSize struct {
	System SizeSystem
	// Value is the designation of NPS (0.5 for NPS 1/2) and DN (15), and the
	// diameter in metres of TubeOD and HoseID.
	Value float64
}

// largestDiameter bounds the diameters that are read, in m.
const largestDiameter = 10

// ParseNominalSize reads a size: "NPS 1/2", "1/2 in", "1 1/2 in" or "1-1/2 in"
// (nominal pipe size), "DN 15" or "DN15", "OD 12 mm" or "OD 3/8 in" (tube),
// "ID 10 mm" (hose). The error is always of type *[Error].
func ParseNominalSize(text string) (NominalSize, error) {
	f, fault := fold(text)
	if fault != nil {
		return NominalSize{}, fault
	}
	s, fault := parseSize(f)
	if fault != nil {
		return NominalSize{}, fault
	}
	return s, nil
}

const saySize = "write NPS 1/2 or 1/2 in (pipe), DN 15 (pipe), OD 12 mm (tube) or ID 10 mm (hose)"

func parseSize(f *folded) (NominalSize, *Error) {
	start, end := f.trim(0, len(f.text))
	if start == end {
		return NominalSize{}, f.fault(0, "empty", saySize)
	}
	var system SizeSystem
	for s := NPS; s < sizeEnd; s++ {
		name := s.String()
		rest := f.text[start:end]
		switch {
		case strings.HasPrefix(rest, name) && (len(rest) == len(name) || !letter(rest[len(name)])):
			system, start = s, start+len(name)
		case s >= TubeOD && strings.HasSuffix(rest, " "+name): // "12 mm OD"
			system, end = s, end-len(name)-1
		default:
			continue
		}
		break
	}
	start, end = f.trim(start, end)
	value, at, fault := sizeNumber(f, start, end)
	if fault != nil {
		return NominalSize{}, fault
	}
	unit := f.text[at:end]
	switch system {
	case TubeOD, HoseID:
		return diameter(f, start, at, system, value, unit)
	case DN:
		if unit != "" {
			return NominalSize{}, f.fault(at, "a unit behind DN", "write DN and a number: DN 15")
		}
		return designation(f, start, DN, value)
	case NPS:
		if unit != "" && unit != "in" {
			return NominalSize{}, f.fault(at, "unexpected "+quote(unit), "write NPS and a number: NPS 1/2")
		}
		return designation(f, start, NPS, value)
	}
	switch unit {
	case "in":
		return designation(f, start, NPS, value)
	case "":
		return NominalSize{}, f.fault(at, "a number without a system of sizes", saySize)
	case "mm", "cm", "m":
		return NominalSize{}, f.fault(at, "does not say which diameter is meant",
			fmt.Sprintf("write OD %[1]s (tube, outside), ID %[1]s (hose, inside) or a DN (pipe)", f.text[start:end]))
	}
	return NominalSize{}, f.fault(at, "unknown size "+quote(unit), saySize)
}

// sizeNumber reads "15", "0.5", "1/2", "1 1/2" or "1-1/2" from f.text[i:end]
// and returns where the unit begins.
func sizeNumber(f *folded, i, end int) (*big.Rat, int, *Error) {
	s := f.text[:end]
	bad := func(at int, problem string) (*big.Rat, int, *Error) {
		return nil, 0, f.fault(at, problem, saySize)
	}
	a := skipDigits(s, i)
	switch {
	case a == i && i < len(s) && s[i] == '-':
		return bad(i, "a size below zero")
	case a == i && i < len(s) && s[i] == '.', a < len(s) && s[a] == '.':
		// A decimal number.
		b := skipDigits(s, a+1)
		if b == a+1 {
			return bad(a, "a decimal point without digits after it")
		}
		v, _ := new(big.Rat).SetString(s[i:b])
		return positive(f, v, i, skipSpaces(s, b))
	case a == i:
		return bad(i, "no number in the size")
	case a < len(s) && s[a] == ',':
		return bad(a, "a comma in a number")
	}
	whole, _ := new(big.Rat).SetString(s[i:a])
	if a < len(s) && s[a] == '/' {
		v, b, ok := vulgar(s, i, a)
		if !ok {
			return bad(i, "a fraction that is not complete")
		}
		return positive(f, v, i, skipSpaces(s, b))
	}
	// A fraction may follow the whole number, behind a space or a hyphen.
	n := skipSpaces(s, a)
	if n < len(s) && s[n] == '-' {
		n++
	}
	if b := skipDigits(s, n); n > a && b > n {
		v, e, ok := vulgar(s, n, b)
		if !ok || v.Cmp(one) >= 0 {
			return bad(n, "no proper fraction after the whole number")
		}
		return positive(f, v.Add(v, whole), i, skipSpaces(s, e))
	}
	return positive(f, whole, i, skipSpaces(s, a))
}

// vulgar reads the fraction with the numerator s[i:slash].
func vulgar(s string, i, slash int) (*big.Rat, int, bool) {
	if slash >= len(s) || s[slash] != '/' {
		return nil, 0, false
	}
	e := skipDigits(s, slash+1)
	if e == slash+1 || strings.Trim(s[slash+1:e], "0") == "" {
		return nil, 0, false
	}
	v, ok := new(big.Rat).SetString(s[i:e])
	return v, e, ok
}

func positive(f *folded, v *big.Rat, start, unit int) (*big.Rat, int, *Error) {
	if v.Sign() <= 0 {
		return nil, 0, f.fault(start, "a size of zero", saySize)
	}
	return v, unit, nil
}

// diameter reads the unit of a measured size.
func diameter(f *folded, start, at int, system SizeSystem, value *big.Rat, unit string) (NominalSize, *Error) {
	var scale *big.Rat
	switch unit {
	case "mm", "cm", "m", "in":
		scale = units.byName[unit].scale
	case "":
		return NominalSize{}, f.fault(at, "a diameter without a unit", fmt.Sprintf("write %s 12 mm or %s 1/2 in", system, system))
	default:
		return NominalSize{}, f.fault(at, quote(unit)+" is no unit of a diameter", "write mm or in")
	}
	x, _ := value.Mul(value, scale).Float64()
	if x < 1e-6 || x > largestDiameter {
		return NominalSize{}, f.fault(start, "a diameter outside 0.001 mm to 10 m", saySize)
	}
	return NominalSize{system, x}, nil
}

// designation checks a number against the published sizes.
func designation(f *folded, start int, system SizeSystem, value *big.Rat) (NominalSize, *Error) {
	x, _ := value.Float64()
	for _, p := range pipes {
		if p.designation(system) == x {
			return NominalSize{system, x}, nil
		}
	}
	var near []string
	for i, p := range pipes {
		above := p.designation(system) > x
		if above && i > 0 {
			near = append(near, NominalSize{system, pipes[i-1].designation(system)}.String())
		}
		if above || i == len(pipes)-1 {
			near = append(near, NominalSize{system, p.designation(system)}.String())
			break
		}
	}
	return NominalSize{}, f.fault(start, "no "+system.String()+" of that number", "the nearest are "+list(near, "and")+"; for a measured diameter write OD or ID")
}

// Valid reports whether s is a size that can be written: a listed designation
// or a positive diameter of at most 10 m.
func (s NominalSize) Valid() bool {
	switch s.System {
	case NPS, DN:
		return slices.ContainsFunc(pipes, func(p pipe) bool { return p.designation(s.System) == s.Value })
	case TubeOD, HoseID:
		return s.Value >= 1e-6 && s.Value <= largestDiameter
	}
	return false
}

// String returns the size as [ParseNominalSize] reads it back, to the same
// bits: "NPS 1 1/2", "DN 40", "OD 12 mm", "OD 3/8 in".
func (s NominalSize) String() string {
	switch s.System {
	case NPS:
		if text, ok := inches(s.Value, 8); ok {
			return "NPS " + text
		}
		return "NPS " + strconv.FormatFloat(s.Value, 'g', -1, 64)
	case DN:
		return "DN " + strconv.FormatFloat(s.Value, 'g', -1, 64)
	case TubeOD, HoseID:
		return s.System.String() + " " + diameterText(s.Value)
	}
	return "no size"
}

// diameterText writes a diameter in m: in mm if that is a whole or half
// number, in inches if it is a fraction down to 1/64, else in mm or m with the
// digits that it takes.
func diameterText(x float64) string {
	if s, bad := unprintable(x); bad || x <= 0 {
		return strings.TrimSpace(s + " " + strconv.FormatFloat(x, 'g', -1, 64) + " m")
	}
	value := new(big.Rat).SetFloat64(x)
	millimetres := scaled{unit: "mm", scale: units.byName["mm"].scale}
	metre := scaled{unit: "m", scale: one}
	mm, found := millimetres.byDigits(value, x, 17)
	if found {
		half, _ := new(big.Rat).SetString(mm.text)
		if half.Mul(half, big.NewRat(2, 1)).IsInt() {
			return join(mm.text, "mm")
		}
	}
	inch := scaled{unit: "in", scale: units.byName["in"].scale}
	number, _ := inch.in(value).Float64()
	if number < 100 {
		sixtyFourths := new(big.Rat).SetFrac64(int64(number*64+0.5), 64)
		if near, _ := sixtyFourths.Float64(); sixtyFourths.Sign() > 0 && inch.reads(sixtyFourths, x) {
			if text, ok := inches(near, 64); ok {
				return join(text, "in")
			}
		}
	}
	if !found || strings.Contains(mm.text, "e") {
		// Exponents are not sizes that people write, but nothing may be lost.
		mm, _ = metre.byDigits(value, x, 17)
		mm.text = withoutExponent(mm.text)
	}
	return join(mm.text, mm.unit)
}

// withoutExponent writes a decimal number without exponent.
func withoutExponent(text string) string {
	v, ok := new(big.Rat).SetString(text)
	if !ok || !strings.Contains(text, "e") {
		return text
	}
	return trimZeros(v.FloatString(40))
}

// inches writes x as a whole number and a fraction with a denominator of at
// most most, a power of two; ok is false where it is none.
func inches(x float64, most int64) (text string, ok bool) {
	if !(x > 0 && x < 1000) {
		return "", false
	}
	r := new(big.Rat).SetFloat64(x)
	if r.Denom().Cmp(big.NewInt(most)) > 0 {
		return "", false
	}
	whole, rest := new(big.Int).QuoRem(r.Num(), r.Denom(), new(big.Int))
	switch {
	case rest.Sign() == 0:
		return whole.String(), true
	case whole.Sign() == 0:
		return rest.String() + "/" + r.Denom().String(), true
	}
	return whole.String() + " " + rest.String() + "/" + r.Denom().String(), true
}
