package quantity

import "math/big"

// The bases that units are measured in. Besides the SI bases there are kinds
// that the SI calls 1 but that must not be mixed up: an angle, revolutions and
// cycles; and the valve flow coefficient, whose m3/h is not a flow.
const (
	baseLength = iota
	baseMass
	baseTime
	baseCurrent
	baseTemperature
	baseAmount
	baseAngle
	baseRevolution
	baseCycle
	baseValve
	baseCount
)

// vector holds the exponents of the bases.
type vector [baseCount]int8

// symbol is one named unit.
type symbol struct {
	name  string
	scale *big.Rat // SI units in one of it
	dim   vector
	zero  *big.Rat // for temperature scales: the reading 0 in K; else nil
	gas   bool     // an amount of gas, named by its volume at a reference condition
}

// definition is one row of the table of units: name = factor × expression, and
// which prefixes may stand before it.
type definition struct {
	name       string
	factor     string
	expression string // in terms of rows above; empty for a base
	prefixes   string
	source     string
}

const (
	sourceSI     = "SI Brochure, 9th edition (2019), tables 2 to 8"
	sourceSP811  = "NIST Special Publication 811 (2008), appendix B.8"
	sourceHB44   = "NIST Handbook 44, appendix C"
	sourceYard   = "International yard and pound agreement (1959): 1 yd = 0.9144 m, 1 lb = 0.45359237 kg, exact"
	sourceValve  = "IEC 60534-2-1:2011, table 1, N1: 1e-1 for Kv and 8.65e-2 for Cv, so that Kv = 0.865 Cv"
	sourceITTab  = "Fifth International Conference on the Properties of Steam (1956), 1 Btu(IT)/lb = 2.326 J/g exactly; NIST Special Publication 811 (2008), appendix B.8"
	sourceJulian = "Julian year of 365.25 d: IAU Style Manual (1989)"
	sourceUsage  = "spelling in common use for the unit on the right"
)

// definitions lists every unit that is read. A name is written once, with its
// prefixes, and no two rows may give the same name (a test sees to it).
var definitions = []definition{
	// SI bases and the coherent derived units.
	{"m", "1", "", "kdcmun", sourceSI},
	{"g", "0.001", "", "kmun", sourceSI},
	{"s", "1", "", "mu", sourceSI},
	{"A", "1", "", "mk", sourceSI},
	{"K", "1", "", "m", sourceSI},
	{"mol", "1", "", "kmun", sourceSI},
	{"rad", "1", "", "m", sourceSI},
	{"rev", "1", "", "", "ISO 80000-3:2019, item 3-14 (rotation)"},
	{"Hz", "1", "", "kMG", sourceSI},
	{"N", "1", "kg m/s2", "kMm", sourceSI},
	{"Pa", "1", "N/m2", "kMhmu", sourceSI},
	{"J", "1", "N m", "kMG", sourceSI},
	{"W", "1", "J/s", "kMmu", sourceSI},
	{"V", "1", "W/A", "km", sourceSI},
	// Accepted for use with the SI.
	{"L", "0.001", "m3", "mu", sourceSI}, // no nL: it would pass for a misspelt NL
	{"l", "1", "L", "mu", sourceSI},
	{"t", "1000", "kg", "", sourceSI},
	{"min", "60", "s", "", sourceSI},
	{"h", "60", "min", "", sourceSI},
	{"d", "24", "h", "", sourceSI},
	{"bar", "100000", "Pa", "m", sourceSI + "; bar = 100 kPa exactly"},
	{"deg", "3.14159265358979323846264338327950288419716939937510/180", "rad", "", "pi/180 rad; pi to 50 decimals"},
	{"Wh", "1", "W h", "kM", sourceSI},
	{"P", "0.1", "Pa s", "c", sourceSP811 + ", poise"},
	{"St", "0.0001", "m2/s", "c", sourceSP811 + ", stokes"},
	// Durations in words, for service intervals.
	{"second", "1", "s", "", sourceUsage}, {"seconds", "1", "s", "", sourceUsage},
	{"minute", "1", "min", "", sourceUsage}, {"minutes", "1", "min", "", sourceUsage},
	{"hr", "1", "h", "", sourceUsage},
	{"hour", "1", "h", "", sourceUsage}, {"hours", "1", "h", "", sourceUsage},
	{"day", "1", "d", "", sourceUsage}, {"days", "1", "d", "", sourceUsage},
	{"week", "7", "d", "", sourceUsage}, {"weeks", "7", "d", "", sourceUsage},
	{"month", "365.25/12", "d", "", sourceJulian + "; a month is a twelfth of it"},
	{"months", "1", "month", "", sourceUsage},
	{"year", "365.25", "d", "", sourceJulian}, {"years", "1", "year", "", sourceUsage},
	// US customary.
	{"in", "0.0254", "m", "", sourceYard},
	{"ft", "12", "in", "", sourceYard},
	{"yd", "3", "ft", "", sourceYard},
	{"lb", "0.45359237", "kg", "", sourceYard},
	{"oz", "1/16", "lb", "", sourceHB44 + ", avoirdupois ounce"},
	{"gal", "231", "in3", "", sourceHB44 + ", US liquid gallon"},
	{"lbf", "9.80665", "lb m/s2", "", "standard gravity: 3rd CGPM (1901); " + sourceSP811},
	{"psi", "1", "lbf/in2", "", sourceSP811},
	{"hp", "550", "ft lbf/s", "", sourceSP811 + ", horsepower (550 ft·lbf/s)"},
	{"Btu", "1055.05585262", "J", "", sourceITTab},
	{"BTU", "1", "Btu", "", sourceUsage},
	{"lbmol", "453.59237", "mol", "", sourceYard},
	{"cfm", "1", "ft3/min", "", sourceUsage},
	{"cfh", "1", "ft3/h", "", sourceUsage},
	{"gpm", "1", "gal/min", "", sourceUsage},
	{"gph", "1", "gal/h", "", sourceUsage},
	{"gpd", "1", "gal/d", "", sourceUsage},
	{"lpm", "1", "L/min", "", sourceUsage},
	{"rpm", "1", "rev/min", "", sourceUsage},
	// Pressures by column and by atmosphere.
	{"atm", "101325", "Pa", "", sourceSI + "; standard atmosphere"},
	{"Torr", "1/760", "atm", "", sourceSP811},
	{"mH2O", "9806.65", "Pa", "", sourceSP811 + ", metre of water, conventional"},
	{"cmH2O", "0.01", "mH2O", "", sourceSP811 + ", centimetre of water, conventional"},
	{"mmH2O", "0.001", "mH2O", "", sourceSP811 + ", millimetre of water, conventional"},
	{"inH2O", "0.0254", "mH2O", "", sourceSP811 + ", inch of water, conventional"},
	{"ftH2O", "0.3048", "mH2O", "", sourceSP811 + ", foot of water, conventional"},
	{"inHg", "3386.389", "Pa", "", sourceSP811 + ", inch of mercury, conventional"},
	{"mmHg", "133.3224", "Pa", "", sourceSP811 + ", millimetre of mercury, conventional"},
	// Valve flow coefficients.
	{"Kv", "1", "", "", "IEC 60534-1: m3/h of water at 1 bar"},
	{"Cv", "0.865", "Kv", "", sourceValve},
}

// bases gives the vector of each row that has no expression.
var bases = map[string]vector{
	"m": {baseLength: 1}, "g": {baseMass: 1}, "s": {baseTime: 1}, "A": {baseCurrent: 1},
	"K": {baseTemperature: 1}, "mol": {baseAmount: 1}, "rad": {baseAngle: 1},
	"rev": {baseRevolution: 1}, "Hz": {baseCycle: 1, baseTime: -1}, "Kv": {baseValve: 1},
}

// prefixes gives the decimal multiple of each prefix that is used.
// Source: SI Brochure, 9th edition, table 7.
var prefixes = map[byte]*big.Rat{
	'G': exact("1e9"), 'M': exact("1e6"), 'k': exact("1e3"), 'h': exact("1e2"), 'd': exact("1e-1"),
	'c': exact("1e-2"), 'm': exact("1e-3"), 'u': exact("1e-6"), 'n': exact("1e-9"),
}

// catalogue is the table of units by name, in the order of definition.
type catalogue struct {
	byName map[string]*symbol
	names  []string
	twice  []string // names that two rows give; must stay empty
}

var units = newCatalogue()

func (c *catalogue) add(s symbol) {
	if c.byName[s.name] != nil {
		c.twice = append(c.twice, s.name)
		return
	}
	c.byName[s.name] = &s
	c.names = append(c.names, s.name)
}

func newCatalogue() *catalogue {
	c := &catalogue{byName: make(map[string]*symbol)}
	for _, d := range definitions {
		s := symbol{name: d.name, scale: exact(d.factor)}
		if d.expression == "" {
			s.dim = bases[d.name]
		} else {
			u, err := c.read(d.expression)
			if err != nil {
				panic("quantity: definition of " + d.name + ": " + err.Error())
			}
			s.scale.Mul(s.scale, u.scale)
			s.dim = u.dim
		}
		c.add(s)
		for i := range len(d.prefixes) {
			p := d.prefixes[i]
			c.add(symbol{name: string(p) + d.name, scale: new(big.Rat).Mul(prefixes[p], s.scale), dim: s.dim})
		}
		// "P" and "St" are met with the prefix c only; "5 P" is more likely a slip.
		if d.name == "P" || d.name == "St" {
			c.remove(d.name)
		}
	}
	c.addTemperatures()
	c.addGasVolumes()
	return c
}

func (c *catalogue) remove(name string) {
	delete(c.byName, name)
	for i, n := range c.names {
		if n == name {
			c.names = append(c.names[:i], c.names[i+1:]...)
			return
		}
	}
}

// addTemperatures adds the scales with a zero of their own.
// Source: SI Brochure, 9th edition, section 2.3.1: t/°C = T/K - 273.15; NIST
// SP 811 (2008), appendix B.8: T/K = (t/°F + 459.67)/1.8.
func (c *catalogue) addTemperatures() {
	kelvin := c.byName["K"].dim
	fahrenheit := exact("5/9")
	for _, name := range []string{"degC", "Cel"} {
		c.add(symbol{name: name, scale: exact("1"), dim: kelvin, zero: exactNormalT})
	}
	c.add(symbol{name: "degF", scale: fahrenheit, dim: kelvin, zero: new(big.Rat).Mul(exactFahrenheitZero, fahrenheit)})
}

// addGasVolumes adds the volumes that stand for an amount of gas.
// Source: DIN 1343 (N: 273.15 K, 101325 Pa); ISO 13443 (S: 288.15 K, 101325 Pa).
func (c *catalogue) addGasVolumes() {
	amount := c.byName["mol"].dim
	normal := molarDensity(exactAtmosphere, exactNormalT)
	standard := molarDensity(exactAtmosphere, exactStandardT)
	for _, v := range []struct {
		name    string
		density *big.Rat
		volume  string
	}{
		{"Nm3", normal, "m3"}, {"NL", normal, "L"}, {"Nl", normal, "L"},
		{"NmL", normal, "mL"}, {"Nml", normal, "mL"}, {"Sm3", standard, "m3"},
	} {
		u, err := c.read(v.volume)
		if err != nil {
			panic("quantity: gas volume: " + err.Error())
		}
		c.add(symbol{name: v.name, scale: new(big.Rat).Mul(v.density, u.scale), dim: amount, gas: true})
	}
}
