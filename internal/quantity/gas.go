package quantity

import (
	"math/big"
	"strings"
)

// convertReference reads "<volume flow> at <temperature>, <absolute pressure>"
// as a molar flow of ideal gas: n = V p/(R T). "at" is the position of the
// space before the word.
func convertReference(f *folded, from, at, to int) (conversion, *Error) {
	const say = "write, for example, 8 L/min at 20 degC, 1.013 bar(a)"
	u, fault := units.parse(f, from, at)
	if fault != nil {
		fault.addUnits(LiquidFlow)
		return conversion{}, fault
	}
	if u.dim != wanted[LiquidFlow].dim {
		return conversion{}, f.fault(from, quote(strings.TrimSpace(f.text[from:at]))+" is "+article(describe(u))+", and a reference condition (\"at …\") belongs to an actual volume flow", say)
	}
	begin := at + len(" at ")
	comma := strings.IndexByte(f.text[begin:to], ',')
	if comma < 0 {
		return conversion{}, f.fault(begin, "a reference condition needs a temperature and an absolute pressure, with a comma between them", say)
	}
	comma += begin
	t, fault := condition(f, begin, comma, Temperature)
	if fault != nil {
		return conversion{}, fault
	}
	p, fault := condition(f, comma+1, to, PressureAbsolute)
	if fault != nil {
		return conversion{}, fault
	}
	return conversion{scale: t.Mul(u.scale, molarDensity(p, t))}, nil
}

// condition reads one part of a reference condition; it must be above zero.
func condition(f *folded, from, to int, d Dimension) (*big.Rat, *Error) {
	from, to = f.trim(from, to)
	// Only the part itself may be read: what follows it belongs to another.
	part := &folded{raw: f.raw, text: f.text[:to], offset: f.offset[:to+1]}
	if from == to {
		return nil, part.fault(from, "a reference condition without "+article(d.Noun()), fits(d))
	}
	n, fault := scanNumber(part, from, d)
	if fault != nil {
		return nil, fault
	}
	if n.end >= to {
		return nil, part.fault(to, "a number without a unit", fits(d))
	}
	c, fault := convert(part, n.end, to, d, n.text)
	if fault != nil {
		if d == PressureAbsolute && strings.Contains(fault.Problem, "gauge") {
			fault.Suggestion = "write the absolute pressure at which the volume is counted, for example 1.013 bar(a)"
		}
		return nil, fault
	}
	v := new(big.Rat).Mul(n.value, c.scale)
	if c.zero != nil {
		v.Add(v, c.zero)
	}
	if v.Sign() <= 0 {
		return nil, part.fault(from, "a reference "+d.Noun()+" that is not above zero", "write the condition at which the volume is counted")
	}
	return v, nil
}

// feeds are the gases that ozone may be stated in.
var feeds = map[string]*big.Rat{
	"O2": exactOxygen, "oxygen": exactOxygen, "air": exactAir,
}

// convertMixture reads "<amount of ozone> in <feed gas>" as a mass fraction of
// ozone in the mixture of ozone and that gas. in is the position of the space
// before the word.
func convertMixture(f *folded, from, in, to int) (conversion, *Error) {
	begin := in + len(" in ")
	feed := feeds[strings.TrimSpace(f.text[begin:to])]
	if feed == nil {
		return conversion{}, f.fault(begin, "a feed gas that is not known", "write O2, oxygen or air")
	}
	text := f.text[from:in]
	if fr, ok := fractions[squeeze(text)]; ok {
		switch fr.kind {
		case fractionMole:
			return conversion{mixture: func(x *big.Rat) (*big.Rat, bool) {
				return massFromMole(new(big.Rat).Mul(x, fr.scale), feed)
			}}, nil
		case fractionMass:
			return conversion{scale: fr.scale}, nil
		}
		return conversion{}, f.fault(from, quote(text)+" does not say whether it is by mass or by volume", "write wt%, vol%, ppmv or g/Nm3")
	}
	u, fault := units.parse(f, from, in)
	if fault != nil {
		fault.addUnits(MassFraction)
		return conversion{}, fault
	}
	if !u.gas || u.dim != (vector{baseMass: 1, baseAmount: -1}) {
		return conversion{}, f.fault(from, quote(text)+" is not an amount of ozone in a gas", "write g/Nm3, wt%, vol% or ppmv")
	}
	return conversion{mixture: func(x *big.Rat) (*big.Rat, bool) {
		return massFromNormal(new(big.Rat).Mul(x, u.scale), feed)
	}}, nil
}

// massFromMole returns the mass fraction of ozone from its mole fraction y in a
// feed gas: w = y M(O3) / (y M(O3) + (1 - y) M(feed)).
// Source: definition of the fractions; ideal mixture of two gases.
func massFromMole(y, feed *big.Rat) (*big.Rat, bool) {
	if y.Sign() < 0 || y.Cmp(one) > 0 {
		return nil, false
	}
	ozone := new(big.Rat).Mul(y, exactOzone)
	rest := new(big.Rat).Sub(one, y)
	rest.Mul(rest, feed)
	return ozone.Quo(ozone, rest.Add(rest, ozone)), true
}

// massFromNormal returns the mass fraction of ozone from c, the kilograms of
// ozone per mole of the mixture (a normal volume stands for an amount): the
// mole fraction is c / M(O3).
// Source: ideal gas law at one reference condition for the mixture.
func massFromNormal(c, feed *big.Rat) (*big.Rat, bool) {
	return massFromMole(new(big.Rat).Quo(c, exactOzone), feed)
}
