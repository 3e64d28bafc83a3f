package quantity

import (
	"math/big"
	"strings"
)

// fractionKind says what a percentage is a percentage of.
type fractionKind uint8

const (
	fractionPlain fractionKind = iota // does not say
	fractionMass
	fractionMole
)

type fraction struct {
	kind  fractionKind
	scale *big.Rat
}

// fractions lists the units of fractions, without spaces. A volume fraction of
// a gas is a mole fraction (ideal gas).
var fractions = func() map[string]fraction {
	all := make(map[string]fraction)
	put := func(kind fractionKind, scale string, names ...string) {
		for _, n := range names {
			all[n] = fraction{kind, exact(scale)}
		}
	}
	put(fractionPlain, "0.01", "%")
	put(fractionPlain, "1", "1")
	put(fractionMass, "0.01", "wt%", "%w/w", "%(w/w)", "%wt", "mass%", "%m/m", "%(m/m)", "%wt/wt")
	put(fractionMass, "1", "kg/kg", "g/g", "lb/lb")
	put(fractionMass, "0.001", "g/kg", "mg/g")
	put(fractionMass, "1e-6", "mg/kg", "ug/g", "ppmw")
	put(fractionMass, "1e-9", "ug/kg", "ppbw")
	put(fractionMole, "0.01", "vol%", "%v/v", "%(v/v)", "%vol", "mol%", "%mol")
	put(fractionMole, "1", "mol/mol")
	put(fractionMole, "0.001", "mmol/mol")
	put(fractionMole, "1e-6", "umol/mol", "ppmv", "ppm(v)", "ppm(v/v)")
	put(fractionMole, "1e-9", "nmol/mol", "ppbv", "ppb(v)", "ppb(v/v)")
	return all
}()

// squeeze removes the spaces, so that "10 wt %" is "10 wt%".
func squeeze(text string) string { return strings.ReplaceAll(text, " ", "") }

// convertFraction reads the units of fractions. done is false where the text
// is none of them.
func convertFraction(f *folded, from, to int, d Dimension) (c conversion, done bool, fault *Error) {
	text := f.text[from:to]
	if d == Ratio && text == "" {
		return conversion{scale: one}, true, nil
	}
	fr, ok := fractions[squeeze(text)]
	if !ok {
		return c, false, nil
	}
	fail := func(problem, suggestion string) (conversion, bool, *Error) {
		return c, true, f.fault(from, problem, suggestion)
	}
	switch {
	case d == Ratio && fr.kind == fractionPlain,
		d == MassFraction && fr.kind == fractionMass,
		d == MoleFraction && fr.kind == fractionMole:
		return conversion{scale: fr.scale}, true, nil
	case d == Ratio:
		return fail(quote(text)+" is a fraction by mass or by volume, and a plain ratio is wanted", "write a plain number or %")
	case (d == MassFraction || d == MoleFraction) && fr.kind == fractionPlain:
		return fail(quote(text)+" does not say whether it is by mass or by volume", "write wt% (by mass) or vol% (by volume); "+fits(d))
	case d == MassFraction:
		return fail(quote(text)+" is a mole fraction, and a mass fraction is wanted", "for ozone name the feed gas ("+quote(text+" in O2")+" or "+quote(text+" in air")+"), or write wt%")
	case d == MoleFraction:
		return fail(quote(text)+" is a mass fraction, and a mole fraction is wanted", fits(d))
	case d == MassConcentration:
		return fail(quote(text)+" is a fraction, and a mass concentration is wanted", "write mass per volume; "+fits(d))
	}
	return fail(quote(text)+" is a fraction, and "+article(d.Noun())+" is wanted", fits(d))
}
