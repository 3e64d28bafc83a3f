package quantity

import (
	"math/big"
	"strings"
)

// Constants of the gas conversions, as exact decimals.
var (
	// The molar gas constant R in J/(mol K).
	// Source: SI Brochure, 9th edition (2019): R = k N_A with the exact values
	// of k and N_A.
	exactGasConstant = exact("8.31446261815324")

	// The reference temperature of Nm3 and NL, in K (0 °C).
	// Source: DIN 1343.
	exactNormalT = exact("273.15")

	// The reference temperature of Sm3, in K (15 °C).
	// Source: ISO 13443.
	exactStandardT = exact("288.15")

	// The reference pressure of Nm3, NL and Sm3, in Pa absolute.
	// Source: DIN 1343; ISO 13443; SI Brochure, 9th edition, "standard atmosphere".
	exactAtmosphere = exact("101325")

	// The molar mass of ozone in kg/mol.
	// Source: three times the atomic weight 15.9994 of oxygen; NIST Chemistry
	// WebBook, ozone, 47.9982 g/mol.
	exactOzone = exact("0.0479982")

	// The molar mass of oxygen in kg/mol.
	// Source: NIST Chemistry WebBook, oxygen, 31.9988 g/mol.
	exactOxygen = exact("0.0319988")

	// The molar mass of dry air in kg/mol.
	// Source: Picard, Davis, Gläser and Fujii, "Revised formula for the density
	// of moist air (CIPM-2007)", Metrologia 45 (2008) 149: 28.96546 g/mol at a
	// mole fraction of 0.0004 of carbon dioxide.
	exactAir = exact("0.02896546")

	// °F below the ice point of the scale: K = (°F + 459.67) · 5/9.
	exactFahrenheitZero = exact("459.67")
)

// exact returns the rational value of a decimal, or of a quotient of two, that
// is written in this package; it panics on anything else.
func exact(s string) *big.Rat {
	above, below, quotient := strings.Cut(s, "/")
	r, ok := new(big.Rat).SetString(above)
	if !ok {
		panic("quantity: not a number: " + s)
	}
	if quotient {
		r.Quo(r, exact(below))
	}
	return r
}

// molarDensity returns p/(R T): the amount of ideal gas in a volume, in mol/m3,
// for p in Pa absolute and T in K, both above zero.
func molarDensity(p, t *big.Rat) *big.Rat {
	rt := new(big.Rat).Mul(exactGasConstant, t)
	return rt.Quo(p, rt)
}
